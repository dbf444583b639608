//! Makes speech cut through noise at the same loudness: energy moves from where it masks nothing to
//! where consonants are, and from loud vowels to soft ends of words.
//!
//! After Zorila, Kandia and Stylianou, "Speech-in-noise intelligibility improvement based on spectral
//! shaping and dynamic range compression", Interspeech 2012: below 500 Hz 6 dB an octave less, from 1 kHz
//! on up to 18 dB more, then compression of the envelope. Their sharpening of formants, frame by frame, is left
//! out: the two fixed parts bring nearly all of it. The filters are those of the Audio EQ Cookbook (W3C
//! Working Group Note, 2021). What comes out has any level: the levelling after it, with its limiter,
//! makes it as loud as plain speech.

use crate::base::units::Db;
use crate::base::units::SampleRate;
use crate::base::utterance::Clarity;
use std::f64::consts::TAU;

/// Returns how much of the whole is done.
fn amount(clarity: Clarity) -> f64 {
    match clarity {
        Clarity::Plain => 0.0,
        Clarity::Room => 0.5,
        Clarity::Gym => 1.0,
    }
}

/// Below this there is more power than meaning.
const LOW_HZ: f64 = 500.0;
/// From the first to the second the shelf rises.
const HIGH_HZ: f64 = 1_400.0;
/// By so much.
const HIGH_DB: f64 = 18.0;
/// Hiss above this is not raised with it.
const HISS_HZ: f64 = 7_000.0;
/// The envelope rises within this time before a peak and falls within that after it.
const RISE_S: f64 = 0.001;
const FALL_S: f64 = 0.015;
/// A change of the envelope by this many dB becomes one of a single dB.
const RATIO: f64 = 3.0;
/// What lies so far below the line's own level is raised no further, and what lies half as far again is not
/// raised at all, since it is no speech: the hiss after a word would make it longer.
const FLOOR_DB: f64 = 15.0;
/// How much steeper the raise ends than it began.
const STEEP: f64 = 2.0;

/// Shapes mono samples; `Plain` leaves them as they are.
pub fn shape(samples: &[f32], rate: SampleRate, clarity: Clarity) -> Vec<f32> {
    if clarity == Clarity::Plain {
        return samples.to_vec();
    }
    let hz = f64::from(rate.hz());
    let amount = amount(clarity);
    let mut filters = [
        Filter::high_pass(LOW_HZ * amount.max(0.3), hz),
        Filter::high_shelf(HIGH_HZ, HIGH_DB * amount, hz),
        Filter::high_shelf(HISS_HZ, -HIGH_DB * amount / 2.0, hz),
    ];
    let shaped: Vec<f64> = samples
        .iter()
        .map(|sample| {
            let first = f64::from(*sample);
            filters.iter_mut().fold(first, |x, filter| filter.next(x))
        })
        .collect();
    compressed(&shaped, hz, amount)
}

/// Brings loud and soft parts closer together.
fn compressed(samples: &[f64], hz: f64, amount: f64) -> Vec<f32> {
    let own = own_level(samples);
    if own <= 0.0 {
        return samples.iter().map(|sample| *sample as f32).collect();
    }
    let less = amount * (1.0 - 1.0 / RATIO);
    let mut out = Vec::with_capacity(samples.len());
    for (sample, envelope) in samples.iter().zip(envelope(samples, hz)) {
        let level_db = 20.0 * (envelope / own).max(1e-9).log10();
        // Up to the floor by the ratio, below it back to nothing.
        let below = STEEP * (-level_db - FLOOR_DB).max(0.0);
        let raised = (-level_db).min(FLOOR_DB) - below;
        let gain_db = less
            * if level_db > 0.0 {
                -level_db
            } else {
                raised.max(0.0)
            };
        out.push((sample * f64::from(Db::new(gain_db as f32).gain())) as f32);
    }
    out
}

/// Follows peaks: it falls slowly after them and rises before them, so that no onset is raised for what was
/// soft before it.
fn envelope(samples: &[f64], hz: f64) -> Vec<f64> {
    let (rise, fall) = ((-1.0 / (RISE_S * hz)).exp(), (-1.0 / (FALL_S * hz)).exp());
    let mut found: Vec<f64> = samples.iter().map(|sample| sample.abs()).collect();
    let mut last = 0.0f64;
    for at in &mut found {
        last = at.max(last * fall);
        *at = last;
    }
    let mut next = 0.0f64;
    for at in found.iter_mut().rev() {
        next = at.max(next * rise);
        *at = next;
    }
    found
}

/// Returns the root of the mean square of what is loud enough to count: above -30 dB of the peak.
fn own_level(samples: &[f64]) -> f64 {
    let peak = samples.iter().fold(0.0f64, |peak, s| peak.max(s.abs()));
    let counted = samples.iter().filter(|s| s.abs() > peak * 0.03);
    let (sum, count) = counted.fold((0.0, 0u32), |(sum, n), s| (sum + s * s, n + 1));
    (sum / f64::from(count.max(1))).sqrt()
}

/// A filter of the second order (direct form 1).
struct Filter {
    b: [f64; 3],
    a: [f64; 2],
    x: [f64; 2],
    y: [f64; 2],
}

