//! How long each line of a stretch would be heard, whatever was chosen of it: for those who ask
//! whether the time was enough.

use super::Durations;
use super::Planner;
use super::problem::Heard;
use super::problem::rates;
use crate::base::units::Millis;
use crate::base::utterance::Rate;
use crate::base::utterance::Utterance;
use crate::planning::script::Line;
use crate::planning::script::Offer;
use crate::planning::script::Slot;
use crate::planning::script::Topic;

/// A line that could have been said in a stretch, with the lengths of its wordings as the plan
/// knew them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wordings {
    pub id: String,
    pub group: String,
    pub topic: Topic,
    pub order: u16,
    pub must: bool,
    /// Whether it may stand early in a rest, late in it, and in the work.
    pub early: bool,
    pub late: bool,
    pub work: bool,
    /// In its full wording.
    pub full: Millis,
    /// In the wording that fits this meeting: full where it is new, brief where it was heard.
    pub fitting: Millis,
    /// In its shortest wording, as fast as it may be spoken.
    pub shortest: Millis,
    /// The words of that.
    pub words: usize,
}

impl Planner<'_> {
    /// Returns the lines of a stretch with the lengths of their wordings; to be asked before the
    /// stretch counts as heard.
    pub(super) fn wordings(&mut self, index: usize, durations: &dyn Durations) -> Vec<Wordings> {
        let lines = self.lines(index);
        lines
            .iter()
            .map(|line| self.wordings_of(line, durations))
            .collect()
    }

    fn wordings_of(&mut self, line: &Line, durations: &dyn Durations) -> Wordings {
        let again = self.past.group(&line.group) > 0;
        let fastest = rates(line).iter().map(|(rate, _)| *rate).max();
        let fastest = fastest.map_or(Rate::NORMAL, Rate::from_per_mille);
        let mut lasts = |offer: &Offer, rate| {
            let text = offer.text.clone();
            self.lengths.of(&Utterance { text, rate }, durations)
        };
        let usual = || line.offers.iter().filter(|offer| !offer.tail);
        let first = &line.offers[0];
        // The first of the best: `max_by_key` would return the last.
        let worth = |offer: &&Offer| if again { offer.again } else { offer.new };
        let fitting = usual().rev().max_by_key(worth).unwrap_or(first);
        let briefest = usual().min_by_key(|offer| lasts(offer, fastest));
        let briefest = briefest.unwrap_or(first);
        let stands = |slot| line.slots.iter().any(|(s, _)| *s == slot);
        Wordings {
            id: line.id.clone(),
            group: line.group.clone(),
            topic: line.topic,
            order: line.order,
            must: line.must,
            early: stands(Slot::Early),
            late: stands(Slot::Late),
            work: stands(Slot::Work),
            full: lasts(first, Rate::NORMAL),
            fitting: lasts(fitting, Rate::NORMAL),
            shortest: lasts(briefest, fastest),
            words: briefest.text.split_whitespace().count(),
        }
    }
}
