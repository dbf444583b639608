//! A folder of music -> blocks of stereo frames, levelled, cross-faded, without end: the bed.
//!
//! [`Bed`] is pulled by whoever writes a file; [`BedThread`] pushes ahead into a ring for a loudspeaker, on a
//! thread of its own, so that neither the mixer nor the class ever waits for a disk. What cannot be played is
//! skipped with a word; where nothing can be played the bed is silence, and the class goes on.
#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: it reads music, keeps what it measured, and has the thread"
)]

mod ahead;
mod bed;
mod deck;
mod guard;
mod headers;
mod kept;
mod kind;
mod list;
mod measure;
mod order;
mod reel;
mod stereo;
mod thread;
mod track;

pub use bed::Bed;
pub use bed::Sequence;
pub use kept::home;
pub use kept::standard as kept;
pub use list::listing;
pub use thread::BedNews;
pub use thread::BedThread;

use std::path::PathBuf;

/// Where music comes from, and in which order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shelf {
    pub folder: PathBuf,
    pub order: Order,
}

/// The order of tracks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// By name; numbers by their value.
    Named,
    /// Another order for each seed; each track once before any comes again.
    Shuffled { seed: u64 },
}

/// The loudness that each track is brought to, in LUFS: the level of EBU R 128.
pub const LEVEL: f32 = -23.0;

/// How long one track fades into the next, in frames: two seconds.
const CROSS_FADE: usize = 96_000;
