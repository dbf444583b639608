//! What was heard of a class: the noun that the record, whoever speaks it again and what is published of it share.

use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use serde::Deserialize;
use serde::Serialize;
use std::path::PathBuf;

/// One thing that sounded, as the record keeps it. Frames are those of 48 kHz that the room's mixer has rendered since
/// it was made, whether the class ran or stood.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heard {
    pub what: What,
    /// What was spoken, as it is written; of a fault tone what could not be. None of other tones and a count-in.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub text: String,
    /// What was counted before a work went on, a second each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub counts: Vec<String>,
    /// How fast it was spoken, in thousandths of the voice's normal rate; none of tones and a count-in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rate: Option<u16>,
    /// Whether a tone was a soft one.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub soft: bool,
    /// When its first sample was rendered.
    pub from_frame: u64,
    /// How many samples it has, and how many of them were heard if it was cut.
    pub frames: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heard_frames: Option<u64>,
    /// After how many of them it began to fade out, if it did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fade_frame: Option<u64>,
}

/// What it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum What {
    SyncTone,
    StartTone,
    EndTone,
    /// Something that could not be spoken.
    FaultTone,
    /// A spoken mark of the plan.
    Count,
    /// A line of the plan.
    Line,
    /// What was said over the class.
    Said,
    /// The count with which a class goes on.
    CountIn,
    /// What a later version writes.
    #[serde(other)]
    Unknown,
}

impl What {
    /// Tells whether it is a tone.
    pub const fn is_tone(self) -> bool {
        matches!(
            self,
            What::SyncTone | What::StartTone | What::EndTone | What::FaultTone
        )
    }
}

impl Heard {
    /// Returns how many of its samples were heard.
    pub fn played(&self) -> Frames {
        Frames::new(
            self.heard_frames
                .map_or(self.frames, |cut| cut.min(self.frames)),
        )
    }
}

/// A value on its way along half a cosine, or at rest.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Way {
    pub from: f32,
    pub to: f32,
    /// How many frames the whole way takes, and how many of them are left.
    pub frames: u64,
    #[serde(default, skip_serializing_if = "is_zero")]
    pub left: u64,
}

fn is_zero(frames: &u64) -> bool {
    *frames == 0
}

/// What moves the gain of the bed, which is the product of three; what is not told goes on as it was.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct BedMove {
    /// The factor on what is in its blocks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level: Option<Way>,
    /// 1 where it plays and 0 where it waits: then no block is used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gate: Option<Way>,
    /// How far it steps back for what is heard, in decibels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dip: Option<Way>,
}

impl BedMove {
    /// Ends it at once.
    pub const CUT: BedMove = BedMove {
        level: None,
        gate: Some(Way {
            from: 0.0,
            to: 0.0,
            frames: 1,
            left: 0,
        }),
        dip: None,
    };

    /// Tells whether it ends the bed at once.
    pub fn cuts(&self) -> bool {
        self.gate
            .is_some_and(|gate| gate.left == 0 && gate.to == 0.0)
    }
}

/// What changed how a mixer sounds, besides what it plays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Moved {
    Bed(BedMove),
    Volume(Db),
}

/// Which music the bed is made of from a block of it on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MusicFrom {
    /// Blocks of 10 ms, counted from the first one that was made.
    pub block: u64,
    /// Where its files are; in a record, from the session folder on.
    pub folder: PathBuf,
    /// What its order was shuffled by; none where the tracks stand by name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// SHA-256 of the names and sizes of its files, in hexadecimal.
    pub files: String,
}

/// What sounded in a run, on the clock of a file of it, which begins with the sync tone.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Course {
    pub title: String,
    /// In order of their first samples; the sync tone is none of them.
    pub sounds: Vec<(FrameAt, Heard)>,
    /// What the music below it is made of, and what became of its gain and of the volume, in order.
    pub music: Vec<MusicFrom>,
    pub moves: Vec<(FrameAt, Moved)>,
    pub works: Vec<WorkDone>,
    /// Where the record tells nothing, and what is known of it.
    pub missing: Vec<Missing>,
    pub end: FrameAt,
}

/// A work as it was done: from its start to its end, or to where it was left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkDone {
    pub start: FrameAt,
    pub end: FrameAt,
    /// None where everybody is on a station.
    pub name: Option<String>,
    /// The id of the side.
    pub side: Option<String>,
    /// Counted from 1.
    pub block: usize,
    pub round: usize,
    pub rounds: usize,
    /// On stations, which turn of the round it is, of how many.
    pub turn: Option<(usize, usize)>,
}

/// A stretch of which the record lacks something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Missing {
    pub from: FrameAt,
    pub to: FrameAt,
    pub why: Why,
}

/// Why something lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The disk was too slow for so many lines.
    Missed(u64),
    /// The record ends here, without an end of the run.
    CutOff,
    /// A later version wrote what is not understood.
    Unknown,
}

/// Something that was heard, for whoever shows it: on the clock of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spoken {
    pub what: What,
    pub text: String,
    /// When it is heard, and would be to its end.
    pub onset: At,
    pub end: At,
    /// When it was cut off before its end.
    pub cut: Option<At>,
    /// The words with their times in ms; none where the voice does not tell.
    pub words: Vec<(String, i64, i64)>,
    /// Whether it is in the file: what cannot be spoken again is left out.
    pub sounds: bool,
}
