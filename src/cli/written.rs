//! The files of text that `render` writes beside sound: captions, chapters and markers.

use super::Done;
use crate::base::chapters::Contents;
use crate::base::units::At;
use crate::base::wording::Wording;
use crate::compile::Beds;
use crate::compile::Class;
use crate::planning::session::Session;
use crate::publish::captions;
use crate::publish::captions::Caption;
use crate::publish::chapters;
use crate::publish::excerpt::Excerpt;
use crate::sound::out::FileError;
use crate::sound::out::Target;
use std::io::Write;
use std::path::Path;

/// What a file of text holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Text {
    WebVtt,
    SubRip,
    Chapters,
    FfMetadata,
    Markers,
}

impl Text {
    /// Writes it of a part of a class, with its contents.
    pub fn of_class(
        self,
        class: &Class,
        session: &Session,
        excerpt: &Excerpt,
        beds: Option<&Beds>,
        contents: &Contents,
    ) -> String {
        let wording = Wording::of(session.text.language);
        let all = || {
            let sounds = excerpt.sounds(&class.plan);
            let mut all = captions::of_sounds(&sounds, wording, |sound| class.words(sound));
            let timeline = &class.plan.timeline;
            let begins = beds.map(|beds| beds.begins(session, timeline, excerpt.from));
            let begins = begins.into_iter().flatten().filter(|at| *at < excerpt.to);
            let begins: Vec<At> = begins.map(|at| At::START + (at - excerpt.from)).collect();
            captions::tell_music(&mut all, &begins, wording);
            captions::end_at(&mut all, At::START + (excerpt.to - excerpt.from));
            all
        };
        self.of(all, contents)
    }

    /// Writes it of captions, which are made where they are needed, and contents.
    pub fn of(self, all: impl FnOnce() -> Vec<Caption>, contents: &Contents) -> String {
        match self {
            Text::WebVtt => captions::webvtt(&all()),
            Text::SubRip => captions::subrip(&all()),
            Text::Chapters => chapters::webvtt(contents),
            Text::FfMetadata => chapters::ffmetadata(contents),
            Text::Markers => chapters::markers(contents),
        }
    }
}

/// Writes a file whole or not at all.
pub fn whole(path: &Path, overwrite: bool, bytes: &[u8]) -> Done {
    let mut target = Target::begin(path, overwrite)?;
    let written = target.file().write_all(bytes);
    written.map_err(|error| FileError::of(error, path))?;
    target.finish()?;
    Ok(())
}
