//! What lines are worth, how worth fades, and how much may be said in a work.
//!
//! The numbers are common practice put in an order: what keeps people safe outweighs what makes
//! them better, and what was never said outweighs what was. Only their order and sums matter.

use super::Topic;
use crate::base::units::Millis;
use crate::planning::session::Talk;

/// The order of doing inside a window.
pub mod order {
    pub const OPENING: u16 = 0;
    pub const READY: u16 = 10;
    pub const CAUTION: u16 = 20;
    pub const EFFORT: u16 = 40;
    pub const PUT_DOWN: u16 = 50;
    pub const BLOCK: u16 = 55;
    pub const NAME: u16 = 60;
    pub const TAKE: u16 = 70;
    pub const POSTURE: u16 = 75;
    pub const START: u16 = 80;
    pub const HOW: u16 = 90;
    pub const NOTE: u16 = 100;
    pub const SAFETY: u16 = 110;
    pub const FORM: u16 = 120;
    pub const BREATHING: u16 = 130;
    pub const EASIER: u16 = 140;
    pub const HARDER: u16 = 150;
    pub const PROGRESS: u16 = 160;
    /// After the name and before anything that has to be done for the next movement.
    pub const RECOVERY: u16 = 65;
    pub const FINISH: u16 = 180;
}

/// Worth that does not fade: safety, and what must be known each time.
pub const CONSTANT: &[i64] = &[1000];
/// Cues: the first time whole; then below any cue not yet said (the least of those is
/// [`HARDER`]); then hardly anything.
pub const CUE: &[i64] = &[1000, 300, 120];
/// Said once and not again.
pub const ONCE: &[i64] = &[1000, 0];
/// Set-up: less needed each time.
pub const SET_UP: &[i64] = &[1000, 700, 400];
/// The easier option where it never goes away (impact, overhead, held still): still below any
/// cue not yet said, but above those that were.
pub const LASTING: &[i64] = &[1000, 300];
/// Calming words in the rests.
pub const RECOVERY_FADE: &[i64] = &[1000, 600, 400];

pub const MUST: i64 = 3000;
pub const SAFETY: i64 = 1000;
pub const POSTURE: i64 = 900;
pub const START: i64 = 800;
/// The start position again, after a rest with free hands.
pub const START_AGAIN: i64 = 400;
pub const BLOCK: i64 = 750;
pub const NOTE: i64 = 700;
/// Above breathing: who finds a movement too hard should hear a way out at the first meeting.
pub const EASIER: i64 = 600;
pub const BREATHING: i64 = 520;
pub const FORM: i64 = 500;
/// Each step of how it goes: four of them are worth less than the start position, without which
/// they lead nowhere.
pub const HOW: i64 = 150;
/// With a load, the opening has said that it may be left down.
pub const EASIER_LOADED: i64 = 400;
pub const RECOVERY: i64 = 100;
pub const HARDER: i64 = 190;
/// A fact of the plan or the clock: more than what is left of a cue that was said twice, less than of
/// one that was said once.
pub const PROGRESS: i64 = 70;
/// A cue of a use, written for this very session: above any other cue of a movement but safety.
pub const OWN_CUE: i64 = 150;
/// Each further cue of a kind, in the order written, is worth a little less.
pub const STEP: i64 = 5;

/// Per mille of a line's weight for its wording: the one that fits its history.
pub const PREFERRED: i64 = 1000;
/// A full wording of what was heard before.
pub const FULL_AGAIN: i64 = 600;
/// A brief wording of what is new.
pub const BRIEF_NEW: i64 = 700;
/// A brief start position at a first meeting: the full one is worth more than it and two steps
/// of how it goes.
pub const BRIEF_NEW_START: i64 = 450;
/// The same for what must be said: brief and whole beats full and alone.
pub const BRIEF_NEW_MUST: i64 = 900;

/// Returns what a line is worth where little or much talk is asked for, per mille:
///
/// | talk | facts of the plan, words of recovery | harder options | all else |
/// | --- | --- | --- | --- |
/// | quiet | never | never | as it is |
/// | normal | as they are | as they are | as it is |
/// | full | twice | as they are | as it is |
pub const fn of_talk(topic: Topic, talk: Talk) -> i64 {
    match (talk, topic) {
        (Talk::Quiet, Topic::Progress | Topic::Recovery | Topic::Harder) => 0,
        (Talk::Full, Topic::Progress | Topic::Recovery) => 2000,
        _ => 1000,
    }
}

/// How much may be said in the windows of a work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    /// The most lines.
    pub count: usize,
    /// The most time speaking.
    pub talk: Millis,
}

/// Returns how much may be said in a work of a length, when its movement was done `met` times
/// before: 1 + floor(length / 15 s), never more than 8 (2 in 20 s, 3 in 30 to 40 s: common
/// practice); then about half of the cues beside the safety one; then one.
///
/// | talk | cues | speaking, of the work |
/// | --- | --- | --- |
/// | quiet | the half of normal, at least 1 | 25 % |
/// | normal | as above | 40 % |
/// | full | one more | 55 % |
pub fn work_limit(length: Millis, met: usize, talk: Talk) -> Limit {
    let full = (1 + length.ms() / 15_000).clamp(1, 8) as usize;
    let beside_safety = full - 1;
    let heard = 1 + match met {
        0 => beside_safety,
        1 => beside_safety.div_ceil(2),
        _ => beside_safety.min(1),
    };
    let (count, percent) = match talk {
        Talk::Quiet => (heard.div_ceil(2), 25),
        Talk::Normal => (heard, 40),
        Talk::Full => ((heard + 1).min(8), 55),
    };
    Limit {
        count,
        talk: Millis::from_ms(length.ms() * percent / 100),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cue_not_yet_said_outweighs_any_already_said() {
        let weights = [EASIER, BREATHING, FORM, EASIER_LOADED, HARDER];
        let least_new = HARDER;
        for weight in weights {
            for left in CUE[1..].iter().chain(&LASTING[1..]) {
                assert!(weight * left / 1000 < least_new);
            }
        }
    }

    #[test]
    fn the_limits_are_those_of_the_trade() {
        // Common practice: two cues in 20 s of work, three in 30 to 40 s, never more than eight.
        let count = |secs, met| work_limit(Millis::from_secs(secs), met, Talk::Normal).count;
        assert_eq!(
            (count(20, 0), count(30, 0), count(40, 0), count(300, 0)),
            (2, 3, 3, 8)
        );
        assert_eq!((count(40, 1), count(40, 2), count(20, 5)), (2, 2, 2));
    }
}
