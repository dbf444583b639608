//! Pure functions on mono samples: shaping, metering, resampling, stretching, limiting, trimming, levelling.
//!
//! Nothing here reads a file, a clock or a setting. Samples are `f32`, full scale is 1.0.
//!
//! A clip is mono and is heard from two loudspeakers, the same samples in both channels of the
//! output. Its loudness is therefore always that of the pair ([`Heard::Both`]): 3 LU more than
//! one channel alone (ITU-R BS.1770-5 adds the powers of the channels).

pub mod clarity;
pub mod flow;
pub mod k_weighting;
pub mod level;
pub mod limiter;
pub mod meter;
pub mod resample;
pub mod stretch;
pub mod trim;

use crate::base::units::Db;

/// From how many loudspeakers a mono clip is heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heard {
    /// From one.
    One,
    /// The same samples from the left and the right one.
    Both,
}

/// The highest true peak of anything that is spoken (AES TD1008).
pub const CEILING: Db = Db::new(-1.0);

/// The sample value above which a line counts as audible: -40 dBFS of the levelled line.
pub const AUDIBLE: f32 = 0.01;
