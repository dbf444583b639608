//! What the room of a class played by hand heard, to the sample, and the record that is kept of it.

use super::hall::LOUD;
use jiff::Timestamp;
use sidevoice::base::tones::Tones;
use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Frames;
use sidevoice::base::utterance::Rate;
use sidevoice::base::utterance::Utterance;
use sidevoice::compile::counted_in;
use sidevoice::live::core::Effect;
use sidevoice::live::history::Began;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Keeper;
use sidevoice::live::history::Run;
use sidevoice::live::history::Step;
use sidevoice::live::history::Told;
use sidevoice::live::history::read;
use sidevoice::live::shell::Content;
use sidevoice::live::shell::Sounds;
use sidevoice::planning::plan::Sound;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::plan::Tone;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use sidevoice::planning::timeline::Timeline;
use sidevoice::sound::mix;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Finished;
use sidevoice::sound::speech::Take;
use std::collections::HashMap;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

/// What is said over the class has lengths of its own.
const OVER: Rate = Rate::from_per_mille(999);

pub struct Tape {
    folder: PathBuf,
    keeper: Option<Keeper>,
    sounds: Sounds,
    /// Whatever was spoken.
    pub takes: HashMap<Utterance, Take>,
    /// What was heard.
    pub room: Vec<f32>,
    /// Where the loudspeaker was lost, and for how long.
    pub lost: Vec<(usize, i64)>,
}

impl Tape {
    pub fn new(folder: &Path, session: &Session, timeline: &Timeline) -> Self {
        let file = Path::new("sessions/boathouse-five.toml");
        let hash = String::new();
        let caution = CautionLength::Full;
        let began = Began::new(session, file, hash, "tabled", caution, timeline, None);
        Self {
            folder: folder.to_owned(),
            keeper: Some(Keeper::new(folder, Arc::new(session.clone()), began)),
            sounds: Sounds::default(),
            takes: HashMap::new(),
            room: Vec::new(),
            lost: Vec::new(),
        }
    }

    fn now(&self) -> Timestamp {
        let away: i64 = self.lost.iter().map(|(_, ms)| ms).sum();
        let ms = 1_790_000_000_000 + self.room.len() as i64 / 48 + away;
        Timestamp::from_millisecond(ms).unwrap()
    }

    fn frame(&self) -> Frames {
        Frames::new(self.room.len() as u64)
    }

    pub fn see(&mut self, told: Told, effects: &[Effect], timeline: &Timeline) {
        let (frame, now) = (self.frame(), self.now());
        let step = Step {
            told,
            effects,
            timeline: Some(timeline),
            frame,
        };
        if let Some(keeper) = &mut self.keeper {
            keeper.see(&step, now);
        }
    }

    pub fn is_done(&mut self, done: &Finished) {
        if let Some(heard) = self.sounds.heard(done) {
            self.hears(Happening::Sounded(heard));
        }
    }

    pub fn hears(&mut self, what: Happening) {
        let (frame, now) = (self.frame(), self.now());
        if let Some(keeper) = &mut self.keeper {
            keeper.heard(what, frame, now);
        }
    }

    /// Speaks a text: no two sound alike, and it is as long as it was the first time.
    fn speak(&mut self, utterance: &Utterance, ms: i64) -> Take {
        let step = utterance.text.bytes().fold(7_u32, |all, byte| {
            all.wrapping_mul(31).wrapping_add(u32::from(byte))
        });
        let step = f64::from(step % 9973) / 9973.0;
        let sample = |at: i64| LOUD * (0.6 + 0.4 * (at as f64 * step).fract() as f32);
        let made = || Take {
            samples: (0..ms * 48).map(sample).collect(),
            onset: Frames::ZERO,
            end: Frames::new(ms as u64 * 48),
            words: Vec::new(),
            aloud: false,
        };
        self.takes
            .entry(utterance.clone())
            .or_insert_with(made)
            .clone()
    }

    /// Makes a clip of the plan.
    pub fn clip(&mut self, id: u64, at: FrameAt, sound: &Sound) -> Clip {
        let clip = match sound.kind {
            SoundKind::Tone(Tone::Start) => mix::Tone::Start.clip(Tones::Clear, id, at),
            SoundKind::Tone(Tone::End) => mix::Tone::End.clip(Tones::Clear, id, at),
            _ => {
                let utterance = Utterance {
                    text: sound.text.clone(),
                    rate: sound.rate,
                };
                let take = self.speak(&utterance, (sound.end - sound.onset).ms());
                let samples = take.samples;
                Clip { id, at, samples }
            }
        };
        let content = Content::of_plan(sound, &clip.samples, Tones::Clear);
        self.sounds.is(id, content);
        clip
    }

    pub fn start_tone(&mut self, id: u64, at: FrameAt) -> Clip {
        self.sounds.is(id, Content::StartTone(Tones::Clear));
        mix::Tone::Start.clip(Tones::Clear, id, at + mix::Tone::Start.onset(Tones::Clear))
    }

    pub fn say(&mut self, id: u64, text: &str, ms: i64) -> Arc<[f32]> {
        let utterance = Utterance {
            text: text.to_owned(),
            rate: OVER,
        };
        let take = self.speak(&utterance, ms);
        self.sounds.is(id, Content::Said(utterance));
        take.samples
    }

    pub fn count_in(&mut self, id: u64, counts: &[Utterance]) -> Arc<[f32]> {
        let takes: Vec<_> = counts.iter().map(|it| self.speak(it, 400)).collect();
        let texts = counts.iter().map(|it| it.text.clone()).collect();
        self.sounds.is(id, Content::CountIn(texts));
        counted_in(&takes).samples
    }

    /// Ends the record and reads it again.
    pub fn close(&mut self) -> Run {
        let trouble = self.keeper.take().unwrap().close();
        assert_eq!(trouble, None);
        let record = read(&self.folder);
        assert_eq!(record.faults, []);
        record.runs.into_iter().next_back().unwrap()
    }
}
