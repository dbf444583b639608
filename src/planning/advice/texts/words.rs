//! A text as words: in lower case, with what ends after each.

/// What stands between a word and the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum After {
    Space,
    Comma,
    Colon,
    Semicolon,
    Stop,
}

/// A word as it is heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Word {
    /// In lower case.
    pub low: String,
    pub written: String,
    pub after: After,
}

impl Word {
    /// Returns whether the word, or its singular, is one of a list.
    pub(super) fn is_one_of(&self, list: &[&str]) -> bool {
        is_one_of(&self.low, list)
    }

    /// Returns whether a part of the word, as hyphens join it, is one of a list.
    pub(super) fn has_part(&self, list: &[&str]) -> bool {
        self.low.split('-').any(|part| is_one_of(part, list))
    }

    pub(super) fn ends_a_clause(&self) -> bool {
        self.after > After::Space
    }
}

fn is_one_of(word: &str, list: &[&str]) -> bool {
    let owner = word.strip_suffix("'s").unwrap_or(word);
    let single = owner.strip_suffix('s').unwrap_or(owner);
    let short = owner.strip_suffix("es").unwrap_or(owner);
    let forms = [word, owner, single, short];
    list.iter().any(|known| forms.contains(known))
}

/// Splits a text into words. A dot or comma between letters or digits, a hyphen, an apostrophe
/// and a slash belong to their word.
pub(super) fn words(text: &str) -> Vec<Word> {
    let mut found: Vec<Word> = Vec::new();
    let mut open = String::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let c = if c == '\u{2019}' { '\'' } else { c };
        let inside = c.is_alphanumeric()
            || matches!(c, '\'' | '-' | '/')
            || (matches!(c, '.' | ',')
                && !open.is_empty()
                && chars.peek().is_some_and(|next| next.is_alphanumeric()));
        if inside {
            open.push(c);
            continue;
        }
        close(&mut found, &mut open);
        let after = match c {
            '.' | '!' | '?' | '\u{2026}' => After::Stop,
            ';' => After::Semicolon,
            ':' => After::Colon,
            ',' | '(' | ')' | '\u{2013}' | '\u{2014}' => After::Comma,
            _ => After::Space,
        };
        if let Some(last) = found.last_mut() {
            last.after = last.after.max(after);
        }
    }
    close(&mut found, &mut open);
    if let Some(last) = found.last_mut() {
        last.after = After::Stop;
    }
    found
}

fn close(found: &mut Vec<Word>, open: &mut String) {
    let written = std::mem::take(open);
    let bare = written.trim_matches(['\'', '-']);
    if bare.chars().any(char::is_alphanumeric) {
        found.push(Word {
            low: bare.to_lowercase(),
            written: bare.to_owned(),
            after: After::Space,
        });
    } else if !written.is_empty()
        && let Some(last) = found.last_mut()
    {
        // A dash with spaces round it parts clauses.
        last.after = last.after.max(After::Comma);
    }
}

/// Splits words where sentences end.
pub(super) fn sentences(words: &[Word]) -> impl Iterator<Item = &[Word]> {
    words.split_inclusive(|word| word.after == After::Stop)
}

/// Splits words where clauses end.
pub(super) fn clauses(words: &[Word]) -> impl Iterator<Item = &[Word]> {
    words.split_inclusive(Word::ends_a_clause)
}

/// Returns all places where a phrase stands: its words one after another within a clause.
pub(super) fn all<'w>(words: &'w [Word], phrase: &'w str) -> impl Iterator<Item = usize> + 'w {
    let wanted: Vec<&str> = phrase.split(' ').collect();
    words
        .windows(wanted.len())
        .enumerate()
        .filter(move |(_, seen)| {
            let (last, before) = (seen.len() - 1, &seen[..seen.len() - 1]);
            seen[last].low == wanted[last]
                && before
                    .iter()
                    .zip(&wanted)
                    .all(|(word, wanted)| word.low == *wanted && !word.ends_a_clause())
        })
        .map(|(at, _)| at)
}

/// Returns the words of a clause before and after a place, the place itself in neither.
pub(super) fn around(words: &[Word], at: usize) -> (&[Word], &[Word]) {
    let start = words[..at]
        .iter()
        .rposition(Word::ends_a_clause)
        .map_or(0, |end| end + 1);
    let end = words[at..]
        .iter()
        .position(Word::ends_a_clause)
        .map_or(words.len(), |end| at + end + 1);
    (&words[start..at], &words[(at + 1).min(end)..end])
}

/// Returns whether a word before a place in its clause turns the sense round.
pub(super) fn negated(words: &[Word], at: usize) -> bool {
    const NOT: [&str; 19] = [
        "don't",
        "not",
        "never",
        "without",
        "no",
        "avoid",
        "instead",
        "rather",
        "won't",
        "stop",
        "nor",
        "cannot",
        "can't",
        "shouldn't",
        "mustn't",
        "isn't",
        "if",
        "when",
        "before",
    ];
    let (before, _) = around(words, at);
    before.iter().any(|word| word.is_one_of(&NOT))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_keep_what_belongs_to_them_and_know_what_ends() {
        let found = words("Don\u{2019}t round: hip-width, 2.5 kg - w/ e.g. \u{2018}one\u{2019}.");
        let shown: Vec<_> = found.iter().map(|w| (w.low.as_str(), w.after)).collect();
        assert_eq!(
            shown,
            [
                ("don't", After::Space),
                ("round", After::Colon),
                ("hip-width", After::Comma),
                ("2.5", After::Space),
                ("kg", After::Comma),
                ("w/", After::Space),
                ("e.g", After::Stop),
                ("one", After::Stop),
            ]
        );
    }

    #[test]
    fn a_phrase_stands_within_one_clause() {
        let found = words("Like, this. Sit like this.");
        assert_eq!(all(&found, "like this").collect::<Vec<_>>(), [3]);
        assert_eq!(all(&found, "this sit").count(), 0);
        assert_eq!(all(&[], "like this").count(), 0);
    }
}
