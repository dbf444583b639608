//! The hard search against the plain one, on problems that look random.

use super::*;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::base::utterance::Utterance;
use crate::planning::plan::Choice;
use crate::planning::plan::ProblemLimit;
use crate::planning::plan::ProblemLine;
use crate::planning::plan::Window;
use crate::planning::script::Length;
use crate::planning::script::Slot;
use crate::planning::script::Topic;

/// Numbers that look random and are the same each time.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, from: i64, to: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1);
        from + ((self.0 >> 33) as i64) % (to - from)
    }
}

fn problem(dice: &mut Dice) -> Problem {
    let window = |slot, length| Window {
        slot,
        nth: 0,
        start: At::START,
        end: At::from_ms(length),
        gap: Millis::from_ms(300),
        segment: 0,
    };
    let slots = [Slot::Early, Slot::Late, Slot::Work, Slot::Work];
    let windows = slots.map(|slot| window(slot, dice.roll(2000, 9000))).into();
    let lines = (0..dice.roll(4, 11)).map(|id| ProblemLine {
        id: id.to_string(),
        group: String::new(),
        topic: Topic::Form,
        order: 0,
        must: dice.roll(0, 6) == 0,
        said_before: 0,
        fade: &[1000],
        choices: (0..dice.roll(1, 6))
            .map(|_| {
                let value = dice.roll(1, 1000);
                Choice {
                    length: Length::Full,
                    utterance: Utterance::new("x"),
                    window: dice.roll(0, 4) as usize,
                    lasts: Millis::from_ms(dice.roll(500, 4000)),
                    base: value,
                    value,
                }
            })
            .collect(),
    });
    let lines = lines.collect();
    Problem {
        windows,
        limits: vec![ProblemLimit {
            windows: vec![2, 3],
            count: dice.roll(1, 5) as usize,
            talk: Millis::from_ms(dice.roll(2000, 9000)),
        }],
        lines,
    }
}

#[test]
fn looking_at_all_lines_at_once_finds_what_the_plain_search_finds() {
    let mut dice = Dice(7);
    let mut wide = 0;
    for _ in 0..2000 {
        let problem = problem(&mut dice);
        let all: Vec<_> = (0..problem.lines.len()).collect();
        let plain = Search::new(&problem, &all).run(usize::MAX);
        let mut search = Search::new(&problem, &all);
        let parted = solve(&problem);
        search.search_wide();
        let found = search.best;
        // Where nothing can be said, saying nothing is what both find.
        assert_eq!(
            found.as_ref().map(|s| s.value),
            plain.as_ref().map(|s| s.value)
        );
        assert_eq!(
            parted.map(|s| (s.value, s.proven)),
            plain.as_ref().map(|s| (s.value, s.proven))
        );
        let Some(found) = found else { continue };
        assert!(found.proven);
        wide += 1;
        let again: i64 = found
            .chosen
            .iter()
            .map(|c| problem.lines[c.line].choices[c.choice].value)
            .sum();
        assert_eq!(again, found.value);
        assert!(fits(&problem, &found));
    }
    assert!(wide > 1000, "{wide} had a solution");
}

fn fits(problem: &Problem, solution: &Solution) -> bool {
    let choices: Vec<_> = solution
        .chosen
        .iter()
        .map(|c| &problem.lines[c.line].choices[c.choice])
        .collect();
    let windows_hold = problem.windows.iter().enumerate().all(|(index, window)| {
        let inside = choices.iter().filter(|c| c.window == index);
        let need: Millis = inside.map(|c| c.lasts + window.gap).sum();
        need <= window.length() + window.gap
    });
    let limits_hold = problem.limits.iter().all(|limit| {
        let inside = choices.iter().filter(|c| limit.windows.contains(&c.window));
        let lengths: Vec<_> = inside.map(|c| c.lasts).collect();
        lengths.len() <= limit.count && lengths.iter().copied().sum::<Millis>() <= limit.talk
    });
    windows_hold && limits_hold
}
