//! Words that are written short, and letters that stand for a side.

use crate::sound::speech::normalise::expand::Piece;
use crate::sound::speech::normalise::expand::Reader;
use crate::sound::speech::normalise::expand::is_letter;

impl Reader<'_> {
    pub fn word(&self, at: usize) -> Piece {
        let l = self.language;
        let next = at + self.letters(at);
        let word = &self.text[at..next];
        if self.word_before(at) {
            return (format!(" {word}"), next);
        }
        let dotted = l.dotted.iter().find(|(short, _)| {
            let start = self.text.get(at..at + short.len());
            start.is_some_and(|start| start.eq_ignore_ascii_case(short))
        });
        if let Some((short, long)) = dotted {
            return ((*long).to_owned(), at + short.len());
        }
        // `x 10`, `x3`.
        let gap = usize::from(self.at(next) == b' ');
        if matches!(word, "x" | "X") && self.digit(next + gap) && at > 0 {
            return (format!("{} ", l.words.times), next + gap);
        }
        if let Some((said, end)) = self.side(at, next) {
            return (said, end);
        }
        let possessive = self.text[next..].starts_with("'s");
        let touched =
            (self.at(next) == b'\'' && !possessive) || (at > 0 && self.at(at - 1) == b'\'');
        match l.abbreviations.iter().find(|(short, _)| *short == word) {
            Some((_, long)) if !touched => ((*long).to_owned(), self.past_dot(next)),
            _ => (word.to_owned(), next),
        }
    }

    /// A letter that stands for a side: before a part of the body, or alone between marks.
    fn side(&self, at: usize, next: usize) -> Option<Piece> {
        let l = self.language;
        let name = |from: usize, to: usize| {
            let word = self.text.get(from..to)?;
            l.sides.iter().find(|(short, _)| *short == word)
        };
        let (_, side) = name(at, next)?;
        if self.at(next) == b'/'
            && let end = next + 1 + self.letters(next + 1)
            && let Some((_, other)) = name(next + 1, end)
        {
            return Some((format!("{side} {} {other}", l.words.and), end));
        }
        let rest = self.text[next..].trim_start();
        let following = &rest[..rest.bytes().take_while(is_letter).count()];
        let before = self.text[..at].trim_end().bytes().next_back();
        let alone = before.is_none_or(|byte| b"(,:;-.".contains(&byte))
            && rest
                .bytes()
                .next()
                .is_none_or(|byte| b"),.;:!?".contains(&byte));
        let part = l.parts.contains(&following.to_ascii_lowercase().as_str());
        (alone || part).then(|| ((*side).to_owned(), next))
    }
}
