//! What the solver was given and what it chose, format `sidevoice-problem/1`, so that any
//! outside solver can check the optimum.

use super::json::pretty;
use crate::planning::plan::Choice;
use crate::planning::plan::Plan;
use crate::planning::plan::ProblemLine;
use crate::planning::plan::Solved;
use serde::Serialize;

#[derive(Serialize)]
struct ProblemJson<'a> {
    format: &'static str,
    stretches: Vec<StretchJson<'a>>,
}

#[derive(Serialize)]
struct StretchJson<'a> {
    index: usize,
    proven: bool,
    open: bool,
    windows: Vec<WindowJson>,
    limits: Vec<LimitJson<'a>>,
    lines: Vec<LineJson<'a>>,
    chosen: Vec<ChosenJson<'a>>,
}

#[derive(Serialize)]
struct WindowJson {
    id: usize,
    start_ms: i64,
    end_ms: i64,
    gap_ms: i64,
}

#[derive(Serialize)]
struct LimitJson<'a> {
    windows: &'a [usize],
    count: usize,
    talk_ms: i64,
}

#[derive(Serialize)]
struct LineJson<'a> {
    id: &'a str,
    must: bool,
    said_before: usize,
    fade: &'a [i64],
    choices: Vec<ChoiceJson>,
}

#[derive(Serialize)]
struct ChoiceJson {
    wording: &'static str,
    rate: f64,
    window: usize,
    length_ms: i64,
    base: i64,
    value: i64,
}

#[derive(Serialize)]
struct ChosenJson<'a> {
    line: &'a str,
    choice: usize,
    start_ms: i64,
}

/// Writes the problems of a plan as JSON.
pub fn problem(plan: &Plan) -> String {
    pretty(&ProblemJson {
        format: "sidevoice-problem/1",
        stretches: plan.stretches.iter().map(|s| stretch(plan, s)).collect(),
    })
}

fn stretch<'p>(plan: &Plan, solved: &'p Solved) -> StretchJson<'p> {
    let at = plan.timeline.stretches[solved.index];
    let open = [at.rest, at.work]
        .into_iter()
        .flatten()
        .any(|segment| plan.timeline.segments[segment].open);
    let problem = &solved.problem;
    StretchJson {
        index: solved.index,
        proven: solved.solution.proven,
        open,
        windows: problem
            .windows
            .iter()
            .enumerate()
            .map(|(id, w)| WindowJson {
                id,
                start_ms: w.start.ms(),
                end_ms: w.end.ms(),
                gap_ms: w.gap.ms(),
            })
            .collect(),
        limits: problem
            .limits
            .iter()
            .map(|l| LimitJson {
                windows: &l.windows,
                count: l.count,
                talk_ms: l.talk.ms(),
            })
            .collect(),
        lines: problem.lines.iter().map(line).collect(),
        chosen: solved
            .solution
            .chosen
            .iter()
            .zip(&solved.starts)
            .map(|(chosen, start)| ChosenJson {
                line: &problem.lines[chosen.line].id,
                choice: chosen.choice,
                start_ms: start.ms(),
            })
            .collect(),
    }
}

fn line(line: &ProblemLine) -> LineJson<'_> {
    LineJson {
        id: &line.id,
        must: line.must,
        said_before: line.said_before,
        fade: line.fade,
        choices: line.choices.iter().map(choice).collect(),
    }
}

fn choice(choice: &Choice) -> ChoiceJson {
    ChoiceJson {
        wording: choice.length.word(),
        rate: f64::from(choice.utterance.rate.per_mille()) / 1000.0,
        window: choice.window,
        length_ms: choice.lasts.ms(),
        base: choice.base,
        value: choice.value,
    }
}
