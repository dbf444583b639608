//! The exact choice for a stretch with much to choose from: line by line, all states that could
//! still lead to the best.
//!
//! A state is what was chosen so far: its worth and what is left of each resource. From one line to
//! the next, states are dropped that cannot beat the best found (`prices` gives the bound) and
//! states that another one dominates: worth no less, and with room for all that they have room for.
//! The windows of a work are alike but for their length, so a state keeps only what stands in
//! the work; whether that can be packed into its windows is looked up each time. A narrow pass finds
//! a good choice, wider ones prove that nothing is better.

use super::prices::Prices;
use super::prices::Row;
use super::prices::Use;
use super::solve::Entry;

/// How many states a pass keeps from one line to the next. A pass that drops none proves.
const WIDTHS: [usize; 3] = [60, 1000, 6000];
/// How many it keeps at most over all lines: more lines than any movement should have are given
/// up sooner, so that a plan is never long in the making.
const MOST_STATES: usize = 100_000;

/// What there is to use.
#[derive(Debug, Clone)]
pub struct Resources {
    /// The length of each window and its gap.
    pub room: Vec<i64>,
    pub gaps: Vec<i64>,
    /// The limit that a window is under.
    pub limit_of: Vec<Option<usize>>,
    pub count: Vec<usize>,
    pub talk: Vec<i64>,
}

/// What was found: for each line, the choice taken, as its place among the line's choices.
pub struct Found {
    pub value: i64,
    pub taken: Vec<Option<usize>>,
    pub proven: bool,
}

/// The windows in which a line is worth the same and lasts the same.
struct Way {
    value: i64,
    lasts: i64,
    /// Windows with the choice for each, in the order of windows.
    places: Vec<(usize, usize)>,
    /// The limit of all of them.
    limit: Option<usize>,
    /// The same for ways with the same windows.
    kind: usize,
}

/// Something that stands in a limited window.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Placed {
    kind: usize,
    lasts: i64,
    line: usize,
    way: usize,
}

#[derive(Clone)]
struct State {
    value: i64,
    most: i64,
    /// How many of the great lines it has.
    great: usize,
    /// What is left of the windows without limit; of the others, the whole.
    room: Vec<i64>,
    /// What is left of the limited windows together, for each limit, and of the limits.
    joined: Vec<i64>,
    count: Vec<usize>,
    talk: Vec<i64>,
    /// What stands in limited windows: by kind, the longest first.
    placed: Vec<Placed>,
    /// Index of the last step that led here.
    step: usize,
}

/// A choice on the way to a state.
#[derive(Clone, Copy)]
struct Step {
    before: usize,
    line: usize,
    way: usize,
}

const NO_STEP: usize = usize::MAX;

/// Finds the best choice for lines in the order of the search that is worth more than `found`.
pub fn search(lines: &[Entry], has: &Resources, found: i64) -> Option<Found> {
    let mut frontier = Frontier::new(lines, has);
    frontier.most_great = most_great(lines, has);
    let mut best: Option<Found> = None;
    for width in WIDTHS {
        let to_beat = best.as_ref().map_or(found, |b| b.value);
        let most = MOST_STATES / lines.len().max(1);
        let (better, whole) = frontier.pass(width.min(most), to_beat);
        best = better.or(best);
        if whole {
            let known = best.get_or_insert(Found {
                value: found,
                taken: Vec::new(),
                proven: true,
            });
            known.proven = true;
            break;
        }
    }
    best
}

/// Returns how many of the great lines can be had together: whatever has fewer is not the best. `None`
/// where it is not known.
fn most_great(lines: &[Entry], has: &Resources) -> Option<(usize, usize)> {
    let many = lines.iter().take_while(|line| line.great).count();
    if many < 2 {
        return None;
    }
    let each_worth_one: Vec<_> = lines[..many].iter().map(Entry::worth_one).collect();
    let frontier = Frontier::new(&each_worth_one, has);
    let (found, whole) = frontier.pass(WIDTHS[1], -1);
    let count = found.map_or(0, |found| found.value as usize);
    whole.then_some((many, count))
}

struct Frontier<'a> {
    lines: &'a [Entry],
    has: &'a Resources,
    ways: Vec<Vec<Way>>,
    rows: Vec<Row>,
    joined: Vec<i64>,
    /// How many lines at the front are great, and how many of them can be had together.
    most_great: Option<(usize, usize)>,
}

