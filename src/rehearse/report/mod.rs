//! What a coach said, against what there was to say and the time there was for it.

mod apply;
mod judge;
mod kept;
mod remedy;
mod spoken;
mod text;

pub use apply::apply;
pub use judge::judge;
pub use kept::Kept;
pub use kept::KeptLine;
pub use kept::Occasion;
pub use kept::kept;
pub use kept::read;
pub use kept::since;
pub use remedy::Edit;
pub use remedy::Length;
pub use remedy::Remedy;
pub use remedy::Time;
pub use remedy::worst;
pub use spoken::spoken;
pub use text::text;

use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::timeline::SegmentKind;
use crate::rehearse::practice::Help;

/// A stretch of time in which the coach spoke, on the clock of the rehearsal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spoke {
    pub from: At,
    pub to: At,
}

/// What was heard of the coach in one pass over a passage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heard {
    pub passage: usize,
    /// Passes are numbered; one that `follows` began where the one before it ended, without a break.
    pub turn: u32,
    pub follows: bool,
    pub help: Help,
    pub spoke: Vec<Spoke>,
}

/// A line that was due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Due {
    /// Its place among the sounds of the plan.
    pub sound: usize,
    pub must: bool,
    /// Whether nothing was said where it was due, and too little around it to hold it.
    pub silent: bool,
    /// In its shortest wording, as fast as it may be spoken by the voice of the plan.
    pub shortest: Millis,
    pub lasts: Millis,
}

/// A rest or a work of a rehearsal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub passage: usize,
    pub help: Help,
    /// The index of its segment.
    pub segment: usize,
    pub kind: SegmentKind,
    pub due: Vec<Due>,
    /// The time there was to speak: what counts and tones leave.
    pub room: Millis,
    pub spoke: Vec<Spoke>,
    /// How far speech ran into counts and tones, the worst of them; zero where it did not.
    pub over: Millis,
    /// How far it ran into those after its beginning, which more time would mend.
    pub late: Millis,
    /// What was left at the end, before the count or the end; zero where it ran over.
    pub spare: Millis,
    /// The counts and tones that were spoken over, by their place among the sounds.
    pub over_marks: Vec<usize>,
}

impl Row {
    /// Returns how long was spoken.
    pub fn spoken(&self) -> Millis {
        self.spoke.iter().map(|s| s.to - s.from).sum()
    }

    /// Returns the musts for which there was silence.
    pub fn silent(&self) -> impl Iterator<Item = &Due> {
        self.due.iter().filter(|due| due.must && due.silent)
    }

    /// Returns whether there is nothing to better.
    pub fn is_good(&self) -> bool {
        self.over == Millis::ZERO && self.silent().next().is_none()
    }
}

/// The rows of all passages that were practised to their end, in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    pub rows: Vec<Row>,
}
