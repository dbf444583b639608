//! What happened, written down as it happens and read again: `log/*.jsonl`, one file a run, one
//! JSON object a line, format `sidevoice-log/1`.
//!
//! [`Noter`] derives what is written from what the core was told and decided; [`Recorder`] brings
//! it to the disk on a thread of its own; [`read()`] bears what a power cut leaves behind.
#![expect(
    clippy::disallowed_methods,
    reason = "files, and the thread that writes them, are this room's job"
)]

mod course;
mod keeper;
mod live_file;
mod noter;
mod rate;
mod read;
mod recorder;
mod run;
mod week;

pub use course::CourseError;
pub use course::Laid;
pub use keeper::Keeper;
pub use noter::Noter;
pub use noter::Step;
pub use noter::Told;
pub use rate::RateError;
pub use rate::rate;
pub use read::Fault;
pub use read::Record;
pub use read::parse;
pub use read::read;
pub use read::read_run;
pub use recorder::Recorder;
pub use run::Ended;
pub use run::Run;
pub use run::Unfinished;
pub use run::caution;
pub use run::left_lately;
pub use run::unfinished;
pub use week::Week;
pub use week::monotony;
pub use week::strain;
pub use week::weeks;

use crate::base::heard::BedMove;
use crate::base::heard::Heard;
use crate::base::heard::Moved;
use crate::base::heard::MusicFrom;
use crate::base::units::Db;
use crate::base::units::Frames;
use crate::base::utterance::Clarity;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::planning::timeline::Timeline;
use jiff::Timestamp;
use serde::Deserialize;
use serde::Serialize;
use sha2::Digest;
use sha2::Sha256;
use std::path::Path;
use std::path::PathBuf;

/// The format in the first line of a file.
pub const FORMAT: &str = "sidevoice-log/1";

/// Softer than the least that 24 bits hold.
const SILENCE: Db = Db::new(-200.0);

/// One line: what happened, when by the wall clock, and where in the session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// UTC, RFC 3339, to the millisecond.
    pub time: Timestamp,
    /// Milliseconds from the start of the session.
    pub at_ms: i64,
    /// How many frames the room's mixer had rendered then: a clock that runs through pauses, and stands only without
    /// a loudspeaker. None of what is told after the run, and in records from before it was written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame: Option<u64>,
    #[serde(flatten)]
    pub what: Happening,
}

impl Entry {
    /// Makes an entry; the time is kept to the millisecond.
    pub fn new(time: Timestamp, at_ms: i64, what: Happening) -> Self {
        let ms = Timestamp::from_millisecond(time.as_millisecond());
        Self {
            time: ms.unwrap_or(time),
            at_ms,
            frame: None,
            what,
        }
    }

    /// Says how many frames were rendered.
    #[must_use]
    pub fn at_frame(self, frame: Frames) -> Self {
        Self {
            frame: Some(frame.count()),
            ..self
        }
    }
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "kebab-case")]
pub enum Happening {
    /// The first line of a file.
    Began(Began),
    WorkBegun(WorkAt),
    /// A work came to its end.
    WorkDone(Done),
    /// A work was left before its end.
    Skipped(Done),
    /// A rest, the lead-in or the finish was left before its end.
    SkippedRest {
        segment: String,
    },
    Paused,
    Resumed,
    GoneBack {
        to_ms: i64,
    },
    /// The easier option of this work was asked for.
    MadeEasier(WorkAt),
    DeviceLost,
    DeviceBack,
    /// The session's files changed and it was planned again; the hash as in [`Began`].
    ChangedFile {
        hash: String,
        /// How many works the session has now.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        works: Option<usize>,
    },
    /// Something sounded in the room; written when it has ended.
    Sounded(Heard),
    /// Which music the bed is made of from now on.
    Music(MusicFrom),
    /// How the music came and went, and stepped back for what was heard.
    Bed(BedMoved),
    Volume(VolumeSet),
    Rate(Rate),
    Stopped(Played),
    Finished(Played),
    /// Lines that are not here: the disk was too slow for them.
    Missed {
        count: u64,
    },
    /// What a later version writes.
    #[serde(other)]
    Unknown,
}

/// A move of the bed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BedMoved {
    /// The first frame that sounded so, counted as in [`Entry::frame`].
    pub from_frame: u64,
    #[serde(flatten)]
    pub moved: BedMove,
}

