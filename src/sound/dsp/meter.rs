//! Loudness and true peak of a mono clip, as ITU-R BS.1770-5 and EBU Tech 3341 define them.

use ebur128::EbuR128;
use ebur128::Mode;

use crate::base::units::Db;
use crate::base::units::Lufs;
use crate::base::units::SampleRate;
use crate::sound::dsp::Heard;

/// The length of one gating block and of the momentary window (EBU Tech 3341).
pub const BLOCK_MS: i64 = 400;

/// The step of the momentary maximum: fine enough that no word slips between two windows.
const STEP_MS: usize = 10;

/// What an unusable signal measures: silence.
const SILENCE: Lufs = Lufs::new(f32::NEG_INFINITY);

/// Measures the integrated, gated loudness of mono samples, in LUFS.
///
/// Minus infinity for silence and for anything shorter than one block of 400 ms.
pub fn integrated(samples: &[f32], rate: SampleRate, heard: Heard) -> Lufs {
    let Some(mut meter) = meter(rate, Mode::I, heard) else {
        return SILENCE;
    };
    match meter.add_frames_f32(samples) {
        Ok(()) => lufs(meter.loudness_global()),
        Err(_) => SILENCE,
    }
}

/// Measures the greatest momentary loudness (windows of 400 ms) of mono samples, in LUFS.
///
/// The clip is taken to lie in silence, so a shorter one is measured too: its energy is spread
/// over the whole window. Minus infinity for silence.
pub fn momentary_max(samples: &[f32], rate: SampleRate, heard: Heard) -> Lufs {
    let Some(mut meter) = meter(rate, Mode::M, heard) else {
        return SILENCE;
    };
    let hz = rate.hz() as usize;
    let step = (hz * STEP_MS / 1000).max(1);
    let silence = vec![0.0; hz * BLOCK_MS as usize / 1000];
    let mut max = f32::NEG_INFINITY;
    // The silence in front is the meter's own; the one behind lets the window close.
    for chunk in samples.chunks(step).chain(silence.chunks(step)) {
        if meter.add_frames_f32(chunk).is_err() {
            return SILENCE;
        }
        max = max.max(lufs(meter.loudness_momentary()).lufs());
    }
    Lufs::new(max)
}

/// Measures the true peak (four times oversampled) of mono samples, in dBTP.
pub fn true_peak(samples: &[f32], rate: SampleRate) -> Db {
    let silence = Db::new(f32::NEG_INFINITY);
    let Some(mut meter) = meter(rate, Mode::TRUE_PEAK, Heard::One) else {
        return silence;
    };
    // The interpolator looks ahead: what it still holds is pushed out by a little silence.
    let tail = [0.0; 64];
    if meter.add_frames_f32(samples).is_err() || meter.add_frames_f32(&tail).is_err() {
        return silence;
    }
    meter
        .true_peak(0)
        .map_or(silence, |peak| Db::from_gain(peak as f32))
}

fn meter(rate: SampleRate, mode: Mode, heard: Heard) -> Option<EbuR128> {
    let mut meter = EbuR128::new(1, rate.hz(), mode).ok()?;
    let channel = match heard {
        Heard::One => ebur128::Channel::Center,
        Heard::Both => ebur128::Channel::DualMono,
    };
    meter.set_channel(0, channel).ok()?;
    Some(meter)
}

