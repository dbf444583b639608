//! Texts as people write them -> words that every engine can say.
//!
//! characters (`clean`) -> numbers, units, abbreviations (`expand`) -> punctuation (`tidy`).
//! What comes out holds ASCII letters and those that the language has beside them, apostrophes and
//! hyphens inside words, and `, . ? ! : ;` followed by one space: nothing that an engine could take
//! for markup, drop or spell out. All that depends on a language is a [`Language`] table.

mod clean;
mod english;
mod expand;
mod french;
mod german;
mod german_order;
mod number;
mod portuguese;
mod spanish;
mod tidy;

pub use english::ENGLISH;
pub use french::FRENCH;
pub use german::GERMAN;
pub use portuguese::PORTUGUESE;
pub use spanish::SPANISH;

/// The tables there are, by the first part of a language tag.
static LANGUAGES: [(&str, &Language); 5] = [
    ("en", &ENGLISH),
    ("es", &SPANISH),
    ("de", &GERMAN),
    ("fr", &FRENCH),
    ("pt", &PORTUGUESE),
];

/// How often the steps run at most: what one step writes may be read by the next round.
const ROUNDS: usize = 4;

/// Everything that depends on the language.
pub struct Language {
    /// The letters beside the ASCII ones; any other loses its mark.
    pub letters: &'static str,
    /// Says a whole number below a million millions, as one counts.
    pub cardinal: fn(u64) -> String,
    /// Says it before a noun of a gender.
    pub before: fn(u64, Gender) -> String,
    /// Tells the gender of the noun after a bare number; `None` where it is none, or not known.
    pub gender_of: fn(&str) -> Option<Gender>,
    /// Says a place in an order, written with an ending of `ordinal_endings`.
    pub ordinal: fn(u64, &str) -> String,
    /// Says a place in an order that is written with a dot, by the texts before and after it; `None` where the
    /// dot is a stop.
    pub ordinal_by_dot: fn(&str, u64, &str) -> Option<String>,
    /// What stands before decimals, and between thousands.
    pub decimal: u8,
    pub thousands: u8,
    /// Whether a plain space stands between thousands too.
    pub spaced_thousands: bool,
    /// Says a half before a noun of a gender, or alone.
    pub half: fn(Option<Gender>) -> &'static str,
    /// Says a number and a half: what stands before the noun or the unit, and what behind it.
    pub and_a_half: fn(u64, Option<Gender>) -> (String, &'static str),
    /// The singular of a noun that may stand before "and a half"; `None` where the half goes first.
    pub before_half: fn(&str) -> Option<&str>,
    /// Says `a / b` as a smaller part of one, such as "three quarters"; `None` if it is not read so.
    pub fraction: fn(u64, u64) -> Option<String>,
    /// Endings of written ordinals: `1st`.
    pub ordinal_endings: &'static [&'static str],
    pub digits: [&'static str; 10],
    pub units: &'static [Unit],
    /// Spoken for a whole word in exactly this case.
    pub abbreviations: &'static [(&'static str, &'static str)],
    /// Spoken for a beginning of a word in any case, dots and all.
    pub dotted: &'static [(&'static str, &'static str)],
    /// Nouns that a measure describes: "a six kilogram dumbbell".
    pub measured: &'static [&'static str],
    /// Nouns after which `3/5` is a place in a row or a score, not a part.
    pub counted: &'static [&'static str],
    /// Written after a time of the day.
    pub day: &'static [(&'static str, &'static str)],
    /// Whether it is said after the hour.
    pub day_in_between: bool,
    /// Letters that stand for a side, spoken where the neighbour says that a side is meant.
    pub sides: &'static [(&'static str, &'static str)],
    /// The words that follow such a letter.
    pub parts: &'static [&'static str],
    pub hour: Unit,
    pub minute: Unit,
    pub second: Unit,
    pub words: Words,
}

