//! Places that nobody could find by touch.

use super::Text;
use super::advise;
use super::lexicon::BODY;
use super::lexicon::FIXTURES;
use super::words::Word;
use super::words::all;
use super::words::around;
use super::words::words;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::short;
use crate::planning::session::Ready;
use crate::planning::session::Session;

const REASON: &str = "say where it is from the body, a bench, mat or wall, an edge of the floor \
                      or a clock face, such as \"at the bench's right end\" (WCAG 2.2, 1.3.3; \
                      common practice)";

/// Places that mean nothing unless what follows names a thing.
const VAGUE: [&str; 9] = [
    "nearby",
    "close by",
    "close at hand",
    "near at hand",
    "over by",
    "somewhere",
    "within reach",
    "within easy reach",
    "within arm's reach",
];

/// Verbs after which "around" is a place.
const LEFT_LYING: [&str; 10] = [
    "leave", "left", "lie", "lying", "lies", "put", "keep", "standing", "have", "scatter",
];

pub(super) fn vague(text: &Text) -> Option<Diagnostic> {
    let found = vague_place(&text.words)?;
    Some(advise(
        Code::PlaceVague,
        text.place,
        format!("expected a place that can be found by touch, found \"{found}\""),
        REASON,
    ))
}

fn vague_place(words: &[Word]) -> Option<&'static str> {
    let vague = |phrase: &&str| {
        all(words, phrase).any(|at| {
            let last = at + phrase.matches(' ').count();
            let (_, after) = around(words, last);
            let mut near = after.iter().take(6);
            // "Somewhere between six and eight", "bend over by pushing".
            let range = after.first().map_or("", |word| word.low.as_str());
            let range = range == "between" || range.ends_with("ing");
            !range && !near.any(|word| word.has_part(&FIXTURES) || word.has_part(&BODY))
        })
    };
    if let Some(phrase) = VAGUE.iter().find(|phrase| vague(phrase)) {
        return Some(phrase);
    }
    let lying = words.iter().enumerate().any(|(at, word)| {
        let (before, after) = around(words, at);
        let put = before.iter().any(|word| word.is_one_of(&LEFT_LYING));
        let mut named = before.iter();
        word.low == "around"
            && after.is_empty()
            && put
            && !named.any(|word| word.has_part(&BODY) || word.low == "all")
    });
    lying.then_some("around")
}

/// Words before a place.
const AT: [&str; 15] = [
    "on", "at", "under", "beside", "against", "by", "behind", "below", "past", "along", "between",
    "in", "next", "beneath", "front",
];

/// Returns advice on things that are taken up in the session, and of which nothing says where.
pub(super) fn ready_nowhere(session: &Session) -> Vec<Diagnostic> {
    let listed = &session.text.ready;
    let taken_up = |ready: &&Ready| {
        let mut held = session.movements.iter().flat_map(|m| m.held());
        held.any(|item| item.item.eq_ignore_ascii_case(&ready.item))
    };
    let nowhere = |ready: &&Ready| {
        let said = ready.say.as_deref().map(words).unwrap_or_default();
        ready.place.is_none() && !located(&said, ready, listed)
    };
    let mut found: Vec<_> = listed
        .iter()
        .filter(taken_up)
        .filter(nowhere)
        .map(|ready| {
            advise(
                Code::PlaceVague,
                ready.say_at.unwrap_or(ready.item_at),
                format!(
                    "expected where \"{}\" is found, found no place",
                    short(&ready.item)
                ),
                format!("add `place = \"the bench's right end\"`: {REASON}"),
            )
        })
        .collect();
    if session.text.by_ear {
        found.extend(unlisted(session));
    }
    found
}

fn located(said: &[Word], ready: &Ready, listed: &[Ready]) -> bool {
    let own = words(&ready.item);
    let others: Vec<_> = listed
        .iter()
        .filter(|other| other.item != ready.item)
        .flat_map(|other| words(&other.item))
        .collect();
    said.iter().enumerate().any(|(at, word)| {
        let mut then = said[at + 1..].iter().take(5);
        let reference = |word: &Word| {
            let known = word.has_part(&FIXTURES)
                || word.has_part(&BODY)
                || others.iter().any(|other| word.is_one_of(&[&other.low]));
            known && !own.iter().any(|own| word.is_one_of(&[&own.low]))
        };
        AT.contains(&word.low.as_str()) && then.any(reference)
    })
}

/// By ear, what is taken up and not listed at all has no place either.
fn unlisted(session: &Session) -> Vec<Diagnostic> {
    let listed = &session.text.ready;
    let mut told: Vec<String> = Vec::new();
    let mut found = Vec::new();
    for of in session.text.blocks.iter().flat_map(|block| &block.uses) {
        for item in session.movement(of).held() {
            let name = item.item.to_lowercase();
            let known = |ready: &Ready| ready.item.to_lowercase() == name;
            if listed.iter().any(known) || told.contains(&name) {
                continue;
            }
            found.push(advise(
                Code::PlaceVague,
                of.movement.place,
                format!(
                    "expected where \"{}\" is found, found it in no `ready`",
                    short(&item.item)
                ),
                "list it in `ready` with a `place`: by ear nothing else tells where it is \
                 (common practice)",
            ));
            told.push(name);
        }
    }
    found
}
