//! Plans a session, stretch by stretch in order of time, asking for lengths as it goes.
//!
//! Every plan starts from estimates, whatever is cached; a length counts as measured once this
//! plan has chosen it. So a slow voice speaks only what is heard, and a warm cache and a cold
//! one give the same plan.

use super::Plan;
use super::Problem;
use super::Solution;
use super::Solved;
use super::Sound;
use super::SoundKind;
use super::Window;
use super::left_out::left_out;
use super::marks::ToneLengths;
use super::marks::counts;
use super::marks::marks;
use super::place::choice_of;
use super::place::place;
use super::problem::Heard;
use super::problem::build;
use super::solve::solve;
use super::windows::rest_windows;
use super::windows::tail_window;
use super::windows::work_windows;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Utterance;
use crate::base::wording::Wording;
use crate::planning::script::CautionLength;
use crate::planning::script::Limit;
use crate::planning::script::Line;
use crate::planning::script::Scribe;
use crate::planning::script::work_limit;
use crate::planning::session::Session;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;
use crate::planning::timeline::timeline;
use std::collections::HashMap;

/// Where lengths of speech come from.
pub trait Durations {
    /// Returns a cautious estimate of how long an utterance is heard.
    fn estimate(&self, utterance: &Utterance) -> Millis;

    /// Returns how long each utterance is heard, measured; `None` where it cannot be.
    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>>;
}

/// What a plan needs beside the session.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// The voice's name, for the plan.
    pub voice: String,
    pub caution: CautionLength,
    pub tones: ToneLengths,
}

/// A stretch, planned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StretchPlan {
    pub index: usize,
    /// Marks and lines in order of onset.
    pub sounds: Vec<Sound>,
}

/// A plan in the making.
pub struct Planner<'a> {
    session: &'a Session,
    wording: &'a Wording,
    settings: Settings,
    scribe: Scribe<'a>,
    extra: Vec<Millis>,
    lengths: HashMap<Utterance, Known>,
    past: Past,
    next: usize,
    /// The end of the last work planned, if the next stretch needs it.
    tail: Option<Window>,
    plan: Plan,
}

#[derive(Debug, Clone, Copy)]
struct Known {
    length: Millis,
    measured: bool,
    /// Asked for and not to be had: the estimate stands.
    asked: bool,
}

#[derive(Debug, Default)]
struct Past {
    lines: HashMap<String, usize>,
    groups: HashMap<String, usize>,
    ended: HashMap<String, At>,
}

impl Heard for Past {
    fn line(&self, id: &str) -> usize {
        self.lines.get(id).copied().unwrap_or(0)
    }

    fn group(&self, group: &str) -> bool {
        self.groups.contains_key(group)
    }

    fn words(&self, text: &str) -> Option<At> {
        self.ended.get(&folded(text)).copied()
    }
}

fn folded(text: &str) -> String {
    text.trim_end_matches('.').to_lowercase()
}

impl<'a> Planner<'a> {
    /// Starts a plan. The lead-in and, by ear, the rests are given the time that they need by
    /// estimate.
    pub fn new(
        session: &'a Session,
        wording: &'a Wording,
        settings: Settings,
        durations: &mut dyn Durations,
    ) -> Self {
        let first = timeline(session, &[]);
        let mut planner = Self {
            session,
            wording,
            scribe: Scribe::new(session, wording, settings.caution),
            extra: vec![Millis::ZERO; first.stretches.len()],
            lengths: HashMap::new(),
            past: Past::default(),
            next: 0,
            tail: None,
            plan: Plan {
                title: session.text.title.clone(),
                voice: settings.voice.clone(),
                timeline: first,
                sounds: Vec::new(),
                left_out: Vec::new(),
                stretches: Vec::new(),
                diagnostics: Vec::new(),
            },
            settings,
        };
        planner.measure(&counts(wording), durations);
        if session.text.by_ear {
            for stretch in 1..planner.extra.len() {
                planner.give_what_musts_need(stretch, durations);
            }
        }
        planner.retime();
        planner
    }

    /// Returns the timeline as far as it is known: starts of stretches not yet planned may
    /// still move.
    pub fn timeline(&self) -> &Timeline {
        &self.plan.timeline
    }

