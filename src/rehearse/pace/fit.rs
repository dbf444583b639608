//! Lines and their lengths -> a pace, whatever one or two of the lines are.
//!
//! Least squares of the relative errors, reweighted after Huber: a line that is far off (a cough, a door, a second
//! try) pulls no more than one that is a little off. The scale is the median absolute deviation. Huber 1964,
//! Annals of Mathematical Statistics 35:73-101; the constants: Holland & Welsch 1977, Communications in
//! Statistics A6:813-827; both from memory. What the lines do not tell (no comma in any of them, a single
//! line) comes from a usual pace at this person's tempo, which counts as much as a few lines do: ridge regression
//! towards it. No part is less than nothing.

use super::FASTEST_MS;
use super::Pace;
use super::shape::Measured;
use super::shape::PARTS;
use std::ops::RangeInclusive;

/// A residual of so many standard deviations still counts in full: 95 % as good as least squares where
/// there are no outliers.
const HUBER: f64 = 1.345;
/// The median absolute deviation of a normal distribution, to its standard deviation.
const TO_DEVIATION: f64 = 1.4826;
/// Where the lines lie exactly on one another, this much is still noise.
const LEAST_SPREAD: f64 = 0.02;
/// How many lines the usual spread counts as: four lines alone may agree by chance.
const USUAL_SPREAD_LINES: f64 = 4.0;
/// How far each part may well lie from the usual one, as a part of it: tempo differs less than pauses do.
const PRIOR_SPREAD: [f64; PARTS] = [0.4, 0.4, 1.0, 1.0, 1.0];
/// Nobody speaks faster, or drawls so: milliseconds a syllable, pauses and all (common practice). A count of
/// one syllable, with all that is around it, is inside.
const POSSIBLE_MS: RangeInclusive<f64> = FASTEST_MS..=2000.0;
/// Enough for the weights to stand still.
const ROUNDS: usize = 30;

/// Fits a pace to lines.
pub fn fit(lines: &[Measured]) -> Pace {
    let possible = |line: &&Measured| POSSIBLE_MS.contains(&(line.ms / line.shape.syllables));
    let lines: Vec<Measured> = lines.iter().filter(possible).copied().collect();
    let Some(tempo) = median(lines.iter().map(|l| l.ms / Pace::USUAL.ms(&l.shape))) else {
        return Pace::USUAL;
    };
    let prior = Pace::USUAL.parts().map(|part| part * tempo);
    let mut weights = vec![1.0; lines.len()];
    let mut parts = prior;
    for _ in 0..ROUNDS {
        parts = solve_without_negatives(&lines, &weights, &prior);
        let off: Vec<f64> = lines.iter().map(|line| relative(line, &parts)).collect();
        let within = HUBER * deviation(&off);
        weights = off
            .iter()
            .map(|off| (within / off.abs()).min(1.0))
            .collect();
    }
    let off: Vec<f64> = lines.iter().map(|line| relative(line, &parts)).collect();
    let [syllable_ms, letter_ms, comma_ms, stop_ms, around_ms] = parts;
    Pace {
        syllable_ms,
        letter_ms,
        comma_ms,
        stop_ms,
        around_ms,
        spread: with_usual(deviation(&off), lines.len()),
    }
}

/// How much longer a line was than expected, as a part of its length.
fn relative(line: &Measured, parts: &[f64; PARTS]) -> f64 {
    let counts = line.shape.parts();
    let expected: f64 = parts.iter().zip(counts).map(|(ms, times)| ms * times).sum();
    (line.ms - expected) / line.ms
}

/// The standard deviation of what is off, whatever the worst of it are.
fn deviation(off: &[f64]) -> f64 {
    let found = median(off.iter().map(|off| off.abs()));
    (found.unwrap_or(0.0) * TO_DEVIATION).max(LEAST_SPREAD)
}

/// Joins a spread with the usual one, each weighing as many lines as it comes from.
fn with_usual(spread: f64, lines: usize) -> f64 {
    let lines = lines as f64;
    let usual = USUAL_SPREAD_LINES * Pace::USUAL.spread.powi(2);
    ((lines * spread.powi(2) + usual) / (lines + USUAL_SPREAD_LINES)).sqrt()
}

fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_unstable_by(f64::total_cmp);
    let upper = *values.get(values.len() / 2)?;
    let lower = values[(values.len() - 1) / 2];
    Some((lower + upper) / 2.0)
}

/// Solves, and again without the part that is the most below nothing, until none is.
fn solve_without_negatives(
    lines: &[Measured],
    weights: &[f64],
    prior: &[f64; PARTS],
) -> [f64; PARTS] {
    let mut free = [true; PARTS];
    loop {
        let parts = solve(lines, weights, prior, free);
        let lowest = (0..PARTS).min_by(|a, b| parts[*a].total_cmp(&parts[*b]));
        match lowest.filter(|at| parts[*at] < 0.0) {
            Some(at) => free[at] = false,
            None => return parts,
        }
    }
}

