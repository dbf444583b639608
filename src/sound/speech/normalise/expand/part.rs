//! Parts of one, and scores: two numbers with a stroke between them.

use crate::sound::speech::normalise::expand::Piece;
use crate::sound::speech::normalise::expand::Reader;
use crate::sound::speech::normalise::number;
use crate::sound::speech::normalise::number::Written;

const HALF: &str = "1/2";

impl Reader<'_> {
    /// `3/4`, `1 1/2`, `8/10`.
    pub fn fraction(&self, at: usize) -> Option<Piece> {
        let l = self.language;
        let (first, next) = Written::read(self.bytes, at, self.language)?;
        let whole = first.value()?;
        if self.at(next) == b' ' && self.digit(next + 1) {
            let (said, end) = self.part(next + 1, true)?;
            if &self.text[next + 1..end] == HALF {
                return Some(self.and_a_half(whole, end));
            }
            let whole = (l.cardinal)(whole);
            return Some(self.measured(format!("{whole} {} {said}", l.words.and), false, end));
        }
        let (said, end) = self.part(at, false)?;
        Some(self.measured(said, &self.text[at..end] == HALF, end))
    }

    /// A whole number and a half that end at `next`, with the unit or the noun that may lie between.
    fn and_a_half(&self, whole: u64, next: usize) -> Piece {
        let l = self.language;
        let (before, after) = (l.and_a_half)(whole, self.gender_after(next));
        if after.is_empty() {
            return self.measured(before, false, next);
        }
        let from = next + usize::from(self.at(next) == b' ');
        if let Some((unit, end)) = self.unit(from) {
            let name = if whole == 1 { unit.one } else { unit.many };
            return self.ranged(format!("{before} {name} {after}"), self.past_dot(end));
        }
        let end = from + self.letters(from);
        let noun = &self.text[from..end];
        let between = (l.before_half)(noun).filter(|_| from > next && !self.digit(end));
        match between {
            Some(one) if whole == 1 => (format!("{before} {one} {after}"), end),
            Some(_) => (format!("{before} {noun} {after}"), end),
            None => self.ranged(format!("{before} {after}"), next),
        }
    }

    /// `a/b` at `at`, without what follows; `strictly` a part of one.
    fn part(&self, at: usize, strictly: bool) -> Option<Piece> {
        let l = self.language;
        let above = number::digits(self.bytes, at);
        let slash = at + above.len();
        if self.at(slash) != b'/' || !self.digit(slash + 1) {
            return None;
        }
        let below = number::digits(self.bytes, slash + 1);
        let next = slash + 1 + below.len();
        if matches!(self.at(next), b'/' | b'.') && self.digit(next + 1) {
            return None;
        }
        let (above, below): (u64, u64) = (above.parse().ok()?, below.parse().ok()?);
        if above.max(below) > 999_999 {
            return None;
        }
        let before = self.text[..at].trim_end();
        let before = &before[before.rfind(' ').map_or(0, |at| at + 1)..];
        let place = l.counted.contains(&before.to_ascii_lowercase().as_str());
        let said = match &self.text[at..next] {
            HALF => Some((l.half)(self.gender_after(next)).to_owned()),
            _ => (l.fraction)(above, below),
        };
        if let Some(said) = said.filter(|_| !place) {
            return Some((said, next));
        }
        if strictly {
            return None;
        }
        // "20/10" and "24/7" are two numbers, "7/10" and "10/10" are scores.
        let score = above < below || (above == below && below <= 10);
        let (above, below) = ((l.cardinal)(above), (l.cardinal)(below));
        let said = match score {
            true => format!("{above} {} {below}", l.words.out_of),
            false => format!("{above} {below}"),
        };
        Some((said, next))
    }
}
