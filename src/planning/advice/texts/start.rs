//! What the start position of a movement must tell.

use super::Role;
use super::Text;
use super::advise;
use super::lexicon::BODY;
use super::lexicon::POSTURES;
use super::words::Word;
use super::words::words;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::short;
use crate::planning::session::Movement;
use crate::planning::session::Sides;
use crate::planning::session::Template;

pub(super) fn start_missing(_: &Movement, texts: &[Text]) -> Vec<Diagnostic> {
    let silent = |text: &&Text| {
        let tells = |word: &Word| word.has_part(&BODY) || word.has_part(&POSTURES);
        text.role == Role::Start && !text.brief && !text.words.iter().any(tells)
    };
    let told = |text: &Text| {
        advise(
            Code::StartMissing,
            text.place,
            "expected a posture or a part of the body in `start`, found neither".to_owned(),
            "begin with the body, such as \"Stand tall, feet under your hips\": by ear the start \
             position is what the rest is built on (common practice)",
        )
    };
    texts.iter().filter(silent).map(told).collect()
}

/// Names that begin so are of movements that work one side.
const ONE_SIDED: [&str; 8] = [
    "one-arm",
    "single-arm",
    "one-leg",
    "single-leg",
    "one-armed",
    "one-legged",
    "one-handed",
    "single-handed",
];

pub(super) fn side_missing(movement: &Movement, _: &[Text]) -> Vec<Diagnostic> {
    let sided = |template: &Option<Template>| {
        let template = template.as_ref();
        template.is_some_and(Template::speaks_of_a_side)
    };
    let told = match movement.sides {
        Sides::Alternate => None,
        Sides::Each => {
            let said = movement.start.speaks_of_a_side()
                || movement.how.iter().any(|step| step.speaks_of_a_side())
                || [&movement.hold, &movement.take, &movement.take_brief]
                    .into_iter()
                    .any(sided);
            (!said).then(|| {
                advise(
                    Code::SideMissing,
                    movement.start.place,
                    "expected `{side}` or `{other}` in a one-sided movement, found neither"
                        .to_owned(),
                    "say which limb does what, such as \"{other} hand on the bench\": by ear \
                     nothing else tells it (common practice)",
                )
            })
        }
        Sides::Both => {
            let name: Vec<_> = words(&movement.name).into_iter().map(|w| w.low).collect();
            let begins = |known: &&&str| {
                let joined = name.iter().take(2).map(String::as_str).collect::<Vec<_>>();
                name.first().is_some_and(|first| first == **known) || joined.join("-") == **known
            };
            ONE_SIDED.iter().find(begins).map(|known| {
                advise(
                    Code::SideMissing,
                    movement.name_place,
                    format!(
                        "expected a side in a movement whose name begins \"{}\", found none",
                        short(known)
                    ),
                    "add `sides = \"each\"` and say `{side}` in `start` or `how`: by ear nothing \
                     else tells which limb works (common practice)",
                )
            })
        }
    };
    told.into_iter().collect()
}
