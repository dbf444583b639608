//! A plan and its session -> a sheet to print: what a coach needs to see, and what participants do.
//!
//! `content` says what stands on it, `timeline` where; `html` and `pdf` write it. Black on white: what differs,
//! differs by shape and words.

mod content;
mod draw;
mod html;
mod pages;
mod pdf;
mod svg;
mod timeline;
mod wrap;

pub use content::content;
pub use html::html;
pub use pdf::Paper;
pub use pdf::pdf;

use crate::base::units::At;
use crate::base::wording::Language;
use crate::planning::plan::Tone;
use crate::planning::script::Topic;
use crate::planning::timeline::SegmentKind;

/// All that stands on a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    pub title: String,
    pub language: Language,
    /// How long it is, and who speaks.
    pub facts: String,
    /// What is said of the works as such: rounds, times, the effort aimed at.
    pub outline: Vec<String>,
    pub parts: Vec<Part>,
    pub left_out: Vec<LeftOut>,
    pub cautions: Vec<String>,
    pub ready: Vec<String>,
    pub exercises: Vec<Exercise>,
    /// Whether the exercises are stations.
    pub stations: bool,
    pub labels: Labels,
}

/// A segment with what is heard in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    pub kind: SegmentKind,
    pub start: At,
    pub end: At,
    pub heading: String,
    /// The block or round that begins with it.
    pub opens: Option<String>,
    pub heard: Vec<Heard>,
}

/// A sound of a segment.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    pub onset: At,
    pub end: At,
    pub text: String,
    pub kind: HeardKind,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeardKind {
    Tone(Tone),
    Count,
    Line(Topic),
}

/// Lines that were left out for one reason.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    pub reason: String,
    /// Each with the times at which it is missing.
    pub lines: Vec<(Vec<At>, String)>,
}

/// A movement, as who does it has to know it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Exercise {
    /// With its load, if it has one.
    pub name: String,
    /// Which sides, in which order.
    pub sides: Option<String>,
    pub start: String,
    pub how: Vec<String>,
    pub care: Vec<String>,
    pub easier: Vec<String>,
}

/// The sheet's own words, in the session's language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Labels {
    pub coach: String,
    pub participants: String,
    pub timeline: String,
    pub left_out: String,
    pub nothing: String,
    pub work: String,
    pub rest: String,
    pub around: String,
    pub start_tone: String,
    pub end_tone: String,
    pub count: String,
    pub line: String,
    pub safety: String,
    pub ready: String,
    pub exercises: String,
    pub start: String,
    pub how: String,
    pub care: String,
    pub easier: String,
    pub cautions: String,
    pub mirrored: String,
}
