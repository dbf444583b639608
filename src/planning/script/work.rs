//! What could be said during a work: safety first, then form, then breathing; the easier
//! option; facts of the plan. One-sided movements begin their second side with the other cue.

use super::Line;
use super::Scene;
use super::Scribe;
use super::Slot;
use super::Topic;
use super::id;
use super::weights;
use super::weights::order;
use crate::base::wording::Arg;
use crate::planning::session::Cue;
use crate::planning::session::CueKind;
use crate::planning::session::Part;
use crate::planning::session::Phase;
use crate::planning::session::Said;
use crate::planning::session::Side;
use crate::planning::session::SideWords;
use crate::planning::session::Talk;
use crate::planning::session::When;
use crate::planning::timeline::Timeline;

/// The effort aimed at, of ten, from which a harder option is offered.
const HARD_FROM: u8 = 6;
/// Safety belongs early: what a safety cue is worth after the first window of the work.
const SAFETY_LATER: i64 = 700;

impl<'a> Scribe<'a> {
    /// Writes what could be said during a work.
    pub(super) fn in_work(&self, timeline: &Timeline, scene: &Scene, index: usize) -> Vec<Line> {
        if scene.work.stations {
            let mut lines = self.in_stations(scene);
            lines.extend(self.fact(timeline, scene, index));
            return lines;
        }
        let cues = self.cues(scene);
        let counted = scene.work.repetitions.is_some();
        let safety: Vec<_> = self.safety_in_turn(scene, &cues);
        let mut lines = Vec::new();
        for (at, cue) in cues.iter().enumerate() {
            let wanted = match cue.kind {
                CueKind::Safety => safety.contains(&at),
                CueKind::Harder => self.may_be_harder(scene),
                _ => true,
            };
            if !wanted {
                continue;
            }
            let work = (Slot::Work, 1000);
            let slots: &[(Slot, i64)] = match cue.when {
                When::Before if cue.kind == CueKind::Safety => continue,
                When::Before => &[(Slot::Early, 1000), (Slot::Late, 1000)],
                // Between the numbers of repetitions there may be no time for it.
                When::During if cue.kind == CueKind::Safety && counted => {
                    &[(Slot::Late, 700), work]
                }
                When::During => &[work],
                // In a short rest the way out must not push the start position aside.
                // And it makes no sense before how it goes was heard, for which the opening has time.
                When::Either if cue.kind == CueKind::Easier && scene.met == 0 && index > 0 => {
                    &[work]
                }
                When::Either if cue.kind == CueKind::Easier => {
                    &[(Slot::Early, 250), (Slot::Late, 300), work]
                }
                When::Either => &[(Slot::Early, 900), (Slot::Late, 1000), work],
            };
            lines.push(self.cue_line(scene, at, cue).slots(slots));
        }
        lines.extend(self.fact(timeline, scene, index));
        lines
    }

    /// A harder option is offered to those who know the movement, where the work is meant to be
    /// hard.
    fn may_be_harder(&self, scene: &Scene) -> bool {
        let main = scene.work.block(self.session).part == Part::Main;
        let effort = self.session.text.effort;
        scene.met_on_side > 1 && main && effort.is_none_or(|e| e >= HARD_FROM)
    }

    /// Says a brief offer with its label: alone it would sound like an order.
    fn brief(&self, cue: &Cue, side: Option<Side>, sides: &SideWords) -> Option<String> {
        let brief = cue.said.brief(side, sides)?;
        let label = match cue.kind {
            CueKind::Easier => "easier-brief",
            CueKind::Harder => "harder-brief",
            _ => return Some(brief),
        };
        let text = self.wording.lowered(&brief);
        Some(self.wording.say(label, &[("text", Arg::Text(&text))]))
    }

    /// Returns the cues of a work: those of the use, then the movement's own.
    pub(super) fn cues(&self, scene: &Scene<'_>) -> Vec<Cue> {
        let own = &scene.work.movement_use(self.session).cues;
        let mut cues: Vec<_> = own.iter().chain(&scene.movement.cues).cloned().collect();
        cues.extend(self.breathing_with_the_count(scene, &cues));
        cues
    }

    /// Where repetitions are counted and the movement says nothing of the breath: out is always on
    /// the effort (Williams et al. 2007, Circulation 116:572-84), whichever phase comes first.
    fn breathing_with_the_count(&self, scene: &Scene, cues: &[Cue]) -> Option<Cue> {
        scene.work.repetitions?;
        if cues.iter().any(|cue| cue.kind == CueKind::Breathing) {
            return None;
        }
        let message = match scene.movement.begins {
            Some(Phase::Effort) => "breathing-effort-first",
            // A tempo is written from the lowering on.
            Some(Phase::Lowering) | None => "breathing-lowering-first",
        };
        Some(Cue {
            kind: CueKind::Breathing,
            when: When::During,
            said: Said::plain(scene.movement.place, &self.wording.say(message, &[])),
        })
    }

