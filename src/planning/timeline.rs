//! When everything happens: a `Session` and the time added to its rests -> segments whose ends
//! are the next one's starts, exact in milliseconds.

use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::session::Block;
use crate::planning::session::FirstSide;
use crate::planning::session::NOMINAL_OPEN;
use crate::planning::session::Repetitions;
use crate::planning::session::Session;
use crate::planning::session::Side;
use crate::planning::session::SideChoice;
use crate::planning::session::Sides;
use crate::planning::session::Use;

/// The least lead-in: time for a name and the count.
pub const LEAST_LEAD_IN: Millis = Millis::from_secs(10);
/// The least that follows the key with which a session begins: the same, where all else was said.
const LEAST_AFTER_KEY: Millis = Millis::from_secs(6);

/// What a segment is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SegmentKind {
    LeadIn,
    Work,
    Rest,
    Finish,
}

impl SegmentKind {
    /// Returns the word for it in the contracts.
    pub const fn word(self) -> &'static str {
        match self {
            SegmentKind::LeadIn => "lead-in",
            SegmentKind::Work => "work",
            SegmentKind::Rest => "rest",
            SegmentKind::Finish => "finish",
        }
    }
}

/// A part of the session between two changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Segment {
    pub kind: SegmentKind,
    pub start: At,
    pub end: At,
    /// Whether it goes on until a key; then its end is nominal.
    pub open: bool,
    /// The work it is, or, for a rest, the work it follows; `None` in lead-in and finish.
    pub work: Option<usize>,
}

impl Segment {
    /// Returns how long it lasts.
    pub fn length(&self) -> Millis {
        self.end - self.start
    }
}

/// A half of a work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Half {
    First,
    Second,
}

/// One work: a movement, on a side if it has one, for a time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Work {
    /// Index of the block.
    pub block: usize,
    /// Index of the use in its block.
    pub of: usize,
    /// The round, counted from 0.
    pub round: usize,
    /// The place among the works of its round, counted from 0, and how many there are.
    pub position: usize,
    pub positions: usize,
    pub side: Option<Side>,
    /// Which half it is of a work with a change of side in the middle.
    pub half: Option<Half>,
    /// The side that begins where sides change from one repetition to the next, if it is said.
    pub begins_with: Option<Side>,
    /// Whether all movements of the block are done at once, on stations; the use is the one that this
    /// work's cues are for.
    pub stations: bool,
    pub length: Millis,
    /// The repetitions that are counted aloud.
    pub repetitions: Option<Repetitions>,
    /// Whether it goes on until a key; then its length is nominal.
    pub open: bool,
    /// The rest that follows as written; `None` where none follows.
    pub rest: Option<Millis>,
}

impl Work {
    /// Returns the block of this work.
    pub fn block<'s>(&self, session: &'s Session) -> &'s Block {
        &session.text.blocks[self.block]
    }

    /// Returns the use of this work.
    pub fn movement_use<'s>(&self, session: &'s Session) -> &'s Use {
        &self.block(session).uses[self.of]
    }
}

/// A rest (or the lead-in, or nothing) and the work that follows it: the unit of planning.
/// The last ones may have no work: a rest after the last work, and the finish.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// Index of the segment of rest, lead-in or finish.
    pub rest: Option<usize>,
    /// Index of the segment of work.
    pub work: Option<usize>,
}

/// The whole session in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Timeline {
    pub works: Vec<Work>,
    pub segments: Vec<Segment>,
    pub stretches: Vec<Stretch>,
}

/// Milliseconds added to the lead-in, each rest and the finish, by index of the stretch.
pub type Extra = [Millis];

/// Lays a session out in time. `extra` may be shorter than the row of stretches.
pub fn timeline(session: &Session, extra: &Extra) -> Timeline {
    let works = works(session);
    let added = |stretch: usize| extra.get(stretch).copied().unwrap_or(Millis::ZERO);
    let mut made = Maker::default();

    let lead_in = session.text.lead_in.unwrap_or(LEAST_LEAD_IN) + added(0);
    let mut rest = Some(made.segment(SegmentKind::LeadIn, lead_in, None));
    if session.text.begin_by_key {
        // The opening, the wait for the key, and what follows on it.
        made.stretches.push(Stretch { rest, work: None });
        let wait = made.open_segment(SegmentKind::LeadIn, None);
        made.stretches.push(Stretch {
            rest: Some(wait),
            work: None,
        });
        let after = LEAST_AFTER_KEY + added(2);
        rest = Some(made.segment(SegmentKind::LeadIn, after, None));
    }
    for (index, work) in works.iter().enumerate() {
        let segment = if work.open {
            made.open_segment(SegmentKind::Work, Some(index))
        } else {
            made.segment(SegmentKind::Work, work.length, Some(index))
        };
        made.stretches.push(Stretch {
            rest,
            work: Some(segment),
        });
        // Only a rest that is there can be lengthened.
        rest = work
            .rest
            .filter(|rest| *rest > Millis::ZERO)
            .map(|written| {
                let length = written + added(made.stretches.len());
                made.segment(SegmentKind::Rest, length, Some(index))
            });
    }
    if rest.is_some() {
        made.stretches.push(Stretch { rest, work: None });
    }
    let finish = session.text.finish.unwrap_or(Millis::ZERO) + added(made.stretches.len());
    let finish = made.segment(SegmentKind::Finish, finish, None);
    made.stretches.push(Stretch {
        rest: Some(finish),
        work: None,
    });
    Timeline {
        works,
        segments: made.segments,
        stretches: made.stretches,
    }
}

