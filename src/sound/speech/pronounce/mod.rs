//! Saying it right: words that a voice would get wrong, and how they are said instead.
//!
//! An entry is a respelling or sounds in IPA. It comes from the `[pronounce]` of a voice or from a lexicon
//! (`pls`). A normalised text goes in; respellings replace their words, and sounds are written behind the word
//! they belong to in braces, which no normalised text holds: `Zercher{zˈɜɹʧəɹ}`. An engine that can say
//! sounds reads them by [`parts`]; for one that cannot, [`without_sounds`] takes them away.

pub mod phones;
pub mod pls;

use std::collections::HashMap;
use std::sync::Arc;

use phones::Phone;

use crate::sound::speech::normalise;
use crate::sound::speech::normalise::Language;

/// Words of a grapheme beyond this are not looked for.
const MOST_WORDS: usize = 6;

/// A respelling may use words that are respelled themselves, so many times.
const ROUNDS: usize = 4;

/// How a word is said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// As if it were written so.
    As(String),
    /// By its sounds.
    Sounds(Vec<Phone>),
}

impl Said {
    /// Reads an entry of `[pronounce]`: IPA between slashes, else a respelling.
    ///
    /// # Errors
    ///
    /// What was expected and what was found.
    pub fn read(text: &str) -> Result<Said, String> {
        let inner = text.trim();
        if inner.len() > 1 && inner.starts_with('/') && inner.ends_with('/') {
            return phones::read(inner).map(Said::Sounds);
        }
        if inner.contains('/') {
            return Err(format!(
                "expected a slash before and after sounds in IPA, found \"{text}\""
            ));
        }
        if inner.chars().any(char::is_alphanumeric) {
            return Ok(Said::As(inner.to_owned()));
        }
        Err(format!(
            "expected a respelling, or IPA between slashes, found \"{text}\""
        ))
    }
}

/// All that is known of how words are said; cheap to clone.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pronunciations {
    /// By normalised words in small letters, one space between.
    entries: Arc<HashMap<String, Said>>,
    longest: usize,
}

impl Pronunciations {
    /// Gathers entries for a language; a later one for the same word replaces an earlier one.
    pub fn new(
        entries: impl IntoIterator<Item = (String, Said)>,
        language: &Language,
    ) -> Pronunciations {
        let mut gathered = HashMap::new();
        let mut longest = 0;
        for (word, said) in entries {
            let key = normalise::normalise(&word, language).to_lowercase();
            let key: Vec<&str> = words(&key).collect();
            if key.is_empty() || key.len() > MOST_WORDS {
                continue;
            }
            longest = longest.max(key.len());
            let said = match said {
                Said::As(text) => Said::As(normalise::normalise(&text, language)),
                sounds => sounds,
            };
            gathered.insert(key.join(" "), said);
        }
        Pronunciations {
            entries: Arc::new(gathered),
            longest,
        }
    }

    /// Returns how many words have an entry.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Returns whether no word has an entry.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Writes into a normalised text how its words are said.
    pub fn apply(&self, text: &str) -> String {
        if self.is_empty() {
            return text.to_owned();
        }
        let mut text = text.to_owned();
        for _ in 0..ROUNDS {
            let next = self.replaced(&text, false);
            if next == text {
                break;
            }
            text = next;
        }
        self.replaced(&text, true)
    }

    /// Replaces respelled words, or adds sounds to the words that have them.
    fn replaced(&self, text: &str, sounds: bool) -> String {
        let mut out = String::with_capacity(text.len());
        let mut at = 0;
        while at < text.len() {
            let rest = &text[at..];
            let Some(start) = rest.find(is_word) else {
                break;
            };
            out.push_str(&rest[..start]);
            let rest = &rest[start..];
            let (length, said) = self.longest_of(rest);
            let found = &rest[..length];
            match said {
                Some(Said::As(spelled)) if !sounds => out.push_str(spelled),
                Some(Said::Sounds(phones)) if sounds => {
                    // Several words are one to say.
                    out.push_str(&found.replace(' ', "-"));
                    out.push('{');
                    out.extend(phones.iter().map(Phone::to_string));
                    out.push('}');
                }
                _ => out.push_str(found),
            }
            at += start + length;
        }
        out.push_str(&text[at.min(text.len())..]);
        out
    }

