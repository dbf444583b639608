//! Brings a clip to the rate of everything that is heard, 48 kHz.

use std::borrow::Cow;

use rubato::Fft;
use rubato::FixedSync;
use rubato::Resampler;
use rubato::audioadapter_buffers::direct::InterleavedSlice;

use crate::base::units::SampleRate;

/// Input frames a block: long enough for a steep filter (cutoff at 95 % of the band and more).
const BLOCK: usize = 1024;

/// Resamples mono samples from `from` to 48 kHz: no delay is added, and the length is that of
/// the input times the ratio of the rates, rounded up.
///
/// Samples that cannot be resampled (an absurd rate) come back empty.
pub fn to_output(samples: &[f32], from: SampleRate) -> Cow<'_, [f32]> {
    let to = SampleRate::OUTPUT;
    if from == to || samples.is_empty() {
        return Cow::Borrowed(samples);
    }
    Cow::Owned(resampled(samples, from, to).unwrap_or_default())
}

fn resampled(samples: &[f32], from: SampleRate, to: SampleRate) -> Option<Vec<f32>> {
    let mut resampler = Fft::<f32>::new_custom(
        from.hz() as usize,
        to.hz() as usize,
        block(from.hz(), to.hz(), BLOCK),
        1,
        1,
        rubato::WindowFunction::BlackmanHarris2,
        FixedSync::Both,
    )
    .ok()?;
    let input = InterleavedSlice::new(samples, 1, samples.len()).ok()?;
    let output = resampler.process_all(&input, samples.len(), None).ok()?;
    let mut output = output.take_data();
    // The crate rounds the ratio as a float, which can be one frame too many.
    let (hz_in, hz_out) = (u64::from(from.hz()), u64::from(to.hz()));
    let length = (samples.len() as u64 * hz_out).div_ceil(hz_in);
    output.resize(usize::try_from(length).ok()?, 0.0);
    Some(output)
}

/// Chooses a block of at least so many input frames, an even number of the smallest blocks there are: the
/// filter's delay is half a block, and half of an odd one is not a whole number of frames on both sides.
pub(super) fn block(from: u32, to: u32, least: usize) -> usize {
    let (mut smallest, mut rest) = (from, to);
    while rest != 0 {
        (smallest, rest) = (rest, smallest % rest);
    }
    let pair = 2 * (from / smallest) as usize;
    least.div_ceil(pair) * pair
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sine(hz: f64, rate: f64, frames: usize) -> Vec<f32> {
        (0..frames)
            .map(|n| (0.5 * (std::f64::consts::TAU * hz * n as f64 / rate).sin()) as f32)
            .collect()
    }

    #[test]
    fn a_sine_keeps_its_place_and_its_height() {
        for rate in [16_000, 22_050, 24_000, 44_100] {
            let input = sine(1000.0, f64::from(rate), rate as usize);
            let output = to_output(&input, SampleRate::from_hz(rate));
            assert_eq!(output.len(), 48_000, "from {rate} Hz");
            let expected = sine(1000.0, 48_000.0, 48_000);
            // The ends ring: the sine starts and stops there.
            for n in 2400..45_600 {
                assert!(
                    (output[n] - expected[n]).abs() < 1e-3,
                    "from {rate} Hz, frame {n}: {} for {}",
                    output[n],
                    expected[n]
                );
            }
        }
    }

    #[test]
    fn lengths_follow_the_ratio_exactly() {
        for frames in [1, 7, 1023, 1024, 1025, 30_001] {
            let silence = vec![0.0; frames];
            let out = to_output(&silence, SampleRate::from_hz(24_000));
            assert_eq!(out.len(), frames * 2);
            let out = to_output(&silence, SampleRate::from_hz(16_000));
            assert_eq!(out.len(), frames * 3);
        }
        assert!(to_output(&[], SampleRate::from_hz(24_000)).is_empty());
    }
}
