//! What was not said, and why: computed from the model, for the coach who reads the plan.

use super::Choice;
use super::LeftOut;
use super::Problem;
use super::ProblemLine;
use super::Solution;
use super::place::choice_of;
use crate::base::units::Millis;
use crate::planning::script::Slot;

/// Returns the lines of a stretch that were not chosen, each with the reason.
pub fn left_out(problem: &Problem, solution: &Solution) -> Vec<LeftOut> {
    let room = room_left(problem, solution);
    problem
        .lines
        .iter()
        .enumerate()
        .filter(|(index, _)| solution.chosen.iter().all(|c| c.line != *index))
        .filter_map(|(_, line)| explain(problem, solution, &room, line))
        .collect()
}

/// Returns the time left in each window for one line more, its gap taken off.
fn room_left(problem: &Problem, solution: &Solution) -> Vec<Millis> {
    let mut room: Vec<_> = problem.windows.iter().map(|w| w.length()).collect();
    for at in 0..solution.chosen.len() {
        let choice = choice_of(problem, solution, at);
        room[choice.window] -= choice.lasts + problem.windows[choice.window].gap;
    }
    room
}

fn explain(
    problem: &Problem,
    solution: &Solution,
    room: &[Millis],
    line: &ProblemLine,
) -> Option<LeftOut> {
    // The choice that comes nearest to fitting stands for the line.
    let lacks = |c: &Choice| (c.lasts - room[c.window]).max(Millis::ZERO);
    let nearest = line.choices.iter().min_by_key(|c| (lacks(c), -c.value))?;
    let window = &problem.windows[nearest.window];
    let lacking = lacks(nearest);
    let reason = if lacking > Millis::ZERO {
        let place = match window.slot {
            Slot::Work => "the work",
            Slot::Tail => "the end of the work before",
            _ => "the rest",
        };
        format!("{place} is {:.1} s too short for it", lacking.secs())
    } else {
        over_a_limit(problem, solution, nearest)?
    };
    Some(LeftOut {
        line: line.id.clone(),
        topic: line.topic,
        segment: window.segment,
        text: nearest.utterance.text.clone(),
        reason,
        lacks: lacking,
    })
}

fn over_a_limit(problem: &Problem, solution: &Solution, choice: &Choice) -> Option<String> {
    let limit = problem
        .limits
        .iter()
        .find(|l| l.windows.contains(&choice.window))?;
    let inside = (0..solution.chosen.len())
        .map(|at| choice_of(problem, solution, at))
        .filter(|c| limit.windows.contains(&c.window));
    let (count, talk) = inside.fold((0, Millis::ZERO), |(n, t), c| (n + 1, t + c.lasts));
    if count >= limit.count {
        let cues = if count == 1 { "cue" } else { "cues" };
        return Some(format!("the work already holds {count} {cues}"));
    }
    (talk + choice.lasts > limit.talk).then(|| {
        format!(
            "speech would fill more than {:.1} s of the work",
            limit.talk.secs()
        )
    })
}