fn lufs(measured: Result<f64, ebur128::Error>) -> Lufs {
    measured.map_or(SILENCE, |lufs| Lufs::new(lufs as f32))
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: SampleRate = SampleRate::OUTPUT;

    /// Makes a sine: frequency in Hz, phase in degrees, amplitude, seconds.
    fn sine(hz: f64, degrees: f64, amplitude: f64, secs: f64) -> Vec<f32> {
        let rate = f64::from(RATE.hz());
        (0..(secs * rate) as usize)
            .map(|n| {
                let turn = std::f64::consts::TAU * hz * n as f64 / rate + degrees.to_radians();
                (amplitude * turn.sin()) as f32
            })
            .collect()
    }

    fn tone(parts: &[(f64, f64)]) -> Vec<f32> {
        parts
            .iter()
            .flat_map(|(secs, db)| sine(1000.0, 0.0, 10f64.powf(db / 20.0), *secs))
            .collect()
    }

    /// EBU Tech 3341 v4, table 1, cases 1 to 5: a stereo sine of 1 kHz, peak levels in dBFS;
    /// the tolerance is 0.1 LU.
    #[test]
    fn integrated_loudness_is_what_ebu_tech_3341_expects() {
        let cases: [(&[(f64, f64)], f32); 5] = [
            (&[(20.0, -23.0)], -23.0),
            (&[(20.0, -33.0)], -33.0),
            (&[(10.0, -36.0), (60.0, -23.0), (10.0, -36.0)], -23.0),
            (
                &[
                    (10.0, -72.0),
                    (10.0, -36.0),
                    (60.0, -23.0),
                    (10.0, -36.0),
                    (10.0, -72.0),
                ],
                -23.0,
            ),
            (&[(20.0, -26.0), (20.1, -20.0), (20.0, -26.0)], -23.0),
        ];
        for (number, (parts, expected)) in cases.into_iter().enumerate() {
            let measured = integrated(&tone(parts), RATE, Heard::Both).lufs();
            assert!(
                (measured - expected).abs() <= 0.1,
                "case {}: expected {expected} LUFS, measured {measured}",
                number + 1
            );
        }
    }

    /// EBU Tech 3341 v4, table 1, cases 15 to 19: fades of 10 ms; the tolerance is
    /// +0.2 / -0.4 dB.
    #[test]
    fn true_peak_is_what_ebu_tech_3341_expects() {
        let fs = f64::from(RATE.hz());
        let cases = [
            (15, fs / 4.0, 0.0, 0.50, -6.0),
            (16, fs / 4.0, 45.0, 0.50, -6.0),
            (17, fs / 6.0, 60.0, 0.50, -6.0),
            (18, fs / 8.0, 67.5, 0.50, -6.0),
            (19, fs / 4.0, 45.0, 1.41, 3.0),
        ];
        for (number, hz, degrees, amplitude, expected) in cases {
            let mut signal = sine(hz, degrees, amplitude, 1.0);
            let fade = 480;
            let length = signal.len();
            for n in 0..fade {
                signal[n] *= n as f32 / fade as f32;
                signal[length - 1 - n] *= n as f32 / fade as f32;
            }
            let measured = true_peak(&signal, RATE).db();
            assert!(
                (-0.4..=0.2).contains(&(measured - expected)),
                "case {number}: expected {expected} dBTP, measured {measured}"
            );
        }
    }

    /// ITU-R BS.1770-5, annex 1: 997 Hz at 0 dBFS in one front channel reads -3.01 LKFS.
    #[test]
    fn the_anchor_of_bs_1770_holds() {
        let anchor = sine(997.0, 0.0, 1.0, 5.0);
        let one = integrated(&anchor, RATE, Heard::One).lufs();
        assert!((one + 3.01).abs() <= 0.05, "measured {one}");
        let both = integrated(&anchor, RATE, Heard::Both).lufs();
        assert!(
            (both - one - 3.01).abs() <= 0.02,
            "measured {both} and {one}"
        );
    }

    #[test]
    fn a_short_word_has_a_momentary_loudness_and_silence_has_none() {
        let word = sine(1000.0, 0.0, 0.1, 0.2);
        let whole = sine(1000.0, 0.0, 0.1, 2.0);
        let short = momentary_max(&word, RATE, Heard::Both).lufs();
        let long = momentary_max(&whole, RATE, Heard::Both).lufs();
        assert!(
            (long - short - 3.01).abs() < 0.2,
            "half the window is half the energy: {long}, {short}"
        );
        for silence in [&[][..], &[0.0; 9600][..]] {
            assert!(!momentary_max(silence, RATE, Heard::Both).lufs().is_finite());
            assert!(!integrated(silence, RATE, Heard::Both).lufs().is_finite());
            assert!(!true_peak(silence, RATE).db().is_finite());
        }
    }
}
