//! Look-ahead limiters for the true peak: of a clip, here, and of what flows, in [`Stream`].
//!
//! Of a clip the whole clip is known, so the gain is computed from both sides of a peak: the gain that each
//! sample needs, the minimum of it over a window, and that smoothed by a bell of the same width.
//! A weighted mean of minima that all include the peak's own need is never above that need, so
//! the smoothed gain holds every peak and has no corner that could click.

mod gains;
mod stream;

use std::f64::consts::PI;

use crate::base::units::Db;
use crate::base::units::SampleRate;
use crate::sound::dsp::meter;

pub use stream::Stream;

/// Half the width of the gain's bell: shorter is heard as distortion of low voices, longer as
/// ducking.
const REACH_MS: usize = 5;

/// Points between two samples at which the peak is looked for (BS.1770-5, annex 2: at least 4).
const PHASES: usize = 4;

/// So far below the ceiling nobody else's meter reads above it (EBU Tech 3341: +0.2 / -0.4 dB).
const CLEARLY_BELOW: Db = Db::new(-0.6);

/// Samples on each side that the interpolation between two samples uses.
const SIDE: usize = 16;

/// Only around samples above this is a value between two of them looked for.
const NEAR: f32 = 0.4;

/// Limits mono samples in place so that their true peak is at most `ceiling`, in dBTP.
///
/// A clip that is below the ceiling is left as it is, bit for bit.
pub fn limit(samples: &mut [f32], rate: SampleRate, ceiling: Db) {
    let highest = ceiling.gain();
    let peaks = peaks(samples);
    // Two meters never differ by half a decibel: well below, there is nothing to do.
    let loudest = peaks.iter().copied().fold(0.0, f32::max);
    if loudest < highest * CLEARLY_BELOW.gain() {
        return;
    }
    if peaks.iter().any(|peak| *peak > highest) {
        let reach = (rate.hz() as usize * REACH_MS / 1000).max(1);
        let needed: Vec<f32> = peaks
            .iter()
            .map(|peak| (highest / peak.max(highest)).min(1.0))
            .collect();
        let gains = smoothed(&lowest(&needed, reach), reach);
        for (sample, gain) in samples.iter_mut().zip(gains) {
            *sample *= gain;
        }
    }
    // The gain's own slope and another meter's filter can differ by some hundredths of a
    // decibel: the meter that others use has the last word.
    let over = meter::true_peak(samples, rate).db() - ceiling.db();
    if over > 0.0 {
        let trim = Db::new(-over - 0.001).gain();
        samples.iter_mut().for_each(|sample| *sample *= trim);
    }
}

/// The greatest value of the signal at and right after each sample, between samples too.
fn peaks(samples: &[f32]) -> Vec<f32> {
    let filters: Vec<[f32; 2 * SIDE]> = (1..PHASES).map(filter).collect();
    let at = |index: isize| -> f32 {
        usize::try_from(index)
            .ok()
            .and_then(|index| samples.get(index).copied())
            .unwrap_or(0.0)
    };
    let mut out: Vec<f32> = samples.iter().map(|sample| sample.abs()).collect();
    for n in 0..samples.len() {
        // Where the samples around are small, nothing between them is large.
        let near = (n.saturating_sub(SIDE)..samples.len().min(n + SIDE))
            .any(|index| samples[index].abs() > NEAR);
        if !near {
            continue;
        }
        for filter in &filters {
            let first = n as isize - SIDE as isize + 1;
            let between: f32 = filter
                .iter()
                .enumerate()
                .map(|(tap, weight)| weight * at(first + tap as isize))
                .sum();
            let between = between.abs();
            out[n] = out[n].max(between);
            if let Some(next) = out.get_mut(n + 1) {
                *next = next.max(between);
            }
        }
    }
    out
}

/// A windowed sinc that gives the value `phase` quarters after the sample at tap `SIDE - 1`.
fn filter(phase: usize) -> [f32; 2 * SIDE] {
    let mut taps = [0.0; 2 * SIDE];
    let offset = phase as f64 / PHASES as f64;
    for (tap, weight) in taps.iter_mut().enumerate() {
        let x = tap as f64 - (SIDE as f64 - 1.0) - offset;
        let window = 0.5 + 0.5 * (PI * x / SIDE as f64).cos();
        *weight = ((PI * x).sin() / (PI * x) * window) as f32;
    }
    taps
}

