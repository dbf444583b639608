//! Facts of the plan and of the clock, in place of praise: how many works are done, how long it
//! still is. Each kind has several wordings; none is said twice until all of them were.

use super::Length;
use super::Line;
use super::Offer;
use super::Scene;
use super::Scribe;
use super::Slot;
use super::Topic;
use super::weights;
use super::weights::order;
use crate::base::units::Millis;
use crate::base::wording::Arg;
use crate::planning::timeline::Timeline;

/// How many wordings each kind of fact has.
const WORDINGS: usize = 3;
/// From so many works on, the half of them is worth a word.
const HALF_FROM: usize = 8;
/// A fact of the round comes when so many of its works are done.
const DONE_FROM: usize = 2;
/// The time left is said where, in the middle of the work, it is this near to whole minutes.
const NEAR_A_MINUTE: Millis = Millis::from_secs(10);
/// Longer than this is no news that helps.
const MOST_MINUTES: i64 = 20;

impl Scribe<'_> {
    /// Writes the fact that may be said in a work: one at most, and not in each work.
    pub(super) fn fact(&self, timeline: &Timeline, scene: &Scene, index: usize) -> Option<Line> {
        // Right and left hear the same.
        if scene.work.side.is_some() {
            return None;
        }
        let works = timeline.works.len();
        if works >= HALF_FROM && index == works / 2 {
            let said = self.wording.say("progress-half", &[]);
            return Some(fact("progress/half", vec![said]));
        }
        if index.is_multiple_of(2) {
            return None;
        }
        self.clock(timeline, index)
            .or_else(|| self.round(timeline, scene))
    }

    fn round(&self, timeline: &Timeline, scene: &Scene) -> Option<Line> {
        let work = scene.work;
        let (done, left) = (work.position, work.positions - work.position);
        if done < DONE_FROM {
            return None;
        }
        let last_block = timeline.works.last().map(|w| w.block) == Some(work.block);
        let last_round = last_block && work.round + 1 == work.block(self.session).rounds;
        let kind = if last_round {
            "progress-round"
        } else {
            "progress-in-round"
        };
        let done = self.wording.number(done as i64);
        let left = self.wording.number(left as i64);
        let args = [("done", Arg::Text(&done)), ("left", Arg::Text(&left))];
        Some(self.in_turn(kind, &args))
    }

    /// Says how long it still is, where that is known and near to whole minutes.
    fn clock(&self, timeline: &Timeline, index: usize) -> Option<Line> {
        if self.session.text.by_ear || timeline.works[index..].iter().any(|work| work.open) {
            return None;
        }
        let here = timeline.segments.iter().find(|s| s.work == Some(index))?;
        let last = timeline
            .segments
            .iter()
            .rfind(|s| s.work.is_some())
            .map(|s| s.end)?;
        let middle = here.start + Millis::from_ms(here.length().ms() / 2);
        let left = last - middle;
        let minutes = (left.ms() + 30_000) / 60_000;
        let off = Millis::from_ms((left.ms() - minutes * 60_000).abs());
        if !(1..=MOST_MINUTES).contains(&minutes) || off > NEAR_A_MINUTE {
            return None;
        }
        let length = self.wording.counted("minutes", minutes);
        let args = [("n", Arg::Count(minutes)), ("length", Arg::Text(&length))];
        Some(self.in_turn("progress-clock", &args))
    }

    fn in_turn(&self, kind: &str, args: &[(&str, Arg)]) -> Line {
        let say = |nth: usize| self.wording.say(&format!("{kind}-{nth}"), args);
        let wordings = (1..=WORDINGS).map(|nth| super::capitalise(say(nth)));
        fact(kind, wordings.collect())
    }
}

/// Makes the line of a fact: one of its wordings, in turn.
fn fact(kind: &str, wordings: Vec<String>) -> Line {
    let mut wordings = wordings.into_iter();
    let first = wordings.next().unwrap_or_default();
    let mut line = Line::new(kind, Topic::Progress, order::PROGRESS, first)
        .weigh(weights::PROGRESS, weights::CONSTANT)
        .slots(&[(Slot::Work, 1000)]);
    line.in_turn = true;
    line.offers.extend(wordings.map(|text| Offer {
        length: Length::Full,
        text,
        new: weights::PREFERRED,
        again: weights::PREFERRED,
        tail: false,
    }));
    line
}
