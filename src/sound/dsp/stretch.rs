//! Faster or slower speech at the same pitch: waveform similarity overlap-add.
//!
//! After Verhelst and Roelands, "An overlap-add technique based on waveform similarity (WSOLA)",
//! ICASSP 1993: short windows are taken from the input at another pace than they are laid down,
//! each from where the wave looks most like the continuation of the one before.

use crate::base::units::SampleRate;

/// From one window to the next, in ms; a window is twice as long and holds two periods of a low
/// voice (70 Hz).
const HOP_MS: usize = 14;

/// How far from its own place a window may be taken, in ms: one period of a low voice.
const SEARCH_MS: usize = 12;

/// Every so many-th place and sample is compared first; then all places around the best.
const COARSE: usize = 4;

/// Changes the pace of mono samples by `factor`, 2.0 being twice as fast; the result has the
/// length of the input divided by it, to the sample.
///
/// A factor of one, and one that is no positive number, changes nothing.
pub fn stretch(samples: &[f32], rate: SampleRate, factor: f64) -> Vec<f32> {
    if samples.is_empty() || !factor.is_normal() || factor <= 0.0 || factor == 1.0 {
        return samples.to_vec();
    }
    let hop = (rate.hz() as usize * HOP_MS / 1000).max(1);
    let search = (rate.hz() as usize * SEARCH_MS / 1000) as isize;
    let length = (samples.len() as f64 / factor).round() as usize;
    let window: Vec<f32> = (0..2 * hop)
        .map(|n| 0.5 - 0.5 * (std::f32::consts::PI * (n as f32 + 0.5) / hop as f32).cos())
        .collect();
    let input = Input(samples);
    let mut out = vec![0.0; length + 3 * hop];
    // The first window starts one hop before the clip, so that every sample lies under two.
    let mut place = -(hop as isize);
    for frame in 0..=length.div_ceil(hop) {
        if frame > 0 {
            let due = ((frame as f64 - 1.0) * hop as f64 * factor).round() as isize;
            place = input.alike(place + hop as isize, due, hop, search);
        }
        for (n, weight) in window.iter().enumerate() {
            out[frame * hop + n] += weight * input.at(place + n as isize);
        }
    }
    out.drain(..hop);
    out.truncate(length);
    out
}

struct Input<'a>(&'a [f32]);

impl Input<'_> {
    /// The sample at a place; silence outside.
    fn at(&self, place: isize) -> f32 {
        usize::try_from(place)
            .ok()
            .and_then(|place| self.0.get(place).copied())
            .unwrap_or(0.0)
    }

    /// The place within `search` of `due` where the wave is most like that at `next`.
    fn alike(&self, next: isize, due: isize, length: usize, search: isize) -> isize {
        let coarse = (-search..=search)
            .step_by(COARSE)
            .map(|offset| due + offset);
        let near = self.best(next, coarse, length, COARSE).unwrap_or(due);
        let fine = near - COARSE as isize..=near + COARSE as isize;
        self.best(next, fine, length, 1).unwrap_or(due)
    }

    /// The place with the highest normalised correlation, the first of equals.
    fn best(
        &self,
        next: isize,
        places: impl Iterator<Item = isize>,
        length: usize,
        step: usize,
    ) -> Option<isize> {
        let mut best = None;
        let mut highest = f32::NEG_INFINITY;
        for place in places {
            let (mut both, mut power) = (0.0, 1e-9);
            for n in (0..length as isize).step_by(step) {
                let sample = self.at(place + n);
                both += sample * self.at(next + n);
                power += sample * sample;
            }
            let likeness = both / power.sqrt();
            if likeness > highest {
                highest = likeness;
                best = Some(place);
            }
        }
        best
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: SampleRate = SampleRate::from_hz(24_000);

    fn sine(hz: f32, frames: usize) -> Vec<f32> {
        (0..frames)
            .map(|n| 0.5 * (std::f32::consts::TAU * hz * n as f32 / 24_000.0).sin())
            .collect()
    }

    /// The pitch of a sine by its zero crossings, in Hz.
    fn pitch(samples: &[f32]) -> f32 {
        let crossings = samples
            .windows(2)
            .filter(|pair| pair[0] < 0.0 && pair[1] >= 0.0);
        crossings.count() as f32 * 24_000.0 / samples.len() as f32
    }

    #[test]
    fn length_follows_the_factor_and_pitch_and_height_stay() {
        for hz in [110.0, 220.0, 900.0] {
            for factor in [0.8, 1.07, 1.12, 1.4, 2.0] {
                let input = sine(hz, 48_000);
                let output = stretch(&input, RATE, factor);
                assert_eq!(output.len(), (48_000.0 / factor).round() as usize);
                let inner = &output[2400..output.len() - 2400];
                assert!((pitch(inner) - hz).abs() < hz * 0.03, "{hz} Hz at {factor}");
                let peak = inner.iter().fold(0f32, |peak, s| peak.max(s.abs()));
                assert!((peak - 0.5).abs() < 0.05, "{hz} Hz at {factor}: {peak}");
                // No click: no step that the sine itself does not have.
                let step = std::f32::consts::TAU * hz / 24_000.0 * 0.5;
                let steepest = inner
                    .windows(2)
                    .map(|pair| (pair[1] - pair[0]).abs())
                    .fold(0.0, f32::max);
                assert!(steepest < 1.3 * step, "{hz} Hz at {factor}: {steepest}");
            }
        }
    }

    #[test]
    fn odd_factors_and_lengths_do_no_harm() {
        let input = sine(200.0, 1000);
        for factor in [1.0, 0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(stretch(&input, RATE, factor), input);
        }
        for frames in [0, 1, 5, 300] {
            let short = sine(200.0, frames);
            let expected = (frames as f64 / 1.5).round() as usize;
            assert_eq!(stretch(&short, RATE, 1.5).len(), expected);
        }
    }
}
