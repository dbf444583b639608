//! Spans of speech and the plan -> rows.

use super::Due;
use super::Heard;
use super::Report;
use super::Row;
use super::Spoke;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::SoundKind;
use crate::rehearse::practice::Passage;
use crate::rehearse::practice::RUN_UP;
use crate::rehearse::practice::Score;
use crate::rehearse::practice::is_mark;

/// The ends of speech are found within 60 ms: what touches a mark by less is no fault of a coach.
const TOLERANCE: Millis = Millis::from_ms(80);
/// Nobody speaks on the beat of a plan: a line is said where there is speech from so long before it to so
/// long after.
const BEFORE: Millis = Millis::from_ms(1000);
const AFTER: Millis = Millis::from_ms(1500);
/// Less speech than this is a cough.
const LEAST: Millis = Millis::from_ms(200);
/// Where so much of what a time holds was said, in per cent, each line of it was: at another place than
/// planned.
const ENOUGH: i64 = 60;
/// An ear that is told of a mark hears nothing from so long before it to so long after it, the ends of speech
/// found within 60 ms and the echo of a room counted in.
const CUT_BEFORE: Millis = Millis::from_ms(150);
const CUT_AFTER: Millis = Millis::from_ms(450);
/// Between speech and a mark, as in a plan.
const GUARD: Millis = Millis::from_ms(150);

/// The numbers of a count follow a second apart: marks so near to one another are one run.
const RUN: Millis = Millis::from_ms(1100);
/// Who speaks through a whole run is heard before it and after it alone, so the edges are asked to be near.
const RUN_BEFORE: Millis = Millis::from_ms(100);
const RUN_AFTER: Millis = Millis::from_ms(400);

/// Judges what was heard of a coach; of a passage that was practised more than once the last time counts.
///
/// With an earpiece nothing of ours was heard by the microphone, so that what was silent beside a mark was silent.
pub fn judge(score: &Score, plan: &Plan, heard: &[Heard], earpiece: bool) -> Report {
    let mut rows = Vec::new();
    for (at, passage) in score.passages.iter().enumerate() {
        let Some(own) = heard.iter().rev().find(|heard| heard.passage == at) else {
            continue;
        };
        let ran_on_from = |turn: u32| heard.iter().find(|h| h.turn == turn);
        let before = own.follows.then(|| own.turn.checked_sub(1)).flatten();
        let before = before.and_then(ran_on_from);
        let after = heard.iter().any(|h| h.turn == own.turn + 1 && h.follows);
        let early = before.map_or(&[][..], |before| &before.spoke);
        let early = early.iter().filter(|s| s.from >= passage.start - BEFORE);
        let spoke: Vec<Spoke> = early.chain(&own.spoke).copied().collect();
        let spoke = match earpiece {
            true => spoke,
            false => bridged(&spoke, score),
        };
        for segment in [passage.rest, passage.work].into_iter().flatten() {
            let last = passage.work.is_none_or(|work| work == segment);
            let segment = Segment {
                score,
                plan,
                heard: own,
                index: segment,
                before_another: !last || after,
            };
            rows.push(segment.row(&spoke));
        }
    }
    Report { rows }
}

/// Joins what was cut by marks alone: while one of ours sounds nobody else is heard, so who speaks up to it
/// and on after it spoke over it; over a run of them, where the numbers leave no gap to hear in.
fn bridged(spoke: &[Spoke], score: &Score) -> Vec<Spoke> {
    let marks: Vec<_> = score.sounds.iter().filter(|s| is_mark(s)).collect();
    let mut joined: Vec<Spoke> = Vec::new();
    for spoke in spoke {
        let over = |last: &Spoke| {
            let one = marks.iter().any(|mark| {
                let up_to = last.to >= mark.onset - CUT_BEFORE && last.to <= mark.end;
                let on = spoke.from >= mark.onset && spoke.from <= mark.end + CUT_AFTER;
                up_to && on
            });
            let up_to = |mark: &Sound| last.to >= mark.onset - RUN_BEFORE && last.to <= mark.end;
            let on = |mark: &Sound| spoke.from >= mark.onset && spoke.from <= mark.end + RUN_AFTER;
            let first = marks.iter().position(|mark| up_to(mark));
            let end = marks.iter().rposition(|mark| on(mark));
            one || match (first, end) {
                (Some(first), Some(end)) if first < end => marks[first..=end]
                    .windows(2)
                    .all(|two| two[1].onset - two[0].onset <= RUN),
                _ => false,
            }
        };
        match joined.last_mut() {
            Some(last) if over(last) => last.to = spoke.to,
            _ => joined.push(*spoke),
        }
    }
    joined
}

struct Segment<'a> {
    score: &'a Score,
    plan: &'a Plan,
    heard: &'a Heard,
    index: usize,
    /// Whether another was practised after it without a break.
    before_another: bool,
}

