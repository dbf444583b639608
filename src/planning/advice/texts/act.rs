//! What can be done at one hearing: one act, in few words, said as what to do.

use super::Role;
use super::Text;
use super::advise;
use super::lexicon::ACTS;
use super::lexicon::ENDINGS;
use super::lexicon::FILLERS;
use super::lexicon::SUBORDINATE;
use super::words::After;
use super::words::Word;
use super::words::clauses;
use super::words::sentences;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::short;
use crate::planning::session::Movement;

/// The most words of a cue that is heard in the work (common practice).
const MOST_WORDS: usize = 10;

pub(super) fn too_many_words(text: &Text, _: &Movement) -> Option<Diagnostic> {
    let count = text.words.len();
    (text.role.in_work() && count > MOST_WORDS).then(|| {
        advise(
            Code::ManyWords,
            text.place,
            format!("expected at most {MOST_WORDS} words in the work, found {count}"),
            "keep the one thing that matters, or say it in the rest with `when = \"before\"`: who \
             works hears a few words (common practice)",
        )
    })
}

pub(super) fn more_than_one(text: &Text, _: &Movement) -> Option<Diagnostic> {
    if !text.role.in_work() {
        return None;
    }
    let orders: Vec<_> = sentences(&text.words).flat_map(orders).collect();
    let second = orders.iter().skip(1).find(|verb| !is(verb, &ENDINGS))?;
    Some(advise(
        Code::ManyActions,
        text.place,
        format!(
            "expected one act in a cue heard in the work, found \"{}\" and \"{second}\"",
            orders[0]
        ),
        "keep the first, and make the second a cue of its own: one at a time is what can be \
         followed in the work (common practice)",
    ))
}

fn is(verb: &str, list: &[&str]) -> bool {
    list.contains(&verb)
}

/// Returns the verbs with which a sentence orders something: one at its start, and after each
/// "then" or "and". A list after commas describes one act ("bend your elbows, circle low").
fn orders(sentence: &[Word]) -> Vec<String> {
    let sentence = after_label(sentence);
    let mut found = Vec::new();
    for at in 0..sentence.len() {
        let before = &sentence[..at];
        let begins = match before.last() {
            None => true,
            Some(last) if last.after == After::Semicolon => true,
            // What stands after a colon explains what stands before it.
            Some(last) if last.after == After::Colon => found.is_empty(),
            Some(last) => is(&last.low, &["and", "then"]) && !subordinate(before),
        };
        if begins && let Some(verb) = order(&sentence[at..]) {
            found.push(verb);
        }
    }
    found
}

/// Leaves out a label such as "Easier:".
fn after_label(sentence: &[Word]) -> &[Word] {
    match sentence {
        [label, rest @ ..] if label.after == After::Colon && !rest.is_empty() => rest,
        _ => sentence,
    }
}

/// Returns whether the clause that runs up to an "and" says when or why.
fn subordinate(before: &[Word]) -> bool {
    let but_last = &before[..before.len().saturating_sub(1)];
    let start = but_last.iter().rposition(Word::ends_a_clause);
    let clause = &but_last[start.map_or(0, |at| at + 1)..];
    let turns = [
        "as", "while", "when", "before", "after", "if", "until", "so", "that", "to",
    ];
    clause.iter().any(|word| is(&word.low, &turns))
}

fn order(words: &[Word]) -> Option<String> {
    let skipped = words
        .iter()
        .take_while(|word| {
            let manner = word.low.len() > 5 && word.low.ends_with("ly");
            (manner || is(&word.low, &FILLERS)) && !word.ends_a_clause()
        })
        .count();
    let verb = &words.get(skipped)?;
    let next = words.get(skipped + 1).filter(|_| !verb.ends_a_clause());
    let next = next.map_or("", |word| word.low.as_str());
    // Going on as before is no act, and "lower hands" or "press is" are no orders.
    let goes_on = verb.low == "keep" && ["breathing", "going", "moving"].contains(&next);
    let a_noun = ["is", "are", "of", "stays"].contains(&next) || verb.after == After::Colon;
    let known = is(&verb.low, &ACTS) || is(&verb.low, &ENDINGS);
    let breath = verb.low == "breathe";
    (known && !goes_on && !a_noun && !breath).then(|| verb.low.clone())
}

const NEGATIVES: [&str; 8] = [
    "don't",
    "never",
    "avoid",
    "shouldn't",
    "mustn't",
    "not",
    "cannot",
    "can't",
];

