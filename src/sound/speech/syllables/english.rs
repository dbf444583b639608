//! English words: the vowels of their pronunciation, from the dictionary with which the neural voice's front
//! end reads. That dictionary is part of the program; what the front end would ask its model for unknown
//! words, whose files may not be here, is guessed from the spelling instead ([`guess`]).

use super::guess;
use crate::sound::speech::pronounce::phones;
use misaki_rs::Language;
use misaki_rs::Lexicon;
use misaki_rs::lexicon::TokenContext;
use std::sync::LazyLock;

/// Read at the first word: some tens of megabytes and tenths of a second.
static DICTIONARY: LazyLock<Lexicon> = LazyLock::new(|| Lexicon::new(Language::EnglishUS));

/// A word of which no more is known; no part of speech changes how many vowels are heard.
const NOUN: &str = "NN";

/// The least letters of each half of a compound: shorter words are found in names that are none.
const LEAST_HALF: usize = 4;

/// Counts the syllables of an English word.
pub fn count(word: &str) -> usize {
    let word = word.trim_matches('\'');
    if word.is_empty() {
        return 0;
    }
    pronounced(word)
        .or_else(|| compound(word))
        .unwrap_or_else(|| guess::count(word))
}

/// The vowels of a word that the dictionary has, itself or without its ending.
fn pronounced(word: &str) -> Option<usize> {
    let context = TokenContext::default();
    let (sounds, _) = DICTIONARY.get_word(word, NOUN, None, Some(&context))?;
    Some(phones::vowels(&sounds)).filter(|vowels| *vowels > 0)
}

/// The vowels of two words of the dictionary's better half that are written as one: "boathouse".
fn compound(word: &str) -> Option<usize> {
    let word = word.to_lowercase();
    let cuts = LEAST_HALF..=word.len().checked_sub(LEAST_HALF)?;
    let mut halves = cuts.rev().filter_map(|at| word.split_at_checked(at));
    let known = |half: &str| DICTIONARY.in_gold(half);
    let (first, second) = halves.find(|(first, second)| known(first) && known(second))?;
    Some(pronounced(first)? + pronounced(second)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_count_as_they_are_said() {
        // Our own knowledge; 2,000 words are compared with a dictionary in `tests/it/pace/`.
        for (word, expected) in [
            ("squat", 1),
            ("stepped", 1),
            ("lifted", 2),
            ("dumbbells", 2),
            ("breathe", 1),
            ("boathouse", 2),
            ("overhead", 3),
            ("TRX", 3),
            ("you're", 1),
            ("rower's", 2),
            ("a", 1),
        ] {
            assert_eq!(count(word), expected, "of {word}");
        }
    }
}
