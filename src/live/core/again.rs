//! Planning again while a class runs: after a change of the files, of the speed, of how much is said.
//!
//! The new plan is made beside the one that runs and takes over where its first stretch begins: with a
//! rest, just after the tone that ends the work.

use super::Core;
use super::Effect;
use super::Message;
use super::Wishes;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::planning::plan::SoundKind;
use crate::planning::script::Topic;
use crate::planning::timeline::SegmentKind;

/// A stretch that begins sooner than this is left as it is: the next one is planned again.
const TO_PLAN: Millis = Millis::from_secs(2);
/// A new plan takes over so long after its rest began, when the tone is over.
const AFTER_END_TONE: Millis = Millis::from_ms(350);
/// A rest that is so far gone is not entered from another plan.
const TOO_LATE: Millis = Millis::from_ms(1200);
/// A line that sounds so soon stays as it is.
const TO_SWAP: Millis = Millis::from_ms(200);

impl Core<'_> {
    /// Has the class planned again from the next stretch on that begins with a rest.
    pub(super) fn plan_again(&mut self, effects: &mut Vec<Effect>) {
        let Some(timeline) = &self.timeline else {
            // The first stretch is on its way.
            self.again = true;
            return;
        };
        let segments = &timeline.segments;
        let next = timeline.stretches.iter().find_map(|stretch| {
            let rest = segments.get(stretch.rest?)?;
            let fits = matches!(rest.kind, SegmentKind::Rest | SegmentKind::Finish)
                && rest.start >= self.at + TO_PLAN;
            let work = stretch.work.and_then(|work| segments[work].work);
            fits.then(|| (rest.start, work.unwrap_or(timeline.works.len())))
        });
        self.hand_over = next.map(|(start, _)| start);
        effects.extend(next.map(|(_, work)| Effect::PlanFrom(work)));
    }

    /// Lets the new plan take over where it begins; returns whether it does.
    pub(super) fn hands_over(&mut self, effects: &mut Vec<Effect>) -> bool {
        let Some(start) = self
            .hand_over
            .filter(|start| self.at >= *start + AFTER_END_TONE)
        else {
            return false;
        };
        let since = self.at - start;
        if since > TOO_LATE {
            // A skip has passed the place by.
            self.plan_again(effects);
            return false;
        }
        self.hand_over = None;
        effects.push(Effect::HandOver(since));
        true
    }

    /// Speaks at another speed: what waits is spoken again, what follows is planned again.
    pub(super) fn speak_at(&mut self, speed: u16, effects: &mut Vec<Effect>) {
        let from = self.wishes.speed;
        let Wishes {
            volume_db, talk, ..
        } = self.wishes;
        let to = Wishes::within_bounds(volume_db, speed, talk).speed;
        let message = if speed > from {
            Message::Faster
        } else {
            Message::Slower
        };
        if to != from {
            self.wishes.speed = to;
            effects.push(Effect::Speed(to));
            self.plan_again(effects);
            let lines = self.lines_to_come().map(|(_, id)| id);
            let lines = lines
                .filter_map(|id| Some((id, self.rate_now(id)?)))
                .collect();
            effects.push(Effect::Respeak(lines));
        }
        self.confirm(message, effects);
    }

    /// Returns the rate of a line at the speed that is wished for now.
    fn rate_now(&self, id: u64) -> Option<Rate> {
        let own = self.own_rates.get(&id).copied();
        let own = own.or_else(|| self.sounds.get(&id).map(|s| s.rate))?;
        Some(own.at_speed(self.planned_speed, self.wishes.speed))
    }

    /// Lines that do not sound yet, in order, up to where another plan takes over.
    fn lines_to_come(&self) -> impl Iterator<Item = (At, u64)> + use<> {
        let now = self.at + TO_SWAP;
        let until = self.hand_over;
        let line = |kind: &SoundKind| matches!(kind, SoundKind::Line { .. });
        let sounds = self.sounds.iter();
        let mut lines: Vec<_> = sounds
            .filter(|(_, s)| line(&s.kind) && s.onset > now)
            .filter(|(_, s)| until.is_none_or(|until| s.onset < until))
            .map(|(id, s)| (s.onset, *id))
            .collect();
        lines.sort_unstable();
        lines.into_iter()
    }

    /// Takes the line as it was spoken again, if it is in time and still ends before what follows.
    pub(super) fn respoken(
        &mut self,
        id: u64,
        lasts: Millis,
        rate: Rate,
        effects: &mut Vec<Effect>,
    ) {
        let Some(onset) = self.sounds.get(&id).map(|s| s.onset) else {
            return;
        };
        // What comes of an earlier wish is late.
        let wanted = self.rate_now(id) == Some(rate);
        if !wanted || onset <= self.at + TO_SWAP || !self.fits(onset, lasts, onset) {
            return;
        }
        let waits = self.waiting.contains(&(onset, id));
        if !waits {
            effects.push(Effect::Withdraw(id));
        }
        effects.push(Effect::Swap { id, onset });
        if !waits {
            effects.push(Effect::Feed { id, onset });
        }
        if let Some(sound) = self.sounds.get_mut(&id) {
            sound.end = onset + lasts;
            self.own_rates.entry(id).or_insert(sound.rate);
            sound.rate = rate;
        }
    }

    /// Says more or less: what nobody needs falls away at once, what follows is planned again.
    pub(super) fn talk(&mut self, by: i8, effects: &mut Vec<Effect>) {
        let Wishes {
            volume_db, speed, ..
        } = self.wishes;
        let talk = Wishes::within_bounds(volume_db, speed, self.wishes.talk + by).talk;
        if talk != self.wishes.talk {
            self.wishes.talk = talk;
            effects.push(Effect::Talk(talk));
            self.plan_again(effects);
            if by < 0 {
                self.drop_what_nobody_needs(effects);
            }
        }
        let message = if by > 0 { Message::More } else { Message::Less };
        self.confirm(message, effects);
    }

    fn drop_what_nobody_needs(&mut self, effects: &mut Vec<Effect>) {
        let extra = |kind: &SoundKind| {
            let topics = [Topic::Progress, Topic::Recovery, Topic::Harder];
            matches!(kind, SoundKind::Line { topic, .. } if topics.contains(topic))
        };
        for (onset, id) in self.lines_to_come() {
            if self.sounds.get(&id).is_some_and(|s| extra(&s.kind)) {
                self.sounds.remove(&id);
                if !self.waiting.remove(&(onset, id)) {
                    effects.push(Effect::Withdraw(id));
                }
            }
        }
    }
}