impl Filter {
    fn new(b: [f64; 3], a: [f64; 3]) -> Self {
        Self {
            b: b.map(|b| b / a[0]),
            a: [a[1] / a[0], a[2] / a[0]],
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    /// 6 dB an octave below `corner`.
    fn high_pass(corner: f64, hz: f64) -> Self {
        // The bilinear transform of s / (s + w).
        let k = (std::f64::consts::PI * corner / hz).tan();
        Self::new([1.0, -1.0, 0.0], [1.0 + k, k - 1.0, 0.0])
    }

    /// `gain_db` more well above `middle`, half of it there.
    fn high_shelf(middle: f64, gain_db: f64, hz: f64) -> Self {
        let a = 10f64.powf(gain_db / 40.0);
        let (sin, cos) = (TAU * middle / hz).sin_cos();
        // A slope of 1: the steepest without a bump.
        let alpha = sin / 2.0 * 2f64.sqrt();
        let root = 2.0 * a.sqrt() * alpha;
        Self::new(
            [
                a * ((a + 1.0) + (a - 1.0) * cos + root),
                -2.0 * a * ((a - 1.0) + (a + 1.0) * cos),
                a * ((a + 1.0) + (a - 1.0) * cos - root),
            ],
            [
                (a + 1.0) - (a - 1.0) * cos + root,
                2.0 * ((a - 1.0) - (a + 1.0) * cos),
                (a + 1.0) - (a - 1.0) * cos - root,
            ],
        )
    }

    fn next(&mut self, x: f64) -> f64 {
        let [b0, b1, b2] = self.b;
        let [a1, a2] = self.a;
        let y = b0 * x + b1 * self.x[0] + b2 * self.x[1] - a1 * self.y[0] - a2 * self.y[1];
        self.x = [x, self.x[0]];
        self.y = [y, self.y[0]];
        y
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: SampleRate = SampleRate::OUTPUT;

    fn tone(hz: f64, amplitude: f64, secs: f64) -> Vec<f32> {
        let rate = f64::from(RATE.hz());
        let frames = (secs * rate) as usize;
        let at = |n: usize| amplitude * (TAU * hz * n as f64 / rate).sin();
        (0..frames).map(|n| at(n) as f32).collect()
    }

    /// What a filter makes of a tone, in dB.
    fn response(mut filter: Filter, hz: f64) -> f64 {
        let made: Vec<f64> = tone(hz, 1.0, 1.0)
            .iter()
            .map(|s| filter.next(f64::from(*s)))
            .collect();
        let power = |of: &[f64]| of.iter().map(|s| s * s).sum::<f64>() / of.len() as f64;
        10.0 * (power(&made[24_000..]) / 0.5).log10()
    }

    #[test]
    fn filters_have_the_gains_of_the_cookbook() {
        // A shelf has its whole gain far above, half of it in the middle, none far below.
        let hz = f64::from(RATE.hz());
        let shelf = || Filter::high_shelf(1_400.0, 12.0, hz);
        for (at, wanted) in [(60.0, 0.0), (1_400.0, 6.0), (15_000.0, 12.0)] {
            let found = response(shelf(), at);
            assert!((found - wanted).abs() < 0.2, "{found} dB at {at} Hz");
        }
        // A pole of the first order: -3 dB at its corner, 6 dB an octave below it.
        let pass = || Filter::high_pass(500.0, hz);
        assert!((response(pass(), 500.0) + 3.01).abs() < 0.1);
        let octave = response(pass(), 62.5) - response(pass(), 31.25);
        assert!((octave - 6.0).abs() < 0.2, "{octave} dB");
    }

    #[test]
    fn plain_is_bit_for_bit_what_it_was() {
        let samples = tone(440.0, 0.3, 0.2);
        assert_eq!(shape(&samples, RATE, Clarity::Plain), samples);
    }

    #[test]
    fn soft_ends_come_closer_to_loud_middles_and_what_is_no_speech_is_not_raised() {
        let mut samples = tone(2_000.0, 0.5, 0.3);
        samples.extend(tone(2_000.0, 0.05, 0.3));
        samples.extend(tone(2_000.0, 0.0005, 0.3));
        let made = shape(&samples, RATE, Clarity::Gym);
        let level = |part: usize| {
            let part = &made[part * 14_400 + 5_000..(part + 1) * 14_400 - 100];
            let power: f32 = part.iter().map(|s| s * s).sum::<f32>() / part.len() as f32;
            10.0 * f64::from(power).log10()
        };
        let (loud, soft, hiss) = (level(0), level(1), level(2));
        assert!(
            (4.0..9.0).contains(&(loud - soft)),
            "20 dB became {}",
            loud - soft
        );
        assert!(
            soft - hiss > 40.0,
            "hiss came up to {} dB below",
            soft - hiss
        );
        let room = shape(&samples, RATE, Clarity::Room);
        assert_ne!(room, made);
    }

    #[test]
    fn silence_stays_silent_and_nothing_becomes_no_number() {
        assert_eq!(shape(&[0.0; 100], RATE, Clarity::Gym), [0.0; 100]);
        assert!(shape(&[], RATE, Clarity::Gym).is_empty());
        let step: Vec<f32> = (0..4_800)
            .map(|n| if n > 2_400 { 1.0 } else { -1.0 })
            .collect();
        let made = shape(&step, RATE, Clarity::Gym);
        assert!(made.iter().all(|s| s.is_finite() && s.abs() < 16.0));
    }
}
