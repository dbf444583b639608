//! Texts that could harm: pain pushed through, breath held, loads hurried, bodies shamed.

use super::Role;
use super::Text;
use super::advise;
use super::words::Word;
use super::words::all;
use super::words::around;
use super::words::negated;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::short;
use crate::planning::session::Movement;

const PAIN: [&str; 8] = [
    "pain",
    "pains",
    "hurt",
    "hurts",
    "agony",
    "ache",
    "aches",
    "discomfort",
];

/// Words before pain that send the listener into it.
const INTO: [&str; 8] = [
    "through", "past", "despite", "ignore", "ignoring", "beyond", "embrace", "fight",
];

const PAIN_PHRASES: [&str; 18] = [
    "don't stop when it hurts",
    "don't stop if it hurts",
    "not stop when it hurts",
    "not stop if it hurts",
    "go on when it hurts",
    "keep going when it hurts",
    "keep going if it hurts",
    "it should hurt",
    "meant to hurt",
    "supposed to hurt",
    "tough it out",
    "ignore it and go on",
    "feel the burn",
    "no pain no gain",
    "until it hurts",
    "make it hurt",
    "pain is weakness",
    "through the burn",
];

pub(super) fn through_pain(text: &Text) -> Option<Diagnostic> {
    let words = &text.words;
    let found = PAIN_PHRASES
        .iter()
        .find(|phrase| all(words, phrase).any(|at| !negated(words, at)))
        .map(|phrase| (*phrase).to_owned())
        .or_else(|| into_pain(words))
        .or_else(|| no_gain(words))?;
    Some(advise(
        Code::ThroughPain,
        text.place,
        format!(
            "expected pain to end a movement, found \"{}\"",
            short(&found)
        ),
        "take it out, or say \"Stop if it hurts\": pain is a sign to stop (common practice; \
         local rules go first)",
    ))
}

fn into_pain(words: &[Word]) -> Option<String> {
    let (at, into) = words
        .iter()
        .enumerate()
        .find(|(at, word)| INTO.contains(&word.low.as_str()) && pain_after(words, *at))?;
    let (_, after) = around(words, at);
    let pain = after.iter().find(|w| PAIN.contains(&w.low.as_str()))?;
    Some(format!("{} {}", into.low, pain.low))
}

fn pain_after(words: &[Word], at: usize) -> bool {
    let (_, after) = around(words, at);
    let near = after
        .iter()
        .take(3)
        .position(|w| PAIN.contains(&w.low.as_str()));
    near.is_some_and(|near| !negated(&words[..=at + near], at))
}

/// "No pain, no gain", whatever stands between.
fn no_gain(words: &[Word]) -> Option<String> {
    let low = |at: usize| words.get(at).map(|word| word.low.as_str());
    let seen = (0..words.len()).any(|at| {
        low(at) == Some("no")
            && low(at + 1) == Some("pain")
            && low(at + 2) == Some("no")
            && low(at + 3) == Some("gain")
    });
    seen.then(|| "no pain, no gain".to_owned())
}

const HELD: [&str; 20] = [
    "breath and hold it",
    "breathe in and hold it",
    "breathe in and lock",
    "hold it in as you",
    "hold it in until",
    "keep the air in",
    "keep your air in",
    "keep the breath in",
    "hold your air",
    "hold the air",
    "hold your breath",
    "hold the breath",
    "hold a breath",
    "holding your breath",
    "holding the breath",
    "hold that breath",
    "breath held",
    "breath in and hold it",
    "stop breathing",
    "lock your breath",
];

/// Words after a held breath that make it a fault: "if you hold your breath, ...".
const A_FAULT: [&str; 3] = ["stop", "easier", "less"];