    /// Plans the next stretch; `None` when all are planned.
    pub fn next_stretch(&mut self, durations: &mut dyn Durations) -> Option<StretchPlan> {
        let index = self.next;
        if index >= self.plan.timeline.stretches.len() {
            return None;
        }
        self.next += 1;
        let at = self.plan.timeline.stretches[index];
        let kind = at.rest.map(|r| self.plan.timeline.segments[r].kind);
        if matches!(kind, Some(SegmentKind::LeadIn | SegmentKind::Finish)) {
            self.give_all_it_needs(index, durations);
        }
        let (problem, solution, marks) = self.choose(index, durations);
        let starts = place(&problem, &solution);
        let mut sounds = marks;
        for (at, start) in starts.iter().enumerate() {
            let line = &problem.lines[solution.chosen[at].line];
            let choice = choice_of(&problem, &solution, at);
            sounds.push(Sound {
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
            });
        }
        sounds.sort_by_key(|s| s.onset);
        self.remember(&problem, &solution, &starts);
        self.plan.left_out.extend(left_out(&problem, &solution));
        if !solution.proven {
            self.not_proven(index);
        }
        self.plan.stretches.push(Solved {
            index,
            problem,
            solution,
            starts,
        });
        self.plan.sounds.extend(sounds.iter().cloned());
        Some(StretchPlan { index, sounds })
    }

    /// Plans what is left and returns the whole.
    pub fn finish(mut self, durations: &mut dyn Durations) -> Plan {
        while self.next_stretch(durations).is_some() {}
        self.plan.sounds.sort_by_key(|s| s.onset);
        let faults = super::check::faults(&self.plan, self.session, &self.plan.stretches);
        debug_assert!(
            faults.is_empty(),
            "the plan breaks its own rules: {faults:#?}"
        );
        self.plan
    }

    /// Solves a stretch, measures what was chosen, and again, until all that is chosen is
    /// measured. A rest by ear grows by whole seconds until its musts fit.
    fn choose(
        &mut self,
        index: usize,
        durations: &mut dyn Durations,
    ) -> (Problem, Solution, Vec<Sound>) {
        let lines = self.scribe.lines(&self.plan.timeline, index);
        let musts_measured = loop {
            let problem = self.problem(index, &lines, durations).0;
            let Some(solution) = solve(&problem) else {
                // Before it is called impossible, every wording of the musts is measured.
                let wordings = must_utterances(&problem);
                if self.measure(&wordings, durations) {
                    continue;
                }
                if self.lengthen(index, &problem) {
                    continue;
                }
                break wordings.iter().all(|u| self.lengths[u].measured);
            };
            let chosen = chosen_utterances(&problem, &solution);
            if !self.measure(&chosen, durations) {
                let (problem, marks) = self.problem(index, &lines, durations);
                self.keep_tail_for_next(index, &marks, durations);
                return (problem, solution, marks);
            }
        };
        let hard = self.problem(index, &lines, durations).0;
        self.musts_do_not_fit(index, &hard, musts_measured);
        loop {
            let (mut problem, marks) = self.problem(index, &lines, durations);
            problem.soften();
            let solution = solve(&problem).unwrap_or_default();
            let chosen = chosen_utterances(&problem, &solution);
            if !self.measure(&chosen, durations) {
                self.keep_tail_for_next(index, &marks, durations);
                return (problem, solution, marks);
            }
        }
    }

    /// Builds the model of a stretch from the lengths known now.
    fn problem(
        &mut self,
        index: usize,
        lines: &[Line],
        durations: &mut dyn Durations,
    ) -> (Problem, Vec<Sound>) {
        let at = self.plan.timeline.stretches[index];
        let marks = self.marks(index, durations);
        let tail_of_next = self.tail_for(index + 1, &marks, durations);
        let mut windows: Vec<_> = self.tail.iter().cloned().collect();
        windows.extend(rest_windows(&self.plan.timeline, at, &marks));
        let timeline = &self.plan.timeline;
        windows.extend(work_windows(timeline, at, &marks, tail_of_next.as_ref()));
        let limit = at.work.and_then(|w| self.limit(w));
        let lengths = &mut self.lengths;
        let problem = build(lines, windows, limit, &self.past, |utterance| {
            known(lengths, utterance, durations).length
        });
        (problem, marks)
    }

