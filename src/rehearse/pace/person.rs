//! A speaker of flesh and blood: a pace, how well it is known, and another one out of breath.

use super::Heard;
use super::Pace;
use super::lines::TEN;
use super::shape::Shape;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::wording::Language;

/// A person who speaks classes.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// The language in which this person was heard.
    pub language: Language,
    /// How many lines were heard; none of a person of whom nothing is known.
    pub lines: usize,
    pub pace: Pace,
    /// The pace after a minute of moving, if it was heard.
    pub breathless: Option<Pace>,
}

impl Person {
    /// The person of whom nothing is known: [`Pace::USUAL`].
    pub const fn usual() -> Person {
        Person {
            language: Language::English,
            lines: 0,
            pace: Pace::USUAL,
            breathless: None,
        }
    }

    /// Learns a person's pace from lines heard in a rehearsal.
    pub fn learnt(heard: &[Heard], language: Language) -> Person {
        Person {
            language,
            lines: heard.len(),
            pace: Pace::fit(heard, language),
            breathless: None,
        }
    }

    /// Learns it from the ten given lines, [`TEN`], read at rest and perhaps again after a minute of moving.
    pub fn from_ten(rested: [Millis; 10], moved: Option<[Millis; 10]>) -> Person {
        let moved = moved.map(|moved| moved.map(Some));
        Person::from_lines(&rested.map(Some), moved.as_ref())
    }

    /// Learns it from those of the ten that were read well; the others are left out.
    pub fn from_lines(
        rested: &[Option<Millis>; 10],
        moved: Option<&[Option<Millis>; 10]>,
    ) -> Person {
        let heard = |lengths: &[Option<Millis>; 10]| {
            let lines = TEN.iter().zip(lengths);
            let heard = lines.filter_map(|(text, length)| {
                let text = (*text).to_owned();
                length.map(|length| Heard { text, length })
            });
            heard.collect::<Vec<_>>()
        };
        let breathless = moved.map(|moved| Pace::fit(&heard(moved), Language::English));
        Person {
            breathless,
            ..Person::learnt(&heard(rested), Language::English)
        }
    }

    /// Returns how long a text of a class takes this person, with caution ([`Pace::cautious`]): at the
    /// slower of both paces, for whoever moves along is out of breath in works and in the rests after them
    /// (people speak slower out of breath: common practice).
    pub fn length(&self, text: &str, language: Language, rate: Rate) -> Millis {
        let paces = [Some(self.pace), self.breathless].into_iter().flatten();
        let lengths = paces.map(|pace| pace.cautious(text, language, rate));
        lengths.max().unwrap_or(Millis::ZERO)
    }

    /// Returns how many words a minute this person speaks at rest: over the ten given lines, the pauses inside
    /// them counted and those between them not.
    pub fn words_a_minute(&self) -> u32 {
        let shapes = TEN.iter().map(|line| Shape::of(line, Language::English));
        let (mut words, mut ms) = (0.0, 0.0);
        for shape in shapes {
            words += shape.words;
            ms += self.pace.ms(&shape);
        }
        (words * 60_000.0 / ms.max(1.0)).round() as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_lines_tell_a_person_from_another() {
        let usual = TEN.map(|line| Pace::USUAL.length(line, Language::English, Rate::NORMAL));
        let slower = usual.map(|length| Millis::from_ms(length.ms() * 5 / 4));
        let quick = Person::from_ten(usual, None);
        assert_eq!((quick.lines, quick.breathless), (10, None));
        // 160 to 180 words a minute: Rodero 2012.
        for person in [&quick, &Person::usual()] {
            let words = person.words_a_minute();
            assert!((160..=180).contains(&words), "{words}: {person:?}");
        }
        let slow = Person::from_ten(slower, None).words_a_minute();
        let wanted = quick.words_a_minute() * 4 / 5;
        assert!(slow.abs_diff(wanted) <= 2, "{slow}, not {wanted}");
    }

    #[test]
    fn the_slower_of_both_paces_is_reckoned_with() {
        let usual = TEN.map(|line| Pace::USUAL.length(line, Language::English, Rate::NORMAL));
        let breathless = usual.map(|length| Millis::from_ms(length.ms() * 6 / 5));
        let both = Person::from_ten(usual, Some(breathless));
        let rested = Person::from_ten(usual, None);
        let moved = Person::from_ten(breathless, None);
        let length = |person: &Person| person.length(TEN[4], Language::English, Rate::NORMAL);
        assert_eq!(length(&both), length(&moved));
        assert!(length(&both) > length(&rested));
        // What is read the wrong way round is the slower of both all the same.
        let swapped = Person::from_ten(breathless, Some(usual));
        assert_eq!(length(&swapped), length(&both));
        assert_eq!(both.words_a_minute(), rested.words_a_minute());
    }
}
