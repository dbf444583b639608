//! What a movement must have said for safety.

use super::Role;
use super::Text;
use super::advise;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::planning::session::CueKind;
use crate::planning::session::Movement;
use crate::planning::session::When;

pub(super) fn safety_missing(movement: &Movement, _: &[Text]) -> Vec<Diagnostic> {
    let safe = |kind: CueKind| kind == CueKind::Safety;
    let missing = !movement.cues.iter().any(|cue| safe(cue.kind));
    let told = missing.then(|| {
        advise(
            Code::SafetyMissing,
            movement.name_place,
            "expected a cue of the kind \"safety\", found none".to_owned(),
            "add the one thing that keeps the joints or the back safe, such as \"Knees follow \
             your feet\": it is said first and never left out (common practice)",
        )
    });
    told.into_iter().collect()
}

const FLOOR: [&str; 12] = [
    "free", "lengths", "space", "floor", "clear", "landing", "room", "ground", "around", "surface",
    "spot", "path",
];

const ABOVE: [&str; 7] = [
    "space", "ceiling", "above", "clear", "room", "overhead", "lamp",
];

pub(super) fn space_unchecked(movement: &Movement, texts: &[Text]) -> Vec<Diagnostic> {
    let before = |text: &&Text| {
        matches!(
            text.role,
            Role::Cue(CueKind::Safety, When::Before | When::Either)
        )
    };
    let speaks_of = |list: &[&str]| {
        let mut checks = texts.iter().filter(before);
        checks.any(|text| text.words.iter().any(|word| word.is_one_of(list)))
    };
    let demands = movement.demands;
    let wanted = [
        (
            demands.impact && !speaks_of(&FLOOR),
            "jumps",
            "Feel with a foot that the floor is clear.",
        ),
        (
            demands.overhead && !speaks_of(&ABOVE),
            "overhead work",
            "Check the space above.",
        ),
    ];
    let told = |(missing, what, say): (bool, &str, &str)| {
        missing.then(|| {
            advise(
                Code::SpaceUnchecked,
                movement.name_place,
                format!("expected a check of the space before {what}, found none"),
                format!(
                    "add a safety cue with `when = \"before\"`, such as \"{say}\" (common practice)"
                ),
            )
        })
    };
    wanted.into_iter().filter_map(told).collect()
}
