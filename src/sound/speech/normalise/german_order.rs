//! German writes a place in an order with a dot, as the end of a sentence: `die 3. Übung`. Whether it is one,
//! and its ending, stand in the words around it.

use crate::sound::speech::normalise::Gender;
use crate::sound::speech::normalise::german::gender_of;

/// How many words may lie between the dot and its noun: `die 2. und 3. schwere Runde`.
const FARTHEST: usize = 4;

/// What decides the ending of an adjective.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Before {
    /// "die", "das": always -e.
    E,
    /// "am", "dem", "den", "zur": always -en.
    En,
    /// "der": -e before a masculine noun, -en before a feminine one.
    Der,
    /// "ein": by the gender of the noun.
    Ein,
    /// No article, in the dative: "nach zweiter Runde".
    Dative,
    /// No article, where a sentence or a part of one begins.
    Nothing,
}

const BEFORE: [(Before, &[&str]); 5] = [
    (
        Before::E,
        &[
            "die", "das", "diese", "dieses", "jede", "jedes", "ins", "ans", "eine", "meine",
            "deine", "seine", "ihre", "unsere", "eure",
        ],
    ),
    (
        Before::En,
        &[
            "am", "im", "zum", "zur", "vom", "beim", "dem", "den", "des", "diesem", "diesen",
            "jedem", "jeden", "einem", "einen", "einer", "eines", "deinem", "deinen", "deiner",
            "meinem", "meinen", "meiner", "eurem", "euren", "eurer",
        ],
    ),
    (Before::Der, &["der", "dieser", "jeder"]),
    (
        Before::Ein,
        &["ein", "mein", "dein", "sein", "ihr", "unser", "euer"],
    ),
    (Before::Dative, &["ab", "in", "nach", "seit", "vor"]),
];

/// After these "der" is feminine: "in der dritten Runde".
const WITH_DATIVE: [&str; 14] = [
    "ab", "an", "auf", "aus", "bei", "hinter", "in", "mit", "nach", "seit", "unter", "von", "vor",
    "während",
];

/// The ending of the place that is written with a dot between the two texts; `None` where the dot is a stop.
pub fn ending(before: &str, after: &str) -> Option<&'static str> {
    let (noun, lone) = noun(after)?;
    let gender = gender_of(&noun.to_lowercase());
    let place = place(before)?;
    if matches!(place, Before::Nothing | Before::Dative) && (gender.is_none() || !lone) {
        // "Noch 2. Dann Pause.", "1. Liegestütze": nothing says that it goes on.
        return None;
    }
    Some(match (place, gender) {
        (Before::E, _) => "te",
        (Before::En, _) | (Before::Der, Some(Gender::Feminine)) => "ten",
        (Before::Der, None) if after_dative(before) => "ten",
        // A masculine subject is the commoner: "der dritte Satz".
        (Before::Der, _) => "te",
        (Before::Nothing, Some(Gender::Feminine)) => "te",
        (Before::Ein | Before::Nothing, Some(Gender::Neuter)) => "tes",
        (Before::Dative, Some(Gender::Feminine)) => "ter",
        (Before::Dative, _) => "tem",
        (Before::Ein | Before::Nothing, _) => "ter",
    })
}

/// The noun that the place belongs to, and whether only other places lie between.
fn noun(after: &str) -> Option<(&str, bool)> {
    if !after.starts_with([' ', ',']) {
        return None;
    }
    let mut lone = true;
    let words = after.split([' ', ',']).filter(|word| !word.is_empty());
    let mut words = words.take(FARTHEST + 1).peekable();
    while let Some(word) = words.next() {
        if joins(word) || is_place(word) {
            continue;
        }
        let letters = word.trim_end_matches(|c: char| !c.is_alphabetic());
        if word.starts_with(char::is_uppercase) {
            // "Noch 2. Runde 3 beginnt": a sentence of its own.
            let counted = words
                .peek()
                .is_some_and(|next| next.starts_with(|c: char| c.is_ascii_digit()));
            return Some((letters, lone && !counted));
        }
        if letters.len() < word.len() || !word.starts_with(char::is_lowercase) {
            return None;
        }
        lone = false;
    }
    None
}

/// What stands before the place, or before the row of places that it ends: `die 2. und 3.`.
fn place(before: &str) -> Option<Before> {
    let mut words = before.split_whitespace().rev();
    let mut joined = false;
    let word = words.find(|word| {
        let passed = joins(word) || is_place(word.trim_end_matches(','));
        joined |= passed;
        !passed
    });
    let Some(word) = word else {
        return Some(Before::Nothing);
    };
    if word.ends_with(|c: char| !c.is_alphanumeric()) {
        return Some(Before::Nothing);
    }
    let word = word.to_lowercase();
    let known = BEFORE
        .iter()
        .find(|(_, words)| words.contains(&word.as_str()));
    match known {
        Some((place, _)) => Some(*place),
        None => joined.then_some(Before::Nothing),
    }
}

fn after_dative(before: &str) -> bool {
    let before = before.to_lowercase();
    let mut words = before.split_whitespace().rev();
    words.any(|word| matches!(word, "der" | "dieser" | "jeder"))
        && words.next().is_some_and(|word| WITH_DATIVE.contains(&word))
}

fn joins(word: &str) -> bool {
    matches!(word, "und" | "oder" | "bis" | "sowie")
}

/// Whether it is `3.`.
fn is_place(word: &str) -> bool {
    let digits = word.strip_suffix('.').unwrap_or_default();
    !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit())
}
