//! Brings a clip to the loudness of speech, whatever its length.
//!
//! Loudness is defined over blocks of 400 ms, so a word of 300 ms has no integrated loudness.
//! It is measured as it will be heard, lying in silence: the greatest momentary loudness, which
//! spreads its energy over one block: words of different lengths are then equally loud to the
//! ear, which sums up energy over a time of about that order. The loudest block of a line lies 1
//! to 3 LU above the line's own loudness, so a word is brought 1 LU above the target: beside a
//! line it sounds neither shouted nor lost.

use crate::base::units::Db;
use crate::base::units::Lufs;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::sound::dsp::CEILING;
use crate::sound::dsp::Heard;
use crate::sound::dsp::limiter;
use crate::sound::dsp::meter;
use crate::sound::dsp::trim;

/// Below this audible length a clip is measured by its loudest block: two blocks, so that the
/// integrated loudness of anything above rests on several of them.
const SHORT: Millis = Millis::from_ms(800);

/// How far the loudest block of a short clip lies above the target.
const SHORT_LU: f32 = 1.0;

/// Left below the ceiling for what comes after: rounding to 16 bits moves a peak by less.
const MARGIN: Db = Db::new(0.02);

/// The limiter takes a little loudness; a second and a third round give it back.
const ROUNDS: usize = 3;

/// Close enough: a tenth of what a listener notices.
const TOLERANCE_LU: f32 = 0.1;

/// More gain than this would be noise made loud: nothing that an engine says needs it.
const MOST_GAIN: Db = Db::new(60.0);

/// Levels mono samples to `target` as heard from both loudspeakers, with a true peak of at most
/// -1 dBTP; `None` for silence or samples that are no numbers.
pub fn level(samples: &[f32], rate: SampleRate, target: Lufs) -> Option<Vec<f32>> {
    if samples.iter().any(|sample| !sample.is_finite()) {
        return None;
    }
    let mut gain_db = loudness(samples, rate)?.gain_to(target).db();
    let ceiling = Db::new(CEILING.db() - MARGIN.db());
    let mut levelled = Vec::new();
    for _ in 0..ROUNDS {
        if gain_db > MOST_GAIN.db() {
            return None;
        }
        let gain = Db::new(gain_db).gain();
        levelled = samples.iter().map(|sample| sample * gain).collect();
        limiter::limit(&mut levelled, rate, ceiling);
        // What is audible depends on the level: measured again at the level it now has.
        let missing = loudness(&levelled, rate)?.gain_to(target).db();
        if missing.abs() <= TOLERANCE_LU {
            break;
        }
        gain_db += missing;
    }
    Some(levelled)
}

/// Measures what is audible of mono samples: integrated loudness, or for short ones the greatest
/// momentary loudness less 1 LU; `None` for silence.
pub fn loudness(samples: &[f32], rate: SampleRate) -> Option<Lufs> {
    let heard = trim::audible(samples).map_or(samples, |heard| &samples[heard]);
    let short = SHORT.frames(rate).count() as usize;
    let measured = if heard.len() < short {
        let loudest = meter::momentary_max(heard, rate, Heard::Both);
        Lufs::new(loudest.lufs() - SHORT_LU)
    } else {
        meter::integrated(heard, rate, Heard::Both)
    };
    measured.lufs().is_finite().then_some(measured)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: SampleRate = SampleRate::OUTPUT;

    /// Something like a voice: a buzz of harmonics in syllables of 5 a second, with a lead.
    fn babble(secs: f32, amplitude: f32) -> Vec<f32> {
        let frames = (secs * RATE.hz() as f32) as usize;
        let voice = (0..frames).map(|n| {
            let t = n as f32 / RATE.hz() as f32;
            let syllable = (std::f32::consts::PI * 5.0 * t).sin().abs();
            let buzz: f32 = (1..20)
                .map(|k| (std::f32::consts::TAU * 120.0 * k as f32 * t).sin() / k as f32)
                .sum();
            amplitude * syllable * buzz
        });
        std::iter::repeat_n(0.0, 9600).chain(voice).collect()
    }

    #[test]
    fn lines_and_words_of_any_length_and_height_reach_the_target() {
        for secs in [0.15, 0.3, 0.39, 0.41, 0.7, 0.9, 2.0, 6.0] {
            for amplitude in [0.001, 0.1, 3.0] {
                let clip = level(&babble(secs, amplitude), RATE, Lufs::SPEECH).unwrap();
                let measured = loudness(&clip, RATE).unwrap().lufs();
                assert!(
                    (measured - Lufs::SPEECH.lufs()).abs() < 0.3,
                    "{secs} s at {amplitude}: {measured} LUFS"
                );
                let peak = meter::true_peak(&clip, RATE).db();
                assert!(peak <= CEILING.db(), "{secs} s at {amplitude}: {peak} dBTP");
            }
        }
    }

    #[test]
    fn words_and_a_line_joined_are_as_loud_as_the_line() {
        let mut joined = Vec::new();
        for secs in [0.3, 3.0, 0.5, 2.0, 0.9, 0.25, 4.0] {
            joined.extend(level(&babble(secs, 0.2), RATE, Lufs::SPEECH).unwrap());
        }
        let measured = meter::integrated(&joined, RATE, Heard::Both).lufs();
        assert!((measured + 18.0).abs() < 1.0, "{measured} LUFS");
    }

    #[test]
    fn silence_and_broken_samples_have_no_level() {
        assert!(level(&[], RATE, Lufs::SPEECH).is_none());
        assert!(level(&[0.0; 48_000], RATE, Lufs::SPEECH).is_none());
        assert!(level(&[f32::NAN; 48_000], RATE, Lufs::SPEECH).is_none());
    }
}
