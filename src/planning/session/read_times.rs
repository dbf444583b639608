//! Reads how long works and rests last: a time, repetitions, until a key; a rest, or every minute.

use super::Lasts;
use super::PerRound;
use super::duration;
use super::text::all;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::Table;
use crate::base::units::Millis;

/// More repetitions than anybody counts aloud.
const MOST_REPS: i64 = 200;
const KEY: [(&str, ()); 1] = [("key", ())];

/// Reads how long a work lasts; `None` where what is written is at fault, `Some(None)` where
/// nothing is. `rounds` is how many durations a list must have, where there may be one.
pub(super) fn lasts(table: &mut Table, rounds: Option<Option<usize>>) -> Option<Option<Lasts>> {
    let time = table.get("work");
    let reps_written = table.has("reps");
    let reps = table.number("reps", 1..=MOST_REPS);
    let until = table.get("until");
    let written: Vec<_> = [
        time.map(|t| (t.place, "work")),
        reps.as_ref().map(|r| (r.place, "reps")),
        until.map(|u| (u.place, "until")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if let [(_, first), (place, second), ..] = written[..] {
        let message = format!("expected one of `{first}` and `{second}`, found both");
        let fault = Diagnostic::error(Code::LengthTwice, place, message);
        table.fault(fault.help(format!(
            "take `{first}` or `{second}` out: a work lasts for a time, for repetitions or until a key"
        )));
    }
    let time = time.map(|item| match rounds {
        Some(rounds) => per_round(item, rounds, |i| duration::read(i, &duration::WORK)),
        None => {
            let length = duration::read(item, &duration::WORK);
            length.map(|length| PerRound::Same(length.value))
        }
    });
    let until = until.map(|item| item.word(&KEY));
    let at_fault = written.len() > 1
        || matches!(time, Some(None))
        || matches!(until, Some(None))
        || (reps_written && reps.is_none());
    if at_fault {
        return None;
    }
    let reps = reps.map(|r| Lasts::Reps(Located::new(r.value as usize, r.place)));
    let until = until.flatten().map(|u| Lasts::UntilKey(u.place));
    Some(time.flatten().map(Lasts::For).or(reps).or(until))
}

/// What a block says of its rests.
pub(super) struct Rests {
    pub rest: PerRound,
    pub between_rounds: PerRound,
    pub every: Option<Located<Millis>>,
}

/// Reads the rests of a block.
pub(super) fn rests(table: &mut Table, rounds: Option<usize>) -> Option<Rests> {
    let rest = table.get("rest");
    let between = table.get("between_rounds");
    let every = table.get("every");
    let read = |item| per_round(item, rounds, duration::read_rest);
    let (read_rest, read_between) = (rest.map(read), between.map(read));
    let read_every = every.map(|item| duration::read(item, &duration::EVERY));
    if every.is_some() {
        for (key, item) in [("rest", rest), ("between_rounds", between)] {
            let Some(item) = item else { continue };
            item.fault(
                Code::RestTwice,
                format!("expected `every` or `{key}`, found both"),
                format!("take `{key}` out: with `every`, the rest is what the work leaves"),
            );
        }
        if rest.is_some() || between.is_some() {
            return None;
        }
        let every = read_every??;
        let nothing = PerRound::Same(Millis::ZERO);
        return Some(Rests {
            rest: nothing.clone(),
            between_rounds: nothing,
            every: Some(every),
        });
    }
    let rest = read_rest.unwrap_or(Some(PerRound::Same(Millis::ZERO)));
    let between = read_between.unwrap_or_else(|| rest.clone());
    Some(Rests {
        rest: rest?,
        between_rounds: between?,
        every: None,
    })
}

/// Reads one duration for all rounds, or a list with one for each. Where the number of rounds is
/// at fault, no list is of the wrong length.
fn per_round(
    item: Item,
    rounds: Option<usize>,
    read: impl Fn(Item) -> Option<Located<Millis>>,
) -> Option<PerRound> {
    if !item.is_list() {
        return read(item).map(|length| PerRound::Same(length.value));
    }
    let items = item.items();
    let lengths = items
        .iter()
        .map(|item| read(*item).map(|length| length.value));
    let lengths = all(lengths.collect());
    if let Some(rounds) = rounds.filter(|rounds| items.len() != *rounds) {
        item.fault(
            Code::ListLength,
            format!(
                "expected {rounds} durations, one a round, found {}",
                items.len()
            ),
            format!("list {rounds}, or set `rounds = {}`", items.len().max(1)),
        );
        return None;
    }
    lengths.map(PerRound::Each)
}
