//! Things told from others by their looks alone.

use super::Role;
use super::Text;
use super::advise;
use super::lexicon::BODY;
use super::lexicon::FIXTURES;
use super::words::Word;
use super::words::around;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::short;

const LOOKS: [&str; 22] = [
    "red",
    "yellow",
    "green",
    "blue",
    "purple",
    "violet",
    "pink",
    "black",
    "white",
    "brown",
    "grey",
    "gray",
    "beige",
    "silver",
    "coloured",
    "colored",
    "striped",
    "spotted",
    "shiny",
    "turquoise",
    "orange",
    "transparent",
];

/// Words that can be found without eyes: by weight, size, stuff, side or order.
const FELT: [&str; 39] = [
    "heavy", "heavier", "heaviest", "light", "lighter", "lightest", "long", "longer", "short",
    "shorter", "thick", "thicker", "thin", "thinner", "wide", "narrow", "large", "larger", "big",
    "small", "smaller", "soft", "hard", "firm", "rough", "smooth", "rubber", "wooden", "metal",
    "iron", "foam", "cloth", "left", "right", "first", "second", "nearest", "upper", "lower",
];

/// Words before a place.
const AT: [&str; 13] = [
    "on", "at", "under", "beside", "against", "by", "behind", "in", "near", "from", "past", "next",
    "along",
];

/// Words that do not name a thing, so that the colour before them stands alone.
const NO_THING: [&str; 17] = [
    "and", "or", "as", "to", "in", "on", "at", "of", "with", "when", "then", "is", "are", "from",
    "for", "by", "while",
];

pub(super) fn by_looks_alone(text: &Text) -> Option<Diagnostic> {
    if text.role == Role::Name {
        return None;
    }
    let words = &text.words;
    let (at, word) = words
        .iter()
        .enumerate()
        .find(|(at, word)| LOOKS.contains(&word.low.as_str()) && alone(words, *at))?;
    let thing = &words[at + 1].low;
    Some(advise(
        Code::LooksOnly,
        text.place,
        format!(
            "expected more than looks, found \"{} {}\"",
            short(&word.low),
            short(thing)
        ),
        "add its weight, its size or its place, such as \"the red six-kilogram one\": looks \
         cannot be heard (WCAG 2.2, 1.3.3)",
    ))
}

fn alone(words: &[Word], at: usize) -> bool {
    let (before, after) = around(words, at);
    // The colour of a thing; "as if holding an orange" is none.
    let Some(thing) = after.first() else {
        return false;
    };
    let next = after.get(1);
    if NO_THING.contains(&thing.low.as_str()) || thing.has_part(&BODY) {
        return false;
    }
    // In a comparison nothing is to be found.
    let compared = ["like", "as"];
    if before.iter().any(|w| compared.contains(&w.low.as_str())) {
        return false;
    }
    let near = before.iter().rev().take(3).chain([thing]).chain(next);
    let felt = |word: &Word| word.has_part(&FELT) || measured(&word.low);
    if near.into_iter().any(felt) {
        return false;
    }
    !located(after)
}

fn measured(word: &str) -> bool {
    const UNITS: [&str; 8] = [
        "kilogram",
        "kilograms",
        "kg",
        "kilo",
        "kilos",
        "pound",
        "pounds",
        "lb",
    ];
    word.starts_with(|c: char| c.is_ascii_digit()) || word.split('-').any(|p| UNITS.contains(&p))
}

fn located(words: &[Word]) -> bool {
    words.iter().enumerate().any(|(at, word)| {
        let mut then = words[at + 1..].iter().take(3);
        AT.contains(&word.low.as_str()) && then.any(|word| word.has_part(&FIXTURES))
    })
}