    fn limit(&self, segment: usize) -> Option<Limit> {
        let timeline = &self.plan.timeline;
        let index = timeline.segments[segment].work?;
        let work = &timeline.works[index];
        let id = |w: &crate::planning::timeline::Work| &w.movement_use(self.session).movement.value;
        let met = timeline.works[..index]
            .iter()
            .filter(|w| id(w) == id(work) && w.side == work.side)
            .count();
        Some(work_limit(work.length, met, self.session.text.talk))
    }

    fn marks(&mut self, index: usize, durations: &mut dyn Durations) -> Vec<Sound> {
        let mut wanted = Vec::new();
        let tones = self.settings.tones;
        let timeline = &self.plan.timeline;
        marks(self.session, timeline, index, self.wording, tones, |u| {
            wanted.push(u.clone());
            Millis::ZERO
        });
        self.measure(&wanted, durations);
        let lengths = &self.lengths;
        let timeline = &self.plan.timeline;
        marks(self.session, timeline, index, self.wording, tones, |u| {
            lengths[u].length
        })
    }

    /// Returns the time at the end of this stretch's work that the next stretch needs, because
    /// its rest cannot hold what must be said in it.
    fn tail_for(
        &mut self,
        next: usize,
        marks: &[Sound],
        durations: &mut dyn Durations,
    ) -> Option<Window> {
        let timeline = &self.plan.timeline;
        let at = *timeline.stretches.get(next)?;
        at.work?;
        let before = timeline.stretches[next - 1].work?;
        let lines = self.scribe.lines(timeline, next);
        let next_marks = self.marks(next, durations);
        let rest: Vec<_> = rest_windows(&self.plan.timeline, at, &next_marks);
        let room: Millis = rest.iter().map(|w| w.length() + w.gap).sum();
        let gap = rest.first().map_or(Millis::from_ms(300), |w| w.gap);
        let need = self.shortest_musts(&lines, gap, durations);
        if need <= room {
            return None;
        }
        let work = &self.plan.timeline.segments[before];
        tail_window(work, before, marks, need)
    }

    /// Returns the time that the musts take at their shortest, gaps included. These wordings
    /// are measured where it is tight.
    fn shortest_musts(
        &mut self,
        lines: &[Line],
        gap: Millis,
        durations: &mut dyn Durations,
    ) -> Millis {
        let mut total = Millis::ZERO;
        for line in lines.iter().filter(|l| l.must) {
            let brief = line.offers.iter().min_by_key(|o| o.text.len());
            let Some(brief) = brief else { continue };
            let utterance = Utterance::new(brief.text.as_str());
            self.measure(std::slice::from_ref(&utterance), durations);
            total += self.lengths[&utterance].length + gap;
        }
        total
    }

    fn keep_tail_for_next(&mut self, index: usize, marks: &[Sound], durations: &mut dyn Durations) {
        self.tail = self.tail_for(index + 1, marks, durations);
    }

    /// Gives lead-in or finish the time in which all its lines fit in their full wording, unless
    /// the session says how long it is.
    fn give_all_it_needs(&mut self, index: usize, durations: &mut dyn Durations) {
        let text = &self.session.text;
        let at = self.plan.timeline.stretches[index];
        let Some(rest) = at.rest else { return };
        let lead_in = self.plan.timeline.segments[rest].kind == SegmentKind::LeadIn;
        let written = if lead_in { text.lead_in } else { text.finish };
        if written.is_some() {
            return;
        }
        let lines: Vec<_> = self
            .scribe
            .lines(&self.plan.timeline, index)
            .into_iter()
            .filter(stands_in_rest)
            .collect();
        let full: Vec<_> = lines
            .iter()
            .map(|line| Utterance::new(line.offers[0].text.as_str()))
            .collect();
        self.measure(&full, durations);
        let spoken: Millis = full
            .iter()
            .map(|u| self.lengths[u].length + Millis::from_ms(400))
            .sum();
        // Half a second to begin with; at the end the count with what is free before it, or a
        // second of quiet.
        let around = Millis::from_ms(if lead_in { 500 + 3300 } else { 400 + 1000 });
        let need = (spoken + around).ceil_secs();
        let has = self.plan.timeline.segments[rest].length();
        self.extra[index] += (need - has).max(Millis::ZERO);
        if !lead_in {
            let least = LEAST_FINISH - (has + self.extra[index]);
            self.extra[index] += least.max(Millis::ZERO);
        }
        self.retime();
    }

