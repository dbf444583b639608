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
fn prices_and_memory_cut_nothing_that_is_better() {
    let mut dice = Dice(7);
    for _ in 0..400 {
        let problem = problem(&mut dice);
        let plain = Search::new(&problem);
        let plain = plain.run(usize::MAX, usize::MAX).map(|s| s.value);
        let mut hard = Search::new(&problem);
        hard.begin_again_with_prices();
        let whole = hard.descend(0, usize::MAX);
        assert!(whole);
        assert_eq!(hard.best.map(|b| b.value), plain);
    }
}