    /// The first word of a text, or the most words from it on that have an entry together.
    fn longest_of(&self, text: &str) -> (usize, Option<&Said>) {
        let first = text.find(|c| !is_word(c)).unwrap_or(text.len());
        let mut ends = vec![first];
        let mut end = first;
        while ends.len() < self.longest {
            let Some(next) = text[end..]
                .strip_prefix(' ')
                .filter(|t| t.starts_with(is_word))
            else {
                break;
            };
            end = text.len() - next.len() + next.find(|c| !is_word(c)).unwrap_or(next.len());
            ends.push(end);
        }
        let found = ends.into_iter().rev().find_map(|end| {
            let said = self.entries.get(&text[..end].to_lowercase())?;
            Some((end, Some(said)))
        });
        found.unwrap_or((first, None))
    }
}

/// A piece of a text that was marked: words as they are, or one with its sounds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece<'a> {
    Text(&'a str),
    Sounded(&'a str, Vec<Phone>),
}

/// Takes a text that [`Pronunciations::apply`] wrote apart.
pub fn parts(text: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let mut left = text;
    while let Some((before, after)) = left.split_once('{') {
        let Some((sounds, rest)) = after.split_once('}') else {
            break;
        };
        let word = before.rfind(|c| !is_word(c)).map_or(0, |at| {
            at + before[at..].chars().next().map_or(0, char::len_utf8)
        });
        if word > 0 {
            pieces.push(Piece::Text(&before[..word]));
        }
        pieces.push(match phones::read(sounds) {
            Ok(phones) => Piece::Sounded(&before[word..], phones),
            Err(_) => Piece::Text(&before[word..]),
        });
        left = rest;
    }
    if !left.is_empty() {
        pieces.push(Piece::Text(left));
    }
    pieces
}

/// Returns a marked text as an engine reads it that says words by its own rules.
pub fn without_sounds(text: &str) -> String {
    parts(text)
        .into_iter()
        .map(|piece| match piece {
            Piece::Text(text) | Piece::Sounded(text, _) => text,
        })
        .collect()
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c| !is_word(c)).filter(|word| !word.is_empty())
}

/// What normalised words are made of.
fn is_word(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '\'' | '-')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(entries: &[(&str, &str)]) -> Pronunciations {
        let entries = entries
            .iter()
            .map(|(word, said)| ((*word).to_owned(), Said::read(said).unwrap()));
        Pronunciations::new(entries, &normalise::ENGLISH)
    }

    #[test]
    fn words_are_found_in_any_case_and_the_longest_entry_counts() {
        let known = known(&[
            ("Zercher", "/ˈzɝtʃɚ/"),
            ("clean", "/kliːn/"),
            ("clean and jerk", "/ˈkliːnəndʒɝk/"),
            ("skull", "skul"),
        ]);
        assert_eq!(
            known.apply("zercher squat, then clean. Skull high, Zerchers."),
            "zercher{zˈɝtʃɚ} squat, then clean{klin}. skul high, Zerchers."
        );
        assert_eq!(
            known.apply("Clean and jerk."),
            "Clean-and-jerk{klˈinəndʒɝk}."
        );
        assert_eq!(known.apply("clean and press"), "clean{klin} and press");
        assert_eq!(known.apply(""), "");
    }

    #[test]
    fn a_respelling_may_use_words_with_entries_and_a_circle_ends() {
        let known = known(&[("RDLs", "romanians"), ("romanians", "/ɹoʊˈmeɪniənz/")]);
        let said = known.apply("Ten romanians.");
        assert_eq!(said, "Ten romanians{ɹoʊmˈeɪniənz}.");
        let circle = self::known(&[("left", "right"), ("right", "left")]);
        assert!(["left", "right"].contains(&circle.apply("left").as_str()));
    }

    #[test]
    fn a_marked_text_comes_apart_as_it_was_put_together() {
        let known = known(&[("burpee", "/ˈbɝpi/")]);
        let marked = known.apply("One burpee, two.");
        let pieces = parts(&marked);
        let sounds = phones::read("ˈbɝpi").unwrap();
        assert_eq!(
            pieces,
            [
                Piece::Text("One "),
                Piece::Sounded("burpee", sounds),
                Piece::Text(", two.")
            ]
        );
        assert_eq!(without_sounds(&marked), "One burpee, two.");
        for odd in ["{", "a{b", "}{", "{}", "x{7}"] {
            let _ = parts(odd);
        }
    }

    #[test]
    fn an_entry_is_ipa_between_slashes_or_a_respelling() {
        assert!(matches!(Said::read("/ˈbɝpi/"), Ok(Said::Sounds(_))));
        assert!(matches!(Said::read("bur pee"), Ok(Said::As(_))));
        assert!(Said::read("/ˈb7/").is_err());
        assert!(Said::read("...").is_err());
        assert!(Said::read("/ˈbɝpi").is_err(), "a slash is missing");
    }
}
