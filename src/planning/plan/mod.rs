//! What is said, and when: lines and lengths -> a [`Plan`].
//!
//! For each stretch in order of time: marks and windows, then the best choice of lines, solved
//! exactly, then placement. `check` verifies any plan and shares no code with the rest.

mod both_sides;
pub mod check;
mod frontier;
mod grow;
mod left_out;
mod lengths;
mod marks;
mod parts;
mod past;
mod place;
mod planner;
mod prices;
mod problem;
mod said;
mod solve;
mod windows;
mod wordings;

pub use lengths::Durations;
pub use marks::REMINDER_EVERY;
pub use marks::ToneLengths;
pub use marks::counts;
pub use planner::Planner;
pub use planner::Settings;
pub use planner::StretchPlan;
pub use problem::Choice;
pub use problem::Chosen;
pub use problem::Problem;
pub use problem::ProblemLimit;
pub use problem::ProblemLine;
pub use solve::Solution;
pub use solve::greedy;
pub use solve::solve;
pub use windows::UNDIVIDED_UP_TO;
pub use windows::late_part;
pub use wordings::Wordings;

use crate::base::diagnostic::Diagnostic;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::planning::script::Length;
use crate::planning::script::Slot;
use crate::planning::script::Topic;
use crate::planning::timeline::Timeline;

/// The two tones of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tone {
    Start,
    End,
}

impl Tone {
    /// Returns the word for it in the contracts.
    pub const fn word(self) -> &'static str {
        match self {
            Tone::Start => "start",
            Tone::End => "end",
        }
    }
}

/// What a sound of a plan is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SoundKind {
    Tone(Tone),
    /// A spoken mark: its time is fixed by the clock.
    Count,
    Line {
        id: String,
        topic: Topic,
        length: Length,
    },
}

/// A sound with its exact time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sound {
    pub kind: SoundKind,
    /// First and last audible instant (above -40 dBFS at -18 LUFS).
    pub onset: At,
    pub end: At,
    /// Index of the segment in which it starts.
    pub segment: usize,
    /// What is said; empty for a tone.
    pub text: String,
    pub rate: Rate,
}

/// Time between two marks in which speech may stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Window {
    pub slot: Slot,
    /// Its number among the windows of its slot.
    pub nth: usize,
    pub start: At,
    pub end: At,
    /// The least quiet between two lines in it.
    pub gap: Millis,
    /// Index of the segment in which it lies.
    pub segment: usize,
}

impl Window {
    /// Returns how long it is.
    pub fn length(&self) -> Millis {
        self.end - self.start
    }
}

/// A line that was not said, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    pub line: String,
    pub topic: Topic,
    pub segment: usize,
    pub text: String,
    pub reason: String,
    /// The time it lacks in the best window; zero where time is not the reason.
    pub lacks: Millis,
}

/// A stretch as it was given to the solver, with what was chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solved {
    pub index: usize,
    pub problem: Problem,
    pub solution: Solution,
    /// Where each chosen line starts, in the order of `solution.chosen`.
    pub starts: Vec<At>,
    /// All that could have been said, with its lengths.
    pub wordings: Vec<Wordings>,
}

/// All that a listener will hear, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub title: String,
    pub voice: String,
    pub timeline: Timeline,
    /// In order of onset.
    pub sounds: Vec<Sound>,
    pub left_out: Vec<LeftOut>,
    pub stretches: Vec<Solved>,
    pub diagnostics: Vec<Diagnostic>,
}
