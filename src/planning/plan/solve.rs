//! The best choice for one stretch, found exactly.
//!
//! Depth first over the lines: first the musts, then the lines that could stand in the rest or
//! in the work, then the rest by worth. At each node a bound on what the remaining lines could
//! add: for the windows without limits, the linear relaxation of the multiple-choice knapsack
//! on their joined length; for the limited windows, the best `count` lines. A branch that
//! cannot beat the best found is cut; a tie keeps what was found first, so the result is the
//! same on every machine. The first dive is the greedy choice. A stretch with much to choose from
//! is handed on to `frontier`.

use super::Chosen;
use super::Problem;
use super::frontier;
use super::frontier::Resources;
use super::parts::parts;

/// Nodes after which a stretch counts as hard, and all lines are looked at together.
const HARD_FROM: usize = 500;

/// What was chosen for a stretch.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Solution {
    /// In the order of the problem's lines.
    pub chosen: Vec<Chosen>,
    pub value: i64,
    /// Whether nothing better exists.
    pub proven: bool,
}

/// Finds the best choice; `None` if the musts cannot all be met.
pub fn solve(problem: &Problem) -> Option<Solution> {
    let mut whole = Solution {
        proven: true,
        ..Solution::default()
    };
    for part in parts(problem) {
        let best = Search::new(problem, &part).run(HARD_FROM)?;
        whole.chosen.extend(best.chosen);
        whole.value += best.value;
        whole.proven &= best.proven;
    }
    whole.chosen.sort_by_key(|c| c.line);
    Some(whole)
}

/// Chooses line by line the most worth for its time, musts first: a simple twin to compare
/// with. `None` if it gets stuck on a must.
pub fn greedy(problem: &Problem) -> Option<Solution> {
    let all: Vec<_> = (0..problem.lines.len()).collect();
    let mut search = Search::new(problem, &all);
    for depth in 0..search.lines.len() {
        let line = &search.lines[depth];
        let fitting = (0..line.choices.len()).find(|c| search.fits(depth, *c));
        match fitting {
            Some(choice) => search.take(depth, choice),
            None if line.must => return None,
            None => {}
        }
    }
    search.keep();
    search.best.take()
}

/// A choice as the search sees it.
#[derive(Clone, Copy)]
pub(super) struct Pick {
    pub window: usize,
    pub lasts: i64,
    pub value: i64,
    /// Index of the choice in the problem.
    index: usize,
}

/// A line in the order of the search, its choices the best first.
pub(super) struct Entry {
    line: usize,
    pub must: bool,
    group: Group,
    pub best: i64,
    /// Whether one more of such lines is better than anything else. Musts that do not fit together are
    /// such lines.
    pub great: bool,
    pub choices: Vec<Pick>,
}

/// Marks the lines of which one more is better than anything else: the best choices of fewer of them,
/// with all others besides, are worth less than the least choices of so many.
fn mark_great(lines: &mut [Entry]) {
    let least = |line: &Entry| line.choices.iter().map(|c| c.value).min().unwrap_or(0);
    let mut order: Vec<_> = (0..lines.len()).filter(|at| !lines[*at].must).collect();
    order.sort_by_key(|at| -least(&lines[*at]));
    let mut small: i64 = order.iter().map(|at| lines[*at].best).sum();
    let (mut great, mut sum) = (0, 0);
    for (nth, at) in order.iter().enumerate() {
        small -= lines[*at].best;
        sum += lines[*at].best;
        let unit = least(&lines[*at]);
        if sum - unit * (nth as i64 + 1) + small < unit {
            great = nth + 1;
        }
    }
    for at in &order[..great] {
        lines[*at].great = true;
    }
}

