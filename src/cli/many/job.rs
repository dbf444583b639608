//! One class of a folder in one voice: what it is made from, whether its files are there, and making them.

use super::INDEX;
use super::formats::Format;
use super::note::Found;
use super::note::Note;
use super::note::Notes;
use super::note::Stamp;
use super::voices::Spoken;
use super::voices::Voices;
use crate::base::diagnostic::any_error;
use crate::base::units::Millis;
use crate::base::utterance::Clarity;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::cli::Done;
use crate::cli::Failure;
use crate::cli::complain;
use crate::cli::interrupt::Interrupt;
use crate::cli::load;
use crate::cli::outputs;
use crate::cli::outputs::How;
use crate::cli::outputs::Layer;
use crate::cli::outputs::Listener;
use crate::cli::outputs::Made;
use crate::cli::outputs::Output;
use crate::compile::Beds;
use crate::compile::Compiler;
use crate::compile::settings_in;
use crate::folder::Folder;
use crate::live::config::Config;
use crate::live::history;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::publish::excerpt::Excerpt;
use crate::publish::sheet::Paper;
use crate::sound::out::Bits;
use crate::sound::speech::Speaker;
use std::collections::BTreeMap;
use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;

/// How classes are written.
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    pub bits: Bits,
    pub paper: Paper,
    pub clarity: Option<Clarity>,
    /// Whether there is music below them, where files ask for it.
    pub music: bool,
}

/// What all classes of a folder have in common.
pub struct Order {
    pub folder: Folder,
    pub out: PathBuf,
    pub formats: Vec<Format>,
    pub caution: CautionLength,
    pub config: Config,
    pub overwrite: bool,
    pub manner: Manner,
    pub plain: bool,
    pub notes: Notes,
    pub voices: Voices,
    pub interrupt: Interrupt,
    /// Of each language the sessions whose own texts are in another one.
    pub foreign: Mutex<BTreeMap<Language, BTreeSet<String>>>,
}

impl Order {
    fn foreign(&self, language: Language, id: &str) {
        let mut all = self.foreign.lock().unwrap_or_else(PoisonError::into_inner);
        all.entry(language).or_default().insert(id.to_owned());
    }

    /// Says which sessions are of two languages.
    pub fn tell_foreign(&self) {
        let all = self.foreign.lock().unwrap_or_else(PoisonError::into_inner);
        for (language, ids) in &*all {
            let ids: Vec<&str> = ids.iter().map(String::as_str).collect();
            complain(&format!(
                "sidevoice: in \"{}\" the session's own texts (title, what to have ready, notes) stay as they are \
                 written, in another language: {}.\n",
                language.tag(),
                ids.join(", ")
            ));
        }
    }
}

/// A class to be made.
#[derive(Debug, Clone)]
pub struct Job {
    pub id: String,
    pub spoken: Spoken,
}

/// How it came out.
#[derive(Debug)]
pub enum Outcome {
    Made(Note),
    /// Nothing that it is made from has changed.
    Same(Note),
    /// Somebody else makes it now.
    Elsewhere,
    Failed(Vec<String>),
    Interrupted,
}

impl Job {
    /// Returns its name, by which its files begin.
    pub fn name(&self) -> String {
        match &self.spoken.label {
            Some(label) => format!("{}.{label}", self.id),
            None => self.id.clone(),
        }
    }

    /// Makes its files, unless they are there.
    pub fn make(&self, order: &Order) -> Outcome {
        match order.notes.claim(&self.name()) {
            Ok(Some(_claim)) => self.make_alone(order),
            Ok(None) => Outcome::Elsewhere,
            Err(failure) => Outcome::Failed(vec![why(&failure)]),
        }
    }

    fn make_alone(&self, order: &Order) -> Outcome {
        let file = order.folder.root().join("sessions");
        let file = file.join(format!("{}.toml", self.id));
        let loaded = order.folder.load_in(&file, self.spoken.language);
        let session = match loaded.session {
            Some(session) if !any_error(&loaded.diagnostics) => session,
            _ => {
                load::tell(&loaded.diagnostics, &loaded.sources, order.plain);
                return Outcome::Failed(vec!["its files have faults, which were told".to_owned()]);
            }
        };
        let speaker = match order.voices.speaker(&self.spoken, &session, order) {
            Ok(speaker) => speaker,
            Err(failure) => return Outcome::Failed(vec![why(&failure)]),
        };
        if session.text.written_in != session.text.language {
            order.foreign(session.text.language, &self.id);
        }
        let own = loaded.sources.texts().map(str::to_owned).collect();
        let key = self.key(order, &session, &speaker, own);
        let note = order.notes.read(&self.name());
        let (wanted, kept) = self.wanted(order, note.as_ref(), &key);
        if wanted.is_empty() && kept.is_empty() {
            // Without a note a file would be somebody else's.
            return note.map_or(Outcome::Interrupted, Outcome::Same);
        }
        if wanted.is_empty() {
            return Outcome::Failed(kept);
        }
        // What is advice is for `check` to say: of a whole folder it would hide what matters.
        let class = Class {
            session: &session,
            speaker: &speaker,
        };
        let files = note.map(|note| note.files).unwrap_or_default();
        match self.write(order, class, &key, &wanted, files) {
            Ok((length, files)) => {
                let note = Note {
                    key,
                    title: session.text.title.clone(),
                    language: session.text.language.tag().to_owned(),
                    voice: speaker.name().to_owned(),
                    length_ms: length.ms(),
                    files,
                };
                let written = order.notes.write(&self.name(), &note);
                let failed = written.err().map(|error| error.to_string());
                let failed: Vec<_> = kept.into_iter().chain(failed).collect();
                match failed.is_empty() {
                    true => Outcome::Made(note),
                    false => Outcome::Failed(failed),
                }
            }
            Err(Failure::Interrupted) => Outcome::Interrupted,
            Err(failure) => Outcome::Failed(kept.into_iter().chain([why(&failure)]).collect()),
        }
    }

