//! The bed: music below the voice, as it comes to a mixer and as the mixer is told to play it.

use crate::base::units::Db;
use crate::base::units::Millis;

/// Frames of the bed that are handed over at a time: 10 ms.
pub const BED_BLOCK: usize = 480;

/// A piece of the bed: 48 kHz, stereo, levelled to -23 LUFS over each track.
#[derive(Debug, Clone)]
pub struct BedBlock {
    /// Left and right, full scale 1.0.
    pub frames: [[f32; 2]; BED_BLOCK],
    /// The greatest momentary loudness, in LUFS, from 0.4 s before this block to 3 s after it; minus
    /// infinity for silence. The dip is as deep as this asks for, so it is deep enough in time.
    pub loudness: f32,
}

/// What the bed is to do; each replaces the one before. Until the first, the bed waits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedAim {
    /// The gain on what the blocks hold, before any dip; minus infinity is silence.
    pub level: Db,
    /// How long the way to this level takes.
    pub fade: Millis,
    /// When it plays.
    pub plays: BedPlays,
}

/// When the bed plays. Where it does not, it fades and waits: no block is taken, so that it goes on
/// later with the very next one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BedPlays {
    /// Never.
    #[default]
    Never,
    /// While the session clock runs.
    WithTheClock,
    /// Through a hold too.
    Always,
}
