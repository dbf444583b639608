//! Watches a session folder: what is there, whether it is sound, and what has changed.
//!
//! `known` decides which files are settled and must be read, `shelf` what they mean for the
//! sessions; both are pure. `eyes` looks at the disk, `bell` tells when all was heard, `turn` is the
//! thread that joins them. A file
//! is read when whoever writes it has closed it, and each change costs the files that changed, not
//! the folder: a movement is read once for all sessions, and re-checks only those that use it.

mod bell;
mod cores;
mod eyes;
mod known;
mod shelf;
mod turn;

pub use known::Changes;
pub use known::Known;
pub use known::Seen;
pub use known::Stamp;
pub use shelf::Shelf;
pub use shelf::fault_of;
pub use turn::Options;
pub use turn::Watch;

use crate::base::wording::Language;
use crate::planning::script::Brief;
use crate::planning::session::Session;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

/// A part of a session folder that is watched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    /// Before the sessions that use them: what is read together is joined once.
    Movements,
    /// The texts of movements in a language.
    Texts(Language),
    Sessions,
}

impl Part {
    /// All parts.
    pub const ALL: [Part; 7] = [
        Part::Movements,
        Part::Texts(Language::English),
        Part::Texts(Language::Spanish),
        Part::Texts(Language::German),
        Part::Texts(Language::French),
        Part::Texts(Language::Portuguese),
        Part::Sessions,
    ];

    /// Returns the name of its folder.
    pub const fn folder(self) -> &'static str {
        match self {
            Part::Movements => "movements",
            Part::Texts(Language::English) => "movements/en",
            Part::Texts(Language::Spanish) => "movements/es",
            Part::Texts(Language::German) => "movements/de",
            Part::Texts(Language::French) => "movements/fr",
            Part::Texts(Language::Portuguese) => "movements/pt",
            Part::Sessions => "sessions",
        }
    }

    /// Returns whether a folder may do without it.
    pub const fn may_be_missing(self) -> bool {
        matches!(self, Part::Texts(_))
    }
}

/// A file of the folder: its part, and its name without the ending.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Name {
    pub part: Part,
    pub id: String,
}

impl Name {
    /// Makes the name of a session.
    pub fn session(id: impl Into<String>) -> Self {
        Self {
            part: Part::Sessions,
            id: id.into(),
        }
    }

    /// Makes the name of a movement.
    pub fn movement(id: impl Into<String>) -> Self {
        Self {
            part: Part::Movements,
            id: id.into(),
        }
    }

    /// Returns the names of the files that tell of a movement, its own first.
    pub fn all_of_movement(id: &str) -> impl Iterator<Item = Self> {
        let parts = Part::ALL.into_iter().filter(|p| *p != Part::Sessions);
        parts.map(|part| Self {
            part,
            id: id.to_owned(),
        })
    }

    /// Returns the name that a file has in a part of a folder; `None` for a file of another kind.
    pub fn of(part: Part, file: &Path) -> Option<Self> {
        if file.extension().is_none_or(|ending| ending != "toml") {
            return None;
        }
        let id = file.file_stem()?.to_string_lossy().into_owned();
        (!id.starts_with('.')).then_some(Self { part, id })
    }

    /// Returns where the file lies in a folder.
    pub fn path(&self, root: &Path) -> PathBuf {
        root.join(self.part.folder())
            .join(format!("{}.toml", self.id))
    }
}

/// A fault that keeps a session from being run, as it is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The movement whose file it is in, with the language of its texts where it is in these; `None`
    /// for the session's own.
    pub movement: Option<String>,
    /// Counted from 1; `None` where it concerns the file as a whole.
    pub line: Option<usize>,
    pub message: String,
    /// What to do about it; may be empty.
    pub help: String,
}

/// What is to be said of a session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// It can be run.
    Ready(Brief),
    /// It cannot; the last one that could is kept.
    Fault(Fault),
    /// Its file is no longer there.
    Gone,
}

/// Something has changed about a session.
#[derive(Debug, Clone, PartialEq)]
pub struct News {
    pub id: String,
    pub verdict: Verdict,
    /// The session as it is now if it is ready, else the last one that was.
    pub session: Option<Arc<Session>>,
    /// Whether the verdict is the one told last: only what is behind it changed, so the session is
    /// planned again and nothing is said.
    pub same: bool,
}

/// What the watch tells.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    News(News),
    /// All that changed by one look was told.
    Looked,
    /// Something about the watching itself, in a sentence without its full stop.
    Notice(String),
}