impl Entry {
    /// Returns the same line with each choice worth one.
    pub(super) fn worth_one(&self) -> Self {
        let choices = self.choices.iter();
        Self {
            best: 1,
            choices: choices.map(|c| Pick { value: 1, ..*c }).collect(),
            ..*self
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Group {
    Free,
    Both,
    Limited,
}

/// A step of the relaxation: `value` more for `room` more of the windows.
struct Step {
    depth: usize,
    room: i64,
    value: i64,
}

struct Search {
    lines: Vec<Entry>,
    gaps: Vec<i64>,
    limit_of: Vec<Option<usize>>,
    steps: Vec<Step>,
    /// Sum of the best values of `Both` lines from each depth on.
    both_after: Vec<i64>,
    /// Worth of the musts at their shortest, and the room they take, from each depth on.
    must_value_after: Vec<i64>,
    must_room_after: Vec<i64>,
    /// Best values of `Limited` lines in the order of depth, as prefix sums.
    limited_sums: Vec<i64>,
    limited_before: Vec<usize>,
    // The state.
    room: Vec<i64>,
    count: Vec<usize>,
    talk: Vec<i64>,
    value: i64,
    taken: Vec<Option<usize>>,
    nodes: usize,
    best: Option<Solution>,
}

impl Search {
    fn new(problem: &Problem, part: &[usize]) -> Self {
        let mut used = vec![false; problem.windows.len()];
        for choice in part.iter().flat_map(|line| &problem.lines[*line].choices) {
            used[choice.window] = true;
        }
        let mut limit_of = vec![None; problem.windows.len()];
        for (index, limit) in problem.limits.iter().enumerate() {
            for window in &limit.windows {
                limit_of[*window] = Some(index);
            }
        }
        let gaps: Vec<i64> = problem.windows.iter().map(|w| w.gap.ms()).collect();
        let mut lines: Vec<_> = part
            .iter()
            .map(|line| (*line, &problem.lines[*line]))
            .map(|(line, l)| {
                let mut choices: Vec<_> = l
                    .choices
                    .iter()
                    .enumerate()
                    .map(|(index, c)| Pick {
                        window: c.window,
                        lasts: c.lasts.ms(),
                        value: c.value,
                        index,
                    })
                    .collect();
                choices.sort_by_key(|c| (-c.value, c.lasts, c.window, c.index));
                let limited = choices.iter().filter(|c| limit_of[c.window].is_some());
                let group = match limited.count() {
                    0 => Group::Free,
                    n if n == choices.len() => Group::Limited,
                    _ => Group::Both,
                };
                Entry {
                    line,
                    must: l.must,
                    group,
                    best: choices.first().map_or(0, |c| c.value),
                    great: false,
                    choices,
                }
            })
            .collect();
        mark_great(&mut lines);
        lines.sort_by_key(|l| {
            let last = (l.group != Group::Both, -l.best, l.line);
            (!l.must, !l.great, last)
        });
        let mut search = Search {
            room: problem
                .windows
                .iter()
                .zip(&used)
                // What the lines at hand do not use is no room for them.
                .map(|(w, used)| {
                    if *used {
                        w.length().ms() + w.gap.ms()
                    } else {
                        0
                    }
                })
                .collect(),
            count: problem.limits.iter().map(|l| l.count).collect(),
            talk: problem.limits.iter().map(|l| l.talk.ms()).collect(),
            taken: vec![None; lines.len()],
            lines,
            gaps,
            limit_of,
            steps: Vec::new(),
            both_after: Vec::new(),
            must_value_after: Vec::new(),
            must_room_after: Vec::new(),
            limited_sums: vec![0],
            limited_before: Vec::new(),
            value: 0,
            nodes: 0,
            best: None,
        };
        search.prepare();
        search
    }

    /// Computes what the bound needs.
    fn prepare(&mut self) {
        let many = self.lines.len();
        self.both_after = vec![0; many + 1];
        self.must_value_after = vec![0; many + 1];
        self.must_room_after = vec![0; many + 1];
        for depth in (0..many).rev() {
            let line = &self.lines[depth];
            let both = if line.group == Group::Both {
                line.best
            } else {
                0
            };
            self.both_after[depth] = self.both_after[depth + 1] + both;
            let (mut room, mut value) = (0, 0);
            if line.group == Group::Free {
                let mut hull = self.hull(line);
                if line.must && !hull.is_empty() {
                    (room, value) = hull.remove(0);
                }
                let mut from = (room, value);
                for (r, v) in hull {
                    self.steps.push(Step {
                        depth,
                        room: r - from.0,
                        value: v - from.1,
                    });
                    from = (r, v);
                }
            }
            self.must_room_after[depth] = self.must_room_after[depth + 1] + room;
            self.must_value_after[depth] = self.must_value_after[depth + 1] + value;
        }
        // Most worth for the room first; compared crosswise, in whole numbers.
        self.steps.sort_by(|a, b| {
            (b.value * a.room)
                .cmp(&(a.value * b.room))
                .then(a.depth.cmp(&b.depth))
        });
        for line in &self.lines {
            self.limited_before.push(self.limited_sums.len() - 1);
            if line.group == Group::Limited {
                let sum = self.limited_sums[self.limited_sums.len() - 1];
                self.limited_sums.push(sum + line.best);
            }
        }
        self.limited_before.push(self.limited_sums.len() - 1);
    }

    /// Returns the upper hull of a line's choices as (room, value), from nothing, or for a must
    /// from its shortest, upwards with falling worth for the room.
    fn hull(&self, line: &Entry) -> Vec<(i64, i64)> {
        let mut points: Vec<_> = line
            .choices
            .iter()
            .map(|c| (c.lasts + self.gaps[c.window], c.value))
            .collect();
        points.sort_by_key(|(room, value)| (*room, -*value));
        let mut hull: Vec<(i64, i64)> = Vec::new();
        let start = if line.must { None } else { Some((0, 0)) };
        for point in points {
            let last = hull.last().copied().or(start);
            if last.is_some_and(|l| point.1 <= l.1) {
                continue;
            }
            while let Some(&(room, value)) = hull.last() {
                let base = match hull.len() {
                    1 => start,
                    n => Some(hull[n - 2]),
                };
                let Some((r0, v0)) = base else { break };
                // The last point lies under the line from the one before it to the new one.
                if (value - v0) * (point.0 - r0) <= (point.1 - v0) * (room - r0) {
                    hull.pop();
                } else {
                    break;
                }
            }
            hull.push(point);
        }
        hull
    }

    /// Returns the most that the lines from `depth` on can add.
    fn bound(&self, depth: usize) -> i64 {
        let free: i64 = self
            .room
            .iter()
            .zip(&self.limit_of)
            .filter(|(_, limit)| limit.is_none())
            .map(|(room, _)| *room)
            .sum();
        let mut room = free - self.must_room_after[depth];
        if room < 0 {
            return i64::MIN;
        }
        let mut most = self.both_after[depth] + self.must_value_after[depth];
        for step in self.steps.iter().filter(|s| s.depth >= depth) {
            if step.room <= room {
                room -= step.room;
                most += step.value;
            } else {
                most += (step.value * room + step.room - 1) / step.room;
                break;
            }
        }
        let from = self.limited_before[depth];
        let left: usize = self.count.iter().sum();
        let to = (from + left).min(self.limited_sums.len() - 1);
        most + self.limited_sums[to] - self.limited_sums[from]
    }

    fn fits(&self, depth: usize, choice: usize) -> bool {
        let c = self.lines[depth].choices[choice];
        let limit = self.limit_of[c.window];
        c.lasts + self.gaps[c.window] <= self.room[c.window]
            && limit.is_none_or(|l| self.count[l] > 0 && c.lasts <= self.talk[l])
    }

    fn take(&mut self, depth: usize, choice: usize) {
        self.change(depth, choice, 1);
        self.taken[depth] = Some(choice);
    }

    fn put_back(&mut self, depth: usize, choice: usize) {
        self.change(depth, choice, -1);
        self.taken[depth] = None;
    }

    fn change(&mut self, depth: usize, choice: usize, sign: i64) {
        let c = self.lines[depth].choices[choice];
        self.value += sign * c.value;
        self.room[c.window] -= sign * (c.lasts + self.gaps[c.window]);
        if let Some(limit) = self.limit_of[c.window] {
            self.talk[limit] -= sign * c.lasts;
            self.count[limit] = self.count[limit].wrapping_add_signed(-sign as isize);
        }
    }

    /// Keeps the state as the best found.
    fn keep(&mut self) {
        let mut chosen: Vec<_> = self
            .taken
            .iter()
            .zip(&self.lines)
            .filter_map(|(taken, line)| {
                Some(Chosen {
                    line: line.line,
                    choice: line.choices[(*taken)?].index,
                })
            })
            .collect();
        chosen.sort_by_key(|c| c.line);
        self.best = Some(Solution {
            chosen,
            value: self.value,
            proven: false,
        });
    }

    fn run(mut self, hard_from: usize) -> Option<Solution> {
        let whole = self.descend(0, hard_from);
        if whole {
            let mut best = self.best?;
            best.proven = true;
            return Some(best);
        }
        self.search_wide();
        self.best
    }

    /// Takes all back but the best found, and looks at all lines at once for a better one.
    fn search_wide(&mut self) {
        for depth in 0..self.lines.len() {
            if let Some(choice) = self.taken[depth] {
                self.put_back(depth, choice);
            }
        }
        let has = Resources {
            room: self.room.clone(),
            gaps: self.gaps.clone(),
            limit_of: self.limit_of.clone(),
            count: self.count.clone(),
            talk: self.talk.clone(),
        };
        let to_beat = self.best.as_ref().map_or(-1, |b| b.value);
        let Some(found) = frontier::search(&self.lines, &has, to_beat) else {
            return;
        };
        if !found.taken.is_empty() {
            self.taken = found.taken;
            self.value = found.value;
            self.keep();
        }
        if let Some(best) = &mut self.best {
            best.proven = found.proven;
        }
    }

    /// Searches below a depth; returns whether it was searched to the end.
    fn descend(&mut self, depth: usize, most_nodes: usize) -> bool {
        self.nodes += 1;
        if self.nodes > most_nodes {
            return false;
        }
        let bound = self.bound(depth);
        let to_beat = self.best.as_ref().map(|b| b.value);
        if bound == i64::MIN || to_beat.is_some_and(|b| self.value + bound <= b) {
            return true;
        }
        if depth == self.lines.len() {
            self.keep();
            return true;
        }
        for choice in 0..self.lines[depth].choices.len() {
            if self.fits(depth, choice) {
                self.take(depth, choice);
                let whole = self.descend(depth + 1, most_nodes);
                self.put_back(depth, choice);
                if !whole {
                    return false;
                }
            }
        }
        self.lines[depth].must || self.descend(depth + 1, most_nodes)
    }
}

#[cfg(test)]
#[path = "solve_tests.rs"]
mod tests;
