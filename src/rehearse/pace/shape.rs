//! What of a text takes time: syllables with their letters, and the marks at which a speaker pauses.

use super::Heard;
use crate::base::wording::Language;
use crate::sound::speech::normalise;
use crate::sound::speech::syllables;

/// How many parts a pace has.
pub const PARTS: usize = 5;

/// The counts of a text; numbers to compute with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    pub words: f64,
    pub syllables: f64,
    pub letters: f64,
    /// Commas, colons and semicolons with words after them.
    pub commas: f64,
    /// Full stops, question and exclamation marks with words after them.
    pub stops: f64,
}

/// A line that was heard, as the fit takes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    pub shape: Shape,
    pub ms: f64,
}

impl Shape {
    /// Counts a text as it is said: "20 s" is two words.
    pub fn of(text: &str, language: Language) -> Shape {
        let said = normalise::normalise(text, normalise::language(language.tag()));
        let inside = said.trim_end_matches(|c: char| !c.is_alphanumeric());
        let count = |marks: &[char]| inside.matches(marks).count() as f64;
        Shape {
            words: said.split_whitespace().count() as f64,
            syllables: syllables::of_normalised(&said, language.tag()) as f64,
            letters: said.chars().filter(|c| c.is_alphabetic()).count() as f64,
            commas: count(&[',', ';', ':']),
            stops: count(&['.', '?', '!']),
        }
    }

    /// Returns how often each part of a pace is needed.
    pub fn parts(&self) -> [f64; PARTS] {
        [self.syllables, self.letters, self.commas, self.stops, 1.0]
    }
}

/// Measures lines; those without a word are left out.
pub fn all(heard: &[Heard], language: Language) -> Vec<Measured> {
    let measured = heard.iter().map(|line| Measured {
        shape: Shape::of(&line.text, language),
        ms: line.length.ms() as f64,
    });
    measured.filter(|line| line.shape.syllables > 0.0).collect()
}
