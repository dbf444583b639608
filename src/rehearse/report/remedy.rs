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
    rows.into_iter().map(remedy).collect()
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

fn edit(row: &Row, plan: &Plan, session: &Session) -> Option<Edit> {
    let segment = &plan.timeline.segments[row.segment];
    let to = segment.length() + row.over.ceil_secs();
    match row.kind {
        SegmentKind::LeadIn => Some(Edit::LeadIn { to: to.ceil_secs() }),
        SegmentKind::Finish => Some(Edit::Finish { to: to.ceil_secs() }),
        SegmentKind::Rest => {
            let work = &plan.timeline.works[segment.work?];
            let written = work.rest?;
            Some(Edit::Rest {
                block: work.block,
                of: work.of,
                to: (written + row.over).ceil_secs(),
            })
        }
        SegmentKind::Work => {
            let to = session.text.talk.more(-1);
            (to != session.text.talk).then_some(Edit::Talk { to })
        }
    }
}
