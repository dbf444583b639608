//! From the callback to whoever polls: a ring, and counters that only ever tell what happened.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicI64;
use std::sync::atomic::AtomicU32;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;
use std::time::Duration;
use std::time::Instant;

use cpal::ErrorKind;
use rtrb::Consumer;
use rtrb::Producer;
use rtrb::RingBuffer;

use super::Began;
use crate::base::units::Frames;
use crate::base::units::SampleRate;

/// How much waits for a poll: longer than a busy machine keeps a program from polling.
const SECONDS: usize = 10;

/// Before the first frame.
const NEVER: i64 = i64::MAX;

/// What the callbacks of a stream leave for whoever polls. They set atomics and fill the ring, nothing else.
#[derive(Debug)]
pub(super) struct Pulse {
    /// Frames so far, with those that were lost.
    pub frames: AtomicU64,
    /// Frames that found no room since this was last taken. While there are any, none enters the ring.
    lost: AtomicU64,
    /// An error that says the stream is dead.
    pub dead: AtomicBool,
    /// Other errors.
    pub errors: AtomicU32,
    /// When the first frame arrived, in nanoseconds since the stream was opened, by the promptest callback.
    began: AtomicI64,
    /// Nanoseconds from capture to arrival, as last told.
    latency: AtomicU64,
}

/// The end of the ring that the callback holds.
pub(super) struct Ring {
    samples: Producer<f32>,
    pulse: Arc<Pulse>,
    rate: SampleRate,
}

/// The end of the ring that is polled.
pub(super) struct Captured {
    samples: Consumer<f32>,
    pub pulse: Arc<Pulse>,
}

/// Makes a ring for a rate.
pub(super) fn ring(rate: SampleRate) -> (Ring, Captured) {
    let (producer, consumer) = RingBuffer::new(rate.hz() as usize * SECONDS);
    let pulse = Arc::new(Pulse {
        frames: AtomicU64::new(0),
        lost: AtomicU64::new(0),
        dead: AtomicBool::new(false),
        errors: AtomicU32::new(0),
        began: AtomicI64::new(NEVER),
        latency: AtomicU64::new(0),
    });
    let ring = Ring {
        samples: producer,
        pulse: Arc::clone(&pulse),
        rate,
    };
    let captured = Captured {
        samples: consumer,
        pulse,
    };
    (ring, captured)
}

impl Ring {
    /// Takes in the mono samples of a callback that came `arrived` after the stream was opened and were
    /// captured from `latency` before that on. Neither allocates nor waits.
    pub fn put(
        &mut self,
        samples: impl ExactSizeIterator<Item = f32>,
        arrived: Duration,
        latency: Duration,
    ) {
        let count = samples.len();
        let room = match self.pulse.lost.load(Ordering::Acquire) {
            0 => self.samples.slots().min(count),
            _ => 0,
        };
        if room > 0
            && let Ok(chunk) = self.samples.write_chunk_uninit(room)
        {
            chunk.fill_from_iter(samples);
        }
        if room < count {
            self.pulse
                .lost
                .fetch_add((count - room) as u64, Ordering::Release);
        }
        let before = self.pulse.frames.fetch_add(count as u64, Ordering::Relaxed);
        self.note(before + count as u64, count, arrived, latency);
    }

    fn note(&self, frames: u64, count: usize, arrived: Duration, latency: Duration) {
        let nanos = |frames: u64| frames as i128 * 1_000_000_000 / i128::from(self.rate.hz());
        // The last frame has just arrived; the first did so that much earlier.
        let began = arrived.as_nanos() as i128 - nanos(frames);
        self.pulse.began.fetch_min(began as i64, Ordering::Relaxed);
        let whole = latency.as_nanos() as i128 - nanos(count as u64);
        self.pulse
            .latency
            .store(whole.max(0) as u64, Ordering::Relaxed);
    }
}

