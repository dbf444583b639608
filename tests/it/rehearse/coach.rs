//! A synthetic coach: lines of a voice at known times, in quiet or in noise, and how well they are found.

use sidevoice::base::units::At;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::SampleRate;
use sidevoice::rehearse::ear::Ear;
use sidevoice::rehearse::ear::Span;
use sidevoice::sound::speech::Take;

use crate::speech::all;
use crate::speech::named;
use crate::speech::shared;
use crate::speech::utterances;

pub const RATE: SampleRate = SampleRate::OUTPUT;

/// What is asked of an edge, in ms.
pub const NEAR: i64 = 60;

/// Sound at 48 kHz, and when there is speech in it.
#[derive(Clone)]
pub struct Scene {
    pub samples: Vec<f32>,
    pub truth: Vec<Span>,
}

/// How well a scene was heard.
pub struct Score {
    /// Found less true, in ms, of each line that was found; its number stands beside it.
    pub starts: Vec<(i64, usize)>,
    pub ends: Vec<(i64, usize)>,
    pub missed: usize,
    /// The part of the time without speech that was called speech.
    pub false_share: f64,
}

/// Speaks lines with a voice.
pub fn takes(voice: &str, lines: &[&str]) -> Vec<Take> {
    all(named(voice, shared()).takes(&utterances(lines)))
}

impl Scene {
    /// Lines after three seconds of silence, with one to two seconds between them.
    pub fn of(takes: &[Take]) -> Self {
        let mut scene = Scene {
            samples: vec![0.0; 144_000],
            truth: Vec::new(),
        };
        for (n, take) in takes.iter().enumerate() {
            let start = scene.samples.len() as u64;
            let at = |frames: u64| FrameAt::new(start + frames).at(RATE);
            scene.truth.push(Span {
                from: at(take.onset.count()),
                to: at(take.end.count()),
            });
            scene.samples.extend_from_slice(&take.samples);
            let gap = 48_000 + n * 7919 % 48_000;
            scene.samples.extend(std::iter::repeat_n(0.0, gap));
        }
        scene
    }

    /// The same in pink noise, so many dB below the speech, and the noise's root of the mean square.
    pub fn in_noise(&self, snr_db: f64) -> (Scene, f64) {
        let noise = pink(self.samples.len());
        let speech = self.truth.iter().flat_map(|it| self.between(*it));
        let wanted = mean_square(speech.copied()) / 10f64.powf(snr_db / 10.0);
        let gain = (wanted / mean_square(noise.iter().copied())).sqrt() as f32;
        let mut noisy = self.clone();
        for (sample, noise) in noisy.samples.iter_mut().zip(&noise) {
            *sample += noise * gain;
        }
        (noisy, wanted.sqrt())
    }

    /// The samples of a stretch.
    pub fn between(&self, span: Span) -> &[f32] {
        let index = |at: At| (RATE.frame_at(at).index() as usize).min(self.samples.len());
        &self.samples[index(span.from)..index(span.to)]
    }

    /// Listens to it with an ear.
    pub fn heard(&self) -> Vec<Span> {
        heard(&self.samples, RATE, 4800)
    }

    /// Compares what was found with the truth. A line may be found in parts.
    pub fn score(&self, found: &[Span]) -> Score {
        let mut score = Score {
            starts: Vec::new(),
            ends: Vec::new(),
            missed: 0,
            false_share: 0.0,
        };
        let mut called: i64 = found.iter().map(|it| it.length().ms()).sum();
        for (n, line) in self.truth.iter().enumerate() {
            let parts = || {
                found
                    .iter()
                    .filter(|it| it.from < line.to && it.to > line.from)
            };
            called -= parts()
                .map(|it| (it.to.min(line.to) - it.from.max(line.from)).ms())
                .sum::<i64>();
            match (parts().next(), parts().next_back()) {
                (Some(first), Some(last)) => {
                    score.starts.push(((first.from - line.from).ms(), n));
                    score.ends.push(((last.to - line.to).ms(), n));
                }
                _ => score.missed += 1,
            }
        }
        let speech: i64 = self.truth.iter().map(|it| it.length().ms()).sum();
        let whole = self.samples.len() as i64 / 48;
        score.false_share = called as f64 / (whole - speech) as f64;
        score
    }
}

impl Score {
    /// The mean distance of the edges from the truth, in ms.
    pub fn distance(&self) -> f64 {
        let edges = self.starts.iter().chain(&self.ends);
        let sum: i64 = edges.map(|(off, _)| off.abs()).sum();
        sum as f64 / (self.starts.len() + self.ends.len()).max(1) as f64
    }
}

/// Listens to samples in chunks of one size.
pub fn heard(samples: &[f32], rate: SampleRate, chunk: usize) -> Vec<Span> {
    let mut ear = Ear::new(rate).unwrap();
    let mut found = Vec::new();
    for chunk in samples.chunks(chunk) {
        found.extend(ear.push(chunk));
    }
    found.extend(ear.finish());
    found
}

/// Noise that has the same power in each octave, of any level: white noise from a xorshift generator (Marsaglia
/// 2003), through the filter of Paul Kellet (music-dsp list, 1999; its numbers from memory).
pub fn pink(count: usize) -> Vec<f32> {
    const POLES: [(f64, f64); 6] = [
        (0.99886, 0.0555179),
        (0.99332, 0.0750759),
        (0.96900, 0.1538520),
        (0.86650, 0.3104856),
        (0.55000, 0.5329522),
        (-0.7616, -0.0168980),
    ];
    let mut state: u64 = 88_172_645_463_325_252;
    let (mut held, mut last) = ([0.0; 6], 0.0);
    let next = |_| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        let white = (state >> 11) as f64 / (1u64 << 53) as f64 * 2.0 - 1.0;
        for (held, (pole, gain)) in held.iter_mut().zip(POLES) {
            *held = pole * *held + gain * white;
        }
        let sum = held.iter().sum::<f64>() + last + white * 0.5362;
        last = white * 0.115926;
        (sum * 0.05) as f32
    };
    (0..count).map(next).collect()
}

pub fn mean_square(samples: impl Iterator<Item = f32>) -> f64 {
    let (sum, count) = samples.fold((0.0, 0u64), |(sum, count), it| {
        (sum + f64::from(it).powi(2), count + 1)
    });
    sum / count.max(1) as f64
}
