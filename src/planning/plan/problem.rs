//! The model of one stretch: which line may stand in which window, how long it lasts there and
//! what it is worth. This is what `--format problem` exports, to the letter.

use super::Window;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::planning::script::Length;
use crate::planning::script::Limit;
use crate::planning::script::Line;
use crate::planning::script::Slot;
use crate::planning::script::Topic;
use crate::planning::script::weights;
use crate::planning::script::work_window_factor;

/// The rates at which a line may be spoken, each with the per mille of its worth. At most 12 %
/// faster: beyond that a cue sounds hurried (common practice).
const RATES: &[(u16, i64)] = &[(1000, 1000), (1120, 700)];
/// Only what a listener needs to begin is spoken faster: less is left out rather than hurried.
const FASTER_FROM: i64 = weights::START;

/// The same words never start within this time after they ended.
const NOT_AGAIN_WITHIN: Millis = Millis::from_secs(8);

/// The quiet after a line in a rest.
const LEAST_GAP: Millis = Millis::from_ms(300);

/// What a must lacks that has no window at all: time for the shortest of names.
const NO_WINDOW: Millis = Millis::from_secs(1);

/// One wording of a line in one window at one rate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    pub length: Length,
    pub utterance: Utterance,
    /// Index of the window.
    pub window: usize,
    pub lasts: Millis,
    /// Worth before fading.
    pub base: i64,
    /// `base * fade[min(said_before, last)] / 1000`, rounded down.
    pub value: i64,
}

/// A line with its choices.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProblemLine {
    pub id: String,
    pub group: String,
    pub topic: Topic,
    pub order: u16,
    pub must: bool,
    pub said_before: usize,
    pub fade: &'static [i64],
    pub choices: Vec<Choice>,
}

/// How much may be said in some windows together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProblemLimit {
    pub windows: Vec<usize>,
    pub count: usize,
    pub talk: Millis,
}

/// A line and the choice made for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Chosen {
    pub line: usize,
    pub choice: usize,
}

/// One stretch as the solver sees it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    pub windows: Vec<Window>,
    pub limits: Vec<ProblemLimit>,
    pub lines: Vec<ProblemLine>,
}

/// What was said before, as far as it bears on what is said next.
pub trait Heard {
    /// Returns how often a line was said.
    fn line(&self, id: &str) -> usize;
    /// Returns how often anything of a group was said.
    fn group(&self, group: &str) -> usize;
    /// Returns when the same words last ended.
    fn words(&self, text: &str) -> Option<At>;
}

/// Builds the model of a stretch.
pub fn build<'l>(
    lines: impl Iterator<Item = &'l Line>,
    windows: Vec<Window>,
    limit: Option<Limit>,
    heard: &impl Heard,
    mut lasts: impl FnMut(&Utterance) -> Millis,
) -> Problem {
    let work: Vec<_> = (0..windows.len())
        .filter(|w| windows[*w].slot == Slot::Work)
        .collect();
    let limits = limit
        .filter(|_| !work.is_empty())
        .map(|limit| ProblemLimit {
            windows: work,
            count: limit.count,
            talk: limit.talk,
        });
    let lines = lines
        .map(|line| problem_line(line, &windows, heard, &mut lasts))
        .filter(|line| line.must || !line.choices.is_empty())
        .collect();
    Problem {
        windows,
        limits: limits.into_iter().collect(),
        lines,
    }
}

fn problem_line(
    line: &Line,
    windows: &[Window],
    heard: &impl Heard,
    lasts: &mut impl FnMut(&Utterance) -> Millis,
) -> ProblemLine {
    let times = heard.group(&line.group);
    let again = times > 0;
    let (id, offers) = match line.in_turn {
        true => {
            let offer = &line.offers[times % line.offers.len()];
            // The same id wherever the words are the same.
            let id = format!("{}: {}", line.group, offer.text);
            (id, std::slice::from_ref(offer))
        }
        false => (line.id.clone(), &line.offers[..]),
    };
    let said_before = heard.line(&id);
    let fade = line.fade[said_before.min(line.fade.len() - 1)];
    let mut choices = Vec::new();
    for (index, window) in windows.iter().enumerate() {
        let Some(slot) = slot_factor(line, window, windows) else {
            continue;
        };
        for offer in offers {
            if offer.tail != (window.slot == Slot::Tail) && tail_matters(line) {
                continue;
            }
            for &(rate, rate_factor) in rates(line) {
                let utterance = Utterance {
                    text: offer.text.clone(),
                    rate: Rate::from_per_mille(rate),
                };
                let wording = if again { offer.again } else { offer.new };
                let base = line.weight * wording / 1000 * slot / 1000 * rate_factor / 1000;
                choices.push(Choice {
                    length: offer.length,
                    lasts: lasts(&utterance),
                    utterance,
                    window: index,
                    base,
                    value: base * fade / 1000,
                });
            }
        }
    }
    // What was just heard is not said again, unless nothing else would be left of a must.
    let fresh = |c: &Choice| {
        let opens = windows[c.window].start;
        heard
            .words(&c.utterance.text)
            .is_none_or(|ended| opens - ended >= NOT_AGAIN_WITHIN)
    };
    if !line.must || choices.iter().any(fresh) {
        choices.retain(fresh);
    }
    choices.retain(|c| line.must || c.value > 0);
    ProblemLine {
        id,
        group: line.group.clone(),
        topic: line.topic,
        order: line.order,
        must: line.must,
        said_before,
        fade: line.fade,
        choices: undominated(choices),
    }
}

