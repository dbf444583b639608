//! Several people at once, each on a station: what is said of all stations before the first work,
//! and how all move on in the rests. Cues name their station.

use super::Line;
use super::Scene;
use super::Scribe;
use super::Slot;
use super::Topic;
use super::id;
use super::names::in_the_tail;
use super::weights;
use super::weights::order;
use crate::base::wording::Arg;
use crate::planning::session::Cue;
use crate::planning::session::CueKind;
use crate::planning::session::Sides;
use crate::planning::session::Use;
use crate::planning::session::When;
use crate::planning::timeline::Work;

impl Scribe<'_> {
    /// Writes what is said before a work on stations.
    pub(super) fn before_stations(&self, scene: &Scene) -> Vec<Line> {
        let work = scene.work;
        if work.round > 0 || work.position > 0 {
            return vec![self.move_on(work)];
        }
        let mut lines = Vec::new();
        for (at, used) in work.block(self.session).uses.iter().enumerate() {
            lines.extend(self.station(at, used));
        }
        lines.push(self.to_stations("stations-begin", Slot::Early));
        lines
    }

    /// Writes the word on which all go to their stations, or are there.
    pub(super) fn to_stations(&self, message: &str, slot: Slot) -> Line {
        must(message, self.wording.say(message, &[])).slots(&[(slot, 1000), (Slot::Tail, 500)])
    }

    fn move_on(&self, work: &Work) -> Line {
        let mut held = work.block(self.session).uses.iter();
        let held = held.any(|used| self.session.movement(used).held().next().is_some());
        let next = self.wording.say("stations-next", &[]);
        let (id, full) = if work.position == 0 {
            let round = self.wording.number(work.round as i64 + 1);
            let args = [("round", Arg::Text(&round))];
            let id = format!("stations-round-{}", work.round + 1);
            (id, self.wording.say("stations-round", &args))
        } else if held {
            let said = self.wording.say("stations-next-put-down", &[]);
            ("stations-next-put-down".to_owned(), said)
        } else {
            ("stations-next".to_owned(), next.clone())
        };
        let line = must(&id, full).brief(Some(next.clone()));
        let line = line.slots(&[(Slot::Early, 1000), (Slot::Late, 1000), (Slot::Tail, 500)]);
        let args = [("text", Arg::Text(&self.wording.lowered(&next)))];
        in_the_tail(line, self.wording.say("then", &args))
    }

    /// Says what is done on a station: its number and name, start position, how it goes, and what
    /// must be known before the first repetition.
    fn station(&self, at: usize, used: &Use) -> Vec<Line> {
        let movement = self.session.movement(used);
        let number = self.wording.number(at as i64 + 1);
        let side = super::first_side_of(movement);
        let args = [
            ("n", Arg::Text(&number)),
            ("name", Arg::Text(&movement.name)),
        ];
        let changes = movement.sides == Sides::Each;
        let message = if changes {
            "station-name-sides"
        } else {
            "station-name"
        };
        let name = self.wording.say(message, &args);
        let mut lines = vec![
            must(&format!("station-{}/{}", at + 1, movement.id), name)
                .slots(&[(Slot::Early, 1000), (Slot::Tail, 500)]),
        ];
        lines.extend(self.taken_up(movement, side).map(|text| {
            let id = id::of_movement(&movement.id, "take", side);
            Line::new(id, Topic::Equipment, order::NAME, text)
                .must()
                .weigh(weights::MUST, weights::CONSTANT)
                .slots(&[(Slot::Early, 1000), (Slot::Tail, 500)])
        }));
        let by_ear = self.session.text.by_ear;
        let sides = self.sides(movement);
        let start = movement.start.full(side, sides);
        let id = id::of_movement(&movement.id, "start", side);
        let mut start = Line::new(id, Topic::Start, order::NAME, start)
            .weigh(weights::START, weights::SET_UP)
            .slots(&[(Slot::Early, 1000)]);
        start.must = by_ear;
        lines.push(start);
        lines.extend(self.how(movement, side, by_ear).map(|mut line| {
            line.order = order::NAME;
            line.slots(&[(Slot::Early, 1000)])
        }));
        // Two stations may have the same movement, and each a note of its own.
        lines.extend(used.note.as_ref().map(|note| {
            let id = format!("station-{}/{}/note", at + 1, movement.id);
            Line::new(id, Topic::Form, order::NAME, note.clone())
                .weigh(weights::NOTE, weights::SET_UP)
                .slots(&[(Slot::Early, 1000)])
        }));
        let before = movement.cues.iter().enumerate().filter(|(_, cue)| {
            cue.kind == CueKind::Safety && matches!(cue.when, When::Before | When::Either)
        });
        lines.extend(before.map(|(nth, cue)| {
            let id = id::of_movement(&movement.id, &format!("before-{}", nth + 1), side);
            Line::new(id, Topic::Safety, order::NAME, cue.said.full(side, sides))
                .weigh(weights::SAFETY, weights::CONSTANT)
                .slots(&[(Slot::Early, 1000)])
        }));
        lines
    }

    /// Writes what could be said in a work on stations. Each work speaks to as many stations as it has
    /// room for cues, and the next work to those after them, so that whoever begins where hears
    /// as much: on odd visits of a station what keeps safe, on even ones its other cues.
    pub(super) fn in_stations(&self, scene: &Scene) -> Vec<Line> {
        let work = scene.work;
        let stations = work.block(self.session).uses.len();
        let turn = work.round * work.positions + work.position;
        let talk = self.talk(Some(work));
        let many = weights::work_limit(work.length, 0, talk)
            .count
            .min(stations);
        let mut lines = Vec::new();
        for nth in turn * many..(turn + 1) * many {
            let (at, visit) = (nth % stations, nth / stations);
            let there = Work {
                of: at,
                ..work.clone()
            };
            let movement = self.movement(&there);
            let there = Scene {
                work: &there,
                movement,
                met_on_side: visit,
                met: visit,
                second_side: false,
            };
            let cues = self.cues(&there);
            let wanted = |kind: CueKind| match kind {
                CueKind::Safety => visit.is_multiple_of(2),
                CueKind::Harder => false,
                _ => !visit.is_multiple_of(2),
            };
            let before = lines.len();
            // Nobody knows which side works now.
            let sayable = |cue: &Cue| cue.when != When::Before && !cue.said.speaks_of_a_side();
            for any_kind in [false, true] {
                for (nth, cue) in cues.iter().enumerate() {
                    if sayable(cue)
                        && (wanted(cue.kind) || (any_kind && cue.kind != CueKind::Harder))
                    {
                        let line = self.cue_line(&there, nth, cue);
                        lines.push(line.slots(&[(Slot::Work, 1000)]));
                    }
                }
                // A movement without such cues is spoken to with what it has.
                if lines.len() > before {
                    break;
                }
            }
            self.number(at, &mut lines[before..]);
        }
        lines
    }

    /// Puts the number of a station before what is said of it.
    fn number(&self, at: usize, lines: &mut [Line]) {
        let number = self.wording.number(at as i64 + 1);
        for line in lines.iter_mut() {
            // The same movement on two stations is spoken of in other words.
            line.id = format!("station-{}/{}", at + 1, line.id);
        }
        for offer in lines.iter_mut().flat_map(|line| &mut line.offers) {
            let text = self.wording.lowered(&offer.text);
            let args = [("n", Arg::Text(&number)), ("text", Arg::Text(&text))];
            // "Station two, easier: ...", not two colons.
            let message = if text.contains(": ") {
                "station-cue-labelled"
            } else {
                "station-cue"
            };
            offer.text = self.wording.say(message, &args);
        }
    }
}

fn must(id: &str, said: String) -> Line {
    Line::new(id, Topic::Name, order::NAME, said)
        .must()
        .weigh(weights::MUST, weights::CONSTANT)
}