/// Solves the normal equations for the parts that are free; the others are nothing.
fn solve(
    lines: &[Measured],
    weights: &[f64],
    prior: &[f64; PARTS],
    free: [bool; PARTS],
) -> [f64; PARTS] {
    let mut rows = [[0.0; PARTS + 1]; PARTS];
    for (line, weight) in lines.iter().zip(weights) {
        // In parts of the line's length: a long line is further off than a short one.
        let counts = line.shape.parts().map(|times| times / line.ms);
        for (row, a) in rows.iter_mut().zip(counts) {
            for (cell, b) in row.iter_mut().zip(counts) {
                *cell += weight * a * b;
            }
            row[PARTS] += weight * a;
        }
    }
    for (at, row) in rows.iter_mut().enumerate() {
        let weight = (Pace::USUAL.spread / (PRIOR_SPREAD[at] * prior[at])).powi(2);
        row[at] += weight;
        row[PARTS] += weight * prior[at];
        if !free[at] {
            *row = [0.0; PARTS + 1];
            row[at] = 1.0;
        }
    }
    eliminate(rows)
}

/// Gauss's elimination; the prior keeps every pivot above nothing, so none need be looked for.
fn eliminate(mut rows: [[f64; PARTS + 1]; PARTS]) -> [f64; PARTS] {
    for at in 0..PARTS {
        let pivot = rows[at];
        for (other, row) in rows.iter_mut().enumerate() {
            if other != at {
                let times = row[at] / pivot[at];
                for (cell, of_pivot) in row.iter_mut().zip(pivot) {
                    *cell -= times * of_pivot;
                }
            }
        }
    }
    std::array::from_fn(|at| rows[at][PARTS] / rows[at][at])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rehearse::pace::shape::Shape;

    /// Lines of every shape that a person of these parts speaks exactly so.
    fn spoken(parts: [f64; PARTS]) -> Vec<Measured> {
        let shapes = (0..40).map(|n| Shape {
            words: 1.0,
            syllables: f64::from(2 + n * 7 % 17),
            letters: f64::from(3 * (2 + n * 7 % 17) + n * 3 % 7),
            commas: f64::from(n % 3),
            stops: f64::from(n / 3 % 2),
        });
        let of = |shape: Shape| {
            let each = parts.iter().zip(shape.parts());
            each.map(|(ms, times)| ms * times).sum()
        };
        shapes
            .map(|shape| Measured {
                shape,
                ms: of(shape),
            })
            .collect()
    }

    /// The largest error of a part, in ms.
    fn worst(pace: Pace, parts: [f64; PARTS]) -> f64 {
        let off = pace.parts().into_iter().zip(parts);
        off.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn the_parts_of_a_person_are_found_again() {
        for parts in [
            [112.0, 40.0, 250.0, 500.0, 200.0],
            [60.0, 30.0, 120.0, 300.0, 100.0],
            [130.0, 70.0, 600.0, 900.0, 400.0],
        ] {
            let lines = spoken(parts);
            let pace = fit(&lines);
            // Vowels and letters come together, and so are not told apart to the millisecond; their sum is.
            assert!(worst(pace, parts) < 35.0, "{pace:?} of {parts:?}");
            let off = lines.iter().map(|line| relative(line, &pace.parts()).abs());
            let most = off.fold(0.0, f64::max);
            assert!(most < 0.03, "{most}: {pace:?} of {parts:?}");
            assert!(pace.spread < 0.06, "{pace:?}");
        }
    }

    #[test]
    fn one_line_in_eight_may_be_anything() {
        let parts = [100.0, 30.0, 200.0, 400.0, 150.0];
        let mut lines = spoken(parts);
        for line in lines.iter_mut().step_by(8) {
            line.ms *= 2.5;
        }
        let pace = fit(&lines);
        assert!(worst(pace, parts) < 40.0, "{pace:?}");
    }

    #[test]
    fn what_lines_do_not_tell_is_usual_at_the_tempo_of_the_person() {
        assert_eq!(fit(&[]), Pace::USUAL);
        let shape = Shape {
            words: 5.0,
            syllables: 8.0,
            letters: 25.0,
            commas: 0.0,
            stops: 0.0,
        };
        // A line in twice the usual time: all parts are twice the usual.
        let twice = Measured {
            shape,
            ms: 2.0 * Pace::USUAL.ms(&shape),
        };
        for lines in [vec![twice], vec![twice; 50]] {
            let pace = fit(&lines);
            let wanted = Pace::USUAL.parts().map(|ms| 2.0 * ms);
            assert!(worst(pace, wanted) < 1.0, "{pace:?}");
        }
        // Nobody speaks eight syllables in a tenth of a second, or in a minute.
        for ms in [-5.0, 0.0, 100.0, 60_000.0, f64::NAN, f64::INFINITY] {
            assert_eq!(fit(&[Measured { shape, ms }]), Pace::USUAL, "{ms}");
        }
    }

    #[test]
    fn no_part_is_less_than_nothing() {
        // The more commas the shorter: nobody is like that, and the fit does not say so.
        let mut lines = spoken([100.0, 40.0, 0.0, 0.0, 0.0]);
        for line in &mut lines {
            line.ms *= 1.0 - 0.2 * line.shape.commas;
        }
        let pace = fit(&lines);
        assert!(pace.parts().iter().all(|ms| *ms >= 0.0), "{pace:?}");
        assert!(pace.comma_ms < 1.0, "{pace:?}");
    }
}