impl<'a> Frontier<'a> {
    fn new(lines: &'a [Entry], has: &'a Resources) -> Self {
        let mut kinds: Vec<Vec<usize>> = Vec::new();
        let ways: Vec<_> = lines.iter().map(|l| ways(l, has, &mut kinds)).collect();
        let joined = (0..has.count.len()).map(|limit| {
            let inside = (0..has.room.len()).filter(|w| has.limit_of[*w] == Some(limit));
            inside.map(|w| has.room[w]).sum()
        });
        let mut frontier = Self {
            lines,
            has,
            ways,
            rows: Vec::new(),
            joined: joined.collect(),
            most_great: None,
        };
        frontier.rows = (0..lines.len()).map(|line| frontier.row(line)).collect();
        frontier
    }

    /// Returns the resources that a state has left, for the bound: windows without limit, then
    /// joined room, count and talk of each limit.
    fn left(&self, state: &State) -> Vec<i64> {
        let free = state.room.iter().zip(&self.has.limit_of);
        let free = free.map(|(room, limit)| if limit.is_some() { 0 } else { *room });
        let limits = (0..self.joined.len()).flat_map(|limit| {
            [
                state.joined[limit],
                state.count[limit] as i64,
                state.talk[limit],
            ]
        });
        free.chain(limits).collect()
    }

    fn row(&self, line: usize) -> Row {
        let windows = self.has.room.len();
        let uses = |way: &Way| {
            let room = way.lasts + self.has.gaps[way.places[0].0];
            match way.limit {
                None => vec![(way.places[0].0, room)],
                Some(limit) => vec![
                    (windows + 3 * limit, room),
                    (windows + 3 * limit + 1, 1),
                    (windows + 3 * limit + 2, way.lasts),
                ],
            }
        };
        let choices = self.ways[line].iter().map(|way| Use {
            value: way.value,
            uses: uses(way),
        });
        Row {
            must: self.lines[line].must,
            choices: choices.collect(),
        }
    }

    /// Goes through the lines once, keeping at most `width` states; returns the best found above
    /// `to_beat`, and whether no state was dropped for want of width.
    fn pass(&self, width: usize, to_beat: i64) -> (Option<Found>, bool) {
        let first = State {
            value: 0,
            most: i64::MAX,
            great: 0,
            room: self.has.room.clone(),
            joined: self.joined.clone(),
            count: self.has.count.clone(),
            talk: self.has.talk.clone(),
            placed: Vec::new(),
            step: NO_STEP,
        };
        let prices = Prices::find(&self.rows, &self.left(&first), to_beat);
        let mut steps: Vec<Step> = Vec::new();
        let mut states = vec![first];
        let mut whole = true;
        for line in 0..self.lines.len() {
            let mut next = Vec::with_capacity(states.len() * 2);
            for state in states {
                for way in 0..self.ways[line].len() {
                    next.extend(self.with(&state, line, way, &mut steps));
                }
                if !self.lines[line].must {
                    next.push(state);
                }
            }
            next.retain_mut(|state| {
                if self.has_too_few(state, line) {
                    return false;
                }
                let bound = prices.bound(line + 1, &self.left(state));
                state.most = state.value.saturating_add(bound);
                state.most > to_beat
            });
            states = undominated(next);
            if states.len() > width {
                whole = false;
                states.sort_by_key(|s| (-s.most, -s.value, s.step));
                states.truncate(width);
            }
        }
        let better = states.into_iter().filter(|s| s.value > to_beat);
        let best = better.max_by_key(|s| (s.value, -(s.step as i64)));
        let found = best.map(|state| Found {
            value: state.value,
            taken: self.taken(&state, &steps),
            proven: false,
        });
        (found, whole)
    }

    /// Returns whether a state has fewer of the great lines than can be had, whatever follows `line`.
    fn has_too_few(&self, state: &State, line: usize) -> bool {
        let Some((many, count)) = self.most_great else {
            return false;
        };
        let to_come = many.saturating_sub(line + 1);
        state.great + to_come < count
    }

    /// Returns the state with one choice more, if it fits.
    fn with(&self, from: &State, line: usize, way: usize, steps: &mut Vec<Step>) -> Option<State> {
        let chosen = &self.ways[line][way];
        let window = chosen.places[0].0;
        let room = chosen.lasts + self.has.gaps[window];
        let mut state = match chosen.limit {
            None if room > from.room[window] => return None,
            Some(limit)
                if from.count[limit] == 0
                    || from.talk[limit] < chosen.lasts
                    || from.joined[limit] < room =>
            {
                return None;
            }
            _ => from.clone(),
        };
        match chosen.limit {
            None => state.room[window] -= room,
            Some(limit) => {
                let placed = Placed {
                    kind: chosen.kind,
                    lasts: -chosen.lasts,
                    line,
                    way,
                };
                let at = state.placed.partition_point(|p| *p < placed);
                state.placed.insert(at, placed);
                self.packed(&state.placed)?;
                state.joined[limit] -= room;
                state.count[limit] -= 1;
                state.talk[limit] -= chosen.lasts;
            }
        }
        state.value += chosen.value;
        state.great += usize::from(self.most_great.is_some_and(|(many, _)| line < many));
        steps.push(Step {
            before: from.step,
            line,
            way,
        });
        state.step = steps.len() - 1;
        Some(state)
    }

