//! What the planner tells the coach: musts that do not fit, choices that were not proven.

use super::Durations;
use super::Planner;
use super::Problem;
use super::solve::solve;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::short;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::timeline::Half;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::planning::timeline::Work;

/// No rest is tried that is longer than it is by more than this.
const MOST_TRIED_S: i64 = 90;
/// Around what is said in a rest: the guard after the end tone, the count with its guard.
const AROUND: Millis = Millis::from_ms(450 + 3300);

impl Planner<'_> {
    /// Reports that the musts of a stretch do not fit: an error where every wording of them was
    /// measured, a warning where it is by estimate.
    pub(super) fn musts_do_not_fit(
        &mut self,
        index: usize,
        problem: &Problem,
        measured: bool,
        durations: &mut dyn Durations,
    ) {
        let lacks = problem.lacking();
        let would_do = self.smallest_that_fits(index, problem, durations);
        let at = self.plan.timeline.stretches[index];
        let rest = at.rest.map(|r| &self.plan.timeline.segments[r]);
        let begins = at.rest.or(at.work).map(|s| &self.plan.timeline.segments[s]);
        let start = begins.map_or(At::START, |s| s.start);
        let (place, name) = self.subject(index);
        let message = format!(
            "what must be said before {name} at {start} does not fit: it lacks {:.1} s",
            // Rounded up: what lacks a little lacks something.
            (lacks.ms() + 99).div_euclid(100) as f64 / 10.0
        );
        let work = at.work.and_then(|s| work_of(&self.plan.timeline, s));
        let halves = work.is_some_and(|w| w.half == Some(Half::Second));
        let new_block = work.is_some_and(|w| w.position == 0 && w.round == 0);
        let help = match rest.map(|r| r.kind) {
            None if halves => format!(
                "make the work at least {} longer, or give each side a work of its own: `side = \"each\"`",
                Millis::from_ms(2 * lacks.ms()).ceil_secs()
            ),
            None if new_block => format!(
                "set `last_rest = true` in the block before it, with a rest of at least {would_do}"
            ),
            Some(SegmentKind::LeadIn) => {
                format!("make `lead_in` at least {would_do}, or leave it out")
            }
            Some(SegmentKind::Finish) => {
                format!("make `finish` at least {would_do}, or leave it out")
            }
            _ => format!(
                "give the rest before it at least {would_do}, or shorten the name or the hold"
            ),
        };
        let diagnostic = if measured {
            Diagnostic::error(Code::MustTooLong, place, message)
        } else {
            Diagnostic::warning(Code::MustMayNotFit, place, message)
        };
        self.plan.diagnostics.push(diagnostic.help(help));
    }

    /// Returns the least rest, in whole seconds, in which the musts of a stretch fit: found by
    /// trying where there is a rest, else one that holds them at their shortest.
    fn smallest_that_fits(
        &mut self,
        index: usize,
        problem: &Problem,
        durations: &mut dyn Durations,
    ) -> Millis {
        let rest = self.plan.timeline.stretches[index].rest;
        let has = rest.map_or(Millis::ZERO, |r| self.plan.timeline.segments[r].length());
        let (extra, tail) = (self.extra[index], self.tail.clone());
        let mut found = None;
        // Up to whole seconds, then second by second.
        let up = has.ceil_secs() - has;
        for more in (0..=MOST_TRIED_S).filter(|_| rest.is_some()) {
            self.extra[index] = extra + up + Millis::from_secs(more);
            self.retime();
            if index > 0 {
                let before = self.marks(index - 1, durations);
                self.tail = self.tail_for(index, &before, durations);
            }
            let (mut tried, _) = self.problem(index, durations);
            tried.lines.retain(|line| line.must);
            if solve(&tried).is_some() {
                found = Some(has + up + Millis::from_secs(more));
                break;
            }
        }
        (self.extra[index], self.tail) = (extra, tail);
        self.retime();
        found.unwrap_or_else(|| (has + problem.musts_in_a_row() + AROUND).ceil_secs())
    }

    /// Reports that the search for the best choice was cut short.
    pub(super) fn not_proven(&mut self, index: usize) {
        let (place, name) = self.subject(index);
        let diagnostic = Diagnostic::advice(
            Code::NotProven,
            place,
            format!("expected the best choice of cues for {name}, found a good one"),
        );
        self.plan
            .diagnostics
            .push(diagnostic.help("fewer cues for this movement make the choice clear"));
    }

    /// Reports the time that was added to a rest.
    pub(super) fn rest_lengthened(&mut self, index: usize) {
        let at = self.plan.timeline.stretches[index];
        let is_rest = at
            .rest
            .is_some_and(|r| self.plan.timeline.segments[r].kind == SegmentKind::Rest);
        if !is_rest || self.extra[index] == Millis::ZERO {
            return;
        }
        let (place, name) = self.subject(index);
        let diagnostic = Diagnostic::advice(
            Code::RestLengthened,
            place,
            format!(
                "by ear, the rest before {name} grows so that all of it can be heard: this adds {}",
                self.extra[index]
            ),
        );
        self.plan
            .diagnostics
            .push(diagnostic.help("write a longer rest if the session should say so itself"));
    }

    /// Returns where the movement of a stretch is written, and its name.
    fn subject(&self, index: usize) -> (Place, String) {
        let timeline = &self.plan.timeline;
        let at = timeline.stretches[index];
        let text = &self.session.text;
        let first = timeline.works.first();
        if let (0, Some(place), Some(first)) = (index, text.lead_in_at, first) {
            let movement = self.session.movement(first.movement_use(self.session));
            return (place, short(&movement.name));
        }
        if index + 1 == timeline.stretches.len()
            && let Some(place) = text.finish_at
        {
            return (place, "the end".to_owned());
        }
        match at.work.and_then(|w| timeline.segments[w].work) {
            Some(work) => {
                let used = timeline.works[work].movement_use(self.session);
                (used.place, short(&self.session.movement(used).name))
            }
            None => (self.session.text.place, "the end".to_owned()),
        }
    }
}

fn work_of(timeline: &Timeline, segment: usize) -> Option<&Work> {
    timeline.segments[segment]
        .work
        .map(|work| &timeline.works[work])
}
