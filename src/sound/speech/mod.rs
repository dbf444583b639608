//! From text to a [`Take`]: samples that are ready to be heard, with their exact times.
//!
//! text -> `normalise` -> `Voice` -> `finish` (48 kHz, level, trim) -> `cache` -> [`Take`].
//! [`Speaker`] is the one door. This room knows nothing of sessions and never touches a clock of
//! the session, a loudspeaker or the network (`fetch` runs the package client instead).

pub mod cache;
pub mod chain;
pub mod child;
pub mod compact;
pub mod espeak;
pub mod estimate;
pub mod fetch;
pub mod library;
pub mod neural;
pub mod normalise;
pub mod pronounce;
pub mod serve;
pub mod speaker;
pub mod syllables;
pub mod system;

mod chunk;
mod finish;
mod link;
mod protocol;
mod queue;

use std::sync::Arc;

use thiserror::Error;

use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

pub use crate::base::utterance::Rate;
pub use crate::base::utterance::Utterance;
pub use crate::sound::speech::estimate::Estimate;
pub use crate::sound::speech::library::VoiceInfo;
pub use crate::sound::speech::speaker::Settings;
pub use crate::sound::speech::speaker::Speaker;
pub use crate::sound::speech::system::System;

/// One spoken word and where it is heard, in frames from the start of the samples it belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpokenWord {
    pub text: String,
    pub onset: Frames,
    pub end: Frames,
}

/// A line ready to be heard: mono, 48 kHz, at -18 LUFS from both loudspeakers, at most -1 dBTP.
#[derive(Debug, Clone, PartialEq)]
pub struct Take {
    /// At most 50 ms before the onset to at most 200 ms after the end, zero at both ends.
    pub samples: Arc<[f32]>,
    /// The first sample above -40 dBFS, from the start of `samples`.
    pub onset: Frames,
    /// One past the last sample above -40 dBFS, from the start of `samples`.
    pub end: Frames,
    /// The words as they are spoken, after normalisation; empty where the engine gives none.
    pub words: Vec<SpokenWord>,
    /// Whether the samples are silence that keeps the time of a line of the system's voice.
    pub aloud: bool,
}

impl Take {
    /// Makes the silence for a line that the system's voice is estimated to speak so long.
    fn of_silence(length: Millis) -> Take {
        let frames = length.frames(SampleRate::OUTPUT);
        Take {
            samples: vec![0.0; frames.count() as usize].into(),
            onset: Frames::new(0),
            end: frames,
            words: Vec::new(),
            aloud: true,
        }
    }

    /// Returns how long the line is heard, from onset to end, rounded up to whole milliseconds.
    pub fn length(&self) -> Millis {
        let frames = self.end.count().saturating_sub(self.onset.count());
        let hz = u64::from(SampleRate::OUTPUT.hz());
        Millis::from_ms((frames * 1000).div_ceil(hz) as i64)
    }
}

/// What an engine makes of a text, before level and trim.
#[derive(Debug, Clone, PartialEq)]
pub struct Raw {
    /// Mono samples, of any level.
    pub samples: Vec<f32>,
    pub rate: SampleRate,
    /// May be empty. Frames are at `rate`.
    pub words: Vec<SpokenWord>,
}

/// A voice: something that turns a normalised text into samples, the same ones each time.
pub trait Voice: Send + Sync {
    /// Returns its name, engine, language and licence.
    fn info(&self) -> &VoiceInfo;

    /// Returns what the cache knows it by: everything that changes the samples it makes.
    fn id(&self) -> &str;

    /// Speaks a short text, already normalised, at a rate.
    ///
    /// # Errors
    ///
    /// See [`VoiceError`]; an error leaves the voice ready for the next text.
    fn speak(&self, text: &str, rate: Rate) -> Result<Raw, VoiceError>;

    /// Ends its processes, if it has any, and answers whoever waits for them with an error.
    fn close(&self) {}

    /// Returns the id of a process that works or waits for it; for tests and measurements.
    fn process_id(&self) -> Option<u32> {
        None
    }
}

/// Why a text was not spoken; the kinds say what the caller can do next.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum VoiceError {
    /// No voice can say this: change the text.
    #[error("{0}")]
    Text(String),
    /// The voice's files are missing or damaged: get them again.
    #[error("{0}")]
    Model(String),
    /// The engine failed at this text or died: another voice may do it.
    #[error("{0}")]
    Engine(String),
}

/// Something a listener should know once; nothing stopped because of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    pub message: String,
}

impl Notice {
    fn new(message: impl Into<String>) -> Self {
        Notice {
            message: message.into(),
        }
    }
}
