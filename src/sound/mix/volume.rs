//! The volume, and full scale, which nothing leaves.

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

    /// Applies the volume and keeps the result within full scale.
    pub fn apply(&mut self, mono: &mut [f32]) {
        let ramp = mono.len().min(self.left as usize);
        let (moving, steady) = mono.split_at_mut(ramp);
        for sample in moving {
            self.now += self.step;
            *sample = within(*sample * self.now);
        }
        self.left -= ramp as u64;
        if self.left == 0 {
            self.now = self.goal;
        }
        for sample in steady {
            *sample = within(*sample * self.now);
        }
    }
}

/// Keeps a sample within full scale; what is not a number becomes silence.
fn within(sample: f32) -> f32 {
    match sample.is_nan() {
        true => 0.0,
        false => sample.clamp(-1.0, 1.0),
    }
}
