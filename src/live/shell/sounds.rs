//! What each clip is, so that the record can tell what sounded when it is done.

use crate::base::heard::Heard;
use crate::base::heard::What;
use crate::base::tones::Tones;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::plan::Tone;
use crate::sound::mix;
use crate::sound::mix::Finished;
use crate::sound::mix::Outcome;
use std::collections::HashMap;
use std::sync::Arc;

/// What a clip is.
#[derive(Debug, Clone)]
pub enum Content {
    SyncTone,
    StartTone(Tones),
    EndTone(Tones),
    /// It stands in for a text that could not be spoken.
    FaultTone(String, Tones),
    Count(Utterance),
    Line(Utterance),
    /// Said over the class.
    Said(Utterance),
    /// The words of a count, a second each.
    CountIn(Vec<String>),
}

/// What all clips are that were handed over. They stay known: a clip may be heard again.
#[derive(Debug, Default)]
pub struct Sounds {
    all: HashMap<u64, Content>,
}

impl Content {
    /// Tells what a clip of the plan is.
    pub fn of_plan(sound: &Sound, samples: &Arc<[f32]>, tones: Tones) -> Self {
        let utterance = Utterance {
            text: sound.text.clone(),
            rate: sound.rate,
        };
        match sound.kind {
            SoundKind::Tone(Tone::Start) => Content::StartTone(tones),
            SoundKind::Tone(Tone::End) => Content::EndTone(tones),
            _ if Arc::ptr_eq(samples, &mix::Tone::Fault.samples(tones)) => {
                Content::fault(&sound.text, tones)
            }
            SoundKind::Count => Content::Count(utterance),
            SoundKind::Line { .. } => Content::Line(utterance),
        }
    }

    /// Tells of a tone that stands in for a text.
    pub fn fault(text: &str, tones: Tones) -> Self {
        Content::FaultTone(text.to_owned(), tones)
    }

    fn heard(&self) -> Heard {
        let spoken = |what: What, utterance: &Utterance| {
            heard(what, &utterance.text, Some(utterance.rate), Tones::Clear)
        };
        match self {
            Content::SyncTone => heard(What::SyncTone, "", None, Tones::Clear),
            Content::StartTone(tones) => heard(What::StartTone, "", None, *tones),
            Content::EndTone(tones) => heard(What::EndTone, "", None, *tones),
            Content::FaultTone(text, tones) => heard(What::FaultTone, text, None, *tones),
            Content::Count(utterance) => spoken(What::Count, utterance),
            Content::Line(utterance) => spoken(What::Line, utterance),
            Content::Said(utterance) => spoken(What::Said, utterance),
            Content::CountIn(counts) => Heard {
                counts: counts.clone(),
                ..heard(What::CountIn, "", None, Tones::Clear)
            },
        }
    }
}

fn heard(what: What, text: &str, rate: Option<Rate>, tones: Tones) -> Heard {
    Heard {
        what,
        text: text.to_owned(),
        counts: Vec::new(),
        rate: rate.map(Rate::per_mille),
        soft: tones == Tones::Soft,
        from_frame: 0,
        frames: 0,
        heard_frames: None,
        fade_frame: None,
    }
}

impl Sounds {
    /// Keeps what a clip is.
    pub fn is(&mut self, id: u64, content: Content) {
        self.all.insert(id, content);
    }

    /// Returns whether a clip is the sync tone.
    pub fn is_sync_tone(&self, id: u64) -> bool {
        matches!(self.all.get(&id), Some(Content::SyncTone))
    }

    /// Returns what was heard of a clip that is done; `None` of one that did not sound.
    pub fn heard(&self, done: &Finished) -> Option<Heard> {
        let cut = match done.outcome {
            Outcome::Played => None,
            Outcome::Cut(frames) => Some(frames.count()),
            Outcome::Late | Outcome::Dropped => return None,
        };
        let heard = self.all.get(&done.clip.id)?.heard();
        Some(Heard {
            from_frame: done.began?.count(),
            frames: done.clip.samples.len() as u64,
            heard_frames: cut,
            fade_frame: done.faded.map(|frames| frames.count()),
            ..heard
        })
    }
}
