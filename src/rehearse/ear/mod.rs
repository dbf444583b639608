//! Hears when somebody speaks: samples as they come -> spans of speech, and how far that can be trusted.
//!
//! samples -> 16 kHz (`Flow`) -> `frames` (bands, network) -> `floor` (how far they stand out) -> `spans`. It is
//! told what it hears and when our own prompts sounded; it knows no microphone, file or clock. It keeps no sound.

mod floor;
mod frames;
mod health;
mod listener;
mod masks;
mod spans;

use crate::base::units::At;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::sound::dsp::flow::Flow;

use frames::HOP;
use frames::RATE;
use health::Gauge;
use listener::Listener;

pub use health::Health;

/// A stretch of time in a stream, from its first sample on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    pub from: At,
    pub to: At,
}

impl Span {
    /// Returns how long it is.
    pub fn length(self) -> Millis {
        self.to - self.from
    }
}

/// The rates that are listened to: from that of a telephone to the highest of converters.
const RATES: std::ops::RangeInclusive<u32> = 8_000..=192_000;

/// Why nothing can be heard at a rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "expected a microphone of 8 to 192 kHz, found one of {0} Hz: choose another rate or another microphone"
)]
pub struct UnfitRate(pub u32);

/// Listens to one stream of mono samples. Its state does not grow, however long that is.
pub struct Ear {
    flow: Flow,
    /// Samples that do not fill a frame yet.
    hop: [f32; HOP],
    filled: usize,
    listener: Listener,
}

impl Ear {
    /// Gets ready for a stream. What is heard in its first two seconds is told once they are over, since the noise
    /// of the room is measured in them.
    ///
    /// # Errors
    ///
    /// [`UnfitRate`] below 8 and above 192 kHz.
    pub fn new(rate: SampleRate) -> Result<Self, UnfitRate> {
        let unfit = UnfitRate(rate.hz());
        if !RATES.contains(&rate.hz()) {
            return Err(unfit);
        }
        Ok(Ear {
            flow: Flow::new(rate, RATE).ok_or(unfit)?,
            hop: [0.0; HOP],
            filled: 0,
            listener: Listener::new(Gauge::new(rate)),
        })
    }

    /// Takes in the next mono samples, full scale being 1, and returns the spans that are over with them: each some
    /// 350 ms after its end, in order and apart.
    pub fn push(&mut self, samples: &[f32]) -> Vec<Span> {
        for sample in samples {
            self.listener.gauge.sample(*sample);
        }
        let mut found = Vec::new();
        self.hear(samples, &mut found);
        found
    }

    /// Lets time pass for frames that were lost on their way, so that what comes after them keeps its place.
    pub fn lost(&mut self, frames: Frames) -> Vec<Span> {
        let mut found = Vec::new();
        let mut left = frames.count();
        let silence = [0.0; 1024];
        while left > 0 {
            let now = left.min(silence.len() as u64);
            self.listener.gauge.lost(now);
            self.hear(&silence[..now as usize], &mut found);
            left -= now;
        }
        found
    }

    /// Says that a prompt of ours sounds from `from` to `to`, on the clock of the stream: what is heard then is not
    /// the coach's, spans are cut by it, and what is left of its echo is no span. To be told before those samples
    /// are; not to be told of prompts that only an earpiece plays.
    pub fn mask(&mut self, from: At, to: At) {
        self.listener.masks.add(Span { from, to });
    }

    /// Ends the stream and returns the spans that are over with it.
    pub fn finish(mut self) -> Vec<Span> {
        let mut found = Vec::new();
        let Ear {
            flow,
            hop,
            filled,
            listener,
        } = &mut self;
        flow.finish(&mut |made| cut(made, hop, filled, |it| listener.hear(it, &mut found)));
        listener.finish(&mut found);
        found
    }

    /// Returns whether somebody speaks right now: told some 100 to 300 ms after that begins, and until the silence
    /// after it is long enough to end the span.
    pub fn speaking(&self) -> bool {
        self.listener.speaking()
    }

    /// Says how the input is by `now`, which is the time since its first sample.
    pub fn health(&self, now: At) -> Health {
        self.listener.health(now)
    }

    fn hear(&mut self, samples: &[f32], found: &mut Vec<Span>) {
        let Ear {
            flow,
            hop,
            filled,
            listener,
        } = self;
        flow.push(samples, &mut |made| {
            cut(made, hop, filled, |it| listener.hear(it, found));
        });
    }
}

/// Cuts samples into frames.
fn cut(
    samples: &[f32],
    hop: &mut [f32; HOP],
    filled: &mut usize,
    mut whole: impl FnMut(&[f32; HOP]),
) {
    for sample in samples {
        // The filter of the resampler overshoots, and a driver may send what is no number.
        hop[*filled] = match sample.is_finite() {
            true => sample.clamp(-1.0, 1.0),
            false => 0.0,
        };
        *filled += 1;
        if *filled == HOP {
            *filled = 0;
            whole(hop);
        }
    }
}
