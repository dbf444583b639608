//! How long a text will take, before anybody has spoken it: cautious, pure, quick.

use crate::base::units::Millis;
use crate::sound::speech::Rate;
use crate::sound::speech::library;
use crate::sound::speech::library::EngineKind;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::normalise;

/// The length of a text spoken by one voice, from its syllables, words and marks.
///
/// Quantile regression (95 to 97 %), calibrated on coaching lines and single words so that about 95 of 100 are shorter than
/// estimated; see the test in `tests/it/speech.rs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The language of the texts.
    language: &'static str,
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
    /// Returns the estimate for an embedded voice by its name; an unknown one is taken to be as slow
    /// as the slowest.
    pub fn for_voice(name: &str) -> Estimate {
        library::find(name).map_or(SLOWEST, |voice| Estimate::of(&voice))
    }

    /// Returns the estimate for a voice; one that was not measured is taken to be as slow as the
    /// slowest.
    pub fn of(voice: &VoiceInfo) -> Estimate {
        let language = library::base(&voice.language);
        match voice.engine {
            EngineKind::Neural if voice.name == "hibari" => HIBARI,
            EngineKind::Espeak => {
                let known = ESPEAK.iter().find(|known| known.language == language);
                known.copied().unwrap_or(SLOWEST)
            }
            EngineKind::System => Estimate::of_system("en"),
            EngineKind::Neural | EngineKind::Compact => SLOWEST,
        }
    }

    /// Returns the estimate for the system's voice in a language: that of espeak-ng, which most systems
    /// have, and what it takes until something is heard; for others a guess.
    pub fn of_system(language: &str) -> Estimate {
        let base = library::base(language);
        let known = ESPEAK.iter().find(|known| known.language == base);
        let known = known.copied().unwrap_or(SLOWEST);
        Estimate {
            line_ms: known.line_ms + SYSTEM_BEGINS_MS,
            syllable_ms: known.syllable_ms * SYSTEM_SLOWER,
            letter_ms: known.letter_ms * SYSTEM_SLOWER,
            comma_ms: known.comma_ms * SYSTEM_SLOWER,
            stop_ms: known.stop_ms * SYSTEM_SLOWER,
            ..known
        }
    }

    /// Estimates how long a text is heard at a rate, from onset to end.
    pub fn length(&self, text: &str, rate: Rate) -> Millis {
        let text = normalise::normalise(text, normalise::language(self.language));
        let features = Features::of(&text, self.language);
        let ms = self.line_ms
            + self.syllable_ms * features.syllables
            + self.letter_ms * features.letters
            + self.comma_ms * features.commas
            + self.stop_ms * features.stops
            + self.burst_ms * features.bursts;
        Millis::from_ms((ms / rate.factor()).ceil() as i64)
    }
}

/// The neural voice.
const HIBARI: Estimate = Estimate {
    language: "en",
    line_ms: 245.0,
    syllable_ms: 76.0,
    letter_ms: 36.0,
    comma_ms: 250.0,
    stop_ms: 195.0,
    burst_ms: 0.0,
};

/// The compact voice, the slowest of all.
const SLOWEST: Estimate = Estimate {
    language: "en",
    line_ms: 300.0,
    syllable_ms: 90.0,
    letter_ms: 37.0,
    comma_ms: 600.0,
    stop_ms: 460.0,
    burst_ms: 125.0,
};

/// From the order to the first sample that is heard, with caution.
const SYSTEM_BEGINS_MS: f32 = 250.0;

/// speech-dispatcher asks espeak-ng for a little less than its own speed.
const SYSTEM_SLOWER: f32 = 1.06;

/// espeak-ng 1.51, by language.
const ESPEAK: [Estimate; 5] = [
    espeak("en", [259.0, 112.0, 35.0, 278.0, 588.0]),
    espeak("es", [143.0, 1.0, 64.0, 346.0, 340.0]),
    espeak("de", [399.0, 70.0, 36.0, 165.0, 295.0]),
    espeak("fr", [120.0, 77.0, 32.0, 188.0, 134.0]),
    espeak("pt", [140.0, 55.0, 48.0, 308.0, 210.0]),
];

/// The milliseconds of a line, a syllable, a letter, a comma and a stop; bursts are not waited for.
const fn espeak(language: &'static str, ms: [f32; 5]) -> Estimate {
    Estimate {
        language,
        line_ms: ms[0],
        syllable_ms: ms[1],
        letter_ms: ms[2],
        comma_ms: ms[3],
        stop_ms: ms[4],
        burst_ms: 0.0,
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
    /// Counts them in a normalised text of a language.
    pub fn of(text: &str, language: &str) -> Features {
        let syllables: fn(&str) -> usize = match language {
            "en" => syllables,
            "fr" => french_syllables,
            _ => vowel_groups,
        };
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

/// Counts the groups of vowels of a word, at least one: near enough where each is heard.
fn vowel_groups(word: &str) -> usize {
    if word.is_empty() {
        return 0;
    }
    let vowel = |c: &char| "aeiouyáàâãäåéèêëíìîïóòôõöúùûüýÿœæ".contains(*c);
    let word: Vec<char> = word.to_lowercase().chars().collect();
    let groups = word.chunk_by(|a, b| vowel(a) == vowel(b));
    groups.filter(|group| vowel(&group[0])).count().max(1)
}

/// The same for French, where an e at the end is silent.
fn french_syllables(word: &str) -> usize {
    let silent = ["e", "es", "ent"].iter().any(|end| word.ends_with(end));
    match vowel_groups(word) {
        more @ 2.. if silent => more - 1,
        other => other,
    }
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
        for (word, expected) in [("Rücken", 2), ("atrás", 2), ("Liegestütz", 3), ("y", 1)] {
            assert_eq!(vowel_groups(word), expected, "of {word}");
        }
        for (word, expected) in [("poitrine", 2), ("deux", 1), ("épaules", 2), ("le", 1)] {
            assert_eq!(french_syllables(word), expected, "of {word}");
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
