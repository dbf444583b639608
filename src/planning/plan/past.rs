//! What was said so far in a plan, as far as it bears on what is said next.

use super::Problem;
use super::Solution;
use super::place::choice_of;
use super::problem::Heard;
use crate::base::units::At;
use std::collections::HashMap;

/// The lines, groups and words said so far.
#[derive(Debug, Default)]
pub struct Past {
    lines: HashMap<String, usize>,
    groups: HashMap<String, usize>,
    ended: HashMap<String, At>,
}

/// What an addition changed, so that it can be taken back.
#[derive(Debug, Default)]
pub struct Added {
    lines: Vec<String>,
    groups: Vec<String>,
    /// Words with when they had ended before.
    ended: Vec<(String, Option<At>)>,
}

impl Past {
    /// Adds what was chosen for a stretch.
    pub fn add(&mut self, problem: &Problem, solution: &Solution, starts: &[At]) -> Added {
        let mut added = Added::default();
        for (at, start) in starts.iter().enumerate() {
            let line = &problem.lines[solution.chosen[at].line];
            let choice = choice_of(problem, solution, at);
            *self.lines.entry(line.id.clone()).or_default() += 1;
            *self.groups.entry(line.group.clone()).or_default() += 1;
            let ended = *start + choice.lasts;
            let words = folded(&choice.utterance.text);
            let before = self.ended.get(&words).copied();
            let last = before.map_or(ended, |before| before.max(ended));
            self.ended.insert(words.clone(), last);
            added.lines.push(line.id.clone());
            added.groups.push(line.group.clone());
            added.ended.push((words, before));
        }
        added
    }

    /// Takes back what was added last.
    pub fn take_back(&mut self, added: Added) {
        let less = |count: Option<&mut usize>| {
            if let Some(count) = count {
                *count -= 1;
            }
        };
        for line in &added.lines {
            less(self.lines.get_mut(line));
        }
        for group in &added.groups {
            less(self.groups.get_mut(group));
        }
        for (words, before) in added.ended.into_iter().rev() {
            match before {
                Some(before) => self.ended.insert(words, before),
                None => self.ended.remove(&words),
            };
        }
    }
}

impl Heard for Past {
    fn line(&self, id: &str) -> usize {
        self.lines.get(id).copied().unwrap_or(0)
    }

    fn group(&self, group: &str) -> usize {
        self.groups.get(group).copied().unwrap_or(0)
    }

    fn words(&self, text: &str) -> Option<At> {
        self.ended.get(&folded(text)).copied()
    }
}

fn folded(text: &str) -> String {
    text.trim_end_matches('.').to_lowercase()
}