impl Captured {
    /// Appends what is there and returns how many frames were lost after it.
    pub fn take(&mut self, into: &mut Vec<f32>) -> Frames {
        // Looked at before the samples: those that came before the loss are all in the ring then.
        let lost = self.pulse.lost.load(Ordering::Acquire) > 0;
        if let Ok(chunk) = self.samples.read_chunk(self.samples.slots()) {
            let (first, second) = chunk.as_slices();
            into.extend_from_slice(first);
            into.extend_from_slice(second);
            chunk.commit_all();
        }
        match lost {
            true => Frames::new(self.pulse.lost.swap(0, Ordering::AcqRel)),
            false => Frames::ZERO,
        }
    }
}

impl Pulse {
    /// Notes an error.
    pub fn error(&self, kind: ErrorKind) {
        match kind {
            ErrorKind::DeviceNotAvailable
            | ErrorKind::StreamInvalidated
            | ErrorKind::HostUnavailable => self.dead.store(true, Ordering::Relaxed),
            // The stream goes on, by the host's own word.
            ErrorKind::DeviceChanged | ErrorKind::RealtimeDenied => {}
            // Some frames are missing and nobody says how many: what comes next tells anew when it began.
            ErrorKind::Xrun => self.began.store(NEVER, Ordering::Relaxed),
            _ => {
                self.errors.fetch_add(1, Ordering::Relaxed);
            }
        }
    }

    /// Returns when the first frame arrived.
    pub fn began(&self, opened: Instant) -> Option<Began> {
        let nanos = self.began.load(Ordering::Relaxed);
        let latency = Duration::from_nanos(self.latency.load(Ordering::Relaxed));
        let size = Duration::from_nanos(nanos.unsigned_abs());
        let at = match nanos {
            NEVER => None,
            0.. => opened.checked_add(size),
            _ => opened.checked_sub(size),
        };
        at.map(|at| Began { at, latency })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: Duration = Duration::from_millis(1);

    #[test]
    fn what_finds_no_room_is_counted_where_it_is_missing() {
        let (mut ring, mut captured) = ring(SampleRate::from_hz(8000));
        let chunk = |value: u32| std::iter::repeat_n(value as f32, 30_000);
        for value in 0..4 {
            ring.put(chunk(value), MS, MS);
        }
        let mut heard = Vec::new();
        assert_eq!(captured.take(&mut heard), Frames::new(40_000));
        assert_eq!(heard.len(), 80_000);
        assert_eq!(heard.last(), Some(&2.0));
        ring.put(chunk(9), MS, MS);
        heard.clear();
        assert_eq!(captured.take(&mut heard), Frames::ZERO);
        assert_eq!((heard.len(), heard[0]), (30_000, 9.0));
        assert_eq!(captured.pulse.frames.load(Ordering::Relaxed), 150_000);
    }

    #[test]
    fn it_began_when_the_promptest_callback_says() {
        let (mut ring, captured) = ring(SampleRate::from_hz(8000));
        let opened = Instant::now();
        assert_eq!(captured.pulse.began(opened), None);
        // 10 ms a chunk; the second comes 7 ms later than the others.
        for (n, late) in [3, 10, 3].into_iter().enumerate() {
            let arrived = MS * (100 + 10 * (n as u32 + 1) + late);
            ring.put(std::iter::repeat_n(0.0, 80), arrived, MS * 25);
        }
        let began = captured.pulse.began(opened).unwrap();
        assert_eq!(began.at - opened, MS * 103);
        assert_eq!(began.latency, MS * 15);
        // The host drops 400 ms.
        captured.pulse.error(ErrorKind::Xrun);
        assert_eq!(captured.pulse.began(opened), None);
        ring.put(
            std::iter::repeat_n(0.0, 80),
            MS * (100 + 40 + 400 + 3),
            MS * 25,
        );
        assert_eq!(captured.pulse.began(opened).unwrap().at - opened, MS * 503);
    }
}
