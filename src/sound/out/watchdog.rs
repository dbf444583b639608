//! Tells a living stream from a dead one, by its errors and by its frames.

use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicU32;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;
use std::time::Duration;

use cpal::ErrorKind;

use crate::base::units::SampleRate;

/// How long no frame may be asked for. With 960 frames a callback comes every 20 ms; under load
/// some come late, but none by fifty times.
const FROZEN: Duration = Duration::from_secs(1);

/// The same while a device wakes: a sink that was asleep takes two seconds for its first buffers, a
/// wireless loudspeaker as long.
const ASLEEP: Duration = Duration::from_secs(5);

/// A device is awake once it was seen to ask for sound so many times.
const AWAKE: u32 = 8;

/// Seconds of sound that a device may take at once, besides four times those that pass: the
/// largest buffer that a sound server is known to fill at the start. One that leads nowhere takes
/// hours of it in a blink, and a session would be over before it began.
const AT_ONCE: f64 = 2.0;

/// What a single look counts for at most.
const LATE_LOOK: Duration = Duration::from_millis(300);

/// Errors of the harmless kind that a stream may report between two looks. At start-up there are a
/// few; a stream whose device is gone reports millions.
const FLOOD: u32 = 50;

/// What the callbacks of one stream leave for its keeper. They set atomics and do nothing else.
#[derive(Debug, Default)]
pub(super) struct Pulse {
    /// Callbacks so far, and the frames that they gave.
    beats: AtomicU64,
    frames: AtomicU64,
    /// An error that says the stream is dead.
    dead: AtomicBool,
    /// Other errors.
    errors: AtomicU32,
    /// Times the device ran dry, as far as the host tells.
    underruns: AtomicU64,
}

/// Looks at a pulse from time to time.
#[derive(Debug, Default)]
pub(super) struct Watchdog {
    beats: u64,
    frames: u64,
    still: Duration,
    /// Looks that found it asking for sound.
    lively: u32,
    /// Seconds of sound that it took and has not played yet.
    ahead: f64,
}

impl Pulse {
    /// Counts a callback of so many frames.
    pub fn beat(&self, frames: usize) {
        self.beats.fetch_add(1, Ordering::Relaxed);
        self.frames.fetch_add(frames as u64, Ordering::Relaxed);
    }

    /// Notes an error.
    pub fn error(&self, kind: ErrorKind) {
        match kind {
            ErrorKind::DeviceNotAvailable
            | ErrorKind::StreamInvalidated
            | ErrorKind::HostUnavailable => self.dead.store(true, Ordering::Relaxed),
            // The stream goes on, by the host's own word.
            ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => {}
            ErrorKind::Xrun => {
                self.underruns.fetch_add(1, Ordering::Relaxed);
            }
            _ => {
                self.errors.fetch_add(1, Ordering::Relaxed);
            }
        }
    }
}

impl Watchdog {
    /// Returns how often the device ran dry since it was last asked.
    pub fn underruns(pulse: &Pulse) -> u64 {
        pulse.underruns.swap(0, Ordering::Relaxed)
    }

