//! The K weighting of ITU-R BS.1770-5 for a stereo stream at 48 kHz: the power that loudness is made of.

/// What BS.1770 takes off the logarithm of the weighted power, so that its anchor reads as it should.
const OFFSET: f64 = -0.691;

/// Returns the loudness in LUFS of a mean weighted power; minus infinity for silence.
pub fn loudness(mean_power: f64) -> f32 {
    (OFFSET + 10.0 * mean_power.log10()) as f32
}

/// The weighting on its way through a stream.
#[derive(Debug, Clone, Default)]
pub struct KWeighting {
    shelf: [Memory; 2],
    high_pass: [Memory; 2],
}

/// The last inputs and outputs of a filter of second order, in its transposed form.
#[derive(Debug, Clone, Copy, Default)]
struct Memory([f64; 2]);

/// The two filters at 48 kHz (BS.1770-5, tables 1 and 2): b0, b1, b2, a1, a2.
const SHELF: [f64; 5] = [
    1.535_124_859_586_97,
    -2.691_696_189_406_38,
    1.198_392_810_852_85,
    -1.690_659_293_182_41,
    0.732_480_774_215_85,
];
const HIGH_PASS: [f64; 5] = [1.0, -2.0, 1.0, -1.990_047_454_833_98, 0.990_072_250_366_21];

impl Memory {
    fn step(&mut self, [b0, b1, b2, a1, a2]: [f64; 5], input: f64) -> f64 {
        let output = b0 * input + self.0[0];
        self.0[0] = b1 * input - a1 * output + self.0[1];
        self.0[1] = b2 * input - a2 * output;
        output
    }

    /// What is left of a sound long past would otherwise be numbers too small to be quick.
    fn settle(&mut self) {
        for value in &mut self.0 {
            if value.abs() < 1e-20 {
                *value = 0.0;
            }
        }
    }
}

impl KWeighting {
    /// Takes in the next frames and returns the sum of their weighted powers, both channels together.
    pub fn power(&mut self, frames: &[[f32; 2]]) -> f64 {
        let mut sum = 0.0;
        for (channel, (shelf, high_pass)) in
            self.shelf.iter_mut().zip(&mut self.high_pass).enumerate()
        {
            for frame in frames {
                let shelved = shelf.step(SHELF, f64::from(frame[channel]));
                let weighted = high_pass.step(HIGH_PASS, shelved);
                sum += weighted * weighted;
            }
            shelf.settle();
            high_pass.settle();
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The crate's meter is checked against EBU Tech 3341 in `meter.rs`.
    #[test]
    fn momentary_loudness_is_what_the_meter_reads() {
        let noise = |n: u32| (n.wrapping_mul(2_654_435_761) >> 8) as f32 / 16_777_216.0 - 0.5;
        let frames: Vec<[f32; 2]> = (0..48_000u32)
            .map(|n| {
                let tone = (std::f32::consts::TAU * 60.0 * n as f32 / 48_000.0).sin();
                [0.2 * noise(n) + 0.1 * tone, 0.05 * noise(n ^ 77)]
            })
            .collect();
        let mut meter = ebur128::EbuR128::new(2, 48_000, ebur128::Mode::M).unwrap();
        let mut weighting = KWeighting::default();
        let mut powers = Vec::new();
        for block in frames.chunks(480) {
            meter.add_frames_f32(block.as_flattened()).unwrap();
            powers.push(weighting.power(block));
            if powers.len() < 40 {
                continue;
            }
            let mean = powers[powers.len() - 40..].iter().sum::<f64>() / 19_200.0;
            let expected = meter.loudness_momentary().unwrap() as f32;
            let off = (loudness(mean) - expected).abs();
            assert!(off < 0.01, "{} for {expected}", loudness(mean));
        }
        assert_eq!(
            loudness(KWeighting::default().power(&[[0.0; 2]; 480])),
            f32::NEG_INFINITY
        );
    }
}
