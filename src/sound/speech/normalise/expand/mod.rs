//! Numbers, units, signs and abbreviations in a cleaned text -> words.

mod amount;
mod clock;
mod part;
mod word;

use crate::sound::speech::normalise::Language;
use crate::sound::speech::normalise::Unit;

/// Spells out everything that is not a word yet. Takes printable ASCII and the letters of the
/// language.
pub fn expand(text: &str, language: &Language) -> String {
    let reader = Reader {
        text,
        bytes: text.as_bytes(),
        language,
    };
    let mut out = String::with_capacity(text.len() * 2);
    let mut at = 0;
    while at < text.len() {
        let (said, next) = reader.piece(at);
        out.push_str(&said);
        at = next;
    }
    out
}

struct Reader<'a> {
    text: &'a str,
    bytes: &'a [u8],
    language: &'a Language,
}

/// What is said, and where the reading goes on.
type Piece = (String, usize);

impl Reader<'_> {
    fn piece(&self, at: usize) -> Piece {
        let byte = self.bytes[at];
        if byte.is_ascii_digit() || (byte == b'.' && self.digit(at + 1) && !self.word_before(at)) {
            let (said, next) = self.number(at);
            // Letters and digits that touch are two words: `zone2`, `3D`.
            let before = if self.word_before(at) { " " } else { "" };
            let after = if self.letter(next) { " " } else { "" };
            return (format!("{before}{said}{after}"), next);
        }
        if byte.is_ascii_alphabetic() || !byte.is_ascii() {
            return self.word(at);
        }
        let words = &self.language.words;
        let spaced = |word: &str| (format!(" {word} "), at + 1);
        match byte {
            b'-' if !self.word_before(at)
                && !self.closing_before(at)
                && (self.digit(at + 1) || (self.at(at + 1) == b'.' && self.digit(at + 2))) =>
            {
                spaced(words.minus)
            }
            b'&' => spaced(words.and),
            b'@' => spaced(words.at),
            b'+' => spaced(words.plus),
            b'=' => spaced(words.equals),
            b'~' if self.number_follows(at + 1) => spaced(words.about),
            b'<' if self.number_follows(at + 1) => spaced(words.less_than),
            b'>' if self.number_follows(at + 1) => spaced(words.more_than),
            b'#' if self.digit(at + 1) => spaced(words.number),
            b'%' => match self.unit(at) {
                Some((unit, next)) => (format!(" {} ", unit.many), next),
                None => (" ".to_owned(), at + 1),
            },
            b'/' if self.word_before(at) && self.letter(at + 1) => {
                let after = &self.text[at + 1..at + 1 + self.letters(at + 1)];
                let part = self.language.parts.contains(&after);
                spaced(if part { words.per } else { words.or })
            }
            b'/' => (", ".to_owned(), at + 1),
            // Feet and inches, minutes of an arc: only between letters is it part of a word.
            b'\'' if at > 0 && self.digit(at - 1) => (" ".to_owned(), at + 1),
            b'~' | b'<' | b'>' | b'#' | b'$' => (" ".to_owned(), at + 1),
            _ => (char::from(byte).to_string(), at + 1),
        }
    }

    fn number(&self, at: usize) -> Piece {
        self.tempo(at)
            .or_else(|| self.clock(at))
            .or_else(|| self.span(at))
            .or_else(|| self.fraction(at))
            .unwrap_or_else(|| self.amount(at))
    }

    fn counted(&self, value: u64, unit: &Unit) -> String {
        let name = if value == 1 { unit.one } else { unit.many };
        format!("{} {name}", (self.language.before)(value, unit.gender))
    }

    fn at(&self, at: usize) -> u8 {
        self.bytes.get(at).copied().unwrap_or(0)
    }

    fn digit(&self, at: usize) -> bool {
        self.at(at).is_ascii_digit()
    }

    fn letter(&self, at: usize) -> bool {
        is_letter(&self.at(at))
    }

    fn alphanumeric(&self, at: usize) -> bool {
        self.digit(at) || self.letter(at)
    }

    fn letters(&self, at: usize) -> usize {
        (at..self.bytes.len())
            .take_while(|index| self.letter(*index))
            .count()
    }

    fn word_before(&self, at: usize) -> bool {
        at > 0 && self.alphanumeric(at - 1)
    }

    fn closing_before(&self, at: usize) -> bool {
        at > 0 && matches!(self.at(at - 1), b')' | b'%')
    }

    /// Steps over a dot that ends a short form: it is a stop only where the sentence ends with it.
    fn past_dot(&self, at: usize) -> usize {
        if self.at(at) != b'.' {
            return at;
        }
        let after = self.text[at + 1..].trim_start_matches(')');
        let next = after.trim_start_matches([' ', '(']);
        let goes_on = match next.chars().next() {
            Some(',' | ';' | ':') => true,
            Some(c) => next.len() < after.len() && (c.is_lowercase() || c.is_ascii_digit()),
            None => false,
        };
        at + usize::from(goes_on)
    }

    fn number_follows(&self, at: usize) -> bool {
        self.digit(at + usize::from(self.at(at) == b' '))
    }
}

fn is_letter(byte: &u8) -> bool {
    byte.is_ascii_alphabetic() || !byte.is_ascii()
}
