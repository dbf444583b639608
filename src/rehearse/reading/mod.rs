//! Ten given lines, read aloud at rest and perhaps again out of breath: what was heard -> the length of each,
//! which line comes next, and which is to be read again, as `step(Event) -> Vec<Effect>`.
//!
//! It hears spans and is told the time of their stream; it knows no microphone and no screen.

mod core;
#[cfg(test)]
mod tests;

use crate::base::units::At;
use crate::base::units::Millis;
use crate::rehearse::ear::Health;
use crate::rehearse::ear::Span;
use crate::rehearse::pace::lines::TEN;
use std::fmt;

pub use self::core::Reading;

/// How many lines are read.
pub const COUNT: usize = TEN.len();
/// With fewer, a cough among them would count for too much: a fit of five parts takes two spare lines.
pub const ENOUGH: usize = 7;
/// What is heard of each line; `None` for those that were left out.
pub type Lengths = [Option<Millis>; COUNT];

/// What comes from outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// Speech that is over.
    Spoke(Span),
    /// The stream has come so far, and all that was over by then has been told.
    Clock {
        at: At,
        /// Whether somebody speaks right now.
        speaking: bool,
        health: Health,
    },
    /// The one who reads wants to read again; or, while moving, to read now.
    Again,
    /// Whether to read again out of breath, where that was asked.
    Answer(bool),
    /// So long has been moved.
    Moving(Millis),
}

/// What is to be done about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Effect {
    /// Show a line, by its number from 0 on.
    Show(usize),
    /// Show it again, and say why.
    ShowAgain(usize, Why),
    /// Say that a line is left out.
    LeaveOut(usize),
    /// Ask whether it is to be read again out of breath.
    Ask,
    /// Stop listening: a minute of moving begins.
    Move,
    /// Say how much of it is left.
    Left(Millis),
    /// Go on listening: the minute is over.
    Listen,
    /// End: what was heard is enough.
    Done,
    /// End: too few lines were heard at rest.
    TooFew,
    /// End: what comes in says nothing of whoever reads.
    Unfit(Health),
}

/// Why a line is to be read again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Why {
    /// Whoever reads asked for it.
    Asked,
    /// Nothing was heard for a while; the input says of itself how it is.
    Silence(Health),
    TooShort(Millis),
    TooLong(Millis),
    /// It went on when it seemed to be over.
    WentOn,
    /// It was heard, but not well enough to be measured.
    Unfit(Health),
}

impl fmt::Display for Why {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Why::Asked => write!(f, "once more"),
            Why::Silence(Health::Good) => write!(f, "nobody was heard; read it aloud"),
            Why::Silence(health) => write!(f, "nobody was heard: {health}"),
            Why::TooShort(length) => {
                let secs = length.secs();
                write!(f, "{secs:.1} s is too short to be all of it; once more")
            }
            Why::TooLong(length) => {
                let secs = length.secs();
                write!(f, "{secs:.1} s is too long to be it alone; once more")
            }
            Why::WentOn => write!(f, "it went on after a long pause; once more, in one go"),
            Why::Unfit(health) => write!(f, "{health}; then once more"),
        }
    }
}
