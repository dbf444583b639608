//! The texts that diagnostics point into, and places in them.

use std::ops::Range;

/// A text among the [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SourceId(u32);

/// A stretch of bytes in one text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    pub source: SourceId,
    start: u32,
    end: u32,
}

impl Place {
    /// Makes a place from a range of bytes.
    pub fn new(source: SourceId, span: Range<usize>) -> Self {
        let byte = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self {
            source,
            start: byte(span.start),
            end: byte(span.end.max(span.start)),
        }
    }

    /// Makes the place at the very start of a text.
    pub fn start_of(source: SourceId) -> Self {
        Self::new(source, 0..0)
    }

    /// Returns the range of bytes.
    pub fn span(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A value and where it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Located<T> {
    pub value: T,
    pub place: Place,
}

impl<T> Located<T> {
    /// Makes a located value.
    pub fn new(value: T, place: Place) -> Self {
        Self { value, place }
    }

    /// Changes the value and keeps the place.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Located<U> {
        Located::new(change(self.value), self.place)
    }
}

/// A line and a column, both counted from 1; the column counts characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    pub line: usize,
    pub column: usize,
}

#[derive(Debug, Clone)]
struct Source {
    path: String,
    text: String,
}

/// All texts read so far, by their display path.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    all: Vec<Source>,
}

impl Sources {
    /// Adds a text. A path without a readable text is added with an empty one.
    pub fn add(&mut self, path: impl Into<String>, text: impl Into<String>) -> SourceId {
        self.all.push(Source {
            path: path.into(),
            text: text.into(),
        });
        SourceId((self.all.len() - 1) as u32)
    }

    /// Returns the display path of a text.
    pub fn path(&self, id: SourceId) -> &str {
        &self.all[id.0 as usize].path
    }

    /// Returns a text.
    pub fn text(&self, id: SourceId) -> &str {
        &self.all[id.0 as usize].text
    }

    /// Returns all texts in the order in which they were added.
    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.all.iter().map(|source| &*source.text)
    }

    /// Returns the line and column where a place starts.
    pub fn position(&self, place: Place) -> Position {
        let text = self.text(place.source);
        let mut start = (place.start as usize).min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let before = &text[..start];
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        Position {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_counts_lines_and_characters_from_one() {
        let mut sources = Sources::default();
        let id = sources.add("a.toml", "é = 1\nrest = 2\n");
        let at = |start| {
            let p = sources.position(Place::new(id, start..start + 1));
            (p.line, p.column)
        };
        assert_eq!(at(0), (1, 1));
        assert_eq!(at(3), (1, 3));
        assert_eq!(at(7), (2, 1));
        assert_eq!(at(999), (3, 1));
    }
}