pub(super) fn bare_negative(text: &Text, _: &Movement) -> Option<Diagnostic> {
    if !text.role.orders() {
        return None;
    }
    let said: Vec<_> = sentences(&text.words).collect();
    let bare = said.iter().enumerate().find_map(|(at, sentence)| {
        // What to do may stand beside it in a sentence of its own.
        let next = said.get(at + 1);
        let next = next.is_some_and(|next| !orders(next).is_empty() || goes_on(next));
        let before = at.checked_sub(1).map(|before| said[before]);
        let before = before.is_some_and(|before| {
            goes_on(before) || orders(before).is_empty() && negative(before, text.role).is_none()
        });
        negative(sentence, text.role).filter(|_| !next && !before)
    })?;
    Some(advise(
        Code::NegativeBare,
        text.place,
        format!("expected what to do, found only what not to do: \"{bare}\""),
        "name what to do, such as \"keep your back long\": of 40 people told what not to do, 10 \
         did it and 26 overdid the opposite (Russell and Grealy 2010, PMID 20204921)",
    ))
}

/// Returns whether a sentence says how the body stays.
fn goes_on(sentence: &[Word]) -> bool {
    let first = after_label(sentence).first();
    let first = first.map_or("", |word| word.low.as_str());
    let stays = [
        "instead", "rather", "stay", "breathe", "always", "keep", "only",
    ];
    stays.contains(&first)
}

/// Returns the negative of a sentence that says nothing else to do.
fn negative(sentence: &[Word], role: Role) -> Option<String> {
    let sentence = after_label(sentence);
    // For whom a movement is not is no matter of doing it.
    let for_whom = sentence
        .windows(3)
        .any(|seen| seen[0].low == "if" && seen[1].low == "you" && seen[2].low == "have");
    if for_whom {
        return None;
    }
    let mut found = None;
    for clause in parted(sentence) {
        match forbids(clause) {
            Some(word) => found = found.or(Some(word)),
            None => {
                let first = clause.first().map_or("", |word| word.low.as_str());
                let idle = is(first, &SUBORDINATE) || is(first, &FILLERS) && clause.len() == 1;
                if !idle && clause.len() > usize::from(role == Role::Frame) {
                    return None;
                }
            }
        }
    }
    found
}

/// Splits a sentence into clauses, at "but" and "and" as well.
fn parted(sentence: &[Word]) -> Vec<&[Word]> {
    let mut parts = Vec::new();
    for clause in clauses(sentence) {
        let mut pieces =
            clause.split(|word| ["but", "and", "instead"].contains(&word.low.as_str()));
        parts.extend(pieces.by_ref().filter(|piece| !piece.is_empty()));
    }
    parts
}

/// Returns the words with which a clause forbids, where it begins so.
fn forbids(clause: &[Word]) -> Option<String> {
    let start = clause.iter().position(|word| !is(&word.low, &FILLERS))?;
    let first = clause[start].low.as_str();
    let second = clause.get(start + 1).map_or("", |word| word.low.as_str());
    // "No" forbids an act ("no bouncing"), where a thing is left out ("no weight") it does not.
    const THINGS: [&str; 6] = ["landing", "swing", "ring", "string", "king", "thing"];
    let last = clause.last().map_or("", |word| word.low.as_str());
    let way = ["in", "out", "forward", "forwards", "backwards"].contains(&last);
    let an_act = second.ends_with("ing") && !THINGS.contains(&second);
    let no_act = (first == "no" && (an_act || way)) || (first == "stop" && an_act);
    let bound = clause[start..].windows(2).take(5).any(|two| {
        ["must", "should"].contains(&two[0].low.as_str())
            && ["never", "not"].contains(&two[1].low.as_str())
    });
    let subject = ["you", "your", "the"].contains(&first);
    let mut rest = clause[start..].iter().take(6);
    // "Don't forget to breathe" says what to do.
    let third = clause.get(start + 2).map_or("", |word| word.low.as_str());
    let positive = ["only", "just", "forget", "stop", "worry"];
    let stands = match first {
        "do" | "try" => second == "not" && !is(third, &positive),
        _ => is(first, &NEGATIVES) && !is(second, &positive),
    };
    let told =
        subject && rest.any(|word| ["shouldn't", "mustn't", "never"].contains(&word.low.as_str()));
    (stands || no_act || told || bound).then(|| {
        let shown = clause[start..].iter().take(3).map(|word| word.low.as_str());
        short(&shown.collect::<Vec<_>>().join(" "))
    })
}
