//! One number: its gender, its ordinal ending, its unit, and the range it begins.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::Unit;
use crate::sound::speech::normalise::expand::Piece;
use crate::sound::speech::normalise::expand::Reader;
use crate::sound::speech::normalise::expand::is_letter;
use crate::sound::speech::normalise::number::Written;

impl Reader<'_> {
    /// A number with its ordinal ending, unit, `x` or range.
    pub fn amount(&self, at: usize) -> Piece {
        let l = self.language;
        let Some((written, next)) = Written::read(self.bytes, at, self.language) else {
            return (" ".to_owned(), at + 1);
        };
        if let Some(value) = written.value()
            && let Some(ordinal) = self.ordinal(value, at, next)
        {
            return ordinal;
        }
        let said = written.say_before(self.gender_after(next), l);
        if let Some((half, end)) = self.day(next) {
            return (format!("{said} {half}"), end);
        }
        // `3x12`, `3 x 12`, `3x`.
        let gap = usize::from(self.at(next) == b' ');
        if matches!(self.at(next + gap), b'x' | b'X') {
            let after = next + gap + 1;
            let spaces = usize::from(self.at(after) == b' ');
            if self.digit(after + spaces) {
                return (format!("{said} {} ", l.words.times), after + spaces);
            }
            if gap == 0 && !self.alphanumeric(after) {
                return (format!("{said} {}", l.words.times_alone), after);
            }
        }
        self.measured(said, written.is_one(), next)
    }

    /// The place in an order that a number from `at` to `next` is by what follows: `3rd`, `3.ª`, `3. Runde`.
    fn ordinal(&self, value: u64, at: usize, next: usize) -> Option<Piece> {
        let l = self.language;
        let dot = usize::from(self.at(next) == b'.');
        let end = next + dot + self.letters(next + dot);
        let ending = &self.text[next + dot..end];
        if l.ordinal_endings.contains(&ending) {
            return Some(((l.ordinal)(value, ending), end));
        }
        if dot == 0 {
            return None;
        }
        let said = (l.ordinal_by_dot)(&self.text[..at], value, &self.text[next + 1..])?;
        Some((said, next + 1))
    }

    /// Tells the gender of what a number that ends at `next` counts.
    pub fn gender_after(&self, next: usize) -> Option<Gender> {
        let gap = usize::from(matches!(self.at(next), b' ' | b'-'));
        if let Some((unit, _)) = self.unit(next + gap) {
            return Some(unit.gender);
        }
        let word = &self.text[next + gap..next + gap + self.letters(next + gap)];
        (self.language.gender_of)(&word.to_lowercase()).filter(|_| self.at(next) == b' ')
    }

    /// Adds the unit and the range that may follow a number which ends at `next`.
    pub fn measured(&self, said: String, one: bool, next: usize) -> Piece {
        let gap = usize::from(matches!(self.at(next), b' ' | b'-'));
        let adjective = self.at(next) == b'-';
        let (said, next) = match self.unit(next + gap) {
            Some((unit, end)) => {
                let end = if unit.signs == ["%"] {
                    end
                } else {
                    self.past_dot(end)
                };
                let rest = self.text[end..].trim_start();
                let noun = &rest[..rest.bytes().take_while(is_letter).count()];
                let noun = noun.to_ascii_lowercase();
                let describes = adjective || self.language.measured.contains(&noun.as_str());
                let name = if one || describes {
                    unit.one
                } else {
                    unit.many
                };
                (format!("{said} {name}"), end)
            }
            None => (said, next),
        };
        self.ranged(said, next)
    }

    /// Adds the range that may follow what is said and ends at `next`.
    pub fn ranged(&self, said: String, next: usize) -> Piece {
        // A range: `8-12`, `8 - 12`, `8kg-12kg`.
        let spaces = usize::from(self.at(next) == b' ');
        if self.at(next + spaces) == b'-' {
            let after = next + spaces + 1;
            let more = usize::from(spaces == 1 && self.at(after) == b' ');
            if self.digit(after + more) && (spaces == 0 || more == 1) {
                return (format!("{said} {} ", self.language.words.to), after + more);
            }
            // `20-second`: the number is a word of its own.
            if spaces == 0 && self.letter(after) {
                return (format!("{said} "), after);
            }
        }
        (said, next)
    }

    /// A unit's sign at `at` that ends there.
    pub fn unit(&self, at: usize) -> Option<(&'static Unit, usize)> {
        let rest = self.text.get(at..)?;
        let mut found: Option<(&'static Unit, usize)> = None;
        for unit in self.language.units {
            for sign in unit.signs {
                let exact = rest.starts_with(sign);
                // `KG` and `Kg` too, but a single letter only as it is written.
                let same = sign.len() > 1
                    && rest
                        .get(..sign.len())
                        .is_some_and(|start| start.eq_ignore_ascii_case(sign));
                let end = at + sign.len();
                let ends = *sign == "%" || (!self.alphanumeric(end) && self.at(end) != b'\'');
                if (exact || same) && ends && found.is_none_or(|(_, longest)| end > longest) {
                    found = Some((unit, end));
                }
            }
        }
        found
    }
}
