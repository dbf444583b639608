//! Brings a stream that comes in chunks of any size to another rate, without delay on its clock.

use rubato::Fft;
use rubato::FixedSync;
use rubato::Resampler;
use rubato::audioadapter_buffers::direct::InterleavedSlice;

use super::resample::block;
use crate::base::units::SampleRate;

/// A mono stream on its way from one rate to another. Its state does not grow, and nothing is allocated
/// while it flows.
pub struct Flow {
    /// `None` where the rates are the same.
    resampler: Option<Fft<f32>>,
    /// Input that does not fill a block yet, and how much of it there is.
    held: Vec<f32>,
    filled: usize,
    made: Vec<f32>,
    /// Frames of the filter's delay that are still to be dropped.
    early: usize,
}

impl Flow {
    /// Gets ready; `None` for rates between which there is no way.
    pub fn new(from: SampleRate, to: SampleRate) -> Option<Self> {
        if from == to {
            return Some(Flow {
                resampler: None,
                held: Vec::new(),
                filled: 0,
                made: Vec::new(),
                early: 0,
            });
        }
        // More than a block of the output rate's own, so that the filter stays steep from high rates.
        let least = (from.hz() / to.hz()).max(1) as usize;
        let resampler = Fft::<f32>::new_custom(
            from.hz() as usize,
            to.hz() as usize,
            block(from.hz(), to.hz(), LEAST * least),
            1,
            1,
            rubato::WindowFunction::BlackmanHarris2,
            FixedSync::Both,
        )
        .ok()?;
        Some(Flow {
            held: vec![0.0; resampler.input_frames_next()],
            filled: 0,
            made: vec![0.0; resampler.output_frames_next()],
            early: resampler.output_delay(),
            resampler: Some(resampler),
        })
    }

    /// Takes in samples and hands on what they make, block by block: the first sample handed on stands for the
    /// instant of the first one taken in.
    pub fn push(&mut self, mut samples: &[f32], take: &mut dyn FnMut(&[f32])) {
        if self.resampler.is_none() {
            return take(samples);
        }
        while !samples.is_empty() {
            let now = samples.len().min(self.held.len() - self.filled);
            for (held, sample) in self.held[self.filled..].iter_mut().zip(&samples[..now]) {
                *held = if sample.abs() <= MOST { *sample } else { 0.0 };
            }
            self.filled += now;
            samples = &samples[now..];
            if self.filled == self.held.len() {
                self.block(take);
            }
        }
    }

    /// Hands on what is still on its way, and less than a block of silence behind it.
    pub fn finish(&mut self, take: &mut dyn FnMut(&[f32])) {
        // The last samples and half a block of the filter's delay.
        for _ in 0..2 {
            if self.resampler.is_some() {
                self.held[self.filled..].fill(0.0);
                self.block(take);
            }
        }
    }

    fn block(&mut self, take: &mut dyn FnMut(&[f32])) {
        self.filled = 0;
        let Some(resampler) = self.resampler.as_mut() else {
            return;
        };
        let (taken, made) = (self.held.len(), self.made.len());
        let input = InterleavedSlice::new(&self.held, 1, taken);
        let output = InterleavedSlice::new_mut(&mut self.made, 1, made);
        // The sizes are those that it asked for.
        if let (Ok(input), Ok(mut output)) = (input, output) {
            let done = resampler.process_into_buffer(&input, &mut output, None);
            debug_assert!(done.is_ok(), "{done:?}");
        }
        let dropped = self.early.min(made);
        self.early -= dropped;
        take(&self.made[dropped..]);
    }
}

/// What is beyond, or no number, is no sound; the transform of the resampler ends the program over it.
const MOST: f32 = 100.0;

/// Input frames a block for each that the rate is higher: at 48 kHz some 21 ms.
const LEAST: usize = 342;

#[cfg(test)]
mod tests {
    use super::*;

    fn sine(hz: f64, rate: u32, frames: usize) -> Vec<f32> {
        let turn = std::f64::consts::TAU * hz / f64::from(rate);
        (0..frames)
            .map(|n| (0.5 * (turn * n as f64).sin()) as f32)
            .collect()
    }

    #[test]
    fn a_sine_in_chunks_keeps_its_place_and_its_height() {
        let to = SampleRate::from_hz(16_000);
        for from in [8_000, 11_025, 16_000, 44_100, 48_000, 192_000] {
            let input = sine(1000.0, from, from as usize);
            let mut flow = Flow::new(SampleRate::from_hz(from), to).unwrap();
            let mut made = Vec::new();
            for chunk in input.chunks(333) {
                flow.push(chunk, &mut |it| made.extend_from_slice(it));
            }
            flow.finish(&mut |it| made.extend_from_slice(it));
            assert!(made.len() >= 16_000, "from {from} Hz: {}", made.len());
            let expected = sine(1000.0, 16_000, 16_000);
            // The ends ring: the sine starts and stops there.
            for n in 1600..14_400 {
                let off = (made[n] - expected[n]).abs();
                assert!(off < 2e-3, "from {from} Hz, frame {n}: off by {off}");
            }
        }
    }
}
