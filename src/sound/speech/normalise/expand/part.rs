//! Parts of one, and scores: two numbers with a stroke between them.

use crate::sound::speech::normalise::expand::Piece;
use crate::sound::speech::normalise::expand::Reader;
use crate::sound::speech::normalise::number;
use crate::sound::speech::normalise::number::Written;

impl Reader<'_> {
    /// `3/4`, `1 1/2`, `8/10`.
    pub fn fraction(&self, at: usize) -> Option<Piece> {
        let l = self.language;
        let (first, next) = Written::read(self.bytes, at, self.language)?;
        let whole = first.value()?;
        if self.at(next) == b' ' && self.digit(next + 1) {
            let (said, end) = self.part(next + 1, true)?;
            let whole = (l.cardinal)(whole);
            return Some(self.measured(format!("{whole} {} {said}", l.words.and), false, end));
        }
        let (said, end) = self.part(at, false)?;
        Some(self.measured(said, false, end))
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
        if let Some(said) = (l.fraction)(above, below).filter(|_| !place) {
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