    /// By ear: gives a rest what its musts need by estimate, before anything is planned, so that
    /// the opening can say how long the session is.
    fn give_what_musts_need(&mut self, index: usize, durations: &mut dyn Durations) {
        let at = self.plan.timeline.stretches[index];
        let (Some(rest), Some(_)) = (at.rest, at.work) else {
            return;
        };
        let lines = self.scribe.lines(&self.plan.timeline, index);
        let marks = self.marks(index, durations);
        let windows = rest_windows(&self.plan.timeline, at, &marks);
        let room: Millis = windows.iter().map(|w| w.length() + w.gap).sum();
        let gap = windows.first().map_or(Millis::from_ms(300), |w| w.gap);
        let need: Millis = lines
            .iter()
            .filter(|l| l.must)
            .map(|l| {
                let utterance = Utterance::new(l.offers[0].text.as_str());
                known(&mut self.lengths, &utterance, durations).length + gap
            })
            .sum();
        debug_assert!(self.plan.timeline.segments[rest].kind == SegmentKind::Rest);
        self.extra[index] += (need - room).max(Millis::ZERO).ceil_secs();
    }

    /// By ear, lengthens a rest whose musts do not fit; returns whether it did.
    fn lengthen(&mut self, index: usize, problem: &Problem) -> bool {
        let at = self.plan.timeline.stretches[index];
        let rest = at.rest.map(|r| &self.plan.timeline.segments[r]);
        let can_grow = self.session.text.by_ear
            && rest.is_some_and(|r| r.kind == SegmentKind::Rest)
            && self.extra[index] < MOST_LENGTHENED;
        if can_grow {
            let lacks = lacking(problem).max(Millis::from_secs(1));
            self.extra[index] += lacks.ceil_secs();
            self.retime();
        }
        can_grow
    }

    fn retime(&mut self) {
        self.plan.timeline = timeline(self.session, &self.extra);
    }

    /// Measures what was not asked for yet; returns whether there was any.
    fn measure(&mut self, wanted: &[Utterance], durations: &mut dyn Durations) -> bool {
        let mut new: Vec<Utterance> = Vec::new();
        for utterance in wanted {
            let asked = self.lengths.get(utterance).is_some_and(|k| k.asked);
            if !asked && !new.contains(utterance) {
                new.push(utterance.clone());
            }
        }
        if new.is_empty() {
            return false;
        }
        let found = durations.measure(&new);
        for (utterance, length) in new.iter().zip(found) {
            let known = known(&mut self.lengths, utterance, durations);
            known.asked = true;
            if let Some(length) = length {
                known.length = length;
                known.measured = true;
            }
        }
        true
    }

    fn remember(&mut self, problem: &Problem, solution: &Solution, starts: &[At]) {
        for (at, start) in starts.iter().enumerate() {
            let line = &problem.lines[solution.chosen[at].line];
            let choice = choice_of(problem, solution, at);
            *self.past.lines.entry(line.id.clone()).or_default() += 1;
            *self.past.groups.entry(line.group.clone()).or_default() += 1;
            let ended = *start + choice.lasts;
            let words = folded(&choice.utterance.text);
            let last = self.past.ended.entry(words).or_insert(ended);
            *last = (*last).max(ended);
        }
    }

