//! The solver against brute force and against its greedy twin, on small random problems.

use proptest::prelude::*;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Utterance;
use sidevoice::planning::plan::Choice;
use sidevoice::planning::plan::Problem;
use sidevoice::planning::plan::ProblemLimit;
use sidevoice::planning::plan::ProblemLine;
use sidevoice::planning::plan::Window;
use sidevoice::planning::plan::greedy;
use sidevoice::planning::plan::solve;
use sidevoice::planning::script::Length;
use sidevoice::planning::script::Slot;
use sidevoice::planning::script::Topic;
use sidevoice::planning::session::Cue;
use sidevoice::planning::session::PerRound;
use sidevoice::planning::session::Said;
use sidevoice::planning::session::Talk;
use sidevoice::planning::session::When;
use std::sync::Arc;

/// Tries everything: the value of the best choice, or `None` if the musts do not fit.
fn brute_force(problem: &Problem) -> Option<i64> {
    fn from(problem: &Problem, line: usize, taken: &mut Vec<(usize, i64)>) -> Option<i64> {
        if line == problem.lines.len() {
            return fits(problem, taken).then_some(0);
        }
        let mut best = None;
        if !problem.lines[line].must {
            best = from(problem, line + 1, taken);
        }
        for choice in &problem.lines[line].choices {
            taken.push((choice.window, choice.lasts.ms()));
            let rest = from(problem, line + 1, taken);
            taken.pop();
            best = best.max(rest.map(|r| r + choice.value));
        }
        best
    }
    from(problem, 0, &mut Vec::new())
}

fn fits(problem: &Problem, taken: &[(usize, i64)]) -> bool {
    let windows_hold = problem.windows.iter().enumerate().all(|(index, window)| {
        let gap = window.gap.ms();
        let inside = taken.iter().filter(|(w, _)| *w == index);
        inside.map(|(_, length)| length + gap).sum::<i64>() <= window.length().ms() + gap
    });
    windows_hold
        && problem.limits.iter().all(|limit| {
            let inside: Vec<_> = taken
                .iter()
                .filter(|(w, _)| limit.windows.contains(w))
                .collect();
            let talk: i64 = inside.iter().map(|(_, length)| length).sum();
            inside.len() <= limit.count && talk <= limit.talk.ms()
        })
}

fn window(slot: Slot, length: i64, gap: i64) -> Window {
    Window {
        slot,
        nth: 0,
        start: At::START,
        end: At::from_ms(length),
        gap: Millis::from_ms(gap),
        segment: 0,
    }
}

fn line(id: usize, must: bool, choices: Vec<(usize, i64, i64)>) -> ProblemLine {
    ProblemLine {
        id: format!("line-{id}"),
        group: String::new(),
        topic: Topic::Form,
        order: 0,
        must,
        said_before: 0,
        fade: &[1000],
        choices: choices
            .into_iter()
            .map(|(window, lasts, value)| Choice {
                length: Length::Full,
                utterance: Utterance::new("x"),
                window,
                lasts: Millis::from_ms(lasts),
                base: value,
                value,
            })
            .collect(),
    }
}

fn problems() -> impl Strategy<Value = Problem> {
    let choice = (0usize..4, 300i64..4000, 1i64..1000);
    let choices = prop::collection::vec(choice, 1..4);
    let lines = prop::collection::vec((prop::bool::weighted(0.2), choices), 1..8);
    let rests = (1000i64..9000, 500i64..6000);
    let works = (1000i64..9000, 1000i64..9000);
    (lines, rests, works, 1usize..4, 1000i64..9000).prop_map(
        |(lines, rests, works, count, talk)| Problem {
            windows: vec![
                window(Slot::Early, rests.0, 300),
                window(Slot::Late, rests.1, 300),
                window(Slot::Work, works.0, 1500),
                window(Slot::Work, works.1, 1500),
            ],
            limits: vec![ProblemLimit {
                windows: vec![2, 3],
                count,
                talk: Millis::from_ms(talk),
            }],
            lines: lines
                .into_iter()
                .enumerate()
                .map(|(id, (must, choices))| line(id, must, choices))
                .collect(),
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn the_solver_finds_what_brute_force_finds(problem in problems()) {
        let best = brute_force(&problem);
        let found = solve(&problem);
        prop_assert_eq!(found.as_ref().map(|s| s.value), best);
        if let Some(found) = found {
            prop_assert!(found.proven);
            let taken: Vec<_> = found
                .chosen
                .iter()
                .map(|c| &problem.lines[c.line].choices[c.choice])
                .map(|c| (c.window, c.lasts.ms()))
                .collect();
            prop_assert!(fits(&problem, &taken));
        }
    }

    #[test]
    fn the_greedy_twin_is_never_better_and_always_keeps_the_model(problem in problems()) {
        if let Some(simple) = greedy(&problem) {
            let best = solve(&problem).expect("what greed can do, the solver can");
            prop_assert!(simple.value <= best.value);
        }
    }
}

#[test]
fn a_problem_without_lines_is_solved_by_saying_nothing() {
    let solution = solve(&Problem::default()).expect("nothing is asked");
    assert!(solution.proven && solution.chosen.is_empty());
}

#[test]
fn a_must_without_a_window_cannot_be_met() {
    let problem = Problem {
        lines: vec![line(0, true, Vec::new())],
        ..Problem::default()
    };
    assert_eq!(solve(&problem), None);
}

/// A session of ten works whose movements have `cues` cues each that are said at `when`.
pub fn many_cues(
    cues: usize,
    when: Option<When>,
    rest_secs: i64,
) -> sidevoice::planning::session::Session {
    let mut session = crate::common::starter("ten-alone");
    session.text.talk = Talk::Full;
    session.text.blocks.truncate(1);
    session.text.blocks[0].rest = PerRound::Same(Millis::from_secs(rest_secs));
    for movement in &mut session.movements {
        let mut changed = (**movement).clone();
        let own = changed.cues.clone();
        changed.cues = (0..cues)
            .map(|n| Cue {
                when: when.unwrap_or(own[n % own.len()].when),
                said: Said::plain(own[0].said.place, &words(n)),
                ..own[n % own.len()].clone()
            })
            .collect();
        *movement = Arc::new(changed);
    }
    session
}

/// Words of their own for each cue, of different lengths.
fn words(n: usize) -> String {
    let more = [
        "stroke",
        "catch",
        "slide",
        "finish",
        "handle",
        "stretcher",
        "rigger",
    ];
    let many = 3 + n * 7 % 6;
    let words: Vec<_> = (0..many).map(|w| more[(n * 3 + w * 5) % 7]).collect();
    format!("Cue {n} {}.", words.join(" "))
}

#[test]
fn nothing_is_left_unproven_below_twenty_cues_a_movement() {
    // Cues that may all stand in the rest as well as in the work are the widest choice there is.
    for (cues, when) in [
        (19, None),
        (19, Some(When::During)),
        (12, Some(When::Either)),
        (19, Some(When::Either)),
    ] {
        for rest in [10, 25, 45, 90] {
            let plan = crate::common::tabled_plan(&many_cues(cues, when, rest));
            let open = plan.stretches.iter().filter(|s| !s.solution.proven);
            assert_eq!(open.count(), 0, "{cues} cues {when:?}, rests of {rest} s");
        }
    }
}
