//! A class that is made: its plan, and the clips that make it heard, held or made when they are due.

use super::utterance;
use crate::base::tones::Tones;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::base::utterance::Utterance;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::sound::mix;
use crate::sound::mix::Clip;
use crate::sound::speech::Speaker;
use crate::sound::speech::Take;
use std::collections::HashMap;
use std::sync::Arc;
use std::vec::IntoIter;

/// The whole class: its plan and its clips, in the order of the plan's sounds.
pub struct Class {
    pub plan: Plan,
    /// Those of a light one are without samples.
    pub clips: Vec<Clip>,
    pub(super) spoken: HashMap<Utterance, Take>,
    pub(super) tones: Tones,
    /// What could not be spoken and is sounded instead, with the reason.
    pub unspoken: Vec<String>,
}

/// Clips in the order in which they begin; what was let go of is spoken again when it is asked for.
pub struct Stream {
    clips: IntoIter<(Clip, Option<Utterance>)>,
    speaker: Arc<Speaker>,
    tones: Tones,
}

impl Class {
    /// Returns the words of a sound with their times in ms from the start of the session; none
    /// where the engine does not give them.
    pub fn words(&self, sound: &Sound) -> Vec<(String, i64, i64)> {
        let Some(take) = self.spoken.get(&utterance(sound)) else {
            return Vec::new();
        };
        let start = SampleRate::OUTPUT.frame_at(sound.onset).index();
        let ms = |frames: Frames| {
            let after = frames.count() as i64 - take.onset.count() as i64;
            let frame = start.saturating_add_signed(after);
            FrameAt::new(frame).at(SampleRate::OUTPUT).ms()
        };
        take.words
            .iter()
            .map(|w| (w.text.clone(), ms(w.onset), ms(w.end)))
            .collect()
    }

    /// Returns the clips of those sounds that are wanted. The speaker is the one that the class was made with.
    pub fn stream(&self, speaker: &Arc<Speaker>, wanted: impl Fn(&Sound) -> bool) -> Stream {
        let sounds = self.plan.sounds.iter().zip(&self.clips);
        let sounds = sounds.filter(|(sound, _)| wanted(sound));
        let mut clips: Vec<_> = sounds
            .map(|(sound, clip)| {
                let tone = matches!(sound.kind, SoundKind::Tone(_));
                let gone = !tone && clip.samples.is_empty();
                (clip.clone(), gone.then(|| utterance(sound)))
            })
            .collect();
        clips.sort_by_key(|(clip, _)| clip.at);
        Stream {
            clips: clips.into_iter(),
            speaker: Arc::clone(speaker),
            tones: self.tones,
        }
    }
}

impl Iterator for Stream {
    type Item = Clip;

    fn next(&mut self) -> Option<Clip> {
        let (clip, gone) = self.clips.next()?;
        let Some(utterance) = gone else {
            return Some(clip);
        };
        // What could be spoken once can be again, unless its engine broke since: then it is sounded as a fault.
        Some(match self.speaker.take(&utterance) {
            Ok(take) => Clip {
                samples: take.samples,
                ..clip
            },
            Err(error) => {
                tracing::warn!(%error, text = utterance.text, "a line was not spoken");
                mix::Tone::Fault.clip(self.tones, clip.id, clip.at)
            }
        })
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        self.clips.size_hint()
    }
}
