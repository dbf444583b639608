//! Pausing and going on, and what is said over the stopped clock.

use super::CLEAR;
use super::Core;
use super::Effect;
use super::Message;
use super::State;
use super::Then;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::planning::timeline::SegmentKind;

/// Paused for less than this, the count alone brings a listener back.
const A_SHORT_PAUSE: Millis = Millis::from_secs(5);
/// With less than this of a work left, what follows it comes instead.
const HARDLY_ANY_WORK: Millis = Millis::from_secs(5);
/// A tone of 150 ms, and as much quiet after it.
const AFTER_TONE: Millis = Millis::from_ms(300);
/// A loudspeaker that comes back within this time finds its listener where it left them.
const SOON_BACK: Millis = Millis::from_secs(60);

impl Core<'_> {
    /// Stops the clock until the listener lets it go on.
    pub(super) fn pause(&mut self, effects: &mut Vec<Effect>) {
        self.stop_clock(effects);
        self.enter(State::Paused, effects);
    }

    /// Stops the clock for words, after which it goes on by itself.
    pub(super) fn stand(&mut self, effects: &mut Vec<Effect>) {
        self.stop_clock(effects);
        self.enter(State::Announcing, effects);
    }

    fn stop_clock(&mut self, effects: &mut Vec<Effect>) {
        if !matches!(self.state, State::Paused | State::Announcing) {
            effects.push(Effect::Hold);
            // It ends what is said over the class, too.
            self.to_say = 0;
            self.paused_at = self.heard;
        }
    }

    /// The loudspeaker is gone: what was being said over the class is lost with it, and nothing follows.
    pub(super) fn lost(&mut self, effects: &mut Vec<Effect>) {
        if self.state == State::Finished {
            // Nobody hears the question any more.
            effects.push(Effect::End);
            return;
        }
        self.lost_while_running |= self.state != State::Paused;
        self.then = None;
        self.to_say = 0;
        self.pause(effects);
    }

    /// The time without a loudspeaker counts as a pause. Whoever was in the middle of a class goes on
    /// after a short one without a press; after a long one nobody may be there.
    pub(super) fn device_back(&mut self, away: Millis, effects: &mut Vec<Effect>) {
        // Without a device no time was counted.
        self.paused_at -= away;
        let goes_on = std::mem::take(&mut self.lost_while_running) && away < SOON_BACK;
        if self.state == State::Running {
            // It waited for its first loudspeaker: the class itself is what is heard.
            return;
        }
        self.say(Message::DeviceBack, effects);
        if goes_on && self.state == State::Paused {
            self.enter(State::Announcing, effects);
            self.then = Some(Then::Resume);
        } else if self.state == State::Paused {
            self.say(Message::Paused, effects);
        }
    }

    /// Ends what is said over the class.
    pub(super) fn hush(&mut self, effects: &mut Vec<Effect>) {
        self.then = None;
        self.to_say = 0;
        if matches!(self.state, State::Paused | State::Announcing) {
            effects.push(Effect::Hush);
        }
    }

    pub(super) fn say(&mut self, message: Message, effects: &mut Vec<Effect>) {
        self.to_say += 1;
        effects.push(Effect::Say(message));
    }

    pub(super) fn say_text(&mut self, text: String, effects: &mut Vec<Effect>) {
        self.to_say += 1;
        effects.push(Effect::SayText(text));
    }

    /// Something said over the session is over.
    pub(super) fn said_over(&mut self, effects: &mut Vec<Effect>) {
        self.to_say = self.to_say.saturating_sub(1);
        if self.to_say > 0 {
            return;
        }
        match self.then.take() {
            None => {}
            Some(Then::GoOn) => self.go_on(effects),
            Some(Then::CountIn { tone }) => {
                if tone {
                    self.make_room_for_the_tone(effects);
                }
                self.to_say = 1;
                self.then = Some(Then::Counting { tone });
                effects.push(Effect::CountIn { tone });
            }
            Some(Then::Counting { tone }) => {
                if tone {
                    self.again_until = self.at + AFTER_TONE;
                }
                self.say_cut_lines_again(effects);
                self.enter(State::Running, effects);
            }
            Some(Then::Resume) => self.resume(effects),
            Some(Then::End) => effects.push(Effect::End),
        }
    }

    /// Says something and then does what follows; with nothing to say it follows at once.
    pub(super) fn then(&mut self, then: Then, effects: &mut Vec<Effect>) {
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

    /// A line that would begin under the tone waits until it is over, like one that was cut.
    fn make_room_for_the_tone(&mut self, effects: &mut Vec<Effect>) {
        let soon = self.at..self.at + AFTER_TONE;
        let under = |s: &Sound| matches!(s.kind, SoundKind::Line { .. }) && soon.contains(&s.onset);
        for (id, sound) in &self.sounds {
            if under(sound) && !self.cut.contains(id) {
                self.cut.push(*id);
                effects.push(Effect::Withdraw(*id));
            }
        }
    }

    /// What a pause cut is said again from its start, if it still ends in time; else it is dropped: its
    /// moment has passed.
    fn say_cut_lines_again(&mut self, effects: &mut Vec<Effect>) {
        for id in std::mem::take(&mut self.cut) {
            let Some(sound) = self.sounds.get(&id) else {
                continue;
            };
            // Of a place that was left by a jump nothing is said again.
            let begun = sound.onset <= self.at + AFTER_TONE && self.is_here(sound.segment);
            if !begun || !matches!(sound.kind, SoundKind::Line { .. }) {
                continue;
            }
            // After the tone that lets a work go on, where there is one.
            let onset = self.at + AFTER_TONE;
            let lasts = sound.end - sound.onset;
            if self.fits(onset, lasts, onset) {
                effects.push(Effect::Feed { id, onset });
                self.again_until = onset + lasts;
            }
        }
    }

    fn is_here(&self, segment: usize) -> bool {
        let segment = self.timeline.as_ref().and_then(|t| t.segments.get(segment));
        segment.is_some() && segment == self.here()
    }

    /// Returns whether what lasts so long is over in time before the next sound after `from`.
    pub(super) fn fits(&self, onset: At, lasts: Millis, from: At) -> bool {
        let later = self.sounds.values().filter(|s| s.onset > from);
        let next = later.map(|s| s.onset).min();
        next.is_none_or(|next| onset + lasts + CLEAR <= next)
    }

    /// Returns whether nothing sounds now and a text would be over before the next sound.
    pub(super) fn fits_now(&self, lasts: Millis) -> bool {
        let sounding = |s: &&Sound| s.onset <= self.at && s.end + CLEAR > self.at;
        self.to_say == 0
            && self.at >= self.again_until
            && self.sounds.values().all(|s| !sounding(&s))
            && self.fits(self.at, lasts, self.at)
    }

    /// Goes on after a pause. In a work: name, side and what to hold, then the count, then what was left
    /// of it. In a rest: how long it still is.
    pub(super) fn resume(&mut self, effects: &mut Vec<Effect>) {
        self.hush(effects);
        self.lost_while_running = false;
        let paused = self.heard - self.paused_at;
        self.enter(State::Announcing, effects);
        let here = self.here().cloned();
        let left = here
            .as_ref()
            .map_or(Millis::ZERO, |here| here.end - self.at);
        match here.map(|here| (here.kind, here)) {
            Some((SegmentKind::Work, here)) if !here.open => {
                if left < HARDLY_ANY_WORK && here.end <= self.planned_to {
                    return self.skip(effects);
                }
                if paused >= A_SHORT_PAUSE {
                    self.say_what_comes(here.start, self.at, effects);
                }
                let tone = self.at > here.start;
                self.then(Then::CountIn { tone }, effects);
            }
            Some((SegmentKind::Rest, _)) => {
                match self.words.map(|words| words.rest(left)) {
                    Some(text) => self.say_text(text, effects),
                    None => self.say(Message::GoingOn, effects),
                }
                self.then(Then::GoOn, effects);
            }
            _ => {
                self.say(Message::GoingOn, effects);
                self.then(Then::GoOn, effects);
            }
        }
    }
}