    fn musts_do_not_fit(&mut self, index: usize, problem: &Problem, measured: bool) {
        let timeline = &self.plan.timeline;
        let at = timeline.stretches[index];
        let lacks = lacking(problem);
        let rest = at.rest.map(|r| &timeline.segments[r]);
        let needed = rest.map_or(Millis::ZERO, |r| r.length()) + lacks;
        let (place, name) = match at.work.and_then(|w| timeline.segments[w].work) {
            Some(work) => {
                let used = timeline.works[work].movement_use(self.session);
                (used.place, self.session.movement(used).name.clone())
            }
            None => (self.session.text.place, self.session.text.title.clone()),
        };
        let start = rest.map_or(At::START, |r| r.start);
        let message = format!(
            "what must be said before {name} at {start} does not fit: it lacks {:.1} s",
            lacks.secs()
        );
        let help = match rest.map(|r| r.kind) {
            Some(SegmentKind::LeadIn) => {
                format!(
                    "make `lead_in` at least {}, or leave it out",
                    needed.ceil_secs()
                )
            }
            Some(SegmentKind::Finish) => {
                format!(
                    "make `finish` at least {}, or leave it out",
                    needed.ceil_secs()
                )
            }
            _ => format!(
                "give the rest before it at least {}, or shorten the name or the hold",
                needed.ceil_secs()
            ),
        };
        let diagnostic = if measured {
            Diagnostic::error(Code::MustTooLong, place, message)
        } else {
            Diagnostic::warning(Code::MustMayNotFit, place, message)
        };
        self.plan.diagnostics.push(diagnostic.help(help));
    }

    fn not_proven(&mut self, index: usize) {
        let timeline = &self.plan.timeline;
        let work = timeline.stretches[index].work;
        let place = work
            .and_then(|w| timeline.segments[w].work)
            .map_or(self.session.text.place, |w| {
                timeline.works[w].movement_use(self.session).place
            });
        self.plan.diagnostics.push(
            Diagnostic::advice(
                Code::NotProven,
                place,
                "the choice of what is said here may not be the best one",
            )
            .help("fewer cues for this movement make the choice clear"),
        );
    }
}

/// The least finish: time to put things down and hear what to do.
const LEAST_FINISH: Millis = Millis::from_secs(25);
/// By ear a rest grows by at most five minutes: beyond that something is wrong with the texts.
const MOST_LENGTHENED: Millis = Millis::from_secs(300);

/// Returns what is known of an utterance's length: an estimate until it was measured.
fn known<'l>(
    lengths: &'l mut HashMap<Utterance, Known>,
    utterance: &Utterance,
    durations: &dyn Durations,
) -> &'l mut Known {
    if !lengths.contains_key(utterance) {
        let estimate = Known {
            length: durations.estimate(utterance),
            measured: false,
            asked: false,
        };
        lengths.insert(utterance.clone(), estimate);
    }
    lengths.get_mut(utterance).expect("it was just put there")
}

fn stands_in_rest(line: &Line) -> bool {
    use crate::planning::script::Slot;
    line.slots
        .iter()
        .any(|(slot, _)| matches!(slot, Slot::Early | Slot::Late))
}

fn chosen_utterances(problem: &Problem, solution: &Solution) -> Vec<Utterance> {
    (0..solution.chosen.len())
        .map(|at| choice_of(problem, solution, at).utterance.clone())
        .collect()
}

fn must_utterances(problem: &Problem) -> Vec<Utterance> {
    problem
        .lines
        .iter()
        .filter(|l| l.must)
        .flat_map(|l| l.choices.iter().map(|c| c.utterance.clone()))
        .collect()
}

/// Returns the time by which the musts at their shortest exceed the windows they could use.
fn lacking(problem: &Problem) -> Millis {
    let mut used = vec![false; problem.windows.len()];
    let mut need = Millis::ZERO;
    for line in problem.lines.iter().filter(|l| l.must) {
        for choice in &line.choices {
            used[choice.window] = true;
        }
        let shortest = line
            .choices
            .iter()
            .map(|c| c.lasts + problem.windows[c.window].gap)
            .min();
        need += shortest.unwrap_or(Millis::from_secs(1));
    }
    let room: Millis = problem
        .windows
        .iter()
        .zip(used)
        .filter(|(_, used)| *used)
        .map(|(w, _)| w.length() + w.gap)
        .sum();
    (need - room).max(Millis::from_ms(100))
}
