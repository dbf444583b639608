//! The ground: what every wing stands on, and what stands on no wing.
//!
//! This wing never does I/O, reads no clock and knows nothing of sessions or sound devices.

pub mod chapters;
pub mod diagnostic;
pub mod heard;
pub mod music;
pub mod tones;
pub mod units;
pub mod utterance;
pub mod wording;
