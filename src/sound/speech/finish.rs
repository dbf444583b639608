//! What an engine made -> a [`Take`]: one rate, one level, cut to what is heard.

use std::ops::Range;
use std::sync::Arc;

use crate::base::units::Frames;
use crate::base::units::Lufs;
use crate::base::units::SampleRate;
use crate::base::utterance::Clarity;
use crate::sound::dsp::clarity;
use crate::sound::dsp::level;
use crate::sound::dsp::resample;
use crate::sound::dsp::trim;
use crate::sound::speech::Raw;
use crate::sound::speech::SpokenWord;
use crate::sound::speech::Take;
use crate::sound::speech::VoiceError;

/// Changes whenever this processing, or the normaliser in front of it, changes what is heard:
/// part of the cache's key.
pub const VERSION: u32 = 2;

/// The pause between the pieces of a long text: that of a full stop.
const PAUSE: usize = 48_000 * 35 / 100;

/// Below this part of its peak the edge of a piece counts as silence (-46 dB).
const EDGE: f32 = 0.005;

/// Turns the pieces of one line into a take.
///
/// # Errors
///
/// [`VoiceError::Engine`] if there is nothing to hear in them.
pub fn finish(pieces: &[Raw], clarity: Clarity) -> Result<Take, VoiceError> {
    let (samples, words) = joined(pieces);
    let samples = clarity::shape(&samples, SampleRate::OUTPUT, clarity);
    let nothing = || VoiceError::Engine("the engine returned silence".to_owned());
    let mut samples =
        level::level(&samples, SampleRate::OUTPUT, Lufs::SPEECH).ok_or_else(nothing)?;
    quantise(&mut samples);
    let mut cut = trim::trim(&samples, SampleRate::OUTPUT).ok_or_else(nothing)?;
    // The fades made values between two steps again.
    quantise(&mut cut.samples);
    let place = |frame: Frames| {
        // The cut clip has one zero of its own in front.
        let moved = (frame.count() + 1).saturating_sub(cut.skipped.count());
        Frames::new(moved.clamp(cut.onset.count(), cut.end.count()))
    };
    let words = words
        .into_iter()
        .map(|word| SpokenWord {
            onset: place(word.onset),
            end: place(word.end),
            text: word.text,
        })
        .collect();
    Ok(Take {
        samples: Arc::from(cut.samples),
        onset: cut.onset,
        end: cut.end,
        words,
        aloud: false,
    })
}

/// The nearest of the 65,536 values that the cache stores (noise at -98 dBFS): so a fresh take
/// and one from the cache are the same to the bit.
fn quantise(samples: &mut [f32]) {
    for sample in samples {
        *sample = from_stored(to_stored(*sample));
    }
}

/// The stored form of a sample.
pub fn to_stored(sample: f32) -> i16 {
    // The cast saturates.
    (sample * 32_768.0).round() as i16
}

/// The sample that a stored value stands for.
pub fn from_stored(stored: i16) -> f32 {
    f32::from(stored) / 32_768.0
}

/// The pieces at 48 kHz one after the other, a pause between them, with the words of all.
fn joined(pieces: &[Raw]) -> (Vec<f32>, Vec<SpokenWord>) {
    let mut samples: Vec<f32> = Vec::new();
    let mut words = Vec::new();
    for piece in pieces {
        let at_output = resample::to_output(&piece.samples, piece.rate);
        let kept = match pieces.len() {
            1 => 0..at_output.len(),
            _ => heard(&at_output),
        };
        if !samples.is_empty() {
            samples.resize(samples.len() + PAUSE, 0.0);
        }
        let (hz_in, hz_out) = (
            u64::from(piece.rate.hz()),
            u64::from(SampleRate::OUTPUT.hz()),
        );
        let place = |frame: Frames| {
            let frame = (frame.count() * hz_out / hz_in) as usize;
            let inside = frame.clamp(kept.start, kept.end.max(kept.start)) - kept.start;
            Frames::new((samples.len() + inside) as u64)
        };
        words.extend(piece.words.iter().map(|word| SpokenWord {
            text: word.text.clone(),
            onset: place(word.onset),
            end: place(word.end),
        }));
        samples.extend_from_slice(&at_output[kept]);
    }
    (samples, words)
}

fn heard(samples: &[f32]) -> Range<usize> {
    let peak = samples
        .iter()
        .fold(0f32, |peak, sample| peak.max(sample.abs()));
    let loud = |sample: &f32| sample.abs() > peak * EDGE;
    match (
        samples.iter().position(loud),
        samples.iter().rposition(loud),
    ) {
        (Some(first), Some(last)) => first..last + 1,
        _ => 0..0,
    }
}
