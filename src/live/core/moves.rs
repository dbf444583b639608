//! Skip and back: where they lead, and what is said before a work is entered.

use super::BEFORE_CHANGE;
use super::Core;
use super::Effect;
use super::Message;
use super::State;
use super::Then;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::SoundKind;
use crate::planning::script::Topic;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;

/// Within the first seconds of a work, back means the one before.
const BACK_TO_THE_ONE_BEFORE: Millis = Millis::from_secs(3);

impl Core<'_> {
    /// Says again the name of the work that starts at an instant, and what is taken up for it.
    /// What the opening told of equipment is not said again once it was heard, by `heard_to`.
    pub(super) fn say_what_comes(&mut self, start: At, heard_to: At, effects: &mut Vec<Effect>) {
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
            let Some(sound) = self.sounds.get(id) else {
                return false;
            };
            let opening = self.kind_of(sound.segment) == Some(SegmentKind::LeadIn);
            let takes =
                matches!(&sound.kind, SoundKind::Line { id, .. } if !id.starts_with("put-down"));
            takes && (!opening || sound.onset > heard_to)
        };
        let name = of(Topic::Name);
        let says: Vec<_> = [name, of(Topic::Equipment).filter(taken)]
            .into_iter()
            .flatten()
            .collect();
        if name.is_none() {
            // It was said before this plan began, or in the works of a plan that has gone.
            let words = self.words.zip(self.timeline.as_ref());
            let text = words.and_then(|(words, timeline)| words.name_at(timeline, start));
            if let Some(text) = text {
                self.say_text(text, effects);
            }
        }
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
        let stood = self.state != State::Running;
        self.hush(effects);
        self.jump(to, here.end, effects);
        if stood {
            effects.push(Effect::Play);
            self.enter(State::Running, effects);
        }
    }

    fn kind_of(&self, segment: usize) -> Option<SegmentKind> {
        let timeline = self.timeline.as_ref()?;
        timeline.segments.get(segment).map(|s| s.kind)
    }

    pub(super) fn segment_at(&self, start: At) -> Option<&Segment> {
        let segments = &self.timeline.as_ref()?.segments;
        segments
            .iter()
            .find(|s| s.start == start && s.end > s.start)
    }

    /// Goes to the start of this work, or of the one before within its first seconds.
    pub(super) fn back(&mut self, effects: &mut Vec<Effect>) {
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
            Some(start) if start < self.planned_from => self.start_from(start, effects),
            Some(start) => self.enter_work(start, effects),
            None => self.confirm(Message::NothingYet, effects),
        }
    }

    /// Stands before a work until its name, its side and what to hold were said, then counts in.
    pub(super) fn enter_work(&mut self, start: At, effects: &mut Vec<Effect>) {
        let heard_to = self.at;
        self.hush(effects);
        self.stand(effects);
        self.jump(start - BEFORE_CHANGE, start, effects);
        self.say_what_comes(start, heard_to, effects);
        self.then(Then::CountIn { tone: false }, effects);
    }

    /// Goes back to a work that lies before the plan.
    fn start_from(&mut self, start: At, effects: &mut Vec<Effect>) {
        let work = self.segment_at(start).and_then(|s| s.work);
        self.hush(effects);
        self.stand(effects);
        effects.extend(work.map(Effect::StartFrom));
    }
}
