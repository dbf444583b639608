//! What of the bed is known before it is heard: enough to tell how loud it is about to be.

use std::collections::VecDeque;

use crate::sound::dsp::k_weighting::KWeighting;
use crate::sound::dsp::k_weighting::loudness;
use crate::sound::mix::BED_BLOCK;
use crate::sound::mix::BedBlock;

/// Blocks of a momentary loudness: 400 ms (EBU Tech 3341).
const MOMENT: usize = 40;
/// Blocks that are known ahead: three seconds.
pub(super) const AHEAD: usize = 300;

pub(super) type Frames = [[f32; 2]; BED_BLOCK];

/// Blocks on their way out.
#[derive(Default)]
pub(super) struct Ahead {
    blocks: VecDeque<Box<Frames>>,
    /// For each of them, and for those of the last 400 ms, its weighted power and the loudness of the moment
    /// that ends with it.
    heard: VecDeque<(f64, f32)>,
    weighting: KWeighting,
}

impl Ahead {
    /// Returns whether a block can be handed out.
    pub(super) fn is_full(&self) -> bool {
        self.blocks.len() > AHEAD
    }

    /// Takes in a block.
    pub(super) fn push(&mut self, block: Box<Frames>) {
        let power = self.weighting.power(&block[..]);
        let before = self
            .heard
            .iter()
            .rev()
            .take(MOMENT - 1)
            .map(|(power, _)| power);
        let sum = before.sum::<f64>() + power;
        let moment = loudness(sum / (MOMENT * BED_BLOCK) as f64);
        self.heard.push_back((power, moment));
        self.blocks.push_back(block);
    }

    /// Hands out the next block.
    pub(super) fn pop(&mut self) -> Option<BedBlock> {
        let frames = *self.blocks.pop_front()?;
        let loudest = self.heard.iter().map(|(_, moment)| *moment);
        let block = BedBlock {
            frames,
            loudness: loudest.fold(f32::NEG_INFINITY, f32::max),
        };
        while self.heard.len() > self.blocks.len() + MOMENT {
            self.heard.pop_front();
        }
        Some(block)
    }

    /// Takes back what was not handed out yet.
    pub(super) fn take_back(&mut self) -> VecDeque<Box<Frames>> {
        let blocks = std::mem::take(&mut self.blocks);
        self.heard.truncate(self.heard.len() - blocks.len());
        self.weighting = KWeighting::default();
        blocks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(amplitude: f32) -> Box<Frames> {
        // 1 kHz: whole periods in a block.
        let sample = |n: usize| amplitude * (std::f32::consts::TAU * n as f32 / 48.0).sin();
        Box::new(std::array::from_fn(|n| [sample(n); 2]))
    }

    #[test]
    fn a_block_knows_the_loudest_moment_from_400_ms_before_it_to_3_s_after_it() {
        let mut ahead = Ahead::default();
        let mut all = Vec::new();
        // A second of tone after four of silence.
        for n in 0..900 {
            ahead.push(tone(if (400..500).contains(&n) { 0.1 } else { 0.0 }));
            if ahead.is_full() {
                all.push(ahead.pop().unwrap());
            }
        }
        // EBU Tech 3341: a stereo sine of 1 kHz at -20 dBFS reads -20 LUFS.
        let known = |n: usize| all[n].loudness;
        assert!(known(90) == f32::NEG_INFINITY, "{}", known(90));
        // The first 100 ms of it, a quarter of a moment, are 6 LU softer.
        assert!((known(109) + 26.0).abs() < 0.3, "{}", known(109));
        assert!((known(160) + 20.0).abs() < 0.1, "{}", known(160));
        assert!((known(499) + 20.0).abs() < 0.1, "{}", known(499));
        assert!((known(530) + 20.0).abs() < 0.2, "{}", known(530));
        assert!(known(590) < -100.0, "{}", known(590));
        assert_eq!(all[400].frames, *tone(0.1));
    }
}
