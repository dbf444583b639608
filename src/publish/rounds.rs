//! How many cues each round of a plan holds, by kind: what fades, and what does not, read off the plan.

use crate::planning::plan::Plan;
use crate::planning::plan::SoundKind;
use crate::planning::script::Topic;
use crate::planning::session::Session;
use crate::planning::timeline::SegmentKind;
use std::fmt::Write;

/// The kinds of cues that are counted, in the order of what a listener needs.
const KINDS: [Topic; 6] = [
    Topic::Safety,
    Topic::Form,
    Topic::Breathing,
    Topic::Easier,
    Topic::Harder,
    Topic::Progress,
];

/// A round of a block with the cues heard in its works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Round {
    pub block: usize,
    /// Counted from 0.
    pub round: usize,
    pub works: usize,
    /// How many of each of [`KINDS`].
    cues: [usize; KINDS.len()],
}

impl Round {
    /// Returns how many cues its works hold together.
    pub fn all(&self) -> usize {
        self.cues.iter().sum()
    }

    /// Returns how many cues of a kind its works hold.
    pub fn of(&self, kind: Topic) -> usize {
        let at = KINDS.iter().position(|k| *k == kind);
        at.map_or(0, |at| self.cues[at])
    }
}

/// Counts the cues in the works of each round, in order.
pub fn rounds(plan: &Plan) -> Vec<Round> {
    let mut rounds: Vec<Round> = Vec::new();
    for (index, segment) in plan.timeline.segments.iter().enumerate() {
        let work = segment.work.map(|w| &plan.timeline.works[w]);
        let Some(work) = work.filter(|_| segment.kind == SegmentKind::Work) else {
            continue;
        };
        let same = |r: &&mut Round| (r.block, r.round) == (work.block, work.round);
        if rounds.last_mut().filter(same).is_none() {
            rounds.push(Round {
                block: work.block,
                round: work.round,
                works: 0,
                cues: [0; KINDS.len()],
            });
        }
        let Some(round) = rounds.last_mut() else {
            continue;
        };
        round.works += 1;
        for sound in plan.sounds.iter().filter(|s| s.segment == index) {
            if let SoundKind::Line { topic, .. } = &sound.kind
                && let Some(at) = KINDS.iter().position(|k| k == topic)
            {
                round.cues[at] += 1;
            }
        }
    }
    rounds
}

/// Writes the rounds, a line each.
pub fn text(plan: &Plan, session: &Session) -> String {
    let mut out = String::from("\nCues in the works, round by round\n");
    for round in rounds(plan) {
        let block = &session.text.blocks[round.block];
        let title = match (&block.title, session.text.blocks.len()) {
            (Some(title), _) => format!("{title}, "),
            (None, 1) => String::new(),
            (None, _) => format!("block {}, ", round.block + 1),
        };
        let kinds: Vec<_> = KINDS
            .iter()
            .filter(|kind| round.of(**kind) > 0)
            .map(|kind| format!("{} {}", round.of(*kind), kind.word()))
            .collect();
        let kinds = match kinds.is_empty() {
            true => String::new(),
            false => format!(": {}", kinds.join(", ")),
        };
        // A write into a string cannot fail.
        let _ = writeln!(
            out,
            "  {title}round {} of {}: {} in {} {}{kinds}",
            round.round + 1,
            block.rounds,
            round.all(),
            round.works,
            if round.works == 1 { "work" } else { "works" },
        );
    }
    out
}