/// A change of the volume.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct VolumeSet {
    /// As in [`BedMoved`].
    pub from_frame: u64,
    /// Against the usual one, in decibels; the level of the loudspeaker's device is left aside.
    pub volume_db: f32,
}

impl Happening {
    /// Tells of a change in how the room's mixer sounds from a frame on.
    pub fn moved(what: Moved, from: Frames) -> Self {
        let from_frame = from.count();
        match what {
            Moved::Bed(moved) => Happening::Bed(BedMoved { from_frame, moved }),
            Moved::Volume(volume) => Happening::Volume(VolumeSet {
                from_frame,
                // JSON has no infinity.
                volume_db: volume.db().max(SILENCE.db()),
            }),
        }
    }
}

/// What a file begins with.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Began {
    /// [`FORMAT`].
    pub format: String,
    /// The version of the program.
    pub version: String,
    pub voice: String,
    /// The id of the session, its title and the path of its file.
    pub session: String,
    pub title: String,
    pub path: String,
    /// SHA-256 of the texts of the session and its movements, in hexadecimal.
    pub hash: String,
    pub caution: Caution,
    /// How many works the session has.
    pub works: usize,
    /// The work that it goes on from, counted from 1; none for the whole.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<usize>,
    /// How long it was to last, by estimate.
    pub planned_ms: i64,
    /// The language in which the program speaks, and how far speech is shaped; none in records from before it was
    /// written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub language: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clarity: Option<String>,
}

/// How much of the caution was said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Caution {
    Full,
    Brief,
}

impl Began {
    /// Returns the first line of the record of a class that is about to begin. `from` is the work that it
    /// goes on from, counted from 0.
    pub fn new(
        session: &Session,
        file: &Path,
        hash: String,
        voice: &str,
        caution: CautionLength,
        timeline: &Timeline,
        from: Option<usize>,
    ) -> Self {
        let id = file.file_stem().unwrap_or_default();
        Self {
            format: FORMAT.to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
            voice: voice.to_owned(),
            session: id.to_string_lossy().into_owned(),
            title: session.text.title.clone(),
            path: file.display().to_string(),
            hash,
            caution: caution.into(),
            works: timeline.works.len(),
            from: from.map(|work| work + 1),
            planned_ms: timeline.end().ms(),
            language: Some(session.text.language.tag().to_owned()),
            clarity: None,
        }
    }

    /// Says how far speech is shaped.
    #[must_use]
    pub fn with_clarity(self, clarity: Clarity) -> Self {
        Self {
            clarity: Some(clarity.word().to_owned()),
            ..self
        }
    }
}

/// Returns the hash of the texts that a session is made of: SHA-256, in hexadecimal.
pub fn hash<'t>(texts: impl Iterator<Item = &'t str>) -> String {
    let mut hash = Sha256::new();
    for text in texts {
        // With its length before it, no text runs into the next.
        hash.update((text.len() as u64).to_le_bytes());
        hash.update(text);
    }
    let hash = hash.finalize();
    hash.iter().map(|byte| format!("{byte:02x}")).collect()
}

impl From<CautionLength> for Caution {
    fn from(length: CautionLength) -> Self {
        match length {
            CautionLength::Full => Caution::Full,
            CautionLength::Brief => Caution::Brief,
        }
    }
}

/// Which work it is; all counted from 1.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WorkAt {
    /// Among all works of the session.
    pub work: usize,
    /// The id of the movement; none where everybody is on a station.
    pub movement: Option<String>,
    pub name: String,
    pub side: Option<String>,
    pub block: usize,
    pub round: usize,
    pub rounds: usize,
    /// On stations, which turn it is of how many in the round, counted from 1; not in records from before it was
    /// written down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<(usize, usize)>,
    /// None where it goes on until a key.
    pub planned_ms: Option<i64>,
}

/// A work, and how long it was done, pauses left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Done {
    #[serde(flatten)]
    pub work: WorkAt,
    pub done_ms: i64,
}

/// The effort felt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rate {
    /// 0 to 10; none where the question was answered with "skip".
    pub felt: Option<u8>,
    /// Whether it was told after the run.
    pub later: bool,
}

/// How long the class was heard, pauses left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Played {
    pub played_ms: i64,
}

/// Returns where a session folder keeps its record.
pub fn log_of(folder: &Path) -> PathBuf {
    folder.join("log")
}
