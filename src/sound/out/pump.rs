//! A sink pumped by hand: for tests, at any rate, so that asserts can be read.

use crate::sound::mix::Mixer;

/// Holds a mixer and renders when asked.
#[derive(Debug)]
pub struct Pump {
    mixer: Mixer,
}

impl Pump {
    /// Takes the mixer.
    pub fn new(mixer: Mixer) -> Self {
        Pump { mixer }
    }

    /// Renders the next frames and returns them, interleaved.
    pub fn pump(&mut self, frames: usize) -> Vec<f32> {
        let mut out = vec![f32::NAN; frames * usize::from(self.mixer.channels())];
        self.mixer.fill(&mut out);
        out
    }

    /// Renders into a buffer that is there already.
    pub fn fill(&mut self, out: &mut [f32]) {
        self.mixer.fill(out);
    }

    /// Acts as if the device were gone.
    pub fn lose_device(&mut self) {
        self.mixer.device_lost();
    }
}