/// Words for signs.
pub struct Words {
    pub minus: &'static str,
    pub point: &'static str,
    pub to: &'static str,
    pub times: &'static str,
    /// After a number that no other follows: `2x`.
    pub times_alone: &'static str,
    pub degrees: &'static str,
    pub celsius: &'static str,
    pub fahrenheit: &'static str,
    pub squared: &'static str,
    pub cubed: &'static str,
    pub out_of: &'static str,
    pub per: &'static str,
    pub and: &'static str,
    pub or: &'static str,
    pub at: &'static str,
    pub plus: &'static str,
    pub equals: &'static str,
    pub about: &'static str,
    pub less_than: &'static str,
    pub more_than: &'static str,
    pub number: &'static str,
}

/// A unit: how it is written after a number, and said for one and for many.
#[derive(Clone, Copy)]
pub struct Unit {
    pub signs: &'static [&'static str],
    pub one: &'static str,
    pub many: &'static str,
    pub gender: Gender,
}

impl Unit {
    /// Makes a unit of a gender.
    pub const fn new(
        signs: &'static [&'static str],
        one: &'static str,
        many: &'static str,
        gender: Gender,
    ) -> Unit {
        Unit {
            signs,
            one,
            many,
            gender,
        }
    }
}

const fn masculine(signs: &'static [&'static str], one: &'static str, many: &'static str) -> Unit {
    Unit::new(signs, one, many, Gender::Masculine)
}

const fn feminine(signs: &'static [&'static str], one: &'static str, many: &'static str) -> Unit {
    Unit::new(signs, one, many, Gender::Feminine)
}

/// The gender of a noun by its ending, for what follows a number is a noun unless it is a small word.
fn by_ending(noun: &str, small: &[&str], feminine: &[&str], masculine: &[&str]) -> Option<Gender> {
    if small.contains(&noun) {
        return None;
    }
    Some(match feminine.iter().any(|end| noun.ends_with(end)) {
        true if !masculine.contains(&noun) => Gender::Feminine,
        _ => Gender::Masculine,
    })
}

/// Names a part of a whole in thirds, quarters or eighths: one and many of them.
fn part_of(
    (above, below): (u64, u64),
    [thirds, quarters, eighths]: [(&str, &str); 3],
    number: impl Fn(u64) -> String,
) -> Option<String> {
    if above == 0 || above >= below {
        return None;
    }
    let (one, many) = match below {
        3 => thirds,
        4 => quarters,
        8 => eighths,
        _ => return None,
    };
    let part = if above == 1 { one } else { many };
    Some(format!("{} {part}", number(above)))
}

/// The gender of a noun: what a number before it goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gender {
    Masculine,
    Feminine,
    Neuter,
}

/// Returns the table for a language tag such as `en-US`; English where there is none.
pub fn language(tag: &str) -> &'static Language {
    let base = tag.split('-').next().unwrap_or_default();
    let found = LANGUAGES.iter().find(|(name, _)| *name == base);
    found.map_or(&ENGLISH, |(_, language)| language)
}

/// Turns a text into speakable words; applied again, it changes nothing.
///
/// Empty if there is nothing in the text that could be said.
pub fn normalise(text: &str, language: &Language) -> String {
    if is_plain_word(text, language) {
        return text.to_owned();
    }
    let mut text = text.to_owned();
    for _ in 0..ROUNDS {
        let next = tidy::tidy(&expand::expand(&clean::clean(&text, language), language));
        if next == text {
            break;
        }
        text = next;
    }
    text
}

/// Whether a text is one word that is spoken as it is written: a lexicon has a hundred thousand of them.
fn is_plain_word(text: &str, language: &Language) -> bool {
    text.len() >= 4
        && text.bytes().all(|b| b.is_ascii_lowercase())
        && !language.units.iter().any(|unit| unit.signs.contains(&text))
        && !language
            .abbreviations
            .iter()
            .any(|(short, _)| *short == text)
}

#[cfg(test)]
mod languages;
#[cfg(test)]
mod tests;
