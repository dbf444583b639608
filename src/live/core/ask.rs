//! The end: the effort felt is asked for by the last line of the plan, and an answer waited for.

use super::Core;
use super::Effect;
use super::Message;
use super::State;
use super::Then;
use crate::base::units::Millis;
use crate::live::control::Verb;
use crate::planning::timeline::SegmentKind;

/// So long after the end an answer is waited for; later it is told to the record.
const FOR_AN_ANSWER: Millis = Millis::from_secs(60);

impl Core<'_> {
    /// The session is over.
    pub(super) fn finish(&mut self, effects: &mut Vec<Effect>) {
        self.enter(State::Finished, effects);
        let effort = &mut self.effort;
        if effort.asks && effort.worked && !effort.told {
            effects.push(Effect::Hold);
            effort.until = Some(self.heard + FOR_AN_ANSWER);
        } else {
            effects.push(Effect::End);
        }
    }

    /// Ends when nobody answers.
    pub(super) fn wait_for_the_effort(&mut self, effects: &mut Vec<Effect>) {
        let until = self.effort.until;
        if until.is_some_and(|until| self.heard >= until) && self.state == State::Finished {
            self.effort.until = None;
            effects.push(Effect::End);
        }
    }

    /// Takes the effort felt during the finish; before it there is nothing to judge yet.
    pub(super) fn rate(&mut self, felt: Option<u8>, effects: &mut Vec<Effect>) {
        let over = self
            .here()
            .is_none_or(|here| here.kind == SegmentKind::Finish);
        if !over || self.timeline.is_none() {
            return self.confirm(Message::NotNow, effects);
        }
        self.effort.told = true;
        effects.push(Effect::Rate(felt));
        self.confirm(Message::Noted, effects);
    }

    /// Takes what is told after the end.
    pub(super) fn answered(&mut self, verb: &Verb, effects: &mut Vec<Effect>) {
        if self.effort.until.is_none() {
            return;
        }
        match verb {
            Verb::Rate(felt) => {
                effects.push(Effect::Rate(*felt));
                effects.push(Effect::Hush);
                self.effort.until = None;
                self.to_say = 0;
                self.say(Message::Noted, effects);
                self.then = Some(Then::End);
            }
            // Whoever goes on to another session leaves the question.
            Verb::Stop | Verb::Next | Verb::Previous | Verb::Start(_) => {
                self.effort.until = None;
                effects.push(Effect::End);
            }
            _ => {
                effects.push(Effect::Hush);
                self.to_say = 0;
                self.say(Message::HowHard, effects);
            }
        }
    }
}
