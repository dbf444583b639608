//! How long a text will take, before anybody has spoken it: cautious, pure, quick.

use crate::base::units::Millis;
use crate::sound::speech::Rate;
use crate::sound::speech::normalise;

/// The length of a text spoken by one voice, from its syllables, words and marks.
///
/// Calibrated on coaching lines and single words so that about 95 of 100 are shorter than
/// estimated; see the test in `tests/it/speech.rs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Every line: the lengthening before its end.
    line_ms: f32,
    syllable_ms: f32,
    /// Consonants lengthen a syllable: "strengths" is one, "a" is one.
    letter_ms: f32,
    /// A comma, colon or semicolon inside the line.
    comma_ms: f32,
    /// A full stop, question or exclamation mark inside the line.
    stop_ms: f32,
    /// A last sound that bursts, as in "left": one voice waits before it.
    burst_ms: f32,
}

impl Estimate {
    /// Returns the estimate for a voice; an unknown one is taken to be as slow as the slowest.
    pub fn for_voice(name: &str) -> Estimate {
        // Quantile regression (95 to 97 %) on the lines of that test.
        match name {
            "hibari" => Estimate {
                line_ms: 245.0,
                syllable_ms: 76.0,
                letter_ms: 36.0,
                comma_ms: 250.0,
                stop_ms: 195.0,
                burst_ms: 0.0,
            },
            _ => Estimate {
                line_ms: 300.0,
                syllable_ms: 90.0,
                letter_ms: 37.0,
                comma_ms: 600.0,
                stop_ms: 460.0,
                burst_ms: 125.0,
            },
        }
    }

    /// Estimates how long a text is heard at a rate, from onset to end.
    pub fn length(&self, text: &str, rate: Rate) -> Millis {
        let text = normalise::normalise(text, &normalise::ENGLISH);
        let features = Features::of(&text);
        let ms = self.line_ms
            + self.syllable_ms * features.syllables
            + self.letter_ms * features.letters
            + self.comma_ms * features.commas
            + self.stop_ms * features.stops
            + self.burst_ms * features.bursts;
        Millis::from_ms((ms / rate.factor()).ceil() as i64)
    }
}

/// What the length is computed from; counts as numbers to compute with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Features {
    pub syllables: f32,
    pub letters: f32,
    pub commas: f32,
    pub stops: f32,
    /// One if the last letter is b, d, g, k, p or t.
    pub bursts: f32,
}

impl Features {
    /// Counts them in a normalised text.
    pub fn of(text: &str) -> Features {
        let text = text.trim_end_matches(|c: char| !c.is_alphanumeric());
        let count = |marks: &[char]| text.matches(marks).count() as f32;
        Features {
            syllables: text
                .split(|c: char| !c.is_alphabetic() && c != '\'')
                .map(|word| syllables(word) as f32)
                .sum(),
            letters: text.chars().filter(|c| c.is_alphabetic()).count() as f32,
            commas: count(&[',', ';', ':']),
            stops: count(&['.', '?', '!']),
            bursts: f32::from(u8::from(text.ends_with(['b', 'd', 'g', 'k', 'p', 't']))),
        }
    }
}

/// Counts the syllables of an English word: its groups of vowels, less a silent final e. Letters
/// that are read one by one count one each, "w" three.
fn syllables(word: &str) -> usize {
    if word.is_empty() {
        return 0;
    }
    let initials = word.len() > 1 && word.len() < 6 && word.chars().all(|c| c.is_ascii_uppercase());
    if initials && !word.contains(['A', 'E', 'I', 'O', 'U']) {
        return word.chars().map(|c| if c == 'W' { 3 } else { 1 }).sum();
    }
    let word = word.to_ascii_lowercase();
    let vowel = |c: char| "aeiouy".contains(c);
    let mut groups = 0;
    let mut before = false;
    for c in word.chars() {
        groups += usize::from(vowel(c) && !before);
        before = vowel(c);
    }
    let silent = word.ends_with('e') && !word.ends_with("le") && !word.ends_with("ee");
    let silent =
        silent || (word.ends_with("ed") && !word.ends_with("ted") && !word.ends_with("ded"));
    groups.saturating_sub(usize::from(silent)).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn syllables_are_about_right() {
        for (word, expected) in [
            ("squat", 1),
            ("three", 1),
            ("pause", 1),
            ("elbow", 2),
            ("dumbbell", 2),
            ("shoulder", 2),
            ("overhead", 3),
            ("kilogram", 3),
            ("breathe", 1),
            ("stepped", 1),
            ("TRX", 3),
        ] {
            assert_eq!(syllables(word), expected, "of {word}");
        }
    }

    #[test]
    fn a_faster_rate_is_shorter_and_numbers_count_as_words() {
        let estimate = Estimate::for_voice("hibari");
        let normal = estimate.length("Rest, 20 s", Rate::NORMAL);
        assert_eq!(
            normal,
            estimate.length("Rest, twenty seconds", Rate::NORMAL)
        );
        let fast = estimate.length("Rest, 20 s", Rate::from_per_mille(1250));
        assert!((fast.ms() as f32 * 1.25 - normal.ms() as f32).abs() < 2.0);
    }
}
