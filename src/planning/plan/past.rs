//! What was said so far in a plan, as far as it bears on what is said next.

use super::Problem;
use super::Solution;
use super::place::choice_of;
use super::problem::Heard;
use crate::base::units::At;
use std::collections::HashMap;
use std::collections::HashSet;

/// The lines, groups and words said so far.
#[derive(Debug, Default)]
pub struct Past {
    lines: HashMap<String, usize>,
    groups: HashSet<String>,
    ended: HashMap<String, At>,
}

impl Past {
    /// Adds what was chosen for a stretch.
    pub fn add(&mut self, problem: &Problem, solution: &Solution, starts: &[At]) {
        for (at, start) in starts.iter().enumerate() {
            let line = &problem.lines[solution.chosen[at].line];
            let choice = choice_of(problem, solution, at);
            *self.lines.entry(line.id.clone()).or_default() += 1;
            self.groups.insert(line.group.clone());
            let ended = *start + choice.lasts;
            let words = folded(&choice.utterance.text);
            let last = self.ended.entry(words).or_insert(ended);
            *last = (*last).max(ended);
        }
    }
}

impl Heard for Past {
    fn line(&self, id: &str) -> usize {
        self.lines.get(id).copied().unwrap_or(0)
    }

    fn group(&self, group: &str) -> bool {
        self.groups.contains(group)
    }

    fn words(&self, text: &str) -> Option<At> {
        self.ended.get(&folded(text)).copied()
    }
}

fn folded(text: &str) -> String {
    text.trim_end_matches('.').to_lowercase()
}
