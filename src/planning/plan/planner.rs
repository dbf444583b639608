//! Plans a session, stretch by stretch in order of time, asking for lengths as it goes.
//!
//! Every plan starts from estimates, whatever is cached; a length counts as measured once this
//! plan has chosen it. So a slow voice speaks only what is heard, and a warm cache and a cold
//! one give the same plan.

use super::Durations;
use super::Plan;
use super::Problem;
use super::Solution;
use super::Solved;
use super::Sound;
use super::SoundKind;
use super::ToneLengths;
use super::Window;
use super::both_sides::Choices;
use super::left_out::left_out;
use super::lengths::Lengths;
use super::marks::counts;
use super::marks::marks;
use super::past::Past;
use super::place::choice_of;
use super::place::place;
use super::problem::Heard;
use super::problem::build;
use super::solve::solve;
use super::windows::Needs;
use super::windows::rest_windows;
use super::windows::tail_window;
use super::windows::work_windows;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Utterance;
use crate::base::wording::Wording;
use crate::planning::script::CautionLength;
use crate::planning::script::Limit;
use crate::planning::script::Line;
use crate::planning::script::Scribe;
use crate::planning::script::Slot;
use crate::planning::script::Topic;
use crate::planning::script::weights::order;
use crate::planning::script::work_limit;
use crate::planning::session::Session;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::planning::timeline::timeline;
use std::collections::BTreeMap;
use std::rc::Rc;

/// What a plan needs beside the session.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// The voice's name, for the plan.
    pub voice: String,
    pub caution: CautionLength,
    pub tones: ToneLengths,
    /// The key that ends a wait, as one says it; without one the listener is asked to tell it.
    pub key: Option<String>,
}

/// A stretch, planned: its marks and lines in order of onset.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StretchPlan {
    pub index: usize,
    pub sounds: Vec<Sound>,
}

/// A plan in the making.
pub struct Planner<'a> {
    pub(super) session: &'a Session,
    pub(super) plan: Plan,
    /// Milliseconds added to each rest.
    pub(super) extra: Vec<Millis>,
    pub(super) lengths: Lengths,
    wording: &'a Wording,
    pub(super) scribe: Scribe<'a>,
    pub(super) tones: ToneLengths,
    key: Option<String>,
    pub(super) past: Past,
    next: usize,
    /// The end of the last work planned, if the next stretch needs it.
    pub(super) tail: Option<Window>,
    /// The most cues that the next work may have, where it is the other side of the last one.
    pub(super) most_on_second_side: Option<usize>,
    /// Lines of the stretches at hand, written once.
    written: BTreeMap<usize, Rc<[Line]>>,
}

impl<'a> Planner<'a> {
    /// Starts a plan. By ear, the rests are given the time that they need by estimate.
    pub fn new(
        session: &'a Session,
        wording: &'a Wording,
        settings: Settings,
        durations: &mut dyn Durations,
    ) -> Self {
        let timeline = timeline(session, &[]);
        let mut planner = Self {
            session,
            wording,
            scribe: Scribe::new(session, &timeline.works, wording, settings.caution),
            extra: vec![Millis::ZERO; timeline.stretches.len()],
            lengths: Lengths::default(),
            tones: settings.tones,
            key: settings.key,
            past: Past::default(),
            next: 0,
            tail: None,
            most_on_second_side: None,
            written: BTreeMap::new(),
            plan: Plan {
                title: session.text.title.clone(),
                voice: settings.voice,
                timeline,
                sounds: Vec::new(),
                left_out: Vec::new(),
                stretches: Vec::new(),
                diagnostics: Vec::new(),
            },
        };
        planner.lengths.measure_marks(&counts(wording), durations);
        if session.text.by_ear {
            planner.give_what_is_needed_by_ear(durations);
        }
        planner
    }

    /// Returns the timeline as far as it is known: stretches not yet planned may still move.
    pub fn timeline(&self) -> &Timeline {
        &self.plan.timeline
    }

