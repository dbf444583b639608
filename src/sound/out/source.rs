//! What a loudspeaker plays: one master, two side by side, or one that follows another device.

use std::fmt::Debug;
use std::sync::Arc;
use std::sync::OnceLock;
use std::sync::atomic::AtomicI64;
use std::sync::atomic::Ordering;
use std::time::Duration;
use std::time::Instant;

use crate::base::units::FrameAt;
use crate::base::units::SampleRate;
use crate::sound::mix::Master;

/// Renders for a device. What it does in [`Source::fill`] it does in the callback: it neither allocates,
/// frees, waits, logs nor panics.
pub trait Source: Debug + Send {
    /// Returns the number of channels of what it fills.
    fn channels(&self) -> u16;

    /// Returns the session frame that is mixed next.
    fn position(&self) -> FrameAt;

    /// Renders the next frames, interleaved, `now` on the clock of [`now`]. An empty buffer only heeds
    /// commands.
    fn fill(&mut self, now: Duration, out: &mut [f32]);

    /// Hears that its device is gone, outside the callback.
    fn device_lost(&mut self);
}

impl Source for Master {
    fn channels(&self) -> u16 {
        Master::channels(self)
    }

    fn position(&self) -> FrameAt {
        Master::position(self)
    }

    fn fill(&mut self, _now: Duration, out: &mut [f32]) {
        Master::fill(self, out);
    }

    fn device_lost(&mut self) {
        Master::device_lost(self);
    }
}

impl<T: Into<Master>> From<T> for Box<dyn Source> {
    fn from(mixer: T) -> Self {
        Box::new(mixer.into())
    }
}

/// Returns the time since something long ago; a thread that asks for it early makes it free of any lock.
#[expect(clippy::disallowed_methods, reason = "the clock of the callbacks")]
pub(super) fn now() -> Duration {
    static BEGAN: OnceLock<Instant> = OnceLock::new();
    BEGAN.get_or_init(Instant::now).elapsed()
}

/// The clock of a device, written by its callback and read by another's.
#[derive(Debug, Clone)]
pub struct DeviceClock(Arc<Shown>);

#[derive(Debug)]
struct Shown {
    /// In microseconds; see [`super::drift`].
    origin: AtomicI64,
    /// Counts the streams: with each the origin is another.
    stream: AtomicI64,
}

/// A source whose device's clock others may follow.
#[derive(Debug)]
pub struct Leading {
    source: Box<dyn Source>,
    clock: DeviceClock,
    /// Frames rendered since the device was opened.
    frames: u64,
}

impl Leading {
    /// Puts a clock to a source.
    pub fn new(source: impl Into<Box<dyn Source>>) -> Self {
        let shown = Shown {
            origin: AtomicI64::new(i64::MAX),
            stream: AtomicI64::new(0),
        };
        Leading {
            source: source.into(),
            clock: DeviceClock(Arc::new(shown)),
            frames: 0,
        }
    }

    /// Returns the clock, for those who follow.
    pub fn clock(&self) -> DeviceClock {
        self.clock.clone()
    }
}

impl Source for Leading {
    fn channels(&self) -> u16 {
        self.source.channels()
    }

    fn position(&self) -> FrameAt {
        self.source.position()
    }

    fn fill(&mut self, now: Duration, out: &mut [f32]) {
        self.source.fill(now, out);
        if out.is_empty() {
            return;
        }
        // Dated by when it was asked for the first of them.
        self.clock
            .0
            .origin
            .store(origin(now, self.frames), Ordering::Relaxed);
        self.frames += (out.len() / usize::from(self.channels().max(1))) as u64;
    }

    fn device_lost(&mut self) {
        self.source.device_lost();
        self.frames = 0;
        self.clock.0.origin.store(i64::MAX, Ordering::Relaxed);
        self.clock.0.stream.fetch_add(1, Ordering::Relaxed);
    }
}

impl DeviceClock {
    /// Returns the origin, if the device runs, and the number of its stream.
    pub(super) fn read(&self) -> (Option<i64>, i64) {
        let origin = self.0.origin.load(Ordering::Relaxed);
        let stream = self.0.stream.load(Ordering::Relaxed);
        ((origin != i64::MAX).then_some(origin), stream)
    }
}

/// Returns the origin of a clock that has rendered so many frames by now.
pub(super) fn origin(now: Duration, frames: u64) -> i64 {
    let hz = u64::from(SampleRate::OUTPUT.hz());
    // A week of frames times a million is far from the end of 64 bits.
    let played = frames.saturating_mul(1_000_000) / hz;
    now.as_micros() as i64 - played as i64
}
