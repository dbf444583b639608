//! The breath goes out on the effort and in on the return.

use super::Role;
use super::Text;
use super::advise;
use super::words::Word;
use super::words::clauses;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::planning::session::Movement;
use crate::planning::session::Pattern;
use crate::planning::session::Phase;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Breath {
    In,
    Out,
}

/// Words that are the return wherever a load or the body is moved up and down.
const RETURN: [&str; 10] = [
    "lower",
    "lowering",
    "lowers",
    "sink",
    "sinking",
    "descend",
    "descending",
    "sit",
    "sitting",
    "dip",
];

/// Words that are the effort there.
const EFFORT: [&str; 20] = [
    "lift",
    "lifting",
    "lifts",
    "press",
    "pressing",
    "drive",
    "driving",
    "stand",
    "standing",
    "rise",
    "rising",
    "rises",
    "raise",
    "raising",
    "curl",
    "curling",
    "straighten",
    "straightening",
    "push",
    "pushing",
];

/// "Coming down" is the return, "going up" the effort.
const GOING: [&str; 6] = ["go", "going", "come", "coming", "move", "moving"];

/// How many words from the breath its phase may stand.
const NEAR: usize = 5;

pub(super) fn reversed(text: &Text, movement: &Movement) -> Option<Diagnostic> {
    // Elsewhere (mobility, bracing, turning, walking) either phase may be the effort.
    let two_phases = matches!(
        movement.pattern,
        Pattern::Squat | Pattern::Hinge | Pattern::Lunge | Pattern::Push | Pattern::Pull
    );
    if !two_phases || movement.demands.held_still || !matches!(text.role, Role::How | Role::Cue(..))
    {
        return None;
    }
    let (breath, phase, word) = clauses(&text.words).find_map(|clause| wrong(clause, movement))?;
    let (breath, on, say) = match (breath, phase) {
        (Breath::Out, _) => ("out", "return", "in"),
        (Breath::In, _) => ("in", "effort", "out"),
    };
    Some(advise(
        Code::BreathReversed,
        text.place,
        format!("expected the breath {say} with \"{word}\", found it {breath}: that is the {on}"),
        format!(
            "say \"{say}\" in its place: out on the effort, in on the return (Williams et al. \
             2007, Circulation 116:572-84)"
        ),
    ))
}

/// Returns a breath and the phase to which a clause ties it, where they do not go together.
fn wrong(clause: &[Word], movement: &Movement) -> Option<(Breath, Phase, String)> {
    let breaths: Vec<_> = (0..clause.len())
        .filter_map(|at| breath_at(clause, at).map(|breath| (at, breath)))
        .collect();
    // Two breaths in a clause, or two phases: which goes with which is anybody's guess.
    let [(at, breath)] = breaths[..] else {
        return None;
    };
    let tied = clause.get(at + 1).is_some_and(|next| {
        let low = next.low.as_str();
        ["as", "while", "when", "on", "during"].contains(&low) || low.ends_with("ing")
    });
    let scope = if tied {
        &clause[at + 1..clause.len().min(at + 1 + NEAR)]
    } else {
        before_the_breath(clause, at)?
    };
    let phases: Vec<_> = (0..scope.len())
        .filter_map(|at| phase_at(scope, at, movement).map(|phase| (phase, scope[at].low.clone())))
        .collect();
    let (phase, word) = phases.first()?.clone();
    if phases.iter().any(|(other, _)| *other != phase) {
        return None;
    }
    let wrong = matches!(
        (breath, phase),
        (Breath::Out, Phase::Lowering) | (Breath::In, Phase::Effort)
    );
    wrong.then_some((breath, phase, word))
}

/// "Lower as you breathe out": what stands before the tie.
fn before_the_breath(clause: &[Word], at: usize) -> Option<&[Word]> {
    let tie = clause[..at]
        .iter()
        .rposition(|word| ["as", "while"].contains(&word.low.as_str()))?;
    let start = tie.saturating_sub(NEAR + 3);
    (at - tie <= 3).then_some(&clause[start..tie])
}

fn breath_at(clause: &[Word], at: usize) -> Option<Breath> {
    let low = |at: usize| clause.get(at).map_or("", |word| word.low.as_str());
    let breath_before = at > 0 && ["breathe", "breathing", "breath"].contains(&low(at - 1));
    // At the start of a clause, "out as you rise" goes on from a breath or is a brief wording.
    let opens =
        at == 0 && (["as", "while", "when"].contains(&low(at + 1)) || low(at + 1).ends_with("ing"));
    match low(at) {
        "exhale" | "exhaling" => Some(Breath::Out),
        "inhale" | "inhaling" => Some(Breath::In),
        "out" if breath_before || opens => Some(Breath::Out),
        "in" if breath_before || opens => Some(Breath::In),
        _ => None,
    }
}

fn phase_at(scope: &[Word], at: usize, movement: &Movement) -> Option<Phase> {
    let low = |at: usize| scope.get(at).map_or("", |word| word.low.as_str());
    let word = low(at);
    let upright = matches!(
        movement.pattern,
        Pattern::Squat | Pattern::Hinge | Pattern::Lunge
    );
    // Pushed back or down, the hips begin the return.
    let back = scope[at + 1..]
        .iter()
        .take(3)
        .any(|w| ["back", "hips", "down", "apart", "out"].contains(&w.low.as_str()));
    let going = at > 0 && GOING.contains(&low(at - 1));
    match word {
        "sit" | "sitting" if !upright => None,
        "stand" | "standing" if !upright => None,
        "push" | "pushing" | "press" | "pressing" | "drive" | "driving" if back => None,
        // Straight arms or legs are an end of some movements and the start of others.
        "straighten" | "straightening" if !upright => None,
        "raise" | "raising" | "lift" | "lifting" | "lifts" if back => None,
        "curl" if low(at + 1) == "bar" => None,
        "down" if going => Some(Phase::Lowering),
        "up" if going => Some(Phase::Effort),
        "return" | "returning" => match movement.begins {
            Some(Phase::Effort) => Some(Phase::Lowering),
            Some(Phase::Lowering) => Some(Phase::Effort),
            None => None,
        },
        _ if RETURN.contains(&word) && movement.pattern != Pattern::Pull => Some(Phase::Lowering),
        "lower" | "lowering" if movement.begins == Some(Phase::Effort) => Some(Phase::Lowering),
        _ if EFFORT.contains(&word) => Some(Phase::Effort),
        _ => None,
    }
}