    /// Returns the first line of the opening, which stands at its place before anything else is
    /// known; `None` where the session says how long its lead-in is, so that words may have to
    /// give way.
    pub fn first_line(&mut self, durations: &mut dyn Durations) -> Option<Sound> {
        if self.next > 0 || self.session.text.lead_in.is_some() {
            return None;
        }
        let at = self.plan.timeline.stretches[0];
        let windows = rest_windows(&self.plan.timeline, at, &[], self.tones, Needs::default());
        let window = windows.first()?;
        let lines = self.lines(0);
        let first = lines.iter().min_by_key(|line| line.order)?;
        let utterance = Utterance::new(first.offers[0].text.as_str());
        self.lengths
            .measure(std::slice::from_ref(&utterance), durations);
        Some(Sound {
            kind: SoundKind::Line {
                id: first.id.clone(),
                topic: first.topic,
                length: first.offers[0].length,
            },
            onset: window.start,
            end: window.start + self.lengths.of(&utterance, durations),
            segment: window.segment,
            text: utterance.text,
            rate: utterance.rate,
        })
    }

    /// Forgets the lengths known so far: they are spoken at another speed from now on.
    pub fn forget_lengths(&mut self) {
        self.lengths = Lengths::default();
    }

    /// Says so many steps more, or less, than the session asks for, in what is not planned yet.
    pub fn talk(&mut self, more: i8) {
        if self.scribe.more_talk != more {
            self.scribe.more_talk = more;
            self.written.clear();
        }
    }

    /// Plans what comes before a work without speaking any of it, so that the next stretch is the one of
    /// that work (after the last one, what follows it) and knows what was said before it. Returns the
    /// index of the segment to begin with: the rest, or with `itself` the work; it may still move until
    /// it is planned.
    pub fn go_to_work(
        &mut self,
        work: usize,
        itself: bool,
        durations: &mut dyn Durations,
    ) -> Option<usize> {
        let mut unspoken = Unspoken(durations);
        while self.next < self.stretch_of(work) {
            self.next_stretch(&mut unspoken);
        }
        self.forget_lengths();
        self.lengths.measure_marks(&counts(self.wording), durations);
        let timeline = &self.plan.timeline;
        let stretch = timeline.stretches.get(self.next)?;
        let rest = stretch.rest.filter(|rest| {
            // Whoever is in the middle of a class does not want its opening.
            !itself && timeline.segments[*rest].kind != SegmentKind::LeadIn
        });
        rest.or(stretch.work)
    }

    /// Returns the stretch of a work; after the last one, what follows it.
    fn stretch_of(&self, work: usize) -> usize {
        let timeline = &self.plan.timeline;
        let of = |segment: usize| timeline.segments[segment].work;
        let stretches = timeline.stretches.iter();
        let mut works = stretches.map(|s| s.work.and_then(of));
        let found = works.position(|of| of.is_some_and(|of| of >= work));
        let last = timeline.stretches.iter().rposition(|s| s.work.is_some());
        found.unwrap_or_else(|| last.map_or(0, |last| last + 1))
    }

    /// Plans the next stretch; `None` when all are planned.
    pub fn next_stretch(&mut self, durations: &mut dyn Durations) -> Option<StretchPlan> {
        let index = self.next;
        if index >= self.plan.timeline.stretches.len() {
            return None;
        }
        self.next += 1;
        self.written = self.written.split_off(&index);
        self.give_all_it_needs(index, durations);
        let (problem, solution, mut sounds) = self.choose_for_both_sides(index, durations);
        let starts = place(&problem, &solution);
        sounds.extend(said(&problem, &solution, &starts));
        sounds.sort_by_key(|s| s.onset);
        let wordings = self.wordings(index, durations);
        self.past.add(&problem, &solution, &starts);
        self.rest_lengthened(index);
        if !solution.proven {
            self.not_proven(index);
        }
        self.plan.left_out.extend(left_out(&problem, &solution));
        self.plan.sounds.extend(sounds.iter().cloned());
        self.plan.stretches.push(Solved {
            index,
            problem,
            solution,
            starts,
            wordings,
        });
        Some(StretchPlan { index, sounds })
    }

    /// Plans what is left and returns the whole.
    pub fn finish(mut self, durations: &mut dyn Durations) -> Plan {
        while self.next_stretch(durations).is_some() {}
        self.plan.sounds.sort_by_key(|s| s.onset);
        if cfg!(debug_assertions) {
            let faults = super::check::faults(&self.plan, self.session);
            assert!(
                faults.is_empty(),
                "the plan breaks its own rules: {faults:#?}"
            );
        }
        self.plan
    }

