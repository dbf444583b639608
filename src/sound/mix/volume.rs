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
    from: f32,
    goal: f32,
    step: f32,
    /// Frames of the ramp that are done, of how many.
    done: u16,
    ramp: u16,
}

impl Volume {
    /// Starts at unity.
    pub fn new(rate: SampleRate) -> Self {
        let ramp = VOLUME_RAMP.frames(rate).count();
        let ramp = u16::try_from(ramp).unwrap_or(u16::MAX).max(1);
        Volume {
            from: 1.0,
            goal: 1.0,
            step: 0.0,
            done: ramp,
            ramp,
        }
    }

    /// Aims at a new volume; one that is not a number is ignored.
    pub fn aim(&mut self, goal: Db) {
        if goal.db().is_nan() {
            return;
        }
        self.from = self.at(0);
        self.goal = goal.gain().min(Desk::LOUDEST.gain());
        self.done = 0;
        self.step = (self.goal - self.from) / f32::from(self.ramp);
    }

    /// Is at its goal at once.
    pub fn arrive(&mut self) {
        self.done = self.ramp;
    }

    /// Applies the volume to what is heard in the middle and to as much of the bed; in however many parts it is
    /// done, the samples are the same.
    ///
    /// What becomes too loud by it is for the limiter; what is no number becomes silence.
    pub fn apply(&mut self, mono: &mut [f32], bed: &mut [[f32; 2]]) {
        let ramp = mono.len().min(usize::from(self.ramp - self.done));
        let bed_ramp = ramp.min(bed.len());
        let (moving, steady) = mono.split_at_mut(ramp);
        let (bed_moving, bed_steady) = bed.split_at_mut(bed_ramp);
        for (sample, n) in moving.iter_mut().zip(1_u16..) {
            *sample = number(*sample * self.at(n));
        }
        for (frame, n) in bed_moving.iter_mut().zip(1_u16..) {
            *frame = frame.map(|sample| number(sample * self.at(n)));
        }
        self.done += ramp as u16;
        for sample in steady {
            *sample = number(*sample * self.goal);
        }
        for frame in bed_steady {
            *frame = frame.map(|sample| number(sample * self.goal));
        }
    }

    /// Returns the volume so many frames on.
    fn at(&self, frames: u16) -> f32 {
        match self.done.saturating_add(frames) {
            done if done < self.ramp => self.from + self.step * f32::from(done),
            _ => self.goal,
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