#[derive(Default)]
struct Maker {
    segments: Vec<Segment>,
    stretches: Vec<Stretch>,
}

impl Maker {
    fn segment(&mut self, kind: SegmentKind, length: Millis, work: Option<usize>) -> usize {
        let start = self.segments.last().map_or(At::START, |s| s.end);
        self.segments.push(Segment {
            kind,
            start,
            end: start + length,
            open: false,
            work,
        });
        self.segments.len() - 1
    }

    fn open_segment(&mut self, kind: SegmentKind, work: Option<usize>) -> usize {
        let index = self.segment(kind, NOMINAL_OPEN, work);
        self.segments[index].open = true;
        index
    }
}

/// Returns the works of a session in order, each with the rest that follows it.
pub fn works(session: &Session) -> Vec<Work> {
    let mut works = Vec::new();
    for (index, block) in session.text.blocks.iter().enumerate() {
        for round in 0..block.rounds {
            let first = works.len();
            for of in 0..block.uses.len() {
                let laid_out = of_use(session, index, of, round, works.len() - first);
                works.extend(laid_out);
            }
            let positions = works.len() - first;
            for work in &mut works[first..] {
                work.positions = positions;
            }
            if let Some(last) = works.last_mut() {
                let ends_block = round + 1 == block.rounds;
                let own = block.uses.last().and_then(|of| of.rest.as_ref());
                last.rest = match own.filter(|_| !block.stations) {
                    _ if ends_block && !block.last_rest => None,
                    _ if block.every.is_some() => last.rest,
                    Some(own) => Some(own.value),
                    None => Some(block.between_rounds.in_round(round)),
                };
            }
        }
    }
    works
}

/// Returns the works of one use in a round, the first of them at `position` in it.
fn of_use(
    session: &Session,
    block_index: usize,
    of: usize,
    round: usize,
    position: usize,
) -> Vec<Work> {
    let block = &session.text.blocks[block_index];
    let used = &block.uses[of];
    let movement = session.movement(used);
    let time = used.work_time(block, movement, round);
    let rest = used.rest_time(block, time.length, round);
    let first_side = used.first_side.as_ref().map(|f| f.value);
    let first = first_side.unwrap_or(FirstSide::Right).in_round(round);
    let work = |side: Option<Side>| Work {
        block: block_index,
        of,
        round,
        position,
        positions: 0,
        side,
        half: None,
        begins_with: None,
        stations: block.stations,
        length: time.length,
        repetitions: time.repetitions,
        open: time.open,
        rest: Some(rest),
    };
    if block.stations || movement.sides == Sides::Both {
        return vec![work(None)];
    }
    if movement.sides == Sides::Alternate {
        return vec![Work {
            begins_with: first_side.map(|_| first),
            ..work(None)
        }];
    }
    let second = |mut work: Work| {
        work.position += 1;
        work
    };
    match used.side.as_ref().map_or(SideChoice::Each, |s| s.value) {
        SideChoice::Only(side) => vec![work(Some(side))],
        SideChoice::Each => vec![work(Some(first)), second(work(Some(first.other())))],
        SideChoice::Halves => halves(work(Some(first)), work(Some(first.other()))),
    }
}

/// Divides a work into two halves without a rest between them; an odd millisecond is the second's.
fn halves(first: Work, second: Work) -> Vec<Work> {
    let half = Millis::from_ms(first.length.ms() / 2);
    let repetitions = first.repetitions.map(|reps| Repetitions {
        count: reps.count / 2,
        ..reps
    });
    vec![
        Work {
            half: Some(Half::First),
            length: half,
            repetitions,
            rest: Some(Millis::ZERO),
            ..first
        },
        Work {
            half: Some(Half::Second),
            position: second.position + 1,
            length: second.length - half,
            repetitions,
            ..second
        },
    ]
}

/// How a work is found again in a session that was changed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Landmark {
    /// The id of its movement; none where everybody is on a station.
    pub movement: Option<String>,
    pub side: Option<Side>,
    /// Both counted from 0.
    pub block: usize,
    pub round: usize,
    /// Among all works, counted from 0.
    pub index: usize,
}

impl Landmark {
    /// Takes down where a work of a session stands.
    pub fn of(session: &Session, works: &[Work], index: usize) -> Option<Self> {
        let work = works.get(index)?;
        let movement = session.movement(work.movement_use(session));
        Some(Self {
            movement: (!work.stations).then(|| movement.id.clone()),
            side: work.side,
            block: work.block,
            round: work.round,
            index,
        })
    }

    /// Finds it: the work in the same block and round with the same movement and side, else the one with
    /// the same number, else the end (the number of works).
    pub fn find(&self, session: &Session) -> usize {
        let works = works(session);
        let same = |index: &usize| {
            Landmark::of(session, &works, *index).is_some_and(|other| {
                let place = (other.block, other.round) == (self.block, self.round);
                place && other.movement == self.movement && other.side == self.side
            })
        };
        let found = (0..works.len())
            .filter(same)
            .min_by_key(|index| index.abs_diff(self.index));
        found.unwrap_or(self.index.min(works.len()))
    }
}

impl Timeline {
    /// Returns when the session ends.
    pub fn end(&self) -> At {
        self.segments.last().map_or(At::START, |s| s.end)
    }

    /// Returns the length of the works and the rests between them, without lead-in and finish.
    pub fn training_time(&self) -> Millis {
        self.segments
            .iter()
            .filter(|s| matches!(s.kind, SegmentKind::Work | SegmentKind::Rest))
            .map(Segment::length)
            .sum()
    }
}