    /// Solves a stretch, measures what was chosen, and again, until all that is chosen is
    /// measured. By ear a rest grows until its musts fit; elsewhere musts that do not fit are
    /// reported and become optional.
    pub(super) fn choose(
        &mut self,
        index: usize,
        most: Option<usize>,
        durations: &mut dyn Durations,
    ) -> Choices {
        let mut soft = false;
        loop {
            let (mut problem, marks) = self.problem(index, durations);
            for limit in &mut problem.limits {
                limit.count = limit.count.min(most.unwrap_or(limit.count));
            }
            if soft {
                problem.soften();
            }
            let Some(solution) = solve(&problem) else {
                // Before it is called impossible, every wording of the musts is measured.
                let wordings = problem.must_utterances();
                if self.lengths.measure(&wordings, durations)
                    || self.lengthen_by_ear(index, &problem)
                {
                    continue;
                }
                let measured = self.lengths.measured(&wordings);
                self.musts_do_not_fit(index, &problem, measured, durations);
                soft = true;
                continue;
            };
            let chosen: Vec<_> = (0..solution.chosen.len())
                .map(|at| choice_of(&problem, &solution, at).utterance.clone())
                .collect();
            if !self.lengths.measure(&chosen, durations) {
                self.tail = self.tail_for(index + 1, &marks, durations);
                return (problem, solution, marks);
            }
        }
    }

    /// Builds the model of a stretch from the lengths known now; returns it with the marks.
    pub(super) fn problem(
        &mut self,
        index: usize,
        durations: &mut dyn Durations,
    ) -> (Problem, Vec<Sound>) {
        let marks = self.marks(index, durations);
        let tail_of_next = self.tail_for(index + 1, &marks, durations);
        let lines = self.lines(index);
        let needs = self.needs(index, durations);
        let timeline = &self.plan.timeline;
        let at = timeline.stretches[index];
        let mut windows: Vec<_> = self.tail.iter().cloned().collect();
        windows.extend(rest_windows(timeline, at, &marks, self.tones, needs));
        let divided = windows.iter().any(|w| w.slot == Slot::Early);
        windows.extend(work_windows(timeline, at, &marks, tail_of_next.as_ref()));
        let limit = at.work.and_then(|segment| self.limit(segment));
        let lengths = &mut self.lengths;
        let said = lines.iter().filter(|line| divided || !line.only_divided);
        let problem = build(said, windows, limit, &self.past, |utterance| {
            lengths.of(utterance, durations)
        });
        (problem, marks)
    }

    fn limit(&self, segment: usize) -> Option<Limit> {
        let index = self.plan.timeline.segments[segment].work?;
        let work = &self.plan.timeline.works[index];
        let met = self.scribe.met_on_side(index);
        Some(work_limit(work.length, met, self.scribe.talk(Some(work))))
    }

    pub(super) fn lines(&mut self, index: usize) -> Rc<[Line]> {
        let lines = self
            .written
            .entry(index)
            .or_insert_with(|| self.scribe.lines(&self.plan.timeline, index).into());
        lines.clone()
    }

    pub(super) fn marks(&mut self, index: usize, durations: &mut dyn Durations) -> Vec<Sound> {
        let timeline = &self.plan.timeline;
        let key = self.key.as_deref();
        let mut found = marks(self.session, timeline, index, self.wording, self.tones, key);
        let spoken = |m: &Sound| Utterance::new(m.text.as_str());
        let counts = || |m: &&Sound| m.kind == SoundKind::Count;
        let wanted: Vec<_> = found.iter().filter(counts()).map(spoken).collect();
        self.lengths.measure_marks(&wanted, durations);
        for mark in found.iter_mut().filter(|m| m.kind == SoundKind::Count) {
            mark.end = mark.onset + self.lengths.of(&spoken(mark), durations);
        }
        found
    }

