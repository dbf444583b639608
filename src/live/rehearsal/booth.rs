//! What a rehearsal sounds with, and the ear that hears the coach between it.

use super::Listening;
use super::News;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Utterance;
use crate::compile::Class;
use crate::rehearse::ear::Health;
use crate::rehearse::practice::Cue;
use crate::rehearse::practice::Help;
use crate::rehearse::practice::Pass;
use crate::rehearse::practice::RUN_UP;
use crate::rehearse::practice::Score;
use crate::rehearse::report::Heard;
use crate::rehearse::report::Spoke;
use crate::sound::mix::Clip;
use crate::sound::speech::Speaker;
use std::collections::HashMap;
use std::collections::HashSet;
use std::time::Instant;

/// The clips of a rehearsal, and what was fed and heard.
pub struct Booth {
    pub score: Score,
    clips: HashMap<Cue, Clip>,
    fed: HashSet<Cue>,
    next_id: u64,
    pass: Option<Pass>,
    /// Where the clock stood at the last look.
    at: At,
    listening: Option<Listening>,
    /// What was handed over and not yet told to the ear.
    unmasked: HashSet<Cue>,
    /// What was heard in the pass so far.
    spoke: Vec<Spoke>,
    heard: Vec<Heard>,
}

/// The ear is told of our own sounds so long before they are heard.
const SOON: Millis = Millis::from_ms(150);
/// A pass came to its end if the clock was last seen so near to it.
const NEARLY: Millis = Millis::from_ms(100);

impl Booth {
    /// Makes all clips of a class and of the prompts for it.
    pub fn new(class: &Class, speaker: &Speaker, listening: Option<Listening>) -> Booth {
        let mut takes = HashMap::new();
        let mut length = |text: &str| {
            let take = speaker.take(&Utterance::new(text)).ok();
            let lasts = take.as_ref().map_or(Millis::ZERO, |t| t.length());
            takes.insert(text.to_owned(), take);
            lasts
        };
        let score = Score::new(&class.plan, &mut length);
        let mut clips = HashMap::new();
        let run_up = RUN_UP.frames(SampleRate::OUTPUT).count();
        for (at, clip) in class.clips.iter().enumerate() {
            let moved = FrameAt::new(clip.at.index() + run_up);
            let clip = Clip {
                at: moved,
                ..clip.clone()
            };
            clips.insert(Cue::Planned(at), clip);
        }
        for help in [Help::FirstWords, Help::Name] {
            for (at, prompt) in score.prompts_of(help).iter().enumerate() {
                let Some(Some(take)) = takes.get(&prompt.text) else {
                    continue;
                };
                let onset = SampleRate::OUTPUT.frame_at(prompt.onset).index();
                let clip = Clip {
                    id: 0,
                    at: FrameAt::new(onset.saturating_sub(take.onset.count())),
                    samples: take.samples.clone(),
                };
                clips.insert(Cue::Prompt(help, at), clip);
            }
        }
        Booth {
            score,
            clips,
            fed: HashSet::new(),
            next_id: 0,
            pass: None,
            at: At::START,
            listening,
            unmasked: HashSet::new(),
            spoke: Vec::new(),
            heard: Vec::new(),
        }
    }

    /// What was handed over is dropped.
    pub fn forget_fed(&mut self) {
        self.fed.clear();
        self.unmasked.clear();
    }

    /// Returns the clips of a pass from an instant on that were not handed over yet.
    pub fn clips(&mut self, pass: Pass, from: At) -> Vec<Clip> {
        let mut made = Vec::new();
        for cue in self.score.cues(pass) {
            if self.score.times(cue).0 < from || !self.fed.insert(cue) {
                continue;
            }
            if let Some(clip) = self.clips.get(&cue) {
                self.unmasked.insert(cue);
                self.next_id += 1;
                made.push(Clip {
                    id: self.next_id,
                    ..clip.clone()
                });
            }
        }
        made
    }

    /// Takes in that a pass has begun.
    pub fn began(&mut self, pass: Pass, watch: &mut dyn FnMut(News)) {
        self.keep_heard(watch);
        self.pass = Some(pass);
        self.spoke.clear();
    }

    /// Hears what the microphone took in since the last time; the clock stands at an instant.
    pub fn listen(&mut self, at: At, watch: &mut dyn FnMut(News)) {
        self.at = at;
        let (Some(listening), Some(pass)) = (&mut self.listening, self.pass) else {
            return;
        };
        let now = Instant::now();
        let soon = |cue: &Cue| self.score.times(*cue).0 < at + SOON;
        let sounding: Vec<Cue> = self.unmasked.iter().filter(|c| soon(c)).copied().collect();
        for cue in sounding {
            self.unmasked.remove(&cue);
            let times = self.score.times(cue);
            if times.1 >= at {
                listening.mask(times, (now, at));
            }
        }
        let look = listening.look(now, at, pass);
        self.take_in(look.spoke);
        if let Some(why) = look.gone {
            watch(News::Notice(&format!(
                "the microphone is gone: {why}. What you say from here on is not heard"
            )));
            self.listening = None;
        }
    }

    fn take_in(&mut self, spoke: Vec<(Pass, Spoke)>) {
        for (pass, spoke) in spoke {
            if Some(pass) == self.pass {
                self.spoke.push(spoke);
            } else if let Some(last) = self.heard.last_mut()
                && last.passage == pass.passage
                && !pass.shown
            {
                // Told after the pass was over.
                last.spoke.push(spoke);
            }
        }
    }

    /// Keeps what was heard in a pass that came to its end, if it can be trusted.
    fn keep_heard(&mut self, watch: &mut dyn FnMut(News)) {
        let (Some(listening), Some(pass)) = (&self.listening, self.pass) else {
            return;
        };
        let end = self.score.passages[pass.passage].end;
        if pass.shown || self.at + NEARLY < end {
            return;
        }
        match listening.health() {
            Some(Health::Good) => self.heard.push(Heard {
                passage: pass.passage,
                spoke: std::mem::take(&mut self.spoke),
            }),
            Some(other) => watch(News::Notice(&format!(
                "{other}: passage {} is not judged",
                pass.passage + 1
            ))),
            None => {}
        }
    }

    /// Hands over what was heard.
    pub fn heard(mut self, watch: &mut dyn FnMut(News)) -> Vec<Heard> {
        self.keep_heard(watch);
        if let Some(listening) = self.listening.take() {
            let spoke = listening.finish();
            self.pass = None;
            self.take_in(spoke);
        }
        self.heard
    }
}
