//! The worst places of a rehearsal, and what would help there.

use super::Report;
use super::Row;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::plan::SoundKind;
use crate::planning::script;
use crate::planning::session::Session;
use crate::planning::session::Talk;
use crate::planning::timeline::SegmentKind;
use crate::rehearse::practice::Score;

/// What a lead-in and a finish may last, as the files are read.
const LONGEST: Millis = Millis::from_secs(600);
const SHORTEST: Millis = Millis::from_secs(5);

/// So many places are told: more at once betters none.
const WORST: usize = 3;

/// A change of the session's file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    Length {
        what: Length,
        to: Millis,
    },
    /// How much is said at a use of a block, both counted from 0.
    TalkAt {
        block: usize,
        of: usize,
        to: Talk,
    },
    Talk {
        to: Talk,
    },
}

/// A length that a session's file has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Length {
    LeadIn,
    Finish,
    /// The rest after a use of a block, both counted from 0.
    RestAfter {
        block: usize,
        of: usize,
    },
    /// A time of a block; of one round alone where the file lists one for each.
    Of {
        block: usize,
        time: Time,
        round: Option<usize>,
    },
}

/// The times of a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Time {
    Rest,
    BetweenRounds,
    Every,
}

impl Time {
    /// Returns its key in the file.
    pub fn key(self) -> &'static str {
        match self {
            Time::Rest => "rest",
            Time::BetweenRounds => "between_rounds",
            Time::Every => "every",
        }
    }
}

/// What would help a row, the edit that makes it where there is one, and what was said otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remedy {
    /// The row, by its place in the report.
    pub row: usize,
    pub edit: Option<Edit>,
    /// Lines with a shorter wording, by their place among the sounds, with the seconds that saves.
    pub shorter: Vec<(usize, Millis)>,
    /// Whether a cue fewer would do.
    pub fewer: bool,
}

/// Returns the worst places, the worst first, each with what would help.
pub fn worst(report: &Report, score: &Score, plan: &Plan, session: &Session) -> Vec<Remedy> {
    let mut rows: Vec<usize> = (0..report.rows.len())
        .filter(|at| !report.rows[*at].is_good())
        .collect();
    let weight = |at: &usize| {
        let row = &report.rows[*at];
        (row.over.ms() + 1000 * row.silent().count() as i64, *at)
    };
    rows.sort_by_key(|at| {
        let (weight, at) = weight(at);
        (std::cmp::Reverse(weight), at)
    });
    rows.truncate(WORST);
    let remedy = |at| remedy(at, &report.rows[at], score, plan, session);
    let mut remedies: Vec<_> = rows.into_iter().map(remedy).collect();
    longest_for_each_place(&mut remedies);
    remedies
}

fn remedy(at: usize, row: &Row, score: &Score, plan: &Plan, session: &Session) -> Remedy {
    let shorter = row.due.iter().filter_map(|due| {
        let full = matches!(
            score.sounds[due.sound].kind,
            SoundKind::Line {
                length: script::Length::Full,
                ..
            }
        );
        let saves = due.lasts - due.shortest;
        (full && saves >= Millis::from_ms(300)).then_some((due.sound, saves))
    });
    // Neither silence nor a beginning that was early is mended by time.
    let over = row.late > Millis::ZERO;
    Remedy {
        row: at,
        edit: over.then(|| edit(row, plan, session)).flatten(),
        shorter: shorter.filter(|_| over).collect(),
        fewer: over && row.kind == SegmentKind::Work && !row.due.is_empty(),
    }
}

/// The edit that gives a row the time that it lacks, and takes none from another.
fn edit(row: &Row, plan: &Plan, session: &Session) -> Option<Edit> {
    let segment = &plan.timeline.segments[row.segment];
    let to = (segment.length() + row.late).ceil_secs();
    let length = |what| Some(Edit::Length { what, to });
    match row.kind {
        // What follows a key, and the wait for it, have lengths of their own.
        SegmentKind::LeadIn if row.segment > 0 || segment.open => None,
        SegmentKind::LeadIn if to <= LONGEST => length(Length::LeadIn),
        SegmentKind::Finish if to >= SHORTEST && to <= LONGEST => length(Length::Finish),
        SegmentKind::LeadIn | SegmentKind::Finish => None,
        SegmentKind::Rest => rest(row, plan, session),
        SegmentKind::Work => {
            let work = &plan.timeline.works[segment.work?];
            let own = work.movement_use(session).talk.filter(|_| !work.stations);
            let talk = own.unwrap_or(session.text.talk);
            let to = talk.more(-1);
            let edit = match work.stations {
                true => Edit::Talk { to },
                false => Edit::TalkAt {
                    block: work.block,
                    of: work.of,
                    to,
                },
            };
            (to != talk).then_some(edit)
        }
    }
}

/// A longer rest: where the file has the one that was too short.
fn rest(row: &Row, plan: &Plan, session: &Session) -> Option<Edit> {
    let segment = &plan.timeline.segments[row.segment];
    let work = &plan.timeline.works[segment.work?];
    let (block, of) = (work.block, work.of);
    let written = work.block(session);
    let ends_round = work.position + 1 == work.positions;
    if let Some(every) = &written.every {
        let what = Length::Of {
            block,
            time: Time::Every,
            round: None,
        };
        let to = (every.value + row.late).ceil_secs();
        return Some(Edit::Length { what, to });
    }
    let own = work.movement_use(session).rest.is_some() && !work.stations;
    let (time, rests) = match ends_round {
        true => (Time::BetweenRounds, &written.between_rounds),
        false => (Time::Rest, &written.rest),
    };
    let round = rests.same().is_none().then_some(work.round);
    // A rest of its own at the last use would be the one between rounds too.
    let last = work.of + 1 == written.uses.len();
    let one_of_many = round.is_none() && !work.stations && !last;
    let what = match own || one_of_many {
        true => Length::RestAfter { block, of },
        false => Length::Of { block, time, round },
    };
    let to = (segment.length() + row.late).ceil_secs();
    Some(Edit::Length { what, to })
}

/// Gives each place that is to be edited the longest time that any of its rows needs.
fn longest_for_each_place(remedies: &mut [Remedy]) {
    let all: Vec<Edit> = remedies.iter().filter_map(|r| r.edit.clone()).collect();
    for edit in remedies.iter_mut().filter_map(|r| r.edit.as_mut()) {
        if let Edit::Length { what, to } = edit {
            let same = all.iter().filter_map(|other| match other {
                Edit::Length { what: place, to } if place == what => Some(*to),
                _ => None,
            });
            *to = same.max().unwrap_or(*to);
        }
    }
}