    /// Returns the time at the end of the work before stretch `next` that it needs, because its
    /// rest cannot hold what must be said in it. `marks` are those of the stretch before.
    pub(super) fn tail_for(
        &mut self,
        next: usize,
        marks: &[Sound],
        durations: &mut dyn Durations,
    ) -> Option<Window> {
        let at = *self.plan.timeline.stretches.get(next)?;
        at.work?;
        let before = self.plan.timeline.stretches[next - 1].work?;
        if self.plan.timeline.segments[before].open {
            // Nobody knows when it ends.
            return None;
        }
        let next_marks = self.marks(next, durations);
        let needs = self.needs(next, durations);
        let rest = rest_windows(&self.plan.timeline, at, &next_marks, self.tones, needs);
        let divided = rest.iter().any(|w| w.slot == Slot::Early);
        let room: Millis = rest.iter().map(|w| w.length() + w.gap).sum();
        let gap = rest.first().map_or(GAP_WITHOUT_REST, |w| w.gap);
        let lines = self.lines(next);
        let shortest_for = |tail: bool| -> Vec<Utterance> {
            let said = |line: &&Line| line.must && (divided || !line.only_divided);
            let musts = lines.iter().filter(said);
            let offers = musts.filter_map(|line| {
                let mut here: Vec<_> = line.offers.iter().filter(|o| o.tail == tail).collect();
                if here.is_empty() {
                    here.extend(&line.offers);
                }
                here.into_iter().min_by_key(|o| o.text.len())
            });
            offers.map(|o| Utterance::new(o.text.as_str())).collect()
        };
        // Where it is tight by estimate they are measured: they will be said.
        let in_rest = shortest_for(false);
        if self.spoken(&in_rest, gap, durations) <= room {
            return None;
        }
        self.lengths.measure(&in_rest, durations);
        if self.spoken(&in_rest, gap, durations) <= room {
            return None;
        }
        let in_tail = shortest_for(true);
        self.lengths.measure(&in_tail, durations);
        let need = self.spoken(&in_tail, gap, durations);
        let work = &self.plan.timeline.segments[before];
        tail_window(work, before, marks, need)
    }

    /// Returns the time that utterances take with the gaps after them.
    fn spoken(&mut self, all: &[Utterance], gap: Millis, durations: &dyn Durations) -> Millis {
        all.iter()
            .map(|u| self.lengths.of(u, durations) + gap)
            .sum()
    }

    /// Returns what the rest of a stretch has to hold: what is new in full, what was heard in brief.
    pub(super) fn needs(&mut self, index: usize, durations: &dyn Durations) -> Needs {
        let lines = self.lines(index);
        let mut needs = Needs::default();
        for line in lines.iter() {
            let stands = |slot| line.slots.iter().any(|(s, _)| *s == slot);
            if line.must && stands(Slot::Late) && !stands(Slot::Early) {
                let said = Utterance::new(line.offers[0].text.as_str());
                needs.late += self.lengths.of(&said, durations) + GAP_WITHOUT_REST;
            }
            if line.only_divided {
                continue;
            }
            needs.takes_up_late |= line.order == order::TAKE && !stands(Slot::Early);
            let set_up = matches!(line.order, order::START | order::HOW);
            let before = line.topic == Topic::Safety && !stands(Slot::Work);
            if !(stands(Slot::Early) || stands(Slot::Late)) {
                continue;
            }
            let again = self.past.group(&line.group) > 0;
            let full = Utterance::new(line.offers[0].text.as_str());
            let fitting = line.offers.iter().filter(|o| !o.tail);
            let fitting = fitting
                .rev()
                .max_by_key(|o| if again { o.again } else { o.new });
            let fitting = fitting.map_or(full.clone(), |o| Utterance::new(o.text.as_str()));
            let gap = GAP_WITHOUT_REST;
            if line.order <= order::NAME && stands(Slot::Early) {
                needs.name_ends += self.lengths.of(&full, durations) + gap;
            }
            if line.must || set_up || before {
                needs.all += self.lengths.of(&fitting, durations) + gap;
            }
        }
        needs
    }

    pub(super) fn retime(&mut self) {
        self.plan.timeline = timeline(self.session, &self.extra);
    }
}

/// Lengths by estimate alone, of what nobody hears.
struct Unspoken<'a>(&'a dyn Durations);

impl Durations for Unspoken<'_> {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        self.0.estimate(utterance)
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        vec![None; wanted.len()]
    }
}

/// The quiet between lines that all stand in the work before.
const GAP_WITHOUT_REST: Millis = Millis::from_ms(300);

fn said(problem: &Problem, solution: &Solution, starts: &[At]) -> Vec<Sound> {
    starts
        .iter()
        .enumerate()
        .map(|(at, start)| {
            let line = &problem.lines[solution.chosen[at].line];
            let choice = choice_of(problem, solution, at);
            Sound {
                kind: SoundKind::Line {
                    id: line.id.clone(),
                    topic: line.topic,
                    length: choice.length,
                },
                onset: *start,
                end: *start + choice.lasts,
                segment: problem.windows[choice.window].segment,
                text: choice.utterance.text.clone(),
                rate: choice.utterance.rate,
            }
        })
        .collect()
}
