//! The script: a plan for a coach who speaks it herself. What to say, in order, with the times, where she can
//! breathe, and the counts as they fall. One structure, laid out as plain text and as a page.

mod html;
mod parts;
mod text;

use super::Speaking;
use super::who_speaks;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::planning::plan::Plan;
use crate::planning::plan::Sound;
use crate::planning::plan::Tone;
use crate::planning::session::Session;
use crate::planning::timeline::Segment;

pub use html::html;
pub use text::text;

/// The least silence in which a coach can take a breath before she speaks on (common practice; a breath
/// between phrases takes a reader about half a second, and she is moving).
const BREATH: Millis = Millis::from_secs(1);

/// What a script says about the times in it.
const LEGEND: &str = "Times are those of the session's clock, with the seconds since the part began. \
                      Counts in a row fall a second apart. A breath is named where there is a second or more for it.";

/// A row of segments under one title: the opening, a round of a block, the end.
struct Chapter<'a> {
    title: String,
    parts: Vec<Part<'a>>,
}

/// A segment with what is said in it.
struct Part<'a> {
    segment: &'a Segment,
    title: String,
    items: Vec<Item<'a>>,
}

/// Something that a coach says, hears or does.
enum Item<'a> {
    /// A line to say.
    Line {
        sound: &'a Sound,
        cue: &'static str,
    },
    /// Words that fall on the clock, each at its own second.
    Counts(Vec<&'a Sound>),
    Tone {
        at: At,
        tone: Tone,
    },
    /// A silence long enough to breathe in.
    Breath {
        at: At,
        length: Millis,
    },
}

impl Item<'_> {
    fn at(&self) -> At {
        match self {
            Item::Line { sound, .. } => sound.onset,
            Item::Counts(counts) => counts.first().map_or(At::START, |first| first.onset),
            Item::Tone { at, .. } | Item::Breath { at, .. } => *at,
        }
    }
}

/// Says how long the session is and who speaks it.
fn summary(plan: &Plan, speaking: Option<Speaking>) -> String {
    let who = who_speaks(&plan.voice, speaking);
    format!("{} in all. {who}.", plan.timeline.end())
}

/// What stands beside a line that the plan has spoken faster than usual, to fit.
const FASTER: &str = "a little faster";

/// Returns whether a line is to be spoken faster than usual.
fn is_faster(sound: &Sound) -> bool {
    sound.rate > Rate::NORMAL
}

/// Says what is heard of a tone: the program's, or the coach's own whistle.
fn tone_words(tone: Tone) -> &'static str {
    match tone {
        Tone::Start => "start tone",
        Tone::End => "end tone",
    }
}

/// Returns the time on the session's clock in whole seconds. What is a second to the tenth, is one: the
/// seconds beside it say the same.
fn clock(at: At) -> String {
    let seconds = (at.ms().max(0) + 50) / 1000;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// Returns seconds to a tenth.
fn seconds(length: Millis) -> String {
    format!("{:.1}", length.secs())
}
