//! Keys of a terminal as they are written in a mapping: `space`, `s`, `page-down`, `f5`.

use std::fmt;

/// A key that is pressed alone. Letters are the same in upper and lower case: caps lock is no
/// other key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Key {
    Char(char),
    Named(&'static str),
    Function(u8),
}

/// The keys that have a name instead of a character.
pub const NAMED: [&str; 13] = [
    "enter",
    "tab",
    "escape",
    "backspace",
    "delete",
    "up",
    "down",
    "left",
    "right",
    "home",
    "end",
    "page-up",
    "page-down",
];

const SPACE: &str = "space";

impl Key {
    /// Makes the key of a character.
    pub fn of(character: char) -> Self {
        Key::Char(character.to_lowercase().next().unwrap_or(character))
    }

    /// Reads a key as it is written.
    pub fn parse(text: &str) -> Option<Self> {
        let lower = text.to_lowercase();
        if lower == SPACE {
            return Some(Key::Char(' '));
        }
        if let Some(name) = NAMED.iter().find(|name| **name == lower) {
            return Some(Key::Named(name));
        }
        if let Some(number) = lower.strip_prefix('f').and_then(|n| n.parse().ok()) {
            return (1..=24).contains(&number).then_some(Key::Function(number));
        }
        let mut characters = lower.chars();
        match (characters.next(), characters.next()) {
            (Some(one), None) if !one.is_control() => Some(Key::of(one)),
            _ => None,
        }
    }

    /// Returns the names of keys, for help.
    pub fn names() -> impl Iterator<Item = &'static str> {
        NAMED.into_iter().chain([SPACE])
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Key::Char(' ') => f.write_str(SPACE),
            Key::Char(character) => write!(f, "{}", character.to_uppercase()),
            Key::Named(name) => f.write_str(name),
            Key::Function(number) => write!(f, "F{number}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_read_as_it_is_shown() {
        for text in ["space", "S", "+", "page-down", "F12", "ä"] {
            let key = Key::parse(text).unwrap();
            assert_eq!(Key::parse(&key.to_string()), Some(key), "{text}");
        }
        assert_eq!(Key::parse("s"), Key::parse("S"));
        for text in ["", "ss", "f0", "f25", "ctrl+s", "\u{7}"] {
            assert_eq!(Key::parse(text), None, "{text}");
        }
    }
}
