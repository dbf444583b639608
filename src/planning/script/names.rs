//! What the next work is called: its name with its side, once in a short rest, early and again
//! before the count in a long one; the other half of a work with a change in the middle.

use super::Length;
use super::Line;
use super::Offer;
use super::Scene;
use super::Scribe;
use super::Slot;
use super::Topic;
use super::id;
use super::weights;
use super::weights::order;
use crate::base::wording::Arg;
use crate::planning::session::Limb;
use crate::planning::session::Side;
use crate::planning::timeline::Half;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;

impl Scribe<'_> {
    /// Writes the name of a work.
    pub(super) fn names(
        &self,
        timeline: &Timeline,
        scene: &Scene,
        kind: Option<SegmentKind>,
        long: bool,
    ) -> Vec<Line> {
        let work = scene.work;
        if work.half == Some(Half::Second) {
            return vec![self.other_half(scene)];
        }
        let bare = self.name("name", scene, &[]);
        let first = kind == Some(SegmentKind::LeadIn);
        let last = timeline.works.len() > 1
            && std::ptr::eq(work, &timeline.works[timeline.works.len() - 1]);
        let round = work.position == 0 && work.round > 0 && work.positions > 1;
        let early = if first {
            name_line(scene, "name-first", self.name("name-first", scene, &[]))
        } else if round {
            let number = self.wording.number(work.round as i64 + 1);
            let args = [("round", Arg::Text(&number))];
            let message = if long {
                "name-round"
            } else {
                "name-round-brief"
            };
            let id = format!("name-round-{}", work.round + 1);
            name_line(scene, &id, self.name(message, scene, &args)).brief(Some(bare.clone()))
        } else if last {
            name_line(scene, "name-last", self.name("name-last", scene, &[]))
                .brief(Some(bare.clone()))
        } else {
            name_line(scene, "name", bare.clone())
        };
        let mut early = early.slots(&[(Slot::Early, 1000), (Slot::Late, 900), (Slot::Tail, 800)]);
        // The full wording is what matters here, each time.
        early.offers[0].again = weights::PREFERRED;
        for offer in &mut early.offers[1..] {
            offer.again = weights::BRIEF_NEW_MUST;
        }
        if !first {
            early = in_the_tail(early, self.name("name-next", scene, &[]));
        }
        if !long {
            return vec![early];
        }
        early.slots = vec![(Slot::Early, 1000), (Slot::Tail, 500)];
        let mut again = self.name_again(scene);
        again.only_divided = true;
        vec![early, again]
    }

    /// Writes the name as it is said again just before the count.
    pub(super) fn name_again(&self, scene: &Scene) -> Line {
        let bare = self.name("name", scene, &[]);
        name_line(scene, "name-again", bare).slots(&[(Slot::Late, 1000)])
    }

    /// Says the name of a work with its side, in one of the program's sentences.
    pub(super) fn name(&self, message: &str, scene: &Scene, more: &[(&str, Arg)]) -> String {
        let called = self.called(scene);
        let mut args = more.to_vec();
        args.push(("name", Arg::Text(&called)));
        super::capitalise(match self.side_of(scene) {
            None => self.wording.say(message, &args),
            Some(side) => {
                args.push(("side", Arg::Text(&side)));
                self.wording.say(&format!("{message}-side"), &args)
            }
        })
    }

    /// Returns the name of the movement, and which side begins where sides take turns.
    fn called(&self, scene: &Scene) -> String {
        let name = &scene.movement.name;
        match scene.work.begins_with {
            None => name.clone(),
            Some(side) => {
                let side = self.sides(scene.movement).of(side);
                let args = [("name", Arg::Text(name)), ("side", Arg::Text(side))];
                self.wording.say("name-starting", &args)
            }
        }
    }

    fn side_of(&self, scene: &Scene) -> Option<String> {
        let side = scene.work.side?;
        let sides = self.sides(scene.movement);
        let (side, other) = (sides.of(side), sides.of(side.other()));
        Some(match scene.work.half {
            Some(Half::First) => {
                let args = [("side", Arg::Text(side)), ("other", Arg::Text(other))];
                self.wording.say("side-then", &args)
            }
            _ => side.to_owned(),
        })
    }

    /// Says the side of the second half, in the end of the first.
    fn other_half(&self, scene: &Scene) -> Line {
        let limb = scene.movement.limb.and_then(Limb::named);
        let side = scene.work.side.unwrap_or(Side::Right);
        let limb = self.wording.limb(side.id(), limb);
        let args = [("limb", Arg::Text(&limb))];
        let line = name_line(
            scene,
            "other-half",
            super::capitalise(self.wording.say("other-half", &args)),
        );
        let line = line.slots(&[(Slot::Late, 1000), (Slot::Tail, 800)]);
        let next = self.wording.say("other-half-next", &args);
        let Some(held) = self.in_hands(scene.work) else {
            return in_the_tail(line, next);
        };
        // What the hands do is told in the same breath; between the numbers of repetitions there may
        // be time for the side alone.
        let hold = scene.movement.hold.as_ref();
        let sides = self.sides(scene.movement);
        let hold = hold.map_or(String::new(), |h| h.words(scene.work.side, sides));
        let more = [("the", Arg::Text(&held)), ("hold", Arg::Text(&hold))];
        let args = [&args[..], &more].concat();
        let line = in_the_tail(line, self.wording.say("other-half-next-hold", &args));
        match scene.work.repetitions {
            Some(_) => in_the_tail(line, next),
            None => line,
        }
    }
}

fn name_line(scene: &Scene, what: &str, said: String) -> Line {
    let id = id::of_movement(&scene.movement.id, what, scene.work.side);
    Line::new(id, Topic::Name, order::NAME, said)
        .must()
        .weigh(weights::MUST, weights::CONSTANT)
}

/// Adds the wording for the end of a work: "Next, ...", which nobody takes for an order for now.
pub(super) fn in_the_tail(mut line: Line, text: String) -> Line {
    line.offers.push(Offer {
        length: Length::Full,
        text,
        new: weights::PREFERRED,
        again: weights::PREFERRED,
        tail: true,
    });
    line
}
