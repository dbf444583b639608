//! `render FOLDER`: all sessions of a folder at once, what has changed of them, on all cores.
#![expect(
    clippy::disallowed_methods,
    reason = "reads and notes files, and waits for whoever has a session at hand"
)]

mod crew;
mod formats;
mod job;
mod note;
mod voices;

pub use formats::Format;
pub use job::Manner;
pub use note::Notes;

use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::interrupt::Interrupt;
use super::is_terminal;
use super::load;
use super::outputs::Output;
use super::print;
use crate::base::diagnostic::any_error;
use crate::base::units::Millis;
use crate::folder::Folder;
use crate::publish::index;
use crate::sound::out::FileError;
use crate::sound::out::Target;
use crate::sound::speech::Settings;
use clap::Args;
use crew::Crew;
use crew::Told;
use job::Job;
use job::Order;
use note::Note;
use std::fs;
use std::io::Write;
use std::num::NonZero;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::thread;
use voices::Spoken;
use voices::Voices;

/// What is written where no formats are named: the first sound that this program can write.
const USUAL: [&str; 2] = ["mp3", "opus"];
const USUAL_BESIDE: [&str; 2] = ["vtt", "sheet"];
/// The page that leads to all files.
const INDEX: &str = "index.html";

#[derive(Args)]
pub struct Many {
    /// For a folder: what to write of each session, by endings, and `sheet` for .html `chapters` for .chapters.vtt, `markers`
    /// for .csv [default: mp3,vtt,sheet; opus for mp3 where that is not built in].
    #[arg(long, value_delimiter = ',', value_parser = Format::parse, value_name = "LIST")]
    formats: Vec<Format>,
    /// For a folder: the languages or voices to speak each session in [default: as its file says].
    #[arg(long, value_delimiter = ',', value_name = "LIST")]
    voices: Vec<String>,
    /// For a folder: how many sessions are made at a time [default: as many as there are cores].
    #[arg(long, value_name = "COUNT")]
    jobs: Option<NonZero<usize>>,
}

impl Many {
    /// Returns the first option that is for a folder alone, if one is given.
    pub fn given(&self) -> Option<&'static str> {
        let all = [
            (!self.formats.is_empty(), "--formats"),
            (!self.voices.is_empty(), "--voices"),
            (self.jobs.is_some(), "--jobs"),
        ];
        all.into_iter().find(|(given, _)| *given).map(|it| it.1)
    }

    fn formats(&self) -> Vec<Format> {
        if !self.formats.is_empty() {
            return self.formats.clone();
        }
        let sound = USUAL
            .iter()
            .filter_map(|word| Format::parse(word).ok())
            .next();
        let beside = USUAL_BESIDE
            .iter()
            .filter_map(|word| Format::parse(word).ok());
        sound.into_iter().chain(beside).collect()
    }
}

/// Renders all sessions of a folder.
pub fn run(
    planning: &Planning,
    options: &Many,
    manner: Manner,
    out: &Path,
    overwrite: bool,
) -> Done {
    let folder = Folder::at(&planning.session);
    let listed = folder.listed();
    load::tell(&listed.diagnostics, &listed.sources, planning.plain);
    if listed.ids.is_empty() {
        return Err(match any_error(&listed.diagnostics) {
            true => Failure::Faults,
            false => Failure::File(format!("there is no session in {}", planning.session)),
        });
    }
    if (out.exists() || Output::of(out).is_ok()) && !out.is_dir() {
        return Err(Failure::File(format!(
            "expected a folder to write to, found {}",
            out.display()
        )));
    }
    let plain = planning.plain || !is_terminal();
    let jobs = options
        .jobs
        .or_else(|| thread::available_parallelism().ok());
    let jobs = jobs.map_or(1, NonZero::get);
    let settings = Settings {
        workers: jobs,
        patience: load::PATIENCE_FOR_FILES,
        ..load::speech(Some(folder.root()))
    };
    let shelf = load::shelf(&settings, planning.plain);
    let spoken = Spoken::all(&options.voices, &shelf)?;
    let settings = Settings {
        shelf: Some(Arc::new(shelf)),
        ..settings
    };
    let order = Order {
        out: out.to_owned(),
        formats: options.formats(),
        caution: planning.caution(),
        config: load::config_beside(folder.root(), planning.plain),
        overwrite,
        manner,
        plain,
        notes: Notes::in_folder(out)?,
        voices: Voices::new(settings),
        interrupt: Interrupt::noted(),
        foreign: Mutex::default(),
        folder,
    };
    let all = listed.ids.iter().flat_map(|id| {
        let of = |spoken: &Spoken| Job {
            id: id.clone(),
            spoken: spoken.clone(),
        };
        spoken.iter().map(of)
    });
    let told = Crew::new(&order, all.collect()).work(jobs);
    order.voices.notices();
    order.tell_foreign();
    if !told.notes.is_empty() {
        write_index(&order, &told.notes)?;
    }
    end(&order, told)?;
    // What could be made was made; what has no name that it could be called by was told.
    match any_error(&listed.diagnostics) {
        true => Err(Failure::Faults),
        false => Ok(()),
    }
}

/// Says how it came out.
fn end(order: &Order, told: Told) -> Done {
    let all = told.all;
    if told.interrupted {
        complain(&format!(
            "sidevoice: {} of {all} done; the same command goes on from here.\n",
            told.notes.len()
        ));
        return Err(Failure::Interrupted);
    }
    let (made, same) = (told.made, told.notes.len() - told.made);
    print(&format!(
        "{}: {made} of {all} rendered, {same} unchanged.\n",
        order.out.join(INDEX).display()
    ))?;
    if told.failed.is_empty() {
        return Ok(());
    }
    let mut text = format!("{} of {all} could not be rendered:", told.failed.len());
    for (name, reasons) in told.failed {
        for reason in reasons {
            text += &format!("\n  {name}: {reason}");
        }
    }
    Err(Failure::Some(text))
}

fn write_index(order: &Order, notes: &[(Job, Note)]) -> Done {
    let path = order.out.join(INDEX);
    let ours = match fs::read_to_string(&path) {
        Ok(text) => text.contains(index::MARK),
        Err(_) => !path.exists(),
    };
    if !ours && !order.overwrite {
        complain(&format!(
            "sidevoice: {} is somebody else's and stays as it is; --overwrite replaces it.\n",
            path.display()
        ));
        return Ok(());
    }
    let entries: Vec<_> = notes
        .iter()
        .map(|(_, note)| index::Entry {
            title: note.title.clone(),
            language: note.language.clone(),
            voice: note.voice.clone(),
            length: Millis::from_ms(note.length_ms),
            files: note.current().cloned().collect(),
        })
        .collect();
    let root = fs::canonicalize(order.folder.root());
    let root = root.unwrap_or_else(|_| PathBuf::from(order.folder.root()));
    let name = root.file_name().unwrap_or_default().to_string_lossy();
    let mut target = Target::begin(&path, true)?;
    let written = target
        .file()
        .write_all(index::index(&name, &entries).as_bytes());
    written.map_err(|error| FileError::of(error, &path))?;
    target.finish()?;
    Ok(())
}
