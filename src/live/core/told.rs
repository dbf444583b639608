//! What each verb does, in each state. Whatever is told is answered by a sound or a word at once.

use super::BEFORE_CHANGE;
use super::Core;
use super::Effect;
use super::Message;
use super::Pending;
use super::State;
use super::Then;
use super::Wishes;
use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::live::control::Verb;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Work;

/// A step of the volume.
const STEP_DB: f32 = 3.0;
/// A step of the speed, per mille.
const FASTER: u16 = 100;
/// An answer is worth something for so long.
const WORTH_AN_ANSWER: Millis = Millis::from_secs(6);
/// What a word takes at most when it is spoken, for what has no measured length.
const A_WORD: Millis = Millis::from_ms(450);

impl Core<'_> {
    pub(super) fn told(&mut self, verb: Verb, effects: &mut Vec<Effect>) {
        if self.state == State::Finished {
            return self.answered(&verb, effects);
        }
        match verb {
            Verb::Stop => {
                self.enter(State::Finished, effects);
                effects.push(Effect::End);
            }
            Verb::PauseOrResume if self.open_segment().is_some() && self.runs() => {
                self.skip(effects);
            }
            Verb::Resume | Verb::PauseOrResume if self.waits() => self.resume(effects),
            // It goes on already.
            Verb::Resume => self.confirm(Message::GoingOn, effects),
            Verb::Pause if self.waits() => self.confirm(Message::Paused, effects),
            Verb::Pause | Verb::PauseOrResume => {
                self.hush(effects);
                self.pause(effects);
                self.say(Message::Paused, effects);
            }
            Verb::Help => {
                self.hush(effects);
                self.pause(effects);
                self.say(Message::Keys, effects);
            }
            Verb::Skip => self.skip(effects),
            Verb::Back => self.back(effects),
            Verb::Repeat => self.repeat(effects),
            Verb::Where => {
                let text = self.words.zip(self.timeline.as_ref());
                let text = text
                    .and_then(|(words, timeline)| words.place(timeline, self.at + BEFORE_CHANGE));
                self.say_now(text, Message::NothingYet, effects);
            }
            Verb::Explain => self.explain(effects),
            Verb::Easier => self.easier(effects),
            Verb::Louder => self.louder(STEP_DB, effects),
            Verb::Quieter => self.louder(-STEP_DB, effects),
            Verb::SpeechFaster => self.speak_at(self.wishes.speed + FASTER, effects),
            Verb::SpeechSlower => self.speak_at(self.wishes.speed - FASTER, effects),
            Verb::TalkMore => self.talk(1, effects),
            Verb::TalkLess => self.talk(-1, effects),
            Verb::Rate(felt) => self.rate(felt, effects),
            Verb::Start(_) | Verb::Next | Verb::Previous => {
                self.confirm(Message::NotNow, effects);
            }
        }
    }

    fn runs(&self) -> bool {
        self.state == State::Running
    }

    fn waits(&self) -> bool {
        self.state == State::Paused
    }

    pub(super) fn here(&self) -> Option<&Segment> {
        // Just after a jump the clock stands before the change that it jumped to.
        let now = self.at + BEFORE_CHANGE;
        let segments = &self.timeline.as_ref()?.segments;
        segments.iter().find(|s| (s.start..s.end).contains(&now))
    }

    /// Says the last line again: now if it fits, else with the clock held.
    fn repeat(&mut self, effects: &mut Vec<Effect>) {
        let line = |s: &&(&u64, &Sound)| matches!(s.1.kind, SoundKind::Line { .. });
        let heard = self.sounds.iter().filter(|(_, s)| s.onset < self.at);
        let last = heard.filter(|s| line(&s)).max_by_key(|(_, s)| s.onset);
        let Some((id, lasts)) = last.map(|(id, s)| (*id, s.end - s.onset)) else {
            return self.confirm(Message::NothingYet, effects);
        };
        self.over_the_class(lasts, effects, |core, effects| {
            core.to_say += 1;
            effects.push(Effect::SayAgain(id));
        });
    }

    /// Says something over the class: while it runs if that fits; else the clock is held for it, and goes
    /// on after.
    fn over_the_class(
        &mut self,
        lasts: Millis,
        effects: &mut Vec<Effect>,
        say: impl FnOnce(&mut Self, &mut Vec<Effect>),
    ) {
        match self.state {
            State::Running if self.fits_now(lasts) => say(self, effects),
            State::Paused => {
                self.hush(effects);
                say(self, effects);
            }
            State::Announcing => {
                self.wait_with_the_count(effects);
                say(self, effects);
            }
            State::Running | State::Building | State::Finished => {
                self.stand(effects);
                say(self, effects);
                self.then = Some(Then::GoOn);
            }
        }
    }

    /// Where the class is being counted in, that is called off and done again after what is said.
    fn wait_with_the_count(&mut self, effects: &mut Vec<Effect>) {
        if let Some(Then::Counting { tone }) = self.then {
            self.hush(effects);
            self.then = Some(Then::CountIn { tone });
        }
    }

    fn say_now(&mut self, text: Option<String>, otherwise: Message, effects: &mut Vec<Effect>) {
        let Some(text) = text else {
            return self.confirm(otherwise, effects);
        };
        let lasts = length_of(&text);
        self.over_the_class(lasts, effects, |core, effects| core.say_text(text, effects));
    }

    /// Answers with a word: at once, or within seconds where something else is being said. What was told
    /// is done anyway.
    pub(super) fn confirm(&mut self, message: Message, effects: &mut Vec<Effect>) {
        match self.state {
            State::Paused => {
                self.hush(effects);
                self.say(message, effects);
            }
            State::Announcing if !matches!(self.then, Some(Then::Counting { .. })) => {
                self.say(message, effects);
            }
            State::Running if self.refuses(message) && !self.fits_now(A_WORD * 2) => {
                // Nothing else would show that it was heard.
                self.stand(effects);
                self.say(message, effects);
                self.then = Some(Then::GoOn);
            }
            _ => {
                self.pending = Some(Pending::Answer(message, self.heard + WORTH_AN_ANSWER));
                self.say_when_it_fits(effects);
            }
        }
    }

    /// Returns whether a message says that nothing is done, outside a work: there the clock may stand a
    /// moment for it.
    fn refuses(&self, message: Message) -> bool {
        let refusals = [Message::NotNow, Message::NothingYet, Message::NoEasier];
        let in_work = self.here().is_some_and(|s| s.kind == SegmentKind::Work);
        refusals.contains(&message) && !in_work
    }

    /// Holds the clock and says the movement again: name, start, how it goes, safety, the easier option.
    fn explain(&mut self, effects: &mut Vec<Effect>) {
        let work = self.work_at_hand().map(|(work, _)| work);
        let texts = self
            .words
            .zip(work)
            .map(|(words, work)| words.explained(work));
        let Some(texts) = texts.filter(|texts| !texts.is_empty()) else {
            return self.confirm(Message::NothingYet, effects);
        };
        let work = self
            .here()
            .filter(|s| s.kind == SegmentKind::Work && !s.open);
        // Just before its start its own tone is still to come.
        let mut then = Some(match work {
            Some(work) => Then::CountIn {
                tone: self.at > work.start,
            },
            None => Then::GoOn,
        });
        match self.state {
            State::Paused => {
                self.hush(effects);
                then = None;
            }
            State::Announcing => {
                self.wait_with_the_count(effects);
                then = self.then;
            }
            State::Running | State::Building | State::Finished => self.stand(effects),
        }
        for text in texts {
            self.say_text(text, effects);
        }
        self.then = then;
    }

    /// Returns the work that the clock is in, or that comes next, and when it ends.
    fn work_at_hand(&self) -> Option<(&Work, At)> {
        let timeline = self.timeline.as_ref()?;
        let mut works = timeline
            .segments
            .iter()
            .filter(|s| s.kind == SegmentKind::Work);
        let segment = works.find(|s| s.end > self.at)?;
        Some((timeline.works.get(segment.work?)?, segment.end))
    }

    /// Says the easier option now, or where it fits next.
    fn easier(&mut self, effects: &mut Vec<Effect>) {
        let at_hand = self.words.zip(self.work_at_hand());
        let text = at_hand.and_then(|(words, (work, end))| Some((words.easier(work)?, end)));
        let Some((text, end)) = text else {
            return self.confirm(Message::NoEasier, effects);
        };
        effects.push(Effect::Easier);
        if self.state == State::Paused {
            return self.say_now(Some(text), Message::NoEasier, effects);
        }
        self.pending = Some(Pending::Text(text, end));
        self.say_when_it_fits(effects);
    }

    /// Says what waits for its moment.
    pub(super) fn say_when_it_fits(&mut self, effects: &mut Vec<Effect>) {
        let lasts = match &self.pending {
            None => return,
            Some(Pending::Answer(_, until)) if self.heard > *until => {
                self.pending = None;
                return;
            }
            // In the next movement it would be taken for one of that.
            Some(Pending::Text(_, end)) if self.at >= *end => {
                self.pending = None;
                return;
            }
            Some(Pending::Answer(..)) => A_WORD * 2,
            Some(Pending::Text(text, _)) => length_of(text),
        };
        if self.runs() && self.fits_now(lasts) {
            match self.pending.take() {
                Some(Pending::Text(text, _)) => self.say_text(text, effects),
                Some(Pending::Answer(message, _)) => self.say(message, effects),
                None => {}
            }
        }
    }

    fn louder(&mut self, by: f32, effects: &mut Vec<Effect>) {
        let Wishes {
            volume_db,
            speed,
            talk,
        } = self.wishes;
        self.wishes = Wishes::within_bounds(volume_db + by, speed, talk);
        effects.push(Effect::Volume(Db::new(self.wishes.volume_db)));
        let message = if by > 0.0 {
            Message::Louder
        } else {
            Message::Quieter
        };
        self.confirm(message, effects);
    }
}

/// Returns about how long a text is when it is spoken: more rather than less.
fn length_of(text: &str) -> Millis {
    A_WORD * (text.split_whitespace().count() as i64 + 1)
}
