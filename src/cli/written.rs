//! The files of text that `render` writes beside sound: captions and chapters, told by their endings.

use super::Done;
use super::print;
use crate::base::wording::Wording;
use crate::compile::Class;
use crate::planning::session::Session;
use crate::publish::captions;
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
}

impl Text {
    /// The endings, with what each means; the longer before the one that it ends in.
    const ENDINGS: [(&str, Text); 3] = [
        (".chapters.vtt", Text::Chapters),
        (".vtt", Text::WebVtt),
        (".srt", Text::SubRip),
    ];

    /// Returns what a file of this name is to hold, if it is text.
    pub fn of(path: &Path) -> Option<Self> {
        let name = path.file_name()?.to_string_lossy().to_lowercase();
        // An ending alone is no name.
        let ends = |end: &str| name.len() > end.len() && name.ends_with(end);
        let known = Self::ENDINGS.iter().find(|(end, _)| ends(end));
        known.map(|(_, text)| *text)
    }

    /// Writes it of a class.
    fn of_class(self, class: &Class, session: &Session, wording: &Wording) -> String {
        let all = || captions::captions(&class.plan, wording, |sound| class.words(sound));
        match self {
            Text::WebVtt => captions::webvtt(&all()),
            Text::SubRip => captions::subrip(&all()),
            Text::Chapters => captions::chapters(&class.plan, session, wording),
        }
    }
}

/// Writes a file of text, and says what was written.
pub fn write(text: Text, class: &Class, session: &Session, path: &Path, overwrite: bool) -> Done {
    let wording = Wording::of(session.text.language);
    let made = text.of_class(class, session, wording);
    whole(path, overwrite, made.as_bytes())?;
    let end = class.plan.timeline.end();
    print(&format!("{}: {end} long.\n", path.display()))
}

/// Writes a file whole or not at all.
pub fn whole(path: &Path, overwrite: bool, bytes: &[u8]) -> Done {
    let mut target = Target::begin(path, overwrite)?;
    let written = target.file().write_all(bytes);
    written.map_err(|error| FileError::of(error, path))?;
    target.finish()?;
    Ok(())
}
