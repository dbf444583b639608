//! Right and left hear the same number of cues: before the first side is settled, the second is
//! tried, and neither hears more than the other can.

use super::Durations;
use super::Planner;
use super::Problem;
use super::Solution;
use super::Sound;
use super::place::choice_of;
use super::place::place;
use crate::planning::timeline::Work;

/// A stretch as it was chosen: the model, the choice, the marks.
pub(super) type Choices = (Problem, Solution, Vec<Sound>);

impl Planner<'_> {
    /// Chooses a stretch; where its work is the first of two sides, so that both hear the same
    /// number of cues. A side that can hear none takes none away from the other: what keeps safe is
    /// heard on one side rather than on neither.
    pub(super) fn choose_for_both_sides(
        &mut self,
        index: usize,
        durations: &mut dyn Durations,
    ) -> Choices {
        let mut most = self.most_on_second_side.take();
        let tail = self.tail.clone();
        loop {
            self.tail = tail.clone();
            let chosen = self.choose(index, most, durations);
            let heard = heard_in_work(&chosen);
            if heard == 0 || !self.has_second_side(index) {
                return chosen;
            }
            let other = self.second_side_hears(index, &chosen, heard, durations);
            if other >= heard || heard == 1 {
                self.most_on_second_side = Some(heard);
                return chosen;
            }
            most = Some(other.max(1));
        }
    }

    /// Returns whether the work of the next stretch is the other side of this one's.
    fn has_second_side(&self, index: usize) -> bool {
        let timeline = &self.plan.timeline;
        let work = |stretch: usize| {
            let segment = timeline.stretches.get(stretch)?.work?;
            timeline.segments[segment].work
        };
        let (Some(first), Some(second)) = (work(index), work(index + 1)) else {
            return false;
        };
        let (first, second) = (&timeline.works[first], &timeline.works[second]);
        let same_use = |a: &Work| (a.block, a.of, a.round);
        same_use(first) == same_use(second) && first.side.is_some() && first.side != second.side
    }

    /// Returns how many cues the second side would hear, at most `most`, after this choice. All
    /// that trying it changed is put back, but for lengths that were measured, and for what a rest grew
    /// by ear, which it would grow anyway.
    fn second_side_hears(
        &mut self,
        index: usize,
        (problem, solution, _): &Choices,
        most: usize,
        durations: &mut dyn Durations,
    ) -> usize {
        let tail = self.tail.clone();
        let told = self.plan.diagnostics.len();
        let starts = place(problem, solution);
        let added = self.past.add(problem, solution, &starts);
        let tried = self.choose(index + 1, Some(most), durations);
        self.past.take_back(added);
        self.plan.diagnostics.truncate(told);
        self.tail = tail;
        heard_in_work(&tried)
    }
}

/// Returns how many lines are heard in the work itself.
fn heard_in_work((problem, solution, _): &Choices) -> usize {
    let limited = |window: usize| problem.limits.iter().any(|l| l.windows.contains(&window));
    (0..solution.chosen.len())
        .filter(|at| limited(choice_of(problem, solution, *at).window))
        .count()
}