/// The lowest of the `reach` values before, at and after each place.
fn lowest(values: &[f32], reach: usize) -> Vec<f32> {
    // A queue of rising candidates: each value enters and leaves once.
    let mut queue = std::collections::VecDeque::new();
    let mut out = Vec::with_capacity(values.len());
    for n in 0..values.len() + reach {
        if let Some(value) = values.get(n) {
            while queue
                .back()
                .is_some_and(|last: &usize| values[*last] >= *value)
            {
                queue.pop_back();
            }
            queue.push_back(n);
        }
        if n < reach {
            continue;
        }
        while queue.front().is_some_and(|first| first + reach < n - reach) {
            queue.pop_front();
        }
        out.push(queue.front().map_or(1.0, |first| values[*first]));
    }
    out
}

/// The mean of the values around each place, weighted by a bell `reach` wide on each side.
fn smoothed(values: &[f32], reach: usize) -> Vec<f32> {
    let width = 2 * reach + 1;
    let bell: Vec<f64> = (0..width)
        .map(|n| 0.5 - 0.5 * (2.0 * PI * (n + 1) as f64 / (width + 1) as f64).cos())
        .collect();
    let whole: f64 = bell.iter().sum();
    (0..values.len())
        .map(|n| {
            let from = n.saturating_sub(reach);
            let around = &values[from..values.len().min(n + reach + 1)];
            if around.iter().all(|value| *value >= 1.0) {
                return 1.0;
            }
            let first = from + reach - n;
            let used = &bell[first..first + around.len()];
            let sum: f64 = used
                .iter()
                .zip(around)
                .map(|(weight, value)| weight * f64::from(*value))
                .sum();
            // Beyond the ends of the clip the gain is one.
            ((sum + whole - used.iter().sum::<f64>()) / whole) as f32
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::dsp::CEILING;

    const RATE: SampleRate = SampleRate::OUTPUT;

    fn hum(amplitude: f32, frames: usize) -> Vec<f32> {
        (0..frames)
            .map(|n| amplitude * (n as f32 * 0.031).sin())
            .collect()
    }

    #[test]
    fn what_is_below_the_ceiling_is_not_touched() {
        let before = hum(0.8, 48_000);
        let mut after = before.clone();
        limit(&mut after, RATE, CEILING);
        assert_eq!(before, after);
    }

    #[test]
    fn peaks_end_at_the_ceiling_also_between_samples_and_at_the_ends() {
        let quarter: Vec<f32> = (0..9600)
            .map(|n| 1.3 * (std::f32::consts::FRAC_PI_2 * n as f32 + 0.785).sin())
            .collect();
        let mut burst = hum(0.5, 48_000);
        for (n, sample) in burst[20_000..20_400].iter_mut().enumerate() {
            *sample = 2.5 * (n as f32 * 0.4).sin();
        }
        let click = vec![0.0, 0.0, 9.0];
        for mut signal in [quarter, burst, hum(3.0, 30_000), click] {
            limit(&mut signal, RATE, CEILING);
            let peak = meter::true_peak(&signal, RATE).db();
            assert!(peak <= CEILING.db(), "{peak}");
            assert!(peak > CEILING.db() - 1.0, "{peak}: limited too far");
        }
    }

    #[test]
    fn the_gain_moves_slowly_enough_not_to_click() {
        // A constant makes the gain itself visible.
        let mut signal = vec![0.3; 20_000];
        signal[10_000..10_010].fill(1.8);
        let before = signal.clone();
        limit(&mut signal, RATE, CEILING);
        let gains: Vec<f32> = signal.iter().zip(&before).map(|(a, b)| a / b).collect();
        let steepest = gains
            .windows(2)
            .map(|pair| (pair[1] - pair[0]).abs())
            .fold(0.0, f32::max);
        assert!(steepest < 0.005, "{steepest} a sample");
        let far = (gains[100] - gains[19_900]).abs();
        assert!(far < 1e-6, "the gain returns to where it was");
    }

    #[test]
    fn odd_input_does_no_harm() {
        limit(&mut [], RATE, CEILING);
        let mut one = [4.0];
        limit(&mut one, RATE, CEILING);
        assert!(one[0] <= CEILING.gain());
    }
}