pub(super) fn breath_held(text: &Text) -> Option<Diagnostic> {
    let words = &text.words;
    let asked = |phrase: &&&str| {
        all(words, phrase).any(|at| {
            let start = at.saturating_sub(2);
            let over = words[start..at]
                .iter()
                .any(|w| w.low == "than" || w.low == "of");
            // "Stop breathing" begins with the word that elsewhere turns the sense round.
            !over && !negated(words, at)
        })
    };
    let found = HELD.iter().find(asked)?;
    let fault =
        words.iter().any(|w| A_FAULT.contains(&w.low.as_str())) && *found != "stop breathing";
    (!fault).then(|| {
        advise(
            Code::BreathHeld,
            text.place,
            format!("expected the breath to go on, found \"{found}\""),
            "say \"Breathe out as you lift\": no straining, no holding (Williams et al. 2007, \
             Circulation 116:572-84)",
        )
    })
}

const HURRY: [&str; 17] = [
    "fast", "faster", "fastest", "quick", "quicker", "quickly", "hurry", "rush", "speed", "speedy",
    "rapid", "rapidly", "race", "hurried", "fire", "pump", "pace",
];

/// What may be quick while the load is not.
const LIGHT: [&str; 13] = [
    "step", "steps", "feet", "foot", "breath", "breaths", "breathe", "slow", "slowly", "slower",
    "steady", "even", "heels",
];

pub(super) fn load_hurried(text: &Text, movement: &Movement) -> Option<Diagnostic> {
    if !matches!(text.role, Role::How | Role::Cue(..)) || movement.held().next().is_none() {
        return None;
    }
    let words = &text.words;
    let hurried = |at: usize, word: &Word| {
        let (before, after) = around(words, at);
        let mut near = before.iter().chain(after);
        let pace = ["fire", "pump", "pace", "speed", "race"].contains(&word.low.as_str());
        let up = after.first().is_some_and(|w| w.low == "up");
        let too = before.last().is_some_and(|w| w.low == "too");
        HURRY.contains(&word.low.as_str())
            && (!pace || up)
            && !too
            && !near.any(|w| LIGHT.contains(&w.low.as_str()))
            && !negated(words, at)
    };
    let (_, word) = words.iter().enumerate().find(|(at, w)| hurried(*at, w))?;
    Some(advise(
        Code::LoadHurried,
        text.place,
        format!(
            "expected no hurry with something in the hands, found \"{}\"",
            word.low
        ),
        "say how the weight is controlled, such as \"Lower it slowly\": a hurried load is dropped \
         or swung (common practice)",
    ))
}

const SHAMING: [&str; 39] = [
    "rid of that belly",
    "rid of your belly",
    "lose that belly",
    "lose your belly",
    "lazy bones",
    "lazybones",
    "fat",
    "fatty",
    "fatties",
    "flab",
    "flabby",
    "chubby",
    "pudgy",
    "skinny",
    "scrawny",
    "ugly",
    "saggy",
    "cankles",
    "lardy",
    "wimp",
    "wimps",
    "beer belly",
    "love handles",
    "muffin top",
    "bingo wings",
    "thunder thighs",
    "spare tyre",
    "spare tire",
    "wobbly bits",
    "bikini body",
    "beach body",
    "summer body",
    "like a girl",
    "man up",
    "be lazy",
    "suck in your gut",
    "burn off",
    "earn your dinner",
    "work off the",
];

pub(super) fn shaming(text: &Text) -> Option<Diagnostic> {
    let words = &text.words;
    let shames = |phrase: &&&str| {
        all(words, phrase).any(|at| {
            let next = words.get(at + 1).filter(|_| !words[at].ends_a_clause());
            let next = next.map_or("", |word| word.low.as_str());
            // A thick bar and its grips have that name.
            **phrase != "fat" || !["grip", "grips", "bar", "tyre", "tire"].contains(&next)
        })
    };
    let found = SHAMING.iter().find(shames)?;
    Some(advise(
        Code::BodyShaming,
        text.place,
        format!("expected words on the movement, found \"{found}\""),
        "say what the movement does or how it feels, or leave it out: a class is for every body \
         (common practice)",
    ))
}
