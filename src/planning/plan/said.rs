//! What the planner tells the coach: musts that do not fit, choices that were not proven.

use super::Planner;
use super::Problem;
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

impl Planner<'_> {
    /// Reports that the musts of a stretch do not fit: an error where every wording of them was
    /// measured, a warning where it is by estimate.
    pub(super) fn musts_do_not_fit(&mut self, index: usize, problem: &Problem, measured: bool) {
        let lacks = problem.lacking();
        let rest = self.plan.timeline.stretches[index].rest;
        let rest = rest.map(|r| &self.plan.timeline.segments[r]);
        let needed = (rest.map_or(Millis::ZERO, |r| r.length()) + lacks).ceil_secs();
        let at = self.plan.timeline.stretches[index];
        let begins = at.rest.or(at.work).map(|s| &self.plan.timeline.segments[s]);
        let start = begins.map_or(At::START, |s| s.start);
        let (place, name) = self.subject(index);
        let message = format!(
            "what must be said before {name} at {start} does not fit: it lacks {:.1} s",
            lacks.secs()
        );
        let work = at.work.and_then(|s| timeline_work(&self.plan.timeline, s));
        let halves = work.is_some_and(|w| w.half == Some(Half::Second));
        let help = match rest.map(|r| r.kind) {
            None if halves => format!(
                "make the work at least {} longer, or give each side a work of its own: `side = \"each\"`",
                Millis::from_ms(2 * lacks.ms()).ceil_secs()
            ),
            Some(SegmentKind::LeadIn) => {
                format!("make `lead_in` at least {needed}, or leave it out")
            }
            Some(SegmentKind::Finish) => {
                format!("make `finish` at least {needed}, or leave it out")
            }
            _ => format!(
                "give the rest before it at least {needed}, or shorten the name or the hold"
            ),
        };
        let diagnostic = if measured {
            Diagnostic::error(Code::MustTooLong, place, message)
        } else {
            Diagnostic::warning(Code::MustMayNotFit, place, message)
        };
        self.plan.diagnostics.push(diagnostic.help(help));
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
        let work = timeline.stretches[index].work;
        match work.and_then(|w| timeline.segments[w].work) {
            Some(work) => {
                let used = timeline.works[work].movement_use(self.session);
                (used.place, short(&self.session.movement(used).name))
            }
            None => (self.session.text.place, "the end".to_owned()),
        }
    }
}

fn timeline_work(timeline: &Timeline, segment: usize) -> Option<&Work> {
    timeline.segments[segment]
        .work
        .map(|work| &timeline.works[work])
}