    /// Packs what stands in limited windows; returns the place of each, `None` if it cannot be.
    fn packed(&self, placed: &[Placed]) -> Option<Vec<usize>> {
        let mut room = self.has.room.clone();
        let mut places = Vec::with_capacity(placed.len());
        self.pack(placed, &mut room, &mut places).then_some(places)
    }

    fn pack(&self, placed: &[Placed], room: &mut [i64], places: &mut Vec<usize>) -> bool {
        let Some(next) = placed.get(places.len()) else {
            return true;
        };
        let way = &self.ways[next.line][next.way];
        for (place, (window, _)) in way.places.iter().enumerate() {
            let need = way.lasts + self.has.gaps[*window];
            if need <= room[*window] {
                room[*window] -= need;
                places.push(place);
                if self.pack(placed, room, places) {
                    return true;
                }
                places.pop();
                room[*window] += need;
            }
        }
        false
    }

    /// Returns the choices that led to a state; what stands in the work is packed in the order of
    /// the lines, into the earliest windows that hold it all.
    fn taken(&self, state: &State, steps: &[Step]) -> Vec<Option<usize>> {
        let mut taken = vec![None; self.lines.len()];
        let mut placed = state.placed.clone();
        placed.sort_by_key(|p| p.line);
        let places = self.packed(&placed).unwrap_or_default();
        for (what, place) in placed.iter().zip(places) {
            taken[what.line] = Some(self.ways[what.line][what.way].places[place].1);
        }
        let mut at = state.step;
        while let Some(step) = steps.get(at) {
            let choice = self.ways[step.line][step.way].places[0].1;
            taken[step.line].get_or_insert(choice);
            at = step.before;
        }
        taken
    }
}

/// Joins the choices of a line that differ only in which window of the work they stand in.
fn ways(line: &Entry, has: &Resources, kinds: &mut Vec<Vec<usize>>) -> Vec<Way> {
    let mut ways: Vec<Way> = Vec::new();
    for (index, choice) in line.choices.iter().enumerate() {
        let limit = has.limit_of[choice.window];
        let gap = has.gaps[choice.window];
        let twin = ways.iter_mut().find(|way| {
            limit.is_some()
                && way.limit == limit
                && (way.value, way.lasts) == (choice.value, choice.lasts)
                && has.gaps[way.places[0].0] == gap
        });
        match twin {
            Some(way) => way.places.push((choice.window, index)),
            None => ways.push(Way {
                value: choice.value,
                lasts: choice.lasts,
                places: vec![(choice.window, index)],
                limit,
                kind: 0,
            }),
        }
    }
    for way in &mut ways {
        way.places.sort_unstable();
        let windows: Vec<_> = way.places.iter().map(|(window, _)| *window).collect();
        let known = kinds.iter().position(|k| *k == windows);
        way.kind = known.unwrap_or_else(|| {
            kinds.push(windows);
            kinds.len() - 1
        });
    }
    ways
}

/// Takes out states that another one dominates.
fn undominated(mut states: Vec<State>) -> Vec<State> {
    states.sort_by_key(|s| (-s.value, s.placed.len(), s.step));
    let mut kept: Vec<State> = Vec::with_capacity(states.len());
    for state in states {
        if !kept.iter().any(|better| dominates(better, &state)) {
            kept.push(state);
        }
    }
    kept
}

/// Returns whether whatever can follow `b` can follow `a`, which is worth no less.
fn dominates(a: &State, b: &State) -> bool {
    a.value >= b.value
        && a.room.iter().zip(&b.room).all(|(a, b)| a >= b)
        && a.count.iter().zip(&b.count).all(|(a, b)| a >= b)
        && a.talk.iter().zip(&b.talk).all(|(a, b)| a >= b)
        && stands_within(&a.placed, &b.placed)
}

/// Returns whether each thing of `a` can stand where a thing of `b` of its kind stands, each in a
/// place of its own. Both are in order: by kind, the longest first.
fn stands_within(a: &[Placed], b: &[Placed]) -> bool {
    let mut places = b.iter();
    a.iter().all(|wants| {
        places
            .find(|place| place.kind >= wants.kind)
            .is_some_and(|place| place.kind == wants.kind && place.lasts <= wants.lasts)
    })
}
