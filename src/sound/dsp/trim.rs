//! Where a levelled line is heard, and the clip that is cut around it.

use std::ops::Range;

use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::sound::dsp::AUDIBLE;

/// The most that a clip holds before its onset: the soft start of a consonant.
pub const LEAD: Millis = Millis::from_ms(50);

/// The most that a clip holds after its end: the natural decay.
pub const TAIL: Millis = Millis::from_ms(200);

/// The longest fades at the two ends, within what is inaudible by definition.
const FADE_IN: Millis = Millis::from_ms(10);
const FADE_OUT: Millis = Millis::from_ms(60);

/// A clip cut around what is heard of it: mono samples, zero at both ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Trimmed {
    pub samples: Vec<f32>,
    /// The first audible sample, from the start of `samples`.
    pub onset: Frames,
    /// One past the last audible sample, from the start of `samples`.
    pub end: Frames,
    /// How many frames of the uncut clip lie before `samples`.
    pub skipped: Frames,
}

/// Finds the samples from the first to the last above -40 dBFS; `None` if there is none.
pub fn audible(samples: &[f32]) -> Option<Range<usize>> {
    let loud = |sample: &f32| sample.abs() > AUDIBLE;
    let first = samples.iter().position(loud)?;
    let last = samples.iter().rposition(loud)?;
    Some(first..last + 1)
}

/// Cuts mono samples at `rate` to at most 50 ms before what is audible and 200 ms after it, with
/// both ends faded to exact zeros; what is audible is not touched.
///
/// `None` if nothing is audible.
pub fn trim(samples: &[f32], rate: SampleRate) -> Option<Trimmed> {
    let heard = audible(samples)?;
    let lead = LEAD.frames(rate).count() as usize;
    let tail = TAIL.frames(rate).count() as usize;
    // One zero of our own at each end, so that a clip that starts loud starts at zero too.
    let start = heard.start.saturating_sub(lead.saturating_sub(1));
    let stop = samples.len().min(heard.end + tail.saturating_sub(1));
    let mut cut = Vec::with_capacity(stop - start + 2);
    cut.push(0.0);
    cut.extend_from_slice(&samples[start..stop]);
    cut.push(0.0);

    let onset = heard.start - start + 1;
    let end = heard.end - start + 1;
    let fade_in = onset.min(FADE_IN.frames(rate).count() as usize);
    let fade_out = (cut.len() - end).min(FADE_OUT.frames(rate).count() as usize);
    for (n, sample) in cut[..fade_in].iter_mut().enumerate() {
        *sample *= fade(n, fade_in);
    }
    for (n, sample) in cut.iter_mut().rev().take(fade_out).enumerate() {
        *sample *= fade(n, fade_out);
    }
    Some(Trimmed {
        samples: cut,
        onset: Frames::new(onset as u64),
        end: Frames::new(end as u64),
        // The zero in front lies one frame before the first that was kept.
        skipped: Frames::new(start as u64),
    })
}

/// The raised cosine from 0 at `n` = 0 towards 1 at `n` = `length`.
fn fade(n: usize, length: usize) -> f32 {
    0.5 - 0.5 * (std::f32::consts::PI * n as f32 / length as f32).cos()
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: SampleRate = SampleRate::OUTPUT;

    fn line(silence: usize, sound: usize, after: usize) -> Vec<f32> {
        let hum = (0..sound).map(|n| 0.3 * (n as f32 * 0.05).cos());
        std::iter::repeat_n(0.002, silence)
            .chain(hum)
            .chain(std::iter::repeat_n(0.002, after))
            .collect()
    }

    #[test]
    fn a_clip_begins_50_ms_before_the_onset_and_ends_200_ms_after_the_end() {
        let samples = line(20_000, 30_000, 40_000);
        let clip = trim(&samples, RATE).unwrap();
        assert_eq!(clip.onset, Frames::new(2400));
        assert_eq!(clip.samples.len() as u64 - clip.end.count(), 9600);
        assert_eq!(clip.samples.first(), Some(&0.0));
        assert_eq!(clip.samples.last(), Some(&0.0));
        let heard = audible(&clip.samples).unwrap();
        assert_eq!(heard.start as u64, clip.onset.count());
        assert_eq!(heard.end as u64, clip.end.count());
        let (from, to) = (clip.onset.count() as usize, clip.end.count() as usize);
        assert_eq!(clip.samples[from..to], samples[20_000..20_000 + to - from]);
    }

    #[test]
    fn a_clip_that_starts_loud_gets_a_zero_in_front() {
        let clip = trim(&line(0, 4800, 0), RATE).unwrap();
        assert_eq!(clip.onset, Frames::new(1));
        assert_eq!(clip.samples.first(), Some(&0.0));
        assert_eq!(clip.samples.last(), Some(&0.0));
        assert!(trim(&[0.005; 4800], RATE).is_none());
        assert!(trim(&[], RATE).is_none());
    }
}
