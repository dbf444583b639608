//! Joins a session with the movements it uses.

use super::Movement;
use super::Session;
use super::SessionText;
use super::SideChoice;
use super::Sides;
use super::Use;
use super::lasting;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::nearest;
use crate::base::diagnostic::short;
use crate::base::units::Millis;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The movements of a folder by id; `None` for one whose file is at fault.
pub type Library = BTreeMap<String, Option<Arc<Movement>>>;

/// The most works in a session, and its greatest length: a day.
const MOST_WORKS: usize = 10_000;
const LONGEST: Millis = Millis::from_secs(24 * 3600);

/// Returns whether a text can be an id: letters, digits, `-` and `_`.
pub fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.len() <= 100
        && text
            .chars()
            .all(|c| c.is_alphanumeric() || c == '-' || c == '_')
}

/// Joins a session with its movements; returns it if everything was found and makes sense,
/// with all faults. A movement whose own file is at fault is not reported again here.
pub fn resolve(text: SessionText, library: &Library) -> (Option<Session>, Vec<Diagnostic>) {
    let uses = text.blocks.iter().flat_map(|block| &block.uses);
    let mut faults = faults_of_uses(uses, library);
    let mut movements: Vec<Arc<Movement>> = Vec::new();
    let mut whole = true;
    for of in text.blocks.iter().flat_map(|block| &block.uses) {
        match library.get(&of.movement.value) {
            None | Some(None) => whole = false,
            Some(Some(movement)) => {
                if movements.iter().any(|m| m.id == movement.id) {
                    continue;
                }
                match movement.in_language(text.language) {
                    Some(spoken) => movements.push(spoken),
                    // Its file of texts is at fault, and was reported.
                    None => whole = false,
                }
            }
        }
    }
    faults.extend(lasting::faults(&text, library));
    faults.extend(too_long(&text, library));
    let whole = whole && !any_error(&faults);
    let session = Session { text, movements };
    (whole.then_some(session), faults)
}

/// Returns what makes no sense in uses of movements: ids that no movement has, sides where there
/// are none.
pub fn faults_of_uses<'u>(
    uses: impl IntoIterator<Item = &'u Use>,
    library: &Library,
) -> Vec<Diagnostic> {
    let faults = |of: &Use| match library.get(&of.movement.value) {
        None => vec![unknown(&of.movement, library)],
        Some(None) => Vec::new(),
        Some(Some(movement)) => faults_of_use(of, movement),
    };
    uses.into_iter().flat_map(faults).collect()
}

fn unknown(written: &Located<String>, library: &Library) -> Diagnostic {
    let id = &written.value;
    if !is_id(id) {
        return Diagnostic::error(
            Code::IdInvalid,
            written.place,
            "expected the id of a movement: letters, digits, `-` and `_`",
        )
        .help("a movement's id is its file's name in `movements` without the ending");
    }
    let fault = Diagnostic::error(
        Code::MovementUnknown,
        written.place,
        format!(
            "expected the id of a movement in this folder, found \"{}\"",
            short(id)
        ),
    );
    match nearest(id, library.keys().map(String::as_str)) {
        Some(near) => fault.help(format!("did you mean \"{near}\"?")),
        None => fault.help(format!("add the file movements/{id}.toml")),
    }
}

fn faults_of_use(of: &Use, movement: &Movement) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    if let Some(load) = &of.load
        && movement.held().next().is_none()
    {
        let fault = Diagnostic::error(
            Code::LoadWithoutItem,
            load.place,
            format!(
                "expected no load: {} has nothing in the hands",
                movement.name
            ),
        );
        faults.push(fault.help(format!(
            "take it out, or give `equipment` and `hold` in movements/{}.toml",
            movement.id
        )));
    }
    if let (Some(side), Some(first)) = (&of.side, &of.first_side)
        && matches!(side.value, SideChoice::Only(_))
    {
        let message = "expected one of `side` and `first_side`, found one side alone that begins";
        let fault = Diagnostic::error(Code::SideTwice, first.place, message);
        faults.push(fault.help("take `first_side` out, or set `side = \"each\"`"));
    }
    if movement.sides == Sides::Each {
        return faults;
    }
    // Where sides change from one repetition to the next, one of them still begins.
    let begins = of
        .first_side
        .as_ref()
        .filter(|_| movement.sides == Sides::Both);
    let asked = of.side.as_ref().map(|s| s.place);
    let asked = asked.into_iter().chain(begins.map(|s| s.place));
    for place in asked {
        let fault = Diagnostic::error(
            Code::SideWithoutSides,
            place,
            format!("expected no choice of side: {} has none", movement.name),
        );
        faults.push(fault.help(if movement.sides == Sides::Alternate {
            "take it out: its sides take turns; `first_side` says which begins".to_owned()
        } else {
            format!(
                "take it out, or set `sides = \"each\"` in movements/{}.toml",
                movement.id
            )
        }));
    }
    for cue in of.cues.iter().filter(|c| c.said.speaks_of_a_side()) {
        let fault = Diagnostic::error(
            Code::PlaceholderNoSide,
            cue.said.place,
            format!(
                "expected no {{side}} or {{other}}: {} has no side",
                movement.name
            ),
        );
        faults.push(fault.help("leave the side out of the text"));
    }
    faults
}

fn too_long(text: &SessionText, library: &Library) -> Option<Diagnostic> {
    let mut works = 0usize;
    let mut length = Millis::ZERO;
    for block in &text.blocks {
        // At most two works a use, one for each side.
        works = works.saturating_add(block.rounds * block.uses.len() * 2);
        for round in 0..block.rounds {
            for of in &block.uses {
                let Some(Some(movement)) = library.get(&of.movement.value) else {
                    continue;
                };
                let work = of.work_time(block, movement, round).length;
                length += work + of.rest_time(block, work, round);
            }
            length += block.between_rounds.in_round(round);
        }
    }
    (works > MOST_WORKS * 2 || length > LONGEST).then(|| {
        Diagnostic::error(
            Code::SessionTooLong,
            text.blocks.first().map_or(text.place, |b| b.place),
            format!("expected at most {MOST_WORKS} works and {LONGEST} in all"),
        )
        .help("fewer rounds, or several sessions")
    })
}
