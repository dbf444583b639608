//! How fast a person speaks: lines heard with their lengths -> a [`Pace`] -> how long other lines take.
//!
//! No files, clocks or threads here; who hears the lines, and where a [`Person`] is kept, is known elsewhere.

mod fit;
pub mod kept;
pub mod lines;
mod person;
mod shape;

pub use person::Person;

use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::wording::Language;
use shape::Shape;

/// A line that a person spoke, and how long it was heard, from the first sound to the last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heard {
    pub text: String,
    pub length: Millis,
}

/// What a person needs for a line, in milliseconds at the person's usual rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// A syllable: its vowel.
    pub syllable_ms: f64,
    /// Each letter of it: "strengths" is one syllable, and "a" is one.
    pub letter_ms: f64,
    /// What a comma, colon or semicolon inside the line adds.
    pub comma_ms: f64,
    /// What a full stop, question or exclamation mark inside the line adds.
    pub stop_ms: f64,
    /// What every line has beside its syllables: the start, and the lengthening before the end.
    pub around_ms: f64,
    /// How far lines are from what is expected of them, as a part of it: one standard deviation.
    pub spread: f64,
}

impl Pace {
    /// The pace of a person of whom nothing is known: 170 words a minute, the middle of the 160 to 180 at
    /// which listeners follow best (Rodero 2012, Text & Talk 32:391-411; the range from memory).
    ///
    /// At 1.2 syllables a word, as our coaching lines have (a test counts them), 170 words a minute are 3.4
    /// syllables a second with all pauses. The pauses themselves are common practice: a breath at a full
    /// stop, half of it at a comma; how a syllable is made up of vowel and letters is as in the voices that
    /// were measured (`speech/estimate.rs`). Tests hold the sum against 160 to 180 words a minute. The
    /// spread is a guess with caution: nobody has been heard yet.
    pub const USUAL: Pace = Pace {
        syllable_ms: 112.0,
        letter_ms: 40.0,
        comma_ms: 250.0,
        stop_ms: 500.0,
        around_ms: 200.0,
        spread: 0.1,
    };

    /// Learns the pace of a person from lines that were heard; see [`fit`] for the method.
    ///
    /// Lines that nobody can have spoken so, and texts without a word, do not count. What few lines do not
    /// tell is taken from [`Pace::USUAL`], as much faster or slower as this person speaks.
    pub fn fit(heard: &[Heard], language: Language) -> Pace {
        fit::fit(&shape::all(heard, language))
    }

    /// Returns how long a text takes at a rate, as expected: half of the lines are shorter.
    pub fn length(&self, text: &str, language: Language, rate: Rate) -> Millis {
        self.of_shape(&Shape::of(text, language), rate)
    }

    /// Returns how long it takes with caution: about 95 of 100 lines are shorter, as for a voice's estimate.
    pub fn cautious(&self, text: &str, language: Language, rate: Rate) -> Millis {
        /// So many standard deviations leave a twentieth of the lines above them: more than the 1.645 of a
        /// normal distribution, for some lines are far off, and those that were not heard further than
        /// those that were. Tried with synthetic coaches in `tests/it/pace/coaches.rs`.
        const ONE_IN_TWENTY: f64 = 2.0;
        let expected = self.ms(&Shape::of(text, language));
        rounded_up(expected * (1.0 + ONE_IN_TWENTY * self.spread), rate)
    }

    fn of_shape(&self, shape: &Shape, rate: Rate) -> Millis {
        rounded_up(self.ms(shape), rate)
    }

    fn ms(&self, shape: &Shape) -> f64 {
        if shape.syllables == 0.0 {
            return 0.0;
        }
        let parts = self.parts().into_iter().zip(shape.parts());
        let ms: f64 = parts.map(|(ms, times)| ms * times).sum();
        ms.max(FASTEST_MS * shape.syllables)
    }

    /// Returns the parts of it in the order of [`Shape::parts`].
    fn parts(&self) -> [f64; shape::PARTS] {
        [
            self.syllable_ms,
            self.letter_ms,
            self.comma_ms,
            self.stop_ms,
            self.around_ms,
        ]
    }
}

/// Nobody speaks a syllable in less, in ms (3 to 8 syllables a second are usual: common practice).
const FASTEST_MS: f64 = 60.0;

fn rounded_up(ms: f64, rate: Rate) -> Millis {
    Millis::from_ms((ms / f64::from(rate.factor())).ceil() as i64)
}