/// Returns the rates at which a line may be spoken, each with the per mille of its worth.
pub fn rates(line: &Line) -> &'static [(u16, i64)] {
    &RATES[..if line.weight >= FASTER_FROM { 2 } else { 1 }]
}

fn tail_matters(line: &Line) -> bool {
    line.offers.iter().any(|o| o.tail)
}

/// Returns what a line is worth in a window, per mille; `None` where it cannot stand there.
fn slot_factor(line: &Line, window: &Window, windows: &[Window]) -> Option<i64> {
    let at = |slot| line.slots.iter().find(|(s, _)| *s == slot).map(|s| s.1);
    match window.slot {
        Slot::Work => Some(at(Slot::Work)? * work_window_factor(line.topic, window.nth) / 1000),
        // With one window before the work, early and late are the same.
        Slot::Late if windows.iter().all(|w| w.slot != Slot::Early) => {
            at(Slot::Early).max(at(Slot::Late))
        }
        slot => at(slot),
    }
}

/// Takes out choices for which another of the same window is as short and as good.
fn undominated(choices: Vec<Choice>) -> Vec<Choice> {
    let better = |a: &Choice, b: &Choice, first: bool| {
        a.window == b.window
            && a.lasts <= b.lasts
            && a.value >= b.value
            && (a.lasts < b.lasts || a.value > b.value || first)
    };
    choices
        .iter()
        .enumerate()
        .filter(|(i, c)| {
            !choices
                .iter()
                .enumerate()
                .any(|(j, other)| i != &j && better(other, c, j < *i))
        })
        .map(|(_, c)| c.clone())
        .collect()
}

impl Problem {
    /// Returns every wording of the musts.
    pub fn must_utterances(&self) -> Vec<Utterance> {
        let musts = self.lines.iter().filter(|l| l.must);
        musts
            .flat_map(|l| l.choices.iter().map(|c| c.utterance.clone()))
            .collect()
    }

    /// Returns the time by which the musts at their shortest exceed the windows they could use;
    /// at least a tenth of a second, since a must that lacks a window lacks time too.
    pub fn lacking(&self) -> Millis {
        let mut used = vec![false; self.windows.len()];
        let mut need = Millis::ZERO;
        for line in self.lines.iter().filter(|l| l.must) {
            for choice in &line.choices {
                used[choice.window] = true;
            }
            let shortest = line
                .choices
                .iter()
                .map(|c| c.lasts + self.windows[c.window].gap)
                .min();
            need += shortest.unwrap_or(NO_WINDOW);
        }
        let windows = self.windows.iter().zip(used).filter(|(_, used)| *used);
        let room: Millis = windows.map(|(w, _)| w.length() + w.gap).sum();
        (need - room).max(Millis::from_ms(100))
    }

    /// Returns how long the musts take at their shortest, one after another with a gap after each.
    pub fn musts_in_a_row(&self) -> Millis {
        let musts = self.lines.iter().filter(|l| l.must);
        let shortest = musts.map(|line| {
            let lasts = line.choices.iter().map(|c| c.lasts).min();
            lasts.unwrap_or(NO_WINDOW) + LEAST_GAP
        });
        shortest.sum()
    }

    /// Makes every must optional, each worth more than all optional lines together.
    pub fn soften(&mut self) {
        let optional: i64 = self
            .lines
            .iter()
            .map(|line| line.choices.iter().map(|c| c.value).max().unwrap_or(0))
            .sum();
        for line in self.lines.iter_mut().filter(|line| line.must) {
            line.must = false;
            line.fade = &[1000];
            for choice in &mut line.choices {
                choice.base += optional + 1;
                choice.value = choice.base;
            }
        }
        self.lines.retain(|line| !line.choices.is_empty());
    }
}
