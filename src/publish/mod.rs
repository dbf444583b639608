//! One plan, many outputs: all read the same `Plan`, so they cannot disagree.
//!
//! This wing plans nothing and makes no sound; it turns a plan into text.

pub mod agenda;
pub mod captions;
pub mod chapters;
pub mod check;
pub mod excerpt;
mod html;
pub mod index;
pub mod json;
pub mod playlist;
pub mod problem;
pub mod recorded;
pub mod rounds;
pub mod script;
pub mod sheet;
pub mod text;

use serde::Serialize;

/// A person who speaks a plan herself, as outputs tell of her.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Speaking<'a> {
    pub name: &'a str,
    pub words_a_minute: u32,
    /// From how many lines her pace is known; none for a usual one.
    pub lines: usize,
    /// Whether she was heard out of breath too.
    pub breathless: bool,
}

/// Says in a sentence who speaks a plan, without its full stop.
fn who_speaks(voice: &str, speaking: Option<Speaking>) -> String {
    match speaking {
        None => format!("Voice: {voice}"),
        Some(Speaking {
            name,
            words_a_minute,
            ..
        }) => format!("Speaker: {name}, at {words_a_minute} words a minute"),
    }
}
