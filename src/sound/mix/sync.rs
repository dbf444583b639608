//! The sync tone: heard in the room before a class, and at the start of what is written of it afterwards, so that a
//! recording of the room and that file can be laid over each other.
//!
//! A sweep whose frequency grows by the same factor in the same time: it begins at once, so that an editor sees where
//! in the wave; and laid over itself it fits at one place only, so that a program finds it in a room that rings
//! (why rooms are measured with such sweeps, ISO 18233; from memory). No other tone of a class glides.

use std::f64::consts::TAU;
use std::sync::Arc;
use std::sync::LazyLock;

use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// What small loudspeakers and the microphones of cameras both carry.
const FROM_HZ: f64 = 500.0;
const TO_HZ: f64 = 4000.0;
const LENGTH: Millis = Millis::from_ms(400);
/// A rise within which nothing clicks and an onset is still seen, and a fall to exactly zero.
const RISE: Millis = Millis::from_ms(1);
const FALL: Millis = Millis::from_ms(30);
/// As the loudest tone: -11 dBFS.
const LEVEL: f64 = 0.28;

/// Returns the samples of the sync tone: mono, 48 kHz, the same store each time. It is heard from its first millisecond on.
pub fn sync_tone() -> Arc<[f32]> {
    static SAMPLES: LazyLock<Arc<[f32]>> = LazyLock::new(sweep);
    Arc::clone(&SAMPLES)
}

fn sweep() -> Arc<[f32]> {
    let frames = |length: Millis| length.frames(SampleRate::OUTPUT).count() as usize;
    let (length, rise, fall) = (frames(LENGTH), frames(RISE), frames(FALL));
    let seconds = length as f64 / f64::from(SampleRate::OUTPUT.hz());
    let octaves = (TO_HZ / FROM_HZ).ln();
    let sample = |index: usize| {
        let way = index as f64 / length as f64;
        let phase = TAU * FROM_HZ * seconds / octaves * ((way * octaves).exp() - 1.0);
        let edge = (index as f64 / rise as f64).min((length - 1 - index) as f64 / fall as f64);
        (LEVEL * edge.min(1.0) * phase.sin()) as f32
    };
    (0..length).map(sample).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::dsp::AUDIBLE;

    #[test]
    fn it_is_heard_at_once_and_ends_in_silence() {
        let tone = sync_tone();
        assert_eq!(tone.len(), 19_200);
        let onset = tone.iter().position(|it| it.abs() > AUDIBLE).unwrap();
        assert!(onset < 48, "{onset}");
        assert_eq!(tone[0], 0.0);
        assert_eq!(tone[tone.len() - 1], 0.0);
    }

    #[test]
    fn laid_over_itself_it_fits_at_one_place_only() {
        let tone = sync_tone();
        let fit =
            |shift: usize| -> f32 { tone.iter().zip(&tone[shift..]).map(|(a, b)| a * b).sum() };
        let best = fit(0);
        // A start tone, a steady pitch, fits nearly as well a period later.
        let next = (48..4800).map(fit).fold(0.0, f32::max);
        assert!(next < 0.2 * best, "{} of it", next / best);
    }
}
