//! A session and its plan side by side, as the files of this room look at them.

use crate::base::diagnostic::short;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::session::Movement;
use crate::planning::session::Part;
use crate::planning::session::Said;
use crate::planning::session::Session;
use crate::planning::session::Side;
use crate::planning::session::SideWords;
use crate::planning::session::Use;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Work;

/// A session with its plan.
pub struct Look<'a> {
    pub session: &'a Session,
    pub plan: &'a Plan,
    /// In the order of the timeline's works.
    pub works: Vec<Done<'a>>,
}

/// A work with all that belongs to it.
pub struct Done<'a> {
    pub work: &'a Work,
    pub used: &'a Use,
    pub movement: &'a Movement,
    pub start: At,
    pub end: At,
    /// The rest after it, as planned.
    pub rest: Millis,
}

impl<'a> Look<'a> {
    /// Puts them side by side.
    pub fn new(session: &'a Session, plan: &'a Plan) -> Self {
        let mut works: Vec<Done> = Vec::with_capacity(plan.timeline.works.len());
        for segment in &plan.timeline.segments {
            let work = segment.work.map(|w| &plan.timeline.works[w]);
            match (segment.kind, work) {
                (SegmentKind::Work, Some(work)) => {
                    let used = work.movement_use(session);
                    works.push(Done {
                        work,
                        used,
                        movement: session.movement(used),
                        start: segment.start,
                        end: segment.end,
                        rest: Millis::ZERO,
                    });
                }
                (SegmentKind::Rest, Some(_)) => {
                    if let Some(before) = works.last_mut() {
                        before.rest = segment.length();
                    }
                }
                _ => {}
            }
        }
        Self {
            session,
            plan,
            works,
        }
    }

    /// Returns what a work is for.
    pub fn part(&self, done: &Done) -> Part {
        done.work.block(self.session).part
    }

    /// Returns the works of main blocks.
    pub fn main(&self) -> impl Iterator<Item = &Done<'a>> {
        self.works.iter().filter(|d| self.part(d) == Part::Main)
    }

    /// Returns the works of a block.
    pub fn of_block(&self, block: usize) -> impl Iterator<Item = &Done<'a>> {
        self.works.iter().filter(move |d| d.work.block == block)
    }
}

impl Done<'_> {
    /// Names the movement with its side.
    pub fn name(&self) -> String {
        match self.work.side {
            Some(side) => format!("{}, {}", short(&self.movement.name), side.id()),
            None => short(&self.movement.name),
        }
    }
}

/// Returns the full wording of a text, for the right where it speaks of a side.
pub fn words(said: &Said) -> String {
    let sides = SideWords {
        right: Side::Right.id().to_owned(),
        left: Side::Left.id().to_owned(),
    };
    said.full(Some(Side::Right), &sides)
}
