//! Time that is given where it is needed: a lead-in and a finish as long as their words, and by
//! ear, rests as long as what must be heard in them. Time is only ever added.

use super::Durations;
use super::Planner;
use super::Problem;
use super::windows::Needs;
use super::windows::rest_windows;
use crate::base::units::Millis;
use crate::base::utterance::Utterance;
use crate::planning::script::Line;
use crate::planning::script::Slot;
use crate::planning::timeline::SegmentKind;

/// The least finish: time to put things down and hear what to do.
const LEAST_FINISH: Millis = Millis::from_secs(25);
/// By ear a rest grows by at most five minutes: beyond that something is wrong with the texts.
const MOST_LENGTHENED: Millis = Millis::from_secs(300);
/// Around the lines of a lead-in: half a second before, the count and its guard after.
const AROUND_LEAD_IN: Millis = Millis::from_ms(500 + 3300);
/// Around the lines of a finish: the guard after the end tone, a second of quiet at the end.
const AROUND_FINISH: Millis = Millis::from_ms(500 + 1000);

impl Planner<'_> {
    /// Gives lead-in or finish the time in which all its lines fit in their full wording, unless
    /// the session says how long it is.
    pub(super) fn give_all_it_needs(&mut self, index: usize, durations: &mut dyn Durations) {
        let Some(rest) = self.plan.timeline.stretches[index].rest else {
            return;
        };
        let segment = &self.plan.timeline.segments[rest];
        let text = &self.session.text;
        let (written, around, least) = match segment.kind {
            SegmentKind::LeadIn if segment.open => return,
            SegmentKind::LeadIn => {
                let written = text.lead_in.filter(|_| index == 0);
                (written, AROUND_LEAD_IN, Millis::ZERO)
            }
            SegmentKind::Finish => (text.finish, AROUND_FINISH, LEAST_FINISH),
            _ => return,
        };
        if written.is_some() {
            return;
        }
        let has = segment.length();
        let at = self.plan.timeline.stretches[index];
        let windows = rest_windows(&self.plan.timeline, at, &[], self.tones, Needs::default());
        let gap = windows.first().map_or(Millis::ZERO, |w| w.gap);
        let full: Vec<_> = self
            .lines(index)
            .iter()
            .filter(|line| stands_in_rest(line))
            .map(full_wording)
            .collect();
        self.lengths.measure(&full, durations);
        let spoken: Millis = full
            .iter()
            .map(|u| self.lengths.of(u, durations) + gap)
            .sum();
        let need = (spoken + around).ceil_secs().max(least);
        self.lengthen_by(index, need - has);
    }

    /// By ear: gives each rest what its musts need by estimate, before anything is planned, so
    /// that the opening can say how long the session is.
    pub(super) fn give_what_is_needed_by_ear(&mut self, durations: &mut dyn Durations) {
        for index in 1..self.extra.len() {
            let at = self.plan.timeline.stretches[index];
            if at.rest.is_none() || at.work.is_none() {
                continue;
            }
            let marks = self.marks(index, durations);
            let lines = self.lines(index);
            let needs = self.needs(index, durations);
            let windows = rest_windows(&self.plan.timeline, at, &marks, self.tones, needs);
            let room: Millis = windows.iter().map(|w| w.length() + w.gap).sum();
            let gap = windows.first().map_or(Millis::ZERO, |w| w.gap);
            let work = at.work.and_then(|s| self.plan.timeline.segments[s].work);
            let first_time = work.is_none_or(|work| self.scribe.met(work) == 0);
            let need: Millis = lines
                .iter()
                .filter(|line| line.must)
                .map(|line| {
                    // What was heard before may be brief.
                    let wording = match first_time {
                        true => full_wording(line),
                        false => brief_wording(line),
                    };
                    self.lengths.of(&wording, durations) + gap
                })
                .sum();
            self.lengthen_by(index, (need - room).ceil_secs());
        }
    }

    /// By ear, lengthens a rest by whole seconds if its musts do not fit; returns whether it
    /// did.
    pub(super) fn lengthen_by_ear(&mut self, index: usize, problem: &Problem) -> bool {
        let rest = self.plan.timeline.stretches[index].rest;
        let is_rest =
            rest.is_some_and(|r| self.plan.timeline.segments[r].kind == SegmentKind::Rest);
        let may = self.session.text.by_ear && is_rest && self.extra[index] < MOST_LENGTHENED;
        if may {
            self.lengthen_by(index, problem.lacking().ceil_secs());
        }
        may
    }

    fn lengthen_by(&mut self, index: usize, by: Millis) {
        if by > Millis::ZERO {
            self.extra[index] += by;
            self.retime();
        }
    }
}

fn stands_in_rest(line: &Line) -> bool {
    line.slots
        .iter()
        .any(|(slot, _)| matches!(slot, Slot::Early | Slot::Late))
}

fn brief_wording(line: &Line) -> Utterance {
    let brief = line.offers.iter().filter(|offer| !offer.tail);
    let brief = brief.min_by_key(|offer| offer.text.len());
    brief.map_or_else(
        || full_wording(line),
        |offer| Utterance::new(offer.text.as_str()),
    )
}

fn full_wording(line: &Line) -> Utterance {
    Utterance::new(line.offers[0].text.as_str())
}
