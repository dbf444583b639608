//! Clips -> samples: tones, transport and the mixer that the loudspeaker and the file share.
//!
//! Two halves, made together by [`desk_and_mixer`]. The [`Desk`] stays with whoever conducts the
//! session; the [`Mixer`] goes to a sink, whose callback asks it for samples. They talk by bounded
//! rings alone: clips and commands go in by one, clips that are done come out by another, so that
//! the callback neither allocates nor frees. **The clock is the number of frames rendered.**
//!
//! This room has no I/O, no clock and no threads. A sound stands at a [`FrameAt`] of the session;
//! what it means is not known here.

mod bed;
mod desk;
mod dip;
mod glide;
mod lead;
#[cfg(test)]
mod lead_tests;
mod master;
mod mixer;
mod near;
mod sounding;
mod sync;
#[cfg(test)]
mod tests;
mod tones;
mod transport;
mod volume;

use std::sync::Arc;

use crate::base::heard::BedMove;
use crate::base::heard::Moved;
use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::Millis;

pub use bed::BED_BLOCK;
pub use bed::BedAim;
pub use bed::BedBlock;
pub use bed::BedPlays;
pub use desk::Desk;
pub use desk::desk_and_mixer;
pub use master::Master;
pub use mixer::Mixer;
pub use sounding::audible;
pub use sounding::cut;
pub use sync::sync_tone;
pub use tones::Tone;

/// The fade of what is cut off, and of what comes back before it was gone.
///
/// 20 ms: no click, and with a buffer of 960 frames still silence within 60 ms in the median.
pub const FADE: Millis = Millis::from_ms(20);

/// How far ahead of its time a clip should be fed.
pub const AHEAD: Millis = Millis::from_secs(30);

/// Clips that a desk for a loudspeaker may have under way: in 30 s a counted work says one
/// repetition a second and few lines besides; this is several times as many.
pub const CAPACITY: usize = 256;

/// A sound and the place where it belongs.
#[derive(Debug, Clone)]
pub struct Clip {
    /// Says which clip this is; chosen by the owner, grows with the plan.
    pub id: u64,
    /// The position of the clip's first sample in the session.
    pub at: FrameAt,
    /// The samples: mono, at the rate of the mixer, full scale 1.0.
    pub samples: Arc<[f32]>,
}

impl Clip {
    /// Returns the position just after the clip's last sample.
    pub fn end(&self) -> FrameAt {
        FrameAt::new(self.at.index().saturating_add(self.samples.len() as u64))
    }
}

/// What the transport is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Command {
    /// Starts or resumes the session clock.
    ///
    /// A clip that begins here is heard from its first sample at full level, so that a tone on the
    /// very frame of a resume keeps its onset; only what was fading when this came is faded in.
    Play,
    /// Starts the session clock with the end of what is spoken over the session, to the frame; at once
    /// where nothing is. A hold, a jump and a hush that come before call it off.
    PlayWhenSaid,
    /// Fades out all that sounds, within [`FADE`]; the session clock stops at the end of the fade.
    ///
    /// Where nothing sounds it stops at once. What was cut comes back as [`Outcome::Cut`] and is not
    /// continued: the owner feeds it again where it fits.
    Hold,
    /// Moves the session clock, after a fade of what sounds. All clips that wait are dropped,
    /// those fed after this command belong to the new place. Plays on or stays held, as before.
    Jump(FrameAt),
    /// Moves a session clock that is held, or about to be, and drops all clips that wait; what is spoken
    /// over the session stays. For a mixer that is to be where another one is.
    Place(FrameAt),
    /// Drops clips that wait; never one that sounds.
    Clear(Clear),
    /// Fades out and drops what was to be spoken over the session.
    Hush,
    /// Sets the volume, at most [`Desk::LOUDEST`], reached within 50 ms.
    Volume(Db),
    /// Sets what the bed does; without a bed it changes nothing.
    Bed(BedAim),
    /// Moves the bed as it was moved once, on the very frame; from then on it moves by this alone.
    BedMove(BedMove),
    /// Fades out all and ends: from then on the mixer renders zeros and gives every clip back.
    Stop,
}

/// Which of the waiting clips are dropped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clear {
    /// All of them.
    All,
    /// Those that begin at this position or after it.
    From(FrameAt),
    /// Those whose id is this or a later one.
    Ids(u64),
    /// The one with this id.
    Id(u64),
}

/// What became of a clip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// It was rendered whole.
    Played,
    /// It was faded out after so many frames, the fade included; none if its time fell into a fade.
    Cut(Frames),
    /// It came after its time and was not played: half a word is worse than none.
    Late,
    /// It was dropped by a jump, a clear, a hush or a stop before it began.
    Dropped,
}

/// A clip that is done.
#[derive(Debug, Clone)]
pub struct Finished {
    /// The clip as it was handed over.
    pub clip: Clip,
    /// Whether it was spoken over the session, by [`Desk::speak_over`].
    pub over: bool,
    /// What became of it.
    pub outcome: Outcome,
    /// When its first sample was rendered, on the clock of [`Status::device`]; none of what never sounded.
    pub began: Option<Frames>,
    /// After how many of its frames it began to fade out; none where it did not, or came back.
    pub faded: Option<Frames>,
}

/// A change in how the mixer sounds, told as it happens, so that it can be written down and done again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noted {
    pub what: Moved,
    /// The first frame that sounds so, on the clock of [`Status::device`].
    pub frame: Frames,
}

/// What the session clock does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It stands: before the start, in a hold, while the device is away.
    Held,
    /// It runs.
    Playing,
    /// It runs through the fade before a hold, a jump or a stop.
    Fading,
    /// It has ended for good.
    Stopped,
}

/// The mixer as last seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Status {
    /// The session frame that is rendered next.
    pub position: FrameAt,
    /// Frames handed to the device since the mixer was made, held or not.
    pub device: Frames,
    pub state: State,
    /// Whether every command sent so far is carried out, its fade included.
    pub settled: bool,
    /// The id of the clip that sounds in the session, the last begun if several.
    pub sounding: Option<u64>,
    /// The id of the clip that is spoken over the session or is next to be.
    pub over: Option<u64>,
    /// Clips that wait for their time.
    pub waiting: usize,
    /// Clips that came after their time, since the mixer was made.
    pub late: u64,
    /// How often the bed had to fade because its blocks came too slowly.
    pub bed_gaps: u64,
}

/// Says that there is no room for a clip or command and hands it back, to be tried again.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("the mixer has no room; try again when a clip is done")]
pub struct Full<T>(pub T);