impl Segment<'_> {
    fn row(&self, spoke: &[Spoke]) -> Row {
        let segment = &self.plan.timeline.segments[self.index];
        let (start, end) = (segment.start + RUN_UP, segment.end + RUN_UP);
        // What is begun in the segment is of it, but what is begun just before the next and lies in that for
        // the most part is of that one.
        let early = |spoke: &Spoke, start: At| {
            spoke.from < start
                && spoke.from >= start - BEFORE
                && spoke.to - start > start - spoke.from
        };
        let mine = |spoke: &&Spoke| match spoke.from >= start {
            true => spoke.from < end && !(self.before_another && early(spoke, end)),
            false => early(spoke, start),
        };
        let spoke: Vec<Spoke> = spoke.iter().filter(mine).copied().collect();
        let marks = (0..self.score.sounds.len()).filter(|at| {
            let sound = &self.score.sounds[*at];
            is_mark(sound) && sound.end >= start - BEFORE && sound.onset <= end
        });
        let (mut over, mut late) = (Millis::ZERO, Millis::ZERO);
        let mut over_marks = Vec::new();
        for at in marks {
            let mark = &self.score.sounds[at];
            for spoke in &spoke {
                // What opens the segment is spoken over no longer than it sounds: that is a beginning too early.
                let opens = mark.onset <= start;
                let to = if opens {
                    spoke.to.min(mark.end)
                } else {
                    spoke.to
                };
                let into = to - mark.onset.max(spoke.from);
                if spoke.from < mark.end - TOLERANCE && into > TOLERANCE {
                    over = over.max(into);
                    late = late.max(if opens { Millis::ZERO } else { into });
                    over_marks.push(at);
                }
            }
        }
        over_marks.dedup();
        let until = self.until(start, end);
        let last = spoke.iter().map(|spoke| spoke.to).max().unwrap_or(start);
        let spare = match over == Millis::ZERO {
            true => (until - last).max(Millis::ZERO),
            false => Millis::ZERO,
        };
        Row {
            passage: self.heard.passage,
            help: self.heard.help,
            segment: self.index,
            kind: segment.kind,
            due: self.due(start, end, &spoke),
            room: self.room(start, end),
            spoke,
            over,
            late,
            spare,
            over_marks,
        }
    }

    /// Where speech must be over: before the count that ends the segment, or its end.
    fn until(&self, start: At, end: At) -> At {
        let counts = self.score.sounds.iter().rev();
        let mut until = end;
        for sound in counts.filter(|s| is_mark(s) && s.onset >= start && s.onset <= end) {
            // The numbers of a count follow a second apart; what lies further off is another mark.
            if until - sound.end > Millis::from_secs(1) {
                break;
            }
            until = sound.onset;
        }
        until - GUARD
    }

    /// What counts and tones leave of the segment.
    fn room(&self, start: At, end: At) -> Millis {
        let marks = self.score.sounds.iter().filter(|s| is_mark(s));
        let inside = marks.filter(|s| s.onset < end && s.end > start);
        let taken: Millis = inside
            .map(|s| (s.end + GUARD).min(end) - (s.onset - GUARD).max(start))
            .sum();
        (end - start - taken).max(Millis::ZERO)
    }

    fn due(&self, start: At, end: At, spoke: &[Spoke]) -> Vec<Due> {
        let sounds = self.score.sounds.iter().enumerate();
        let lines = sounds.filter(|(_, s)| !is_mark(s) && s.onset >= start && s.onset < end);
        let lines: Vec<_> = lines.collect();
        let planned: Millis = lines.iter().map(|(_, s)| s.end - s.onset).sum();
        let said: Millis = spoke.iter().map(|s| s.to - s.from).sum();
        let enough = said.ms() * 100 >= planned.ms() * ENOUGH;
        let due = lines.into_iter().map(|(at, sound)| {
            let (must, shortest) = self.wording(&sound.kind);
            let lasts = sound.end - sound.onset;
            let around = within(spoke, sound.onset - BEFORE, sound.end + AFTER);
            Due {
                sound: at,
                must,
                silent: around < LEAST && !enough,
                shortest: shortest.unwrap_or(lasts).min(lasts),
                lasts,
            }
        });
        due.collect()
    }

    /// Whether a line is a must, and its shortest length.
    fn wording(&self, kind: &SoundKind) -> (bool, Option<Millis>) {
        let SoundKind::Line { id, .. } = kind else {
            return (false, None);
        };
        let Passage { rest, work, .. } = self.score.passages[self.heard.passage];
        let stretches = &self.plan.timeline.stretches;
        let index = stretches
            .iter()
            .position(|s| (s.rest, s.work) == (rest, work));
        // What is said in a work of the one after it belongs to the next stretch.
        let found = |index: usize| {
            let solved = self.plan.stretches.iter().find(|s| s.index == index)?;
            solved.wordings.iter().find(|w| w.id == *id)
        };
        let wordings = index.and_then(|index| found(index).or_else(|| found(index + 1)));
        (
            wordings.is_some_and(|w| w.must),
            wordings.map(|w| w.shortest),
        )
    }
}

/// How much was spoken within a time.
fn within(spoke: &[Spoke], from: At, to: At) -> Millis {
    let parts = spoke.iter().map(|s| s.to.min(to) - s.from.max(from));
    parts.map(|part| part.max(Millis::ZERO)).sum()
}