    /// The files that are to be written, and why others are not.
    fn wanted(
        &self,
        order: &Order,
        note: Option<&Note>,
        key: &str,
    ) -> (Vec<(PathBuf, Output)>, Vec<String>) {
        let (mut wanted, mut kept) = (Vec::new(), Vec::new());
        for format in &order.formats {
            let path = order.out.join(format.file_name(&self.name()));
            if path.file_name().is_some_and(|name| name == INDEX) {
                kept.push(format!(
                    "{} leads to all files: the sheet of a session cannot have this name. Rename the session",
                    path.display()
                ));
                continue;
            }
            match Note::found(note, &path, key) {
                Found::Same => {}
                Found::Other if !order.overwrite => kept.push(format!(
                    "{} is there already and was not made by this command, or was changed since. \
                     Add --overwrite to replace it",
                    path.display()
                )),
                Found::Nothing | Found::Old | Found::Other => wanted.push((path, format.output)),
            }
        }
        (wanted, kept)
    }

    /// Returns the hash of all that changes the files.
    fn key(
        &self,
        order: &Order,
        session: &Session,
        speaker: &Speaker,
        mut texts: Vec<String>,
    ) -> String {
        texts.push(env!("CARGO_PKG_VERSION").to_owned());
        texts.push(session.text.language.tag().to_owned());
        texts.push(speaker.id());
        texts.push(format!(
            "{:?} {:?} {:?}",
            order.caution, order.config.tones, order.manner
        ));
        texts.extend(order.voices.lexicons(order.folder.root()));
        if order.manner.music {
            texts.extend(beds(order, &self.id).heard(session));
        }
        history::hash(texts.iter().map(String::as_str))
    }

    /// Makes a class and writes its files, each whole or not at all.
    fn write(
        &self,
        order: &Order,
        class: Class,
        key: &str,
        wanted: &[(PathBuf, Output)],
        mut files: BTreeMap<String, Stamp>,
    ) -> Result<(Millis, BTreeMap<String, Stamp>), Failure> {
        let Class { session, speaker } = class;
        let wording = Wording::of(session.text.language);
        let settings = settings_in(wording, speaker.name(), order.caution);
        let mut compiler = Compiler::new(session, wording, speaker, settings)
            .with_tones(session.text.tones.unwrap_or(order.config.tones))
            .light();
        while compiler.next_stretch().is_some() {
            if order.interrupt.asked() {
                return Err(Failure::Interrupted);
            }
        }
        let class = compiler.finish();
        if let Some(unspoken) = class.unspoken.first() {
            return Err(Failure::Voice(format!("cannot be spoken: {unspoken}")));
        }
        load::sound_plan(&class.plan.diagnostics)?;
        let beds = order.manner.music.then(|| beds(order, &self.id));
        let made = Made {
            class: &class,
            speaker,
            session,
            beds: beds.as_ref(),
            excerpt: Excerpt::whole(&class.plan),
        };
        let how = How {
            bits: order.manner.bits,
            paper: order.manner.paper,
            overwrite: true,
        };
        for (path, output) in wanted {
            let mut listener = Listener {
                progress: &mut |_| match order.interrupt.asked() {
                    true => ControlFlow::Break(()),
                    false => ControlFlow::Continue(()),
                },
                notice: &mut |text| complain(&format!("sidevoice: music: {text}\n")),
            };
            outputs::write(*output, &made, Layer::Mix, path, how, &mut listener)?;
            stamp(path, key, &mut files)?;
        }
        Ok((class.plan.timeline.end().since_start(), files))
    }
}

struct Class<'a> {
    session: &'a Session,
    speaker: &'a Arc<Speaker>,
}

fn beds(order: &Order, id: &str) -> Beds {
    // No day: the same files give the same bytes.
    Beds::new(order.folder.root(), order.config.music.clone(), id, None)
}

fn stamp(path: &Path, key: &str, files: &mut BTreeMap<String, Stamp>) -> Done {
    let stamp = Stamp::of(path, key);
    let stamp = stamp.map_err(|error| Failure::File(format!("{}: {error}", path.display())))?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    files.insert(name.into_owned(), stamp);
    Ok(())
}

fn why(failure: &Failure) -> String {
    match failure.message() {
        Some(message) => message.to_owned(),
        None => match failure {
            Failure::Faults => "what must be said does not fit; `check` tells more".to_owned(),
            _ => "it was ended".to_owned(),
        },
    }
}
