//! Lengths of speech as one plan knows them: an estimate, until this plan has measured it.

use crate::base::units::Millis;
use crate::base::utterance::Utterance;
use std::collections::HashMap;

/// Where lengths of speech come from.
pub trait Durations {
    /// Returns a cautious estimate of how long an utterance is heard.
    fn estimate(&self, utterance: &Utterance) -> Millis;

    /// Returns how long each utterance is heard, measured; `None` where it cannot be.
    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>>;

    /// Does the same for what is heard on its second, such as a count.
    fn measure_marks(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        self.measure(wanted)
    }
}

#[derive(Debug, Clone, Copy)]
struct Known {
    length: Millis,
    measured: bool,
    /// Asked for; where it could not be measured, the estimate stands.
    asked: bool,
}

/// The lengths that a plan has met so far.
#[derive(Debug, Default)]
pub struct Lengths {
    known: HashMap<Utterance, Known>,
}

impl Lengths {
    /// Returns the length as this plan knows it.
    pub fn of(&mut self, utterance: &Utterance, durations: &dyn Durations) -> Millis {
        match self.known.get(utterance) {
            Some(known) => known.length,
            None => self.entry(utterance, durations).length,
        }
    }

    /// Returns whether this plan has measured all of these.
    pub fn measured(&self, utterances: &[Utterance]) -> bool {
        utterances
            .iter()
            .all(|u| self.known.get(u).is_some_and(|k| k.measured))
    }

    /// Measures what was not asked for yet; returns whether any length is now another: if none
    /// is, what was chosen from them stands.
    pub fn measure(&mut self, wanted: &[Utterance], durations: &mut dyn Durations) -> bool {
        self.measure_by(wanted, durations, |durations, new| durations.measure(new))
    }

    /// Does the same for what is heard on its second.
    pub fn measure_marks(&mut self, wanted: &[Utterance], durations: &mut dyn Durations) -> bool {
        self.measure_by(wanted, durations, |durations, new| {
            durations.measure_marks(new)
        })
    }

    fn measure_by(
        &mut self,
        wanted: &[Utterance],
        durations: &mut dyn Durations,
        by: fn(&mut dyn Durations, &[Utterance]) -> Vec<Option<Millis>>,
    ) -> bool {
        let mut new: Vec<Utterance> = Vec::new();
        for utterance in wanted {
            let asked = self.known.get(utterance).is_some_and(|k| k.asked);
            if !asked && !new.contains(utterance) {
                new.push(utterance.clone());
            }
        }
        if new.is_empty() {
            return false;
        }
        let found = by(durations, &new);
        let mut changed = false;
        for (utterance, length) in new.iter().zip(found) {
            let known = self.entry(utterance, durations);
            known.asked = true;
            if let Some(length) = length {
                changed |= known.length != length;
                known.length = length;
                known.measured = true;
            }
        }
        changed
    }

    fn entry(&mut self, utterance: &Utterance, durations: &dyn Durations) -> &mut Known {
        // Looked up before it is inserted, so that the text is only copied when it is new.
        if !self.known.contains_key(utterance) {
            let estimate = Known {
                length: durations.estimate(utterance),
                measured: false,
                asked: false,
            };
            self.known.insert(utterance.clone(), estimate);
        }
        self.known.get_mut(utterance).expect("it is there now")
    }
}
