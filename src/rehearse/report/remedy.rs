//! The worst places of a rehearsal, and what would help there.

use super::Report;
use super::Row;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::plan::SoundKind;
use crate::planning::script::Length;
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
    /// The rest after a use of a block, both counted from 0.
    Rest {
        block: usize,
        of: usize,
        to: Millis,
    },
    LeadIn {
        to: Millis,
    },
    Finish {
        to: Millis,
    },
    Talk {
        to: Talk,
    },
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
                length: Length::Full,
                ..
            }
        );
        let saves = due.lasts - due.shortest;
        (full && saves >= Millis::from_ms(300)).then_some((due.sound, saves))
    });
    // Silence is not mended by time.
    let over = row.over > Millis::ZERO;
    Remedy {
        row: at,
        edit: over.then(|| edit(row, plan, session)).flatten(),
        shorter: shorter.filter(|_| over).collect(),
        fewer: over && row.kind == SegmentKind::Work && !row.due.is_empty(),
    }
}

/// The edit that gives a row the time that it lacks; none where a longer time here would be a shorter one
/// elsewhere, or none at all.
fn edit(row: &Row, plan: &Plan, session: &Session) -> Option<Edit> {
    let segment = &plan.timeline.segments[row.segment];
    let to = (segment.length() + row.over).ceil_secs();
    match row.kind {
        // What follows a key, and the wait for it, have lengths of their own.
        SegmentKind::LeadIn if row.segment > 0 || segment.open => None,
        SegmentKind::LeadIn => (to <= LONGEST).then_some(Edit::LeadIn { to }),
        SegmentKind::Finish => (to >= SHORTEST && to <= LONGEST).then_some(Edit::Finish { to }),
        SegmentKind::Rest => {
            let work = &plan.timeline.works[segment.work?];
            let block = work.block(session);
            // The rest after the last use is the one between rounds too.
            let last = work.of + 1 == block.uses.len();
            let own = !block.stations && block.every.is_none() && block.rest.same().is_some();
            (own && !last).then_some(Edit::Rest {
                block: work.block,
                of: work.of,
                to,
            })
        }
        SegmentKind::Work => {
            let to = session.text.talk.more(-1);
            (to != session.text.talk).then_some(Edit::Talk { to })
        }
    }
}

/// Gives each place that is to be edited the longest time that any of its rows needs.
fn longest_for_each_place(remedies: &mut [Remedy]) {
    let all: Vec<Edit> = remedies.iter().filter_map(|r| r.edit.clone()).collect();
    for edit in remedies.iter_mut().filter_map(|r| r.edit.as_mut()) {
        if let Edit::Rest { block, of, to } = edit {
            let same = all.iter().filter_map(|other| match other {
                Edit::Rest {
                    block: in_block,
                    of: after,
                    to,
                } if (*in_block, *after) == (*block, *of) => Some(*to),
                _ => None,
            });
            *to = same.max().unwrap_or(*to);
        }
    }
}
