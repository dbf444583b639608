//! Words that point at something seen.

use super::Text;
use super::advise;
use super::words::Word;
use super::words::all;
use super::words::around;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;

/// Phrases that point wherever they stand.
const ALWAYS: [&str; 39] = [
    "like so",
    "in the mirror",
    "where mine",
    "how my",
    "as mine",
    "towards me",
    "toward me",
    "behind me",
    "in front of me",
    "next to me",
    "see how",
    "this much",
    "this arm",
    "this leg",
    "this hand",
    "this foot",
    "this knee",
    "this elbow",
    "the other one",
    "this way",
    "that way",
    "this side",
    "that side",
    "over here",
    "over there",
    "follow me",
    "copy me",
    "watch me",
    "look at me",
    "as i do",
    "what i do",
    "like i do",
    "like me",
    "as shown",
    "as pictured",
    "as illustrated",
    "as demonstrated",
    "in the picture",
    "in the video",
];

/// Phrases that point unless what follows names the thing.
const UNLESS_NAMED: [&str; 4] = ["like this", "like that", "the other side", "the other way"];

/// After "there" or "here", no place is pointed at: "there is", "here comes".
const EXIST: [&str; 22] = [
    "is", "are", "was", "were", "will", "should", "must", "may", "might", "has", "have", "can",
    "could", "would", "isn't", "aren't", "be", "comes", "come", "goes", "we", "exists",
];

/// Before "there", it stands for an end that is near, not for a place.
const NEARLY: [&str; 5] = ["almost", "nearly", "halfway", "hang", "in"];

pub(super) fn points(text: &Text) -> Option<Diagnostic> {
    let words = &text.words;
    let pointing = pointing_phrase(words)?;
    let help = match pointing.as_str() {
        "this side" | "that side" | "the other side" => {
            "name it: `{side}` and `{other}`, or the bench, mat or wall it faces"
        }
        "watch" | "watch me" | "follow me" | "copy me" | "look at me" => {
            "say what the body does: the listener need not see anybody"
        }
        _ => "name the part of the body, the bench, mat or wall, or the direction from the body",
    };
    Some(advise(
        Code::PointingWord,
        text.place,
        format!("expected words that are enough by ear, found \"{pointing}\""),
        format!("{help} (WCAG 2.2, 1.3.3; common practice)"),
    ))
}

fn pointing_phrase(words: &[Word]) -> Option<String> {
    let always = ALWAYS.iter().find(|phrase| all(words, phrase).count() > 0);
    if let Some(phrase) = always {
        return Some((*phrase).to_owned());
    }
    let named = |phrase: &str, at: usize| {
        let last = at + phrase.matches(' ').count();
        let next = words.get(last + 1).map_or("", |word| word.low.as_str());
        let open = words[last].ends_a_clause();
        match phrase {
            "like this" | "like that" => {
                !open && !["and", "until", "for", "as", "then", "while", "with"].contains(&next)
            }
            _ => !open && next == "of",
        }
    };
    for phrase in UNLESS_NAMED {
        if all(words, phrase).any(|at| !named(phrase, at)) {
            return Some(phrase.to_owned());
        }
    }
    let single = words.iter().enumerate().find(|(at, word)| {
        let next = words.get(at + 1).filter(|_| !word.ends_a_clause());
        let next = next.map_or("", |word| word.low.as_str());
        let (before, _) = around(words, *at);
        let before = before.last().map_or("", |word| word.low.as_str());
        match word.low.as_str() {
            "there" => {
                let asked = ["is", "are", "let", "if", "was"].contains(&before) && !next.is_empty();
                !EXIST.contains(&next) && !asked && !NEARLY.contains(&before)
            }
            "here" => !EXIST.contains(&next),
            "watch" => {
                let a_clock = ["a", "the", "your", "my", "stop", "wrist"].contains(&before);
                !a_clock && next != "out"
            }
            _ => false,
        }
    });
    single.map(|(_, word)| word.low.clone())
}
