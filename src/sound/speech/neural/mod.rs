//! The neural voice, in the process that loads it: text -> phonemes -> spectra -> samples.
//!
//! `child` asks it from the program's own process; nothing else should load it there, a loaded
//! model does not give its memory back.

mod model;
mod phonemes;
mod vocoder;

use std::path::Path;
use std::thread;

use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::dsp::stretch;
use crate::sound::speech::Rate;
use crate::sound::speech::Raw;
use crate::sound::speech::SpokenWord;
use crate::sound::speech::VoiceError;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::neural::model::Model;
use crate::sound::speech::neural::phonemes::Phonemes;
use crate::sound::speech::neural::vocoder::HOP;
use crate::sound::speech::neural::vocoder::RATE;
use crate::sound::speech::neural::vocoder::Vocoder;

/// Beyond these factors the model slurs or drags; the rest is stretched.
const NATIVE: std::ops::RangeInclusive<f32> = 0.85..=1.2;

/// One step of the durations, in samples: 25 ms.
const STEP: usize = 2 * HOP;

/// A loaded neural voice; the threads that use it share it.
pub struct Neural {
    phonemes: Phonemes,
    model: Model,
    vocoder: Vocoder,
}

impl Neural {
    /// Loads the voice's files from a folder; each is hashed as it is read, so that what is loaded
    /// is what was verified.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`], naming the file that is missing or damaged.
    pub fn load(info: &VoiceInfo, folder: &Path) -> Result<Neural, VoiceError> {
        // The dictionary and the model take about as long: one core each.
        thread::scope(|scope| {
            let phonemes = scope.spawn(|| Phonemes::load(info, folder));
            let model = Model::load(info, folder)?;
            let phonemes = phonemes
                .join()
                .map_err(|_| VoiceError::Engine("loading the dictionary failed".to_owned()))??;
            Ok(Neural {
                phonemes,
                model,
                vocoder: Vocoder::new(),
            })
        })
    }

    /// Writes the sounds of a normalised text as the model is given them; for tests and measurements.
    ///
    /// # Errors
    ///
    /// As for [`Neural::speak`].
    pub fn sounds(&self, text: &str) -> Result<String, VoiceError> {
        self.phonemes.written(text)
    }

    /// Speaks a short normalised text: mono samples at 24 kHz with the times of its words.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Text`] if no word of it can be said, [`VoiceError::Engine`] if the model fails.
    pub fn speak(&self, text: &str, rate: Rate) -> Result<Raw, VoiceError> {
        let line = self.phonemes.of(text)?;
        let speed = rate.factor().clamp(*NATIVE.start(), *NATIVE.end());
        let spectra = self.model.run(&line.ids, speed)?;
        // The noise depends on the text alone: the same text is the same samples.
        let mut samples = self.vocoder.samples(&spectra, seed(&line.ids))?;
        let mut factor = 1.0;
        if rate != Rate::NORMAL {
            // The model's durations are whole steps of 25 ms, so its own rates are coarse (1.12
            // can come out as 1.02): a stretch makes up for what is missing.
            let normal = length(&self.model.durations(&line.ids, 1.0)?);
            if normal > 0 {
                let wanted = normal as f64 / f64::from(rate.factor());
                factor = samples.len() as f64 / wanted;
                samples = stretch::stretch(&samples, SampleRate::from_hz(RATE), factor);
            }
        }
        let words = words(&line.words, &spectra.durations, factor, samples.len());
        Ok(Raw {
            samples,
            rate: SampleRate::from_hz(RATE),
            words,
        })
    }
}

/// The samples that durations stand for.
fn length(durations: &[f32]) -> usize {
    let steps = durations
        .iter()
        .map(|steps| steps.round().max(0.0) as usize);
    steps.sum::<usize>() * STEP
}

/// Places words by the durations of their phonemes in samples that were then stretched.
fn words(
    words: &[phonemes::Word],
    durations: &[f32],
    factor: f64,
    total: usize,
) -> Vec<SpokenWord> {
    // A model without durations, or with others than expected, gives no times.
    let stretched = |samples: usize| (samples as f64 / factor).round() as u64;
    if stretched(length(durations)).abs_diff(total as u64) > HOP as u64 {
        return Vec::new();
    }
    let place = |id: usize| Some(Frames::new(stretched(length(durations.get(..id)?))));
    words
        .iter()
        .filter_map(|word| {
            Some(SpokenWord {
                text: word.text.clone(),
                onset: place(word.ids.start)?,
                end: place(word.ids.end)?,
            })
        })
        .collect()
}

/// FNV-1a over the phonemes.
fn seed(ids: &[i32]) -> u64 {
    ids.iter().fold(0xcbf2_9ce4_8422_2325, |hash, id| {
        (hash ^ *id as u64).wrapping_mul(0x0000_0100_0000_01b3)
    })
}
