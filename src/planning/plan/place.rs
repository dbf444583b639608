//! Placement: the chosen lines of a window, each at its time.
//!
//! In a rest the first line starts as soon as the window opens and the free time is left before
//! the count. In a work the first cue comes early and the free time is spread evenly after it.

use super::Choice;
use super::Problem;
use super::Solution;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::script::Slot;
use crate::planning::script::Topic;

/// How long after the first window of a work opens the first cue starts, where there is room.
const FIRST_CUE: Millis = Millis::from_ms(300);

/// Returns when each chosen line starts, in the order of `solution.chosen`.
pub fn place(problem: &Problem, solution: &Solution) -> Vec<At> {
    let mut starts = vec![At::START; solution.chosen.len()];
    for (index, window) in problem.windows.iter().enumerate() {
        let mut inside: Vec<_> = solution
            .chosen
            .iter()
            .enumerate()
            .map(|(at, chosen)| {
                let line = &problem.lines[chosen.line];
                // At the end of a work the name comes first: "Next, ...; then ...".
                let first = window.slot == Slot::Tail && line.topic == Topic::Name;
                (
                    if first { 0 } else { line.order },
                    chosen.line,
                    at,
                    &line.choices[chosen.choice],
                )
            })
            .filter(|(.., choice)| choice.window == index)
            .collect();
        inside.sort_by_key(|(order, line, ..)| (*order, *line));
        let lengths: Vec<_> = inside.iter().map(|(.., c)| c.lasts).collect();
        let placed = match window.slot {
            Slot::Work => spread(
                window.start,
                window.end,
                window.nth == 0,
                &lengths,
                window.gap,
            ),
            _ => in_a_row(window.start, &lengths, window.gap),
        };
        for ((.., at, _), start) in inside.iter().zip(placed) {
            starts[*at] = start;
        }
    }
    starts
}

fn in_a_row(start: At, lengths: &[Millis], gap: Millis) -> Vec<At> {
    let mut at = start;
    lengths
        .iter()
        .map(|length| {
            let here = at;
            at += *length + gap;
            here
        })
        .collect()
}

/// Spreads lines over a window. In the first window of a work the first line comes at once; the
/// free time is divided evenly between and after (and, in later windows, before) the lines.
fn spread(start: At, end: At, first: bool, lengths: &[Millis], gap: Millis) -> Vec<At> {
    let spoken: Millis = lengths.iter().copied().sum();
    let gaps_inside = lengths.len().saturating_sub(1) as i64;
    // What is free beyond the least gaps: never negative for a solution of the model.
    let spare = (end - start - spoken - gap * gaps_inside).max(Millis::ZERO);
    let lead = if first {
        FIRST_CUE.min(spare)
    } else {
        Millis::from_ms(spare.ms() / (lengths.len() as i64 + 1))
    };
    let shares = if first {
        lengths.len() as i64
    } else {
        lengths.len() as i64 + 1
    };
    let rest = if first { spare - lead } else { spare };
    let share = Millis::from_ms(rest.ms() / shares.max(1));
    let mut at = start + lead;
    lengths
        .iter()
        .map(|length| {
            let here = at;
            at += *length + gap + share;
            here
        })
        .collect()
}

/// Returns the choice of a chosen line.
pub fn choice_of<'p>(problem: &'p Problem, solution: &Solution, at: usize) -> &'p Choice {
    let chosen = solution.chosen[at];
    &problem.lines[chosen.line].choices[chosen.choice]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_cue_comes_early_and_the_second_stands_in_the_middle_of_what_is_left() {
        let ms = Millis::from_ms;
        let lengths = [ms(2700), ms(3500)];
        let (start, end) = (At::from_ms(1500), At::from_ms(16_700));
        let placed = spread(start, end, true, &lengths, ms(0));
        assert_eq!(placed[0], At::from_ms(1800));
        let before = placed[1] - (placed[0] + lengths[0]);
        let after = end - (placed[1] + lengths[1]);
        assert!((before - after).ms().abs() <= 1);
    }

    #[test]
    fn lines_that_fill_their_window_still_end_in_it() {
        let ms = Millis::from_ms;
        let placed = spread(
            At::START,
            At::from_ms(5500),
            true,
            &[ms(2000), ms(2000)],
            ms(1500),
        );
        assert_eq!(placed, [At::START, At::from_ms(3500)]);
    }
}
