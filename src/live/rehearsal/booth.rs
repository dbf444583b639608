//! What a rehearsal sounds with, and the ear that hears the coach between it.

use super::Listening;
use super::News;
use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;
use crate::base::utterance::Utterance;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
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
use std::sync::Arc;
use std::time::Instant;

/// The clips of a rehearsal, and what was fed and heard.
pub struct Booth {
    pub score: Score,
    clips: HashMap<Cue, Clip>,
    /// What answers a key.
    answers: HashMap<Answer, Arc<[f32]>>,
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
    /// What was heard in passes that came to their end.
    heard: Vec<Heard>,
    /// Passes are numbered: one that comes again is another turn.
    turn: u32,
    /// Whether a part of the pass was spoken by the program.
    partial: bool,
    held: bool,
    /// Whether the next pass begins where this one ends, and whether this one did.
    follows: bool,
    now_follows: bool,
    /// Why the pass that runs cannot be judged, if it was heard badly at some time.
    deaf: Option<Health>,
}

/// What is said in answer to a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Answer {
    Help(Help),
    Loop(bool),
    Where(usize),
}

impl Answer {
    fn text(self, wording: &Wording, passages: usize) -> String {
        match self {
            Answer::Help(help) => wording.say(&format!("rehearse-{}", help.word()), &[]),
            Answer::Loop(true) => wording.say("rehearse-again", &[]),
            Answer::Loop(false) => wording.say("rehearse-on", &[]),
            Answer::Where(at) => {
                let at = wording.number(at as i64 + 1);
                let of = wording.number(passages as i64);
                let args = [("at", Arg::Text(&at)), ("of", Arg::Text(&of))];
                wording.say("rehearse-where", &args)
            }
        }
    }
}

/// The ear is told of our own sounds so long before they are heard.
const SOON: Millis = Millis::from_ms(150);
/// A pass came to its end if the clock was last seen so near to it.
const NEARLY: Millis = Millis::from_ms(100);

impl Booth {
    /// Makes all clips of a class and of the prompts for it.
    pub fn new(
        class: &Class,
        speaker: &Speaker,
        wording: &Wording,
        listening: Option<Listening>,
    ) -> Booth {
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
        let helps = Help::WORDS.map(|(_, help)| Answer::Help(help));
        let passages = score.passages.len();
        let all = helps
            .into_iter()
            .chain([Answer::Loop(true), Answer::Loop(false)]);
        let answers = all
            .chain((0..passages).map(Answer::Where))
            .filter_map(|answer| {
                let text = answer.text(wording, passages);
                let take = speaker.take(&Utterance::new(text)).ok()?;
                Some((answer, take.samples))
            });
        Booth {
            answers: answers.collect(),
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
            turn: 0,
            partial: false,
            held: false,
            follows: false,
            now_follows: false,
            deaf: None,
        }
    }

    /// The clock goes elsewhere: what was handed over is dropped, and the next pass follows none.
    pub fn goes_elsewhere(&mut self) {
        self.fed.clear();
        self.unmasked.clear();
        self.follows = false;
    }

    /// What begins at a frame or later is dropped.
    pub fn forget_fed_from(&mut self, from: FrameAt) {
        let clips = &self.clips;
        let stays = |cue: &Cue| clips.get(cue).is_some_and(|clip| clip.at < from);
        self.fed.retain(stays);
        self.unmasked.retain(stays);
    }

    /// Returns the clips of a pass that begin at a frame or later and were not handed over yet, each with
    /// whether it prompts. Where it `whispers`, prompts are for an ear of the coach's own, and the microphone
    /// does not hear them.
    pub fn clips(&mut self, pass: Pass, from: FrameAt, whispers: bool) -> Vec<(bool, Clip)> {
        let mut made = Vec::new();
        for cue in self.score.cues(pass) {
            if let Some(clip) = self.clips.get(&cue)
                && clip.at >= from
                && self.fed.insert(cue)
            {
                let prompts = matches!(cue, Cue::Prompt(..));
                if !(prompts && whispers) {
                    self.unmasked.insert(cue);
                }
                self.next_id += 1;
                let clip = Clip {
                    id: self.next_id,
                    ..clip.clone()
                };
                made.push((prompts, clip));
            }
        }
        made
    }

    /// Returns the clip that answers a key, to be spoken at once; the ear is told of it.
    pub fn answer(&mut self, answer: Answer) -> Option<Clip> {
        let samples = Arc::clone(self.answers.get(&answer)?);
        let lasts = Frames::new(samples.len() as u64).millis(SampleRate::OUTPUT);
        if let Some(listening) = &mut self.listening {
            listening.mask((self.at, self.at + lasts), (Instant::now(), self.at));
            // What she says meanwhile is not heard.
            self.partial |= listening.masks();
        }
        self.next_id += 1;
        Some(Clip {
            id: self.next_id,
            at: FrameAt::START,
            samples,
        })
    }

    /// Takes in that a pass has begun.
    pub fn began(&mut self, pass: Pass, watch: &mut dyn FnMut(News)) {
        self.keep_heard(watch);
        self.pass = Some(pass);
        self.turn += 1;
        self.at = At::START;
        self.partial = false;
        self.deaf = None;
        self.held = false;
        self.spoke.clear();
        self.now_follows = std::mem::replace(&mut self.follows, true);
    }

    /// Takes in that the pass has another step of help; one that was listened to is not judged.
    pub fn changed(&mut self, pass: Pass) {
        self.partial |= self.pass.is_some_and(|before| before.shown);
        self.pass = Some(pass);
    }

    /// Takes in that the clock stands: what is said now is no part of a class.
    pub fn held(&mut self) {
        self.held = true;
    }

    /// Hears what the microphone took in since the last time; the clock stands at an instant.
    pub fn listen(&mut self, at: At, watch: &mut dyn FnMut(News)) {
        self.at = at;
        let Some(listening) = &mut self.listening else {
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
        let look = listening.look(now, at, (!self.held).then_some(self.turn));
        let health = listening.health();
        if matches!(health, Some(Health::Stopped { .. })) {
            self.deaf = health;
        }
        self.take_in(look.spoke);
        if let Some(why) = look.gone {
            watch(News::Notice(&format!(
                "the microphone is gone: {why}. What you say from here on is not heard"
            )));
            self.listening = None;
        }
    }

    fn take_in(&mut self, spoke: Vec<(u32, Spoke)>) {
        for (turn, spoke) in spoke {
            if turn == self.turn {
                self.spoke.push(spoke);
            } else if let Some(heard) = self.heard.iter_mut().rfind(|heard| heard.turn == turn) {
                // Told after the pass was over.
                heard.spoke.push(spoke);
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
        match self.deaf.take().or_else(|| listening.health()) {
            Some(Health::Good) if self.partial => {}
            Some(Health::Good) => {
                let spoke = std::mem::take(&mut self.spoke);
                self.heard.push(Heard {
                    passage: pass.passage,
                    turn: self.turn,
                    follows: self.now_follows,
                    help: pass.help,
                    spoke,
                });
            }
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
            self.turn += 1;
            self.take_in(spoke);
        }
        self.heard
    }
}
