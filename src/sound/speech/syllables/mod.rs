//! How many syllables a text has, counted in what is said: the pronunciation where a dictionary is part of the
//! program, the spelling elsewhere. Pure, and the same on every machine, whichever voices are here.

mod english;
mod guess;
mod romance;
mod spelling;

use crate::sound::speech::normalise;

/// Counts the syllables of a text, whatever it holds, in a language given by its tag; English for one
/// that is not known. Numbers and units count as they are said.
pub fn count(text: &str, language: &str) -> usize {
    let text = normalise::normalise(text, normalise::language(language));
    of_normalised(&text, language)
}

/// Counts the syllables of a normalised text.
pub fn of_normalised(text: &str, language: &str) -> usize {
    let of_word: fn(&str) -> usize = match base(language) {
        "es" => romance::spanish,
        "pt" => romance::portuguese,
        "de" => spelling::german,
        "fr" => spelling::french,
        _ => english::count,
    };
    words(text).map(of_word).sum()
}

/// Returns the words of a normalised text; what a hyphen joins is several.
pub fn words(text: &str) -> impl Iterator<Item = &str> {
    let words = text.split(|c: char| !c.is_alphabetic() && c != '\'');
    words.filter(|word| word.contains(char::is_alphabetic))
}

/// The first part of a language tag.
fn base(tag: &str) -> &str {
    tag.split('-').next().unwrap_or(tag)
}
