//! The noise of the room: how much there is in each band when nobody speaks.

use super::frames::BANDS;
use super::frames::Frame;
use super::frames::HOP;
use super::frames::RATE;
use super::frames::freedom;

/// The least that is taken for noise in a band: -90 dBFS, below what microphones make themselves. So a source
/// that is digitally silent between words is not said to have sound in the last bit.
const LEAST: f32 = 1e-9;

/// How fast the floor follows, as the time in which it makes up for 63 % of a change (common practice).
const FOLLOW_S: f32 = 2.0;

/// A frame counts for so many times the floor at most: a dropped weight does not raise it, a fan that is
/// switched on does within seconds.
const JUMP: f32 = 4.0;

/// Below this the network is sure that there is no voice.
pub(super) const NO_VOICE: f32 = 0.3;

/// The part of the first frames that must be free of voices to be taken as they are: a quarter.
const FREE: usize = 4;

/// A frame and its neighbours that stand out by more are no noise alone: noise comes to 4 +- 1 over five
/// frames, and to less than 9 in 99.9 % of them (measured with pink noise; the theory gives the 4).
pub(super) const SOUNDS: f32 = 10.0;

/// One frame counts for so much at most among its neighbours: two of five loud ones are sound, one is a click.
pub(super) const CAP: f32 = 25.0;

/// The noise floor.
#[derive(Debug, Clone)]
pub(super) struct Floor {
    bands: [f32; BANDS],
}

impl Floor {
    /// Measures the floor from the first frames: from those without a voice, or, where somebody speaks from the
    /// beginning, from the quietest ones.
    pub fn measured(first: &mut [Frame]) -> Self {
        let free = first.iter().filter(|it| it.voice < NO_VOICE).count();
        let mut floor = Floor {
            bands: [LEAST; BANDS],
        };
        if first.is_empty() {
            return floor;
        }
        let count = first.len();
        for band in 0..BANDS {
            first.sort_unstable_by(|a, b| a.bands[band].total_cmp(&b.bands[band]));
            // Above the median of what is free lies what rustles and knocks while a place is found.
            let power = if free * FREE >= count {
                let quiet = first.iter().filter(|it| it.voice < NO_VOICE);
                let half = quiet.clone().nth(free / 2).map_or(0.0, |it| it.bands[band]);
                half / median(band)
            } else {
                first[count / 10].bands[band] / median(band).powi(2)
            };
            floor.bands[band] = power.max(LEAST);
        }
        floor
    }

    /// Follows a frame in which nobody spoke.
    pub fn follow(&mut self, frame: &Frame) {
        let step = HOP as f32 / RATE.hz() as f32 / FOLLOW_S;
        for (floor, power) in self.bands.iter_mut().zip(&frame.bands) {
            let power = power.min(*floor * JUMP);
            *floor = (*floor + step * (power - *floor)).max(LEAST);
        }
    }

    /// Says how far a frame stands out: the log likelihood ratio of "noise and something" to "noise alone",
    /// summed over the bands that have more than the floor.
    ///
    /// After Sohn, Kim and Sung, "A statistical model-based voice activity detection", IEEE Signal Processing
    /// Letters 6(1), 1999, with the most likely level of the something; noise alone comes to about 4.
    pub fn excess(&self, frame: &Frame) -> f32 {
        let mut sum = 0.0;
        for (band, (power, floor)) in frame.bands.iter().zip(&self.bands).enumerate() {
            let ratio = power / floor;
            if ratio > 1.0 {
                sum += freedom(band) * (ratio - ratio.ln() - 1.0);
            }
        }
        sum
    }

    /// Returns the mean square of the noise, all bands together.
    pub fn power(&self) -> f32 {
        self.bands.iter().sum()
    }
}

/// The median of the mean of so many squares of noise, as part of their expectation (Wilson and Hilferty 1931).
fn median(band: usize) -> f32 {
    let values = 2.0 * freedom(band);
    (1.0 - 2.0 / (9.0 * values)).powi(3)
}