    /// Says why the stream is dead, if it is; `since` is the time since the last look.
    ///
    /// A look that comes late counts as one in time: what kept it from looking may well have kept
    /// the stream.
    pub fn look(&mut self, pulse: &Pulse, since: Duration) -> Option<&'static str> {
        let beats = pulse.beats.load(Ordering::Relaxed);
        // What it took ahead it has to play before it asks for more.
        self.still = match beats == self.beats && self.ahead <= 0.0 {
            true => self.still + since.min(LATE_LOOK),
            false => Duration::ZERO,
        };
        self.lively = self.lively.saturating_add(u32::from(beats != self.beats));
        self.beats = beats;
        let frames = pulse.frames.load(Ordering::Relaxed);
        let taken = (frames - self.frames) as f64 / f64::from(SampleRate::OUTPUT.hz());
        self.frames = frames;
        self.ahead = (self.ahead + taken - since.as_secs_f64()).clamp(0.0, AT_ONCE);
        let patience = if self.lively < AWAKE { ASLEEP } else { FROZEN };
        let errors = pulse.errors.swap(0, Ordering::Relaxed);
        if pulse.dead.load(Ordering::Relaxed) {
            Some("the device is gone")
        } else if errors > FLOOD {
            Some("the device reports nothing but errors")
        } else if taken > AT_ONCE + since.as_secs_f64() * 4.0 {
            Some("the device takes sound faster than it can be heard")
        } else if self.still >= patience {
            Some("the device asks for no more sound")
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LOOK: Duration = Duration::from_millis(300);

    #[test]
    fn a_stream_that_beats_lives_and_a_frozen_one_is_dead_after_a_second() {
        let (pulse, mut dog) = (Pulse::default(), Watchdog::default());
        for _ in 0..10 {
            pulse.beat(960);
            assert_eq!(dog.look(&pulse, LOOK), None);
        }
        for _ in 0..3 {
            assert_eq!(dog.look(&pulse, LOOK), None);
        }
        assert!(dog.look(&pulse, LOOK).is_some());
    }

    #[test]
    fn a_device_that_wakes_slowly_is_waited_for() {
        let (pulse, mut dog) = (Pulse::default(), Watchdog::default());
        pulse.beat(960);
        for _ in 0..(4_500 / 300) {
            assert_eq!(dog.look(&pulse, LOOK), None);
        }
        pulse.beat(960);
        assert_eq!(dog.look(&pulse, LOOK), None);
        for _ in 0..(4_800 / 300) {
            assert_eq!(dog.look(&pulse, LOOK), None);
        }
        assert!(dog.look(&pulse, LOOK).is_some());
    }

    #[test]
    fn a_device_may_fill_its_buffer_at_once_but_not_swallow_the_session() {
        let (pulse, mut dog) = (Pulse::default(), Watchdog::default());
        pulse.beat(96_000);
        assert_eq!(dog.look(&pulse, LOOK), None);
        pulse.beat(48_000 * 10);
        assert!(dog.look(&pulse, LOOK).is_some());
    }

    #[test]
    fn what_a_device_took_ahead_it_may_play_before_it_asks_for_more() {
        let (pulse, mut dog) = (Pulse::default(), Watchdog::default());
        for _ in 0..AWAKE {
            pulse.beat(14_400);
            assert_eq!(dog.look(&pulse, LOOK), None);
        }
        // 1.9 s at once, as a sink that nobody listens to does.
        pulse.beat(91_200);
        for _ in 0..9 {
            assert_eq!(dog.look(&pulse, LOOK), None);
        }
        let found = (0..4).find_map(|_| dog.look(&pulse, LOOK));
        assert!(found.is_some(), "and no longer");
    }

    #[test]
    fn a_look_that_comes_late_ends_nothing() {
        let (pulse, mut dog) = (Pulse::default(), Watchdog::default());
        assert_eq!(dog.look(&pulse, LOOK * 100), None);
        pulse.beat(960);
        assert_eq!(dog.look(&pulse, LOOK), None);
    }

    #[test]
    fn a_few_errors_are_harmless_and_a_flood_or_a_lost_device_is_not() {
        let (pulse, mut dog) = (Pulse::default(), Watchdog::default());
        pulse.beat(960);
        for _ in 0..5 {
            pulse.error(ErrorKind::BackendError);
        }
        pulse.error(ErrorKind::Xrun);
        assert_eq!(dog.look(&pulse, LOOK), None);
        assert_eq!(
            (Watchdog::underruns(&pulse), Watchdog::underruns(&pulse)),
            (1, 0)
        );
        for _ in 0..1000 {
            pulse.error(ErrorKind::BackendError);
        }
        pulse.beat(960);
        assert!(dog.look(&pulse, LOOK).is_some());
        pulse.error(ErrorKind::DeviceNotAvailable);
        pulse.beat(960);
        assert!(dog.look(&pulse, LOOK).is_some());
    }
}
