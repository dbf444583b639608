//! The finish: put things down, let the breath settle, what to do when faint, the effort felt.

use super::Line;
use super::Scribe;
use super::Topic;
use super::weights;
use super::weights::order;
use crate::base::wording::Arg;
use crate::planning::session::Posture;
use crate::planning::timeline::Timeline;

impl Scribe<'_> {
    /// Writes the finish.
    pub(super) fn finish(&self, timeline: &Timeline) -> Vec<Line> {
        let last = timeline.works.last();
        let stations = last.is_some_and(|work| work.stations);
        let done = match last.and_then(|work| self.in_hands(work)) {
            Some(_) if stations => self.wording.say("finish-stations", &[]),
            Some(items) => self
                .wording
                .say("finish-put-down", &[("the", Arg::Text(&items))]),
            None => self.wording.say("finish-done", &[]),
        };
        let on_floor = last.is_some_and(|w| self.movement(w).posture != Posture::Standing);
        let walk = if on_floor {
            "finish-floor"
        } else {
            "finish-walk"
        };
        let say = |message: &str| self.wording.say(message, &[]);
        let mut lines = vec![
            must("finish/done", Topic::Equipment, 0, done),
            must("finish/walk", Topic::Recovery, 1, say(walk)),
            must("finish/faint", Topic::Safety, 2, say("finish-faint")),
            Line::new(
                "finish/effort",
                Topic::Effort,
                order::FINISH + 3,
                say("finish-effort"),
            )
            .brief(Some(say("finish-effort-brief")))
            .weigh(weights::NOTE, weights::CONSTANT),
        ];
        if let Some(own) = &self.session.text.closing {
            lines.push(
                Line::new("finish/own", Topic::Closing, order::FINISH + 4, own.clone())
                    .weigh(weights::BLOCK, weights::CONSTANT),
            );
        }
        lines
    }
}

fn must(id: &str, topic: Topic, nth: u16, said: String) -> Line {
    Line::new(id, topic, order::FINISH + nth, said)
        .must()
        .weigh(weights::MUST, weights::CONSTANT)
}
