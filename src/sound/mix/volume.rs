//! The volume.

use super::Desk;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// How long a change of volume takes: no step is heard, and a button still feels immediate.
const VOLUME_RAMP: Millis = Millis::from_ms(50);

/// The volume, as factors for amplitudes.
#[derive(Debug)]
pub(super) struct Volume {
    now: f32,
    goal: f32,
    step: f32,
    left: u64,
    ramp: u64,
}

impl Volume {
    /// Starts at unity.
    pub fn new(rate: SampleRate) -> Self {
        Volume {
            now: 1.0,
            goal: 1.0,
            step: 0.0,
            left: 0,
            ramp: VOLUME_RAMP.frames(rate).count().max(1),
        }
    }

    /// Aims at a new volume; one that is not a number is ignored.
    pub fn aim(&mut self, goal: Db) {
        if goal.db().is_nan() {
            return;
        }
        let goal = goal.gain().min(Desk::LOUDEST.gain());
        self.goal = goal;
        self.left = self.ramp;
        self.step = (goal - self.now) / self.ramp as f32;
    }

    /// Applies the volume to what is heard in the middle and to as much of the bed.
    ///
    /// What becomes too loud by it is for the limiter; what is no number becomes silence.
    pub fn apply(&mut self, mono: &mut [f32], bed: &mut [[f32; 2]]) {
        let ramp = mono.len().min(self.left as usize);
        let bed_ramp = ramp.min(bed.len());
        let (moving, steady) = mono.split_at_mut(ramp);
        let (bed_moving, bed_steady) = bed.split_at_mut(bed_ramp);
        let from = self.now;
        for (sample, n) in moving.iter_mut().zip(1_u16..) {
            *sample = number(*sample * (from + self.step * f32::from(n)));
        }
        for (frame, n) in bed_moving.iter_mut().zip(1_u16..) {
            *frame = frame.map(|sample| number(sample * (from + self.step * f32::from(n))));
        }
        self.now = from + self.step * ramp as f32;
        self.left -= ramp as u64;
        if self.left == 0 {
            self.now = self.goal;
        }
        for sample in steady {
            *sample = number(*sample * self.now);
        }
        for frame in bed_steady {
            *frame = frame.map(|sample| number(sample * self.now));
        }
    }
}

/// Makes silence of what is no number.
fn number(sample: f32) -> f32 {
    match sample.is_finite() {
        true => sample,
        false => 0.0,
    }
}
