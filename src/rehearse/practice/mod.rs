//! Practising a class aloud: what is heard of the plan at each step of help, and what comes next.
//!
//! A passage is a rest with the work after it. [`Score`] says which sounds a [`Pass`] over a passage
//! has; [`Practice`] decides which pass is next, as `step(Event) -> Vec<Effect>`. The clock of a
//! rehearsal is that of the plan, [`RUN_UP`] later: what ends before a passage can be heard ahead of it.

mod core;
mod prompts;
mod score;
mod slower;

pub use self::core::Effect;
pub use self::core::Event;
pub use self::core::Practice;
pub use self::core::Wish;
pub use prompts::Prompt;
pub use prompts::first_words;
pub use score::Cue;
pub use score::Passage;
pub use score::Score;
pub use score::is_mark;
pub use slower::slow_down;

use crate::base::units::Millis;

/// So much of what comes before a passage is heard ahead of it: the count and the tone that end the
/// work before.
pub const RUN_UP: Millis = Millis::from_secs(5);

/// How much a coach is told of what she is to say, from the most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Help {
    /// A passage is heard as it will be, then it runs again with its marks alone.
    Whole,
    /// The first words of each line, over before it is due.
    FirstWords,
    /// The movement's name, over before it is due.
    Name,
    /// Counts and tones.
    Marks,
}

impl Help {
    /// The words for them, from the most help.
    pub const WORDS: [(&'static str, Help); 4] = [
        ("whole", Help::Whole),
        ("first-words", Help::FirstWords),
        ("name", Help::Name),
        ("marks", Help::Marks),
    ];

    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        let found = Self::WORDS.iter().find(|(_, help)| *help == self);
        found.map_or("", |(word, _)| word)
    }

    /// Returns one step more, or itself.
    #[must_use]
    pub fn more(self) -> Help {
        match self {
            Help::Whole | Help::FirstWords => Help::Whole,
            Help::Name => Help::FirstWords,
            Help::Marks => Help::Name,
        }
    }

    /// Returns one step less, or itself.
    #[must_use]
    pub fn less(self) -> Help {
        match self {
            Help::Whole => Help::FirstWords,
            Help::FirstWords => Help::Name,
            Help::Name | Help::Marks => Help::Marks,
        }
    }
}

/// One time through a passage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Pass {
    /// The passage, counted from 0.
    pub passage: usize,
    pub help: Help,
    /// Whether the program speaks all of it, for the coach to listen.
    pub shown: bool,
}

impl Pass {
    /// Returns the first pass over a passage.
    pub fn first(passage: usize, help: Help) -> Pass {
        Pass {
            passage,
            help,
            shown: help == Help::Whole,
        }
    }
}