    /// Several safety cues of one movement take turns, so that they never crowd out all else:
    /// half of what the work may hold, one at least.
    fn safety_in_turn(&self, scene: &Scene, cues: &[Cue]) -> Vec<usize> {
        let during: Vec<_> = cues
            .iter()
            .enumerate()
            .filter(|(_, cue)| cue.kind == CueKind::Safety && cue.when != When::Before)
            .map(|(at, _)| at)
            .collect();
        if during.is_empty() {
            return during;
        }
        let limit = weights::work_limit(scene.work.length, scene.met_on_side, Talk::Normal);
        let many = (limit.count / 2).clamp(1, during.len());
        (0..many)
            .map(|turn| during[(scene.met_on_side + turn) % during.len()])
            .collect()
    }

    /// Writes the line of a cue; `at` is its place among the cues of the work.
    pub(super) fn cue_line(&self, scene: &Scene, at: usize, cue: &Cue) -> Line {
        let (side, sides) = (scene.work.side, self.sides(scene.movement));
        let (topic, order, what) = match cue.kind {
            CueKind::Safety => (Topic::Safety, order::SAFETY, "safety"),
            CueKind::Form => (Topic::Form, order::FORM, "form"),
            CueKind::Breathing => (Topic::Breathing, order::BREATHING, "breathing"),
            CueKind::Easier => (Topic::Easier, order::EASIER, "easier"),
            CueKind::Harder => (Topic::Harder, order::HARDER, "harder"),
        };
        // Own cues of a use are numbered apart: an id has the same words wherever it stands.
        let own = &scene.work.movement_use(self.session).cues;
        let same_kind = |c: &&Cue| c.kind == cue.kind;
        let (what, nth) = if at < own.len() {
            let nth = own[..at].iter().filter(same_kind).count();
            let place = (scene.work.block + 1, scene.work.of + 1);
            (
                format!("{what}-{}-of-use-{}-{}", nth + 1, place.0, place.1),
                nth,
            )
        } else {
            let earlier = &scene.movement.cues[..at - own.len()];
            let nth = earlier.iter().filter(same_kind).count();
            (format!("{what}-{}", nth + 1), nth)
        };
        let demands = scene.movement.demands;
        let lasting = demands.impact || demands.overhead || demands.held_still;
        let loaded = scene.movement.held().any(|item| item.load.is_some());
        let (weight, fade) = match cue.kind {
            CueKind::Safety => (weights::SAFETY, weights::CONSTANT),
            CueKind::Form => (
                self.by_side(weights::FORM, weights::BREATHING, scene),
                weights::CUE,
            ),
            CueKind::Breathing => (
                self.by_side(weights::BREATHING, weights::FORM, scene),
                weights::CUE,
            ),
            CueKind::Easier => {
                let weight = if loaded {
                    weights::EASIER_LOADED
                } else {
                    weights::EASIER
                };
                (
                    weight,
                    if lasting {
                        weights::LASTING
                    } else {
                        weights::ONCE
                    },
                )
            }
            CueKind::Harder => (weights::HARDER, weights::CUE),
        };
        // What was written for this very session comes before what stands in the movement.
        let own_cue = if at < own.len() { weights::OWN_CUE } else { 0 };
        let step = weights::STEP * nth as i64 - own_cue;
        Line::new(
            id::of_movement(&scene.movement.id, &what, side),
            topic,
            order,
            cue.said.full(side, sides),
        )
        .group(id::of_movement(&scene.movement.id, &what, None))
        .brief(self.brief(cue, side, sides))
        .weigh((weight - step).max(1), fade)
    }

    /// On the second side form and breathing change places, so that over two rounds each side
    /// hears both, and neither side hears the same one twice running.
    fn by_side(&self, first: i64, second: i64, scene: &Scene) -> i64 {
        if scene.second_side { second } else { first }
    }
}

/// Returns what a line is worth in a window of the work, per mille: `nth` counts the windows.
pub fn work_window_factor(topic: Topic, nth: usize) -> i64 {
    match (topic, nth) {
        (_, 0) => 1000,
        (Topic::Safety, _) => SAFETY_LATER,
        _ => 1000,
    }
}
