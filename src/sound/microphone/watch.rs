//! Tells a microphone that captures from one that is gone.

use std::sync::atomic::Ordering;
use std::time::Duration;

use super::capture::Pulse;

/// How long no frame may come from one that has begun: a callback comes every 40 ms.
const FROZEN: Duration = Duration::from_secs(2);

/// The same before the first: a device that was asleep takes its time.
const ASLEEP: Duration = Duration::from_secs(5);

/// What a single look counts for at most: whatever kept the program from looking may have kept the stream.
const LATE_LOOK: Duration = Duration::from_millis(300);

/// Errors of the harmless kind that a stream may report in all before it is taken for dead: at the start there
/// are a few, from a device that is gone millions.
const FLOOD: u32 = 50;

/// Looks at a pulse from time to time.
#[derive(Debug, Default)]
pub(super) struct Watch {
    frames: u64,
    still: Duration,
    gone: Option<&'static str>,
}

impl Watch {
    /// Says why nothing comes any more, from then on always; `since` is the time since the last look.
    pub fn look(&mut self, pulse: &Pulse, since: Duration) -> Option<&'static str> {
        let frames = pulse.frames.load(Ordering::Relaxed);
        self.still = match frames == self.frames {
            true => self.still + since.min(LATE_LOOK),
            false => Duration::ZERO,
        };
        self.frames = frames;
        let patience = if frames == 0 { ASLEEP } else { FROZEN };
        let found = if pulse.dead.load(Ordering::Relaxed) {
            Some("the microphone is gone: was it unplugged?")
        } else if pulse.errors.load(Ordering::Relaxed) > FLOOD {
            Some("the microphone reports nothing but errors")
        } else if self.still >= patience {
            Some("the microphone sends nothing any more: was it unplugged?")
        } else {
            None
        };
        self.gone = self.gone.or(found);
        self.gone
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::units::SampleRate;
    use crate::sound::microphone::capture;
    use cpal::ErrorKind;

    const LOOK: Duration = Duration::from_millis(100);

    #[test]
    fn one_that_sends_nothing_is_gone_after_a_while_and_stays_so() {
        let (mut ring, captured) = capture::ring(SampleRate::from_hz(8000));
        let mut watch = Watch::default();
        let mut looks = |ring: Option<&mut capture::Ring>, count: u32| {
            if let Some(ring) = ring {
                ring.put(std::iter::repeat_n(0.0, 80), LOOK, LOOK);
            }
            (0..count).find(|_| watch.look(&captured.pulse, LOOK).is_some())
        };
        assert_eq!(looks(None, 49), None, "it may wake slowly");
        assert_eq!(looks(Some(&mut ring), 20), None);
        assert_eq!(looks(Some(&mut ring), 30), Some(20));
        assert_eq!(looks(Some(&mut ring), 1), Some(0), "it does not come back");
    }

    #[test]
    fn a_few_errors_are_harmless_and_a_lost_device_is_not() {
        let (_, captured) = capture::ring(SampleRate::from_hz(8000));
        let mut watch = Watch::default();
        for _ in 0..5 {
            captured.pulse.error(ErrorKind::BackendError);
            captured.pulse.error(ErrorKind::Xrun);
        }
        assert_eq!(watch.look(&captured.pulse, LOOK), None);
        captured.pulse.error(ErrorKind::DeviceNotAvailable);
        assert!(watch.look(&captured.pulse, LOOK).is_some());
    }
}
