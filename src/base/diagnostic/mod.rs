//! What the user is told about a fault: a stable code, a message, a place in a file, help.
//!
//! Readers report every fault they find in one pass; nothing here decides what happens next.

mod code;
mod render;
mod source;
mod table;

pub use code::Code;
pub use render::Style;
pub use render::render;
pub use source::Located;
pub use source::Place;
pub use source::Position;
pub use source::SourceId;
pub use source::Sources;
pub use table::Item;
pub use table::Table;
pub use table::parse_toml;
pub use table::short;

/// How grave a diagnostic is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Worth a thought; the session runs.
    Advice,
    /// Something will not be as written; the session runs.
    Warning,
    /// The session cannot be used as it is.
    Error,
}

impl Level {
    /// Returns the word for it in printed and JSON output.
    pub const fn word(self) -> &'static str {
        match self {
            Level::Advice => "advice",
            Level::Warning => "warning",
            Level::Error => "error",
        }
    }
}

/// One thing the user should know about a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    pub code: Code,
    pub level: Level,
    /// One short sentence: what was expected first, what was found second.
    pub message: String,
    pub place: Place,
    /// A few words shown at the place; may be empty.
    pub label: String,
    /// What to do about it; may be empty.
    pub help: String,
}

impl Diagnostic {
    /// Makes an error without label or help.
    pub fn error(code: Code, place: Place, message: impl Into<String>) -> Self {
        Self {
            code,
            level: Level::Error,
            message: message.into(),
            place,
            label: String::new(),
            help: String::new(),
        }
    }

    /// Makes a warning without label or help.
    pub fn warning(code: Code, place: Place, message: impl Into<String>) -> Self {
        Self {
            level: Level::Warning,
            ..Self::error(code, place, message)
        }
    }

    /// Makes a piece of advice without label or help.
    pub fn advice(code: Code, place: Place, message: impl Into<String>) -> Self {
        Self {
            level: Level::Advice,
            ..Self::error(code, place, message)
        }
    }

    /// Adds the words shown at the place.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// Adds what to do about it.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = help.into();
        self
    }
}

/// Returns whether any of the diagnostics is an error.
pub fn any_error(diagnostics: &[Diagnostic]) -> bool {
    diagnostics.iter().any(|d| d.level == Level::Error)
}

/// Puts diagnostics in the order of files and of places within them, without repeats.
pub fn in_order(mut diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    diagnostics.sort_by(|a, b| {
        (a.place, a.code.text(), &a.message).cmp(&(b.place, b.code.text(), &b.message))
    });
    diagnostics.dedup();
    diagnostics
}

/// Returns the known word nearest to `word`, if one is near enough to be a slip of it.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let lower = word.to_lowercase();
    known
        .into_iter()
        .map(|k| (strsim::jaro_winkler(&lower, &k.to_lowercase()), k))
        .filter(|(near, _)| *near >= 0.8)
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(a.1)))
        .map(|(_, k)| k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_word_is_named_only_when_it_is_near() {
        assert_eq!(nearest("ruonds", ["rest", "rounds"]), Some("rounds"));
        assert_eq!(
            nearest("one-arm-rwo", ["one-arm-row", "press-up"]),
            Some("one-arm-row")
        );
        assert_eq!(nearest("zebra", ["rest", "rounds"]), None);
    }
}
