//! What each verb does, in each state. Whatever is told is answered by a sound or a word at once.

use super::BEFORE_CHANGE;
use super::CLEAR;
use super::Core;
use super::Effect;
use super::Message;
use super::State;
use super::Then;
use crate::base::units::At;
use crate::base::units::Db;
use crate::base::units::Millis;
use crate::live::control::Verb;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::script::Topic;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Work;

/// Paused for less than this, the count alone brings a listener back.
const A_SHORT_PAUSE: Millis = Millis::from_secs(5);
/// With less than this of a work left, what follows it comes instead.
const HARDLY_ANY_WORK: Millis = Millis::from_secs(5);
/// Within the first seconds of a work, back means the one before.
const BACK_TO_THE_ONE_BEFORE: Millis = Millis::from_secs(3);
/// A step of the volume, and its bounds.
const STEP_DB: f32 = 3.0;
const SOFTEST_DB: f32 = -24.0;
const LOUDEST_DB: f32 = 6.0;
/// A step of the speed, and its bounds, per mille.
const FASTER: u16 = 100;
const SPEEDS: std::ops::RangeInclusive<u16> = 700..=2000;
/// What a word takes at most when it is spoken, for what has no measured length.
const A_WORD: Millis = Millis::from_ms(450);

impl Core<'_> {
    pub(super) fn told(&mut self, verb: Verb, effects: &mut Vec<Effect>) {
        if self.state == State::Finished {
            return;
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
            Verb::Resume => {}
            Verb::Pause if self.waits() => {}
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
                let text = text.and_then(|(words, timeline)| words.place(timeline, self.at));
                self.say_now(text, Message::NothingYet, effects);
            }
            Verb::Explain => self.explain(effects),
            Verb::Easier => self.easier(effects),
            Verb::Louder => self.louder(STEP_DB, effects),
            Verb::Quieter => self.louder(-STEP_DB, effects),
            Verb::SpeechFaster => self.faster(self.speed.saturating_add(FASTER), effects),
            Verb::SpeechSlower => self.faster(self.speed.saturating_sub(FASTER), effects),
            Verb::TalkMore => self.talk(1, effects),
            Verb::TalkLess => self.talk(-1, effects),
            // It is written down by the record, which sees what is told.
            Verb::Rate(_) => self.confirm(Message::Noted, effects),
            Verb::Start(_) | Verb::Next | Verb::Previous => {
                self.confirm(Message::NotNow, effects);
            }
        }
    }

    fn runs(&self) -> bool {
        self.state == State::Running
    }

    /// Returns whether it is paused, and nobody has told it to go on yet.
    fn waits(&self) -> bool {
        self.state == State::Paused && self.then.is_none()
    }

    pub(super) fn pause(&mut self, effects: &mut Vec<Effect>) {
        if self.state != State::Paused {
            effects.push(Effect::Hold);
            self.paused_at = self.heard;
            self.enter(State::Paused, effects);
        }
    }

    /// The loudspeaker is gone: what was being said over the class is lost with it, and nothing follows.
    pub(super) fn lost(&mut self, effects: &mut Vec<Effect>) {
        self.then = None;
        self.to_say = 0;
        self.pause(effects);
    }

    fn hush(&mut self, effects: &mut Vec<Effect>) {
        self.then = None;
        self.to_say = 0;
        if self.state == State::Paused {
            effects.push(Effect::Hush);
        }
    }

    fn say(&mut self, message: Message, effects: &mut Vec<Effect>) {
        self.to_say += 1;
        effects.push(Effect::Say(message));
    }

    fn say_text(&mut self, text: String, effects: &mut Vec<Effect>) {
        self.to_say += 1;
        effects.push(Effect::SayText(text));
    }

    /// Something said over the session is over.
    pub(super) fn said_over(&mut self, effects: &mut Vec<Effect>) {
        self.to_say = self.to_say.saturating_sub(1);
        if self.to_say > 0 || self.state != State::Paused {
            return;
        }
        match self.then.take() {
            None => {}
            Some(Then::GoOn) => self.go_on(effects),
            Some(Then::CountIn { tone }) => {
                self.to_say = 1;
                self.then = Some(Then::Counting);
                effects.push(Effect::CountIn { tone });
            }
            Some(Then::Counting) => {
                self.say_cut_lines_again(effects);
                self.enter(State::Running, effects);
            }
        }
    }

    /// Says something and then does what follows; with nothing to say it follows at once.
    fn then(&mut self, then: Then, effects: &mut Vec<Effect>) {
        self.then = Some(then);
        if self.to_say == 0 {
            self.to_say = 1;
            self.said_over(effects);
        }
    }

    fn go_on(&mut self, effects: &mut Vec<Effect>) {
        self.say_cut_lines_again(effects);
        effects.push(Effect::Play);
        self.enter(State::Running, effects);
    }

    /// What a pause cut is said again from its start, if it still ends in time; else it is dropped: its
    /// moment has passed.
    fn say_cut_lines_again(&mut self, effects: &mut Vec<Effect>) {
        for id in std::mem::take(&mut self.cut) {
            let Some(sound) = self.sounds.get(&id) else {
                continue;
            };
            if !matches!(sound.kind, SoundKind::Line { .. }) {
                continue;
            }
            // The clip's lead, at most 50 ms, has to lie after the clock.
            let onset = self.at + Millis::from_ms(100);
            let lasts = sound.end - sound.onset;
            if self.fits(onset, lasts, sound.onset) {
                effects.push(Effect::Feed { id, onset });
            }
        }
    }

    /// Returns whether what lasts so long is over in time before the next sound after `from`.
    fn fits(&self, onset: At, lasts: Millis, from: At) -> bool {
        let later = self.sounds.values().filter(|s| s.onset > from);
        let next = later.map(|s| s.onset).min();
        next.is_none_or(|next| onset + lasts + CLEAR <= next)
    }

    /// Returns whether nothing sounds now and a text would be over before the next sound.
    fn fits_now(&self, lasts: Millis) -> bool {
        let sounding = |s: &&Sound| s.onset <= self.at && s.end + CLEAR > self.at;
        self.sounds.values().all(|s| !sounding(&s)) && self.fits(self.at, lasts, self.at)
    }

    fn here(&self) -> Option<&Segment> {
        // Just after a jump the clock stands before the change that it jumped to.
        let now = self.at + BEFORE_CHANGE;
        let segments = &self.timeline.as_ref()?.segments;
        segments.iter().find(|s| (s.start..s.end).contains(&now))
    }

    /// Goes on after a pause. In a work: name, side and what to hold, then the count, then what was left
    /// of it. In a rest: how long it still is.
    fn resume(&mut self, effects: &mut Vec<Effect>) {
        effects.push(Effect::Hush);
        self.to_say = 0;
        let paused = self.heard - self.paused_at;
        let Some(here) = self.here().cloned() else {
            self.say(Message::GoingOn, effects);
            return self.then(Then::GoOn, effects);
        };
        let left = here.end - self.at;
        match here.kind {
            SegmentKind::Work if here.open => {
                self.say(Message::GoingOn, effects);
                self.then(Then::GoOn, effects);
            }
            SegmentKind::Work if left < HARDLY_ANY_WORK && here.end <= self.planned_to => {
                self.skip(effects);
            }
            SegmentKind::Work => {
                if paused >= A_SHORT_PAUSE {
                    self.say_what_comes(here.start, effects);
                }
                self.then(Then::CountIn { tone: true }, effects);
            }
            SegmentKind::Rest => {
                let text = self.words.map(|words| words.rest(left));
                match text {
                    Some(text) => self.say_text(text, effects),
                    None => self.say(Message::GoingOn, effects),
                }
                self.then(Then::GoOn, effects);
            }
            SegmentKind::LeadIn | SegmentKind::Finish => {
                self.say(Message::GoingOn, effects);
                self.then(Then::GoOn, effects);
            }
        }
    }

    /// Says again the name of the work that starts at an instant, and what is taken up for it.
    fn say_what_comes(&mut self, start: At, effects: &mut Vec<Effect>) {
        let before = self.sounds.iter().filter(|(_, s)| s.onset < start);
        let since = self.start_of_work_before(start);
        let of = |topic: Topic| {
            let said = before.clone().filter(|(_, s)| s.onset >= since);
            let said = said.filter(
                |(_, s)| matches!(&s.kind, SoundKind::Line { topic: t, .. } if *t == topic),
            );
            said.max_by_key(|(_, s)| s.onset).map(|(id, _)| *id)
        };
        let taken = |id: &u64| {
            let sound = self.sounds.get(id).map(|s| &s.kind);
            matches!(sound, Some(SoundKind::Line { id, .. }) if !id.starts_with("put-down"))
        };
        let says: Vec<_> = [of(Topic::Name), of(Topic::Equipment).filter(taken)]
            .into_iter()
            .flatten()
            .collect();
        for id in says {
            self.to_say += 1;
            effects.push(Effect::SayAgain(id));
        }
    }

    fn start_of_work_before(&self, start: At) -> At {
        let segments = self.timeline.iter().flat_map(|t| &t.segments);
        let works = segments.filter(|s| s.kind == SegmentKind::Work && s.start < start);
        works.map(|s| s.start).max().unwrap_or(At::START)
    }

    /// In a work, goes to the rest that follows; in a rest, to the work, once its name was said.
    pub(super) fn skip(&mut self, effects: &mut Vec<Effect>) {
        let Some(here) = self.here().cloned() else {
            return self.confirm(Message::NothingYet, effects);
        };
        if here.kind == SegmentKind::Finish {
            return self.confirm(Message::NotNow, effects);
        }
        if here.end > self.planned_to {
            return self.confirm(Message::NothingYet, effects);
        }
        let next = self.segment_at(here.end);
        let into_work =
            here.kind != SegmentKind::Work && next.is_some_and(|s| s.kind == SegmentKind::Work);
        if into_work {
            return self.enter_work(here.end, effects);
        }
        let to = here.end - BEFORE_CHANGE;
        let was_paused = self.state == State::Paused;
        self.hush(effects);
        self.jump(to, here.end, effects);
        if was_paused {
            effects.push(Effect::Play);
            self.enter(State::Running, effects);
        }
    }

    fn segment_at(&self, start: At) -> Option<&Segment> {
        let segments = &self.timeline.as_ref()?.segments;
        segments
            .iter()
            .find(|s| s.start == start && s.end > s.start)
    }

    /// Goes to the start of this work, or of the one before within its first seconds.
    fn back(&mut self, effects: &mut Vec<Effect>) {
        let Some(here) = self.here().cloned() else {
            return self.confirm(Message::NothingYet, effects);
        };
        let into = self.at - here.start;
        let this = here.kind == SegmentKind::Work && into > BACK_TO_THE_ONE_BEFORE;
        let to = if this {
            Some(here.start)
        } else {
            let segments = self.timeline.iter().flat_map(|t| &t.segments);
            let works = segments.filter(|s| s.kind == SegmentKind::Work && s.start < here.start);
            works.map(|s| s.start).max()
        };
        match to {
            Some(start) => self.enter_work(start, effects),
            None => self.confirm(Message::NothingYet, effects),
        }
    }

    /// Stands before a work until its name, its side and what to hold were said, then counts in.
    fn enter_work(&mut self, start: At, effects: &mut Vec<Effect>) {
        self.hush(effects);
        self.pause(effects);
        self.jump(start - BEFORE_CHANGE, start, effects);
        self.say_what_comes(start, effects);
        self.then(Then::CountIn { tone: false }, effects);
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
        if self.runs() && self.fits_now(lasts) {
            return say(self, effects);
        }
        let ran = self.runs();
        self.hush(effects);
        self.pause(effects);
        say(self, effects);
        if ran {
            self.then = Some(Then::GoOn);
        }
    }

    fn say_now(&mut self, text: Option<String>, otherwise: Message, effects: &mut Vec<Effect>) {
        let Some(text) = text else {
            return self.confirm(otherwise, effects);
        };
        let lasts = length_of(&text);
        self.over_the_class(lasts, effects, |core, effects| core.say_text(text, effects));
    }

    /// Answers with a word, if there is time for it before the next sound; what was told is done anyway.
    fn confirm(&mut self, message: Message, effects: &mut Vec<Effect>) {
        if self.state == State::Paused && self.then.is_none() {
            effects.push(Effect::Hush);
            self.to_say = 0;
            self.say(message, effects);
        } else if self.runs() && self.fits_now(A_WORD * 2) {
            self.say(message, effects);
        }
    }

    /// Holds the clock and says the movement again: name, start, how it goes, safety, the easier option.
    fn explain(&mut self, effects: &mut Vec<Effect>) {
        let work = self.work_at_hand();
        let texts = self
            .words
            .zip(work)
            .map(|(words, work)| words.explained(work));
        let Some(texts) = texts.filter(|texts| !texts.is_empty()) else {
            return self.confirm(Message::NothingYet, effects);
        };
        let waited = self.waits();
        self.hush(effects);
        self.pause(effects);
        for text in texts {
            self.say_text(text, effects);
        }
        if waited {
            return;
        }
        let in_work = self
            .here()
            .is_some_and(|s| s.kind == SegmentKind::Work && !s.open);
        self.then = Some(match in_work {
            true => Then::CountIn { tone: true },
            false => Then::GoOn,
        });
    }

    /// Returns the work that the clock is in, or that comes next.
    fn work_at_hand(&self) -> Option<&Work> {
        let timeline = self.timeline.as_ref()?;
        let mut works = timeline
            .segments
            .iter()
            .filter(|s| s.kind == SegmentKind::Work);
        let segment = works.find(|s| s.end > self.at)?;
        timeline.works.get(segment.work?)
    }

    /// Says the easier option now, or where it fits next.
    fn easier(&mut self, effects: &mut Vec<Effect>) {
        let work = self.work_at_hand();
        let text = self
            .words
            .zip(work)
            .and_then(|(words, work)| words.easier(work));
        let Some(text) = text else {
            return self.confirm(Message::NoEasier, effects);
        };
        if self.state == State::Paused {
            return self.say_now(Some(text), Message::NoEasier, effects);
        }
        self.when_it_fits = Some(text);
        self.say_when_it_fits(effects);
    }

    pub(super) fn say_when_it_fits(&mut self, effects: &mut Vec<Effect>) {
        let lasts = self.when_it_fits.as_deref().map(length_of);
        if self.runs()
            && lasts.is_some_and(|lasts| self.fits_now(lasts))
            && let Some(text) = self.when_it_fits.take()
        {
            self.say_text(text, effects);
        }
    }

    fn louder(&mut self, by: f32, effects: &mut Vec<Effect>) {
        self.volume_db = (self.volume_db + by).clamp(SOFTEST_DB, LOUDEST_DB);
        effects.push(Effect::Volume(Db::new(self.volume_db)));
        let message = if by > 0.0 {
            Message::Louder
        } else {
            Message::Quieter
        };
        self.confirm(message, effects);
    }

    /// Sets how fast lines are spoken: what waits is handed over again, spoken so.
    fn faster(&mut self, speed: u16, effects: &mut Vec<Effect>) {
        let message = if speed > self.speed {
            Message::Faster
        } else {
            Message::Slower
        };
        self.speed = speed.clamp(*SPEEDS.start(), *SPEEDS.end());
        effects.push(Effect::Speed(self.speed));
        self.confirm(message, effects);
    }

    fn talk(&mut self, by: i8, effects: &mut Vec<Effect>) {
        effects.push(Effect::Talk(by));
        let message = if by > 0 { Message::More } else { Message::Less };
        self.confirm(message, effects);
    }
}

/// Returns about how long a text is when it is spoken: more rather than less.
fn length_of(text: &str) -> Millis {
    A_WORD * (text.split_whitespace().count() as i64 + 1)
}
