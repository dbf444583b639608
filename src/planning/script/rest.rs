//! What is said before a work: name, equipment, start position, how it goes, what must be
//! known before the first repetition; and, in long rests, words that let the breath settle.

use super::Length;
use super::Line;
use super::Offer;
use super::Scene;
use super::Scribe;
use super::Slot;
use super::Topic;
use super::equipment::HELD_THROUGH_UP_TO_MS;
use super::id;
use super::weights;
use super::weights::order;
use crate::planning::session::CueKind;
use crate::planning::session::Movement;
use crate::planning::session::Posture;
use crate::planning::session::Side;
use crate::planning::session::When;
use crate::planning::timeline::Segment;
use crate::planning::timeline::SegmentKind;
use crate::planning::timeline::Timeline;

/// Above this a rest has an early window and a late one, with quiet between; there is time to
/// say what calms.
pub const LONG_REST_MS: i64 = 20_000;

/// How many different words of recovery there are.
const RECOVERIES: usize = 3;

impl Scribe<'_> {
    /// Writes what could be said before a work.
    pub(super) fn before_work(
        &self,
        timeline: &Timeline,
        scene: &Scene,
        before: Option<usize>,
        rest: Option<&Segment>,
    ) -> Vec<Line> {
        let kind = rest.map(|r| r.kind);
        // As written, not as lengthened: a rest grows only to hold more of the same.
        let previous = before.map(|b| &timeline.works[b]);
        let rest_ms = match (kind, previous) {
            (Some(SegmentKind::Rest), Some(work)) => work.rest.map_or(0, |r| r.ms()),
            _ => 0,
        };
        let long = rest_ms > LONG_REST_MS;
        let mut lines = self.changes(previous, scene, rest_ms);
        let new_block = previous.is_none_or(|p| p.block != scene.work.block);
        if new_block {
            let line = self.block_begins(scene.work.block);
            lines.extend(line.map(|l| l.slots(&[(Slot::Early, 1000)])));
        }
        let takes_up = lines.iter().any(|l| l.order == order::TAKE);
        if scene.work.stations {
            lines.extend(self.before_stations(scene));
        } else {
            lines.extend(self.names(timeline, scene, kind, long));
            lines.extend(self.cues_before(scene));
            let takes_up_late = takes_up && rest_ms > HELD_THROUGH_UP_TO_MS;
            lines.extend(self.set_up(scene, takes_up_late));
        }
        // Where the start position comes early, the rest is spent in it.
        if long && (takes_up || scene.met > 0) {
            let hands_full = before.is_some_and(|b| self.in_hands(&timeline.works[b]).is_some());
            let stays =
                previous.is_some_and(|p| self.movement(p).posture == scene.movement.posture);
            let posture = previous.map(|p| self.movement(p).posture).filter(|_| stays);
            lines.extend(self.recovery(before.unwrap_or(0), posture, hands_full));
        }
        if self.last_round(timeline, scene) {
            let said = self.wording.say("progress-last-round", &[]);
            lines.push(
                Line::new(
                    "progress/last-round",
                    Topic::Progress,
                    order::NAME - 1,
                    said,
                )
                .weigh(weights::PROGRESS, weights::CONSTANT)
                .slots(&[(Slot::Early, 1000)]),
            );
        }
        lines
    }

    fn last_round(&self, timeline: &Timeline, scene: &Scene) -> bool {
        let block = scene.work.block(self.session);
        let last_block = timeline.works.last().map(|w| w.block) == Some(scene.work.block);
        last_block
            && block.rounds > 2
            && scene.work.position == 0
            && scene.work.round + 1 == block.rounds
    }

    /// Writes start position and how it goes. By ear, at a first meeting, both are musts.
    fn set_up(&self, scene: &Scene, takes_up_late: bool) -> Vec<Line> {
        let (movement, side) = (scene.movement, scene.work.side);
        let sides = self.sides(movement);
        let by_ear = self.session.text.by_ear && scene.met == 0;
        let again = scene.met > 0;
        let id = id::of_movement(&movement.id, "start", side);
        let mut start = Line::new(
            id,
            Topic::Start,
            order::START,
            movement.start.full(side, sides),
        )
        .group(id::of_movement(&movement.id, "start", None))
        .weigh(weights::START, weights::SET_UP)
        .slots(match again {
            true => &[(Slot::Early, 500), (Slot::Late, 1000)],
            // Not later than how it goes, which carries on from it.
            false => &[(Slot::Early, 1000)],
        });
        start.must = by_ear;
        if !by_ear {
            start = start.brief(movement.start.brief(side, sides));
            for brief in &mut start.offers[1..] {
                brief.new = weights::BRIEF_NEW_START;
            }
        }
        let mut lines = vec![start];
        if again && !by_ear {
            return lines;
        }
        lines.extend(self.how(movement, side, by_ear));
        // Set up early, with free hands: the position is named again with what is taken up.
        let brief = movement.start.brief(side, sides);
        lines.extend(brief.filter(|_| takes_up_late).map(|brief| {
            let id = id::of_movement(&movement.id, "start-again", side);
            let mut line = Line::new(id, Topic::Start, order::START, brief)
                .weigh(weights::START_AGAIN, weights::CONSTANT)
                .slots(&[(Slot::Late, 1000)]);
            line.only_divided = true;
            line
        }));
        lines
    }

    /// Writes how it goes as one line: all steps or, where it need not be whole, as many of the
    /// first ones as there is time for. Each carries on from the one before, so none is said
    /// without it.
    pub(super) fn how(&self, movement: &Movement, side: Option<Side>, whole: bool) -> Option<Line> {
        let sides = self.sides(movement);
        let steps = movement.how.iter().map(|step| step.full(side, sides));
        let steps: Vec<_> = steps.collect();
        let all = steps.len();
        let worth =
            |said: usize| -> i64 { (0..said as i64).map(|at| weights::HOW - 10 * at).sum() };
        let id = id::of_movement(&movement.id, "how", side);
        let mut line = Line::new(id, Topic::How, order::HOW, steps.join(" "))
            .group(id::of_movement(&movement.id, "how", None))
            .weigh(worth(all), weights::ONCE)
            .slots(&[(Slot::Early, 1000), (Slot::Late, 900)]);
        line.must = whole;
        let parts = if whole { 0..0 } else { 1..all };
        line.offers.extend(parts.rev().map(|said| {
            let part = 1000 * worth(said) / worth(all);
            Offer {
                length: Length::Brief,
                text: steps[..said].join(" "),
                new: part,
                again: part,
                tail: false,
            }
        }));
        (all > 0).then_some(line)
    }

    /// Writes the cues that help before the first repetition.
    fn cues_before(&self, scene: &Scene) -> Vec<Line> {
        let cues = self.cues(scene);
        let mut lines: Vec<_> = cues
            .iter()
            .enumerate()
            .filter(|(_, cue)| cue.kind == CueKind::Safety && cue.when == When::Before)
            .map(|(at, cue)| {
                self.cue_line(scene, at, cue)
                    .slots(&[(Slot::Late, 1000), (Slot::Early, 900)])
            })
            .collect();
        if let Some(note) = &scene.work.movement_use(self.session).note {
            let id = id::of_movement(&scene.movement.id, "note", scene.work.side);
            lines.push(
                Line::new(id, Topic::Form, order::NOTE, note.clone())
                    .weigh(weights::NOTE, weights::SET_UP)
                    .slots(&[(Slot::Early, 1000), (Slot::Late, 1000)]),
            );
        }
        lines
    }

    /// Writes words that let the breath settle, which can be done there and then; `turn` changes
    /// them from rest to rest, `posture` is the one that the rest is spent in, if it is one.
    pub(super) fn recovery(
        &self,
        turn: usize,
        posture: Option<Posture>,
        hands_full: bool,
    ) -> Option<Line> {
        let message = match posture? {
            Posture::Floor => "recovery-floor".to_owned(),
            Posture::Kneeling => return None,
            // The last one needs empty hands.
            Posture::Standing if hands_full => format!("recovery-{}", turn % (RECOVERIES - 1) + 1),
            Posture::Standing => format!("recovery-{}", turn % RECOVERIES + 1),
        };
        let full = self.wording.say(&message, &[]);
        let brief = self.wording.say(&format!("{message}-brief"), &[]);
        Some(
            Line::new(message, Topic::Recovery, order::RECOVERY, full)
                .brief(Some(brief))
                .weigh(weights::RECOVERY, weights::RECOVERY_FADE)
                .slots(&[(Slot::Early, 1000)]),
        )
    }
}
