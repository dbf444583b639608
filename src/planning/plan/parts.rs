//! Parts of a stretch that can be chosen apart: its rest and its work, where no line may stand in both.

use super::Problem;

/// Divides the lines into parts that have no window and no limit in common: what is best in each is best
/// together.
pub fn parts(problem: &Problem) -> Vec<Vec<usize>> {
    // Each window belongs to the part of the first window that it is tied to.
    let mut part: Vec<usize> = (0..problem.windows.len()).collect();
    let mut tie = |windows: &mut dyn Iterator<Item = usize>| {
        let Some(first) = windows.next() else { return };
        for other in windows {
            let (from, to) = (part[other], part[first]);
            for p in part.iter_mut().filter(|p| **p == from) {
                *p = to;
            }
        }
    };
    for limit in &problem.limits {
        tie(&mut limit.windows.iter().copied());
    }
    for line in &problem.lines {
        tie(&mut line.choices.iter().map(|c| c.window));
    }
    let mut parts: Vec<(Option<usize>, Vec<usize>)> = Vec::new();
    for (index, line) in problem.lines.iter().enumerate() {
        let of = line.choices.first().map(|c| part[c.window]);
        match parts.iter_mut().find(|(known, _)| *known == of) {
            Some((_, lines)) => lines.push(index),
            None => parts.push((of, vec![index])),
        }
    }
    parts.into_iter().map(|(_, lines)| lines).collect()
}
