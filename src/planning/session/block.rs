//! A block of a session: rounds of movements with their times.

use super::Cue;
use super::Side;
use super::Talk;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::Place;
use crate::base::music::Wish;
use crate::base::units::Millis;

/// What a block is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Part {
    WarmUp,
    #[default]
    Main,
    CoolDown,
}

/// A duration, the same in all rounds or one for each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PerRound {
    Same(Millis),
    Each(Vec<Millis>),
}

impl PerRound {
    /// Returns the duration in a round, counted from 0.
    pub fn in_round(&self, round: usize) -> Millis {
        match self {
            PerRound::Same(length) => *length,
            PerRound::Each(lengths) => lengths.get(round).copied().unwrap_or(Millis::ZERO),
        }
    }

    /// Returns the one duration, if it is the same in all rounds.
    pub fn same(&self) -> Option<Millis> {
        match self {
            PerRound::Same(length) => Some(*length),
            PerRound::Each(_) => None,
        }
    }
}

/// How long a work lasts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lasts {
    /// A time, the same in all rounds or one for each.
    For(PerRound),
    /// So many repetitions at the movement's tempo, counted aloud.
    Reps(Located<usize>),
    /// Until the listener says so.
    UntilKey(Place),
}

/// Which sides a use of a one-sided movement works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SideChoice {
    /// One after the other, each a work of its own.
    Each,
    /// One after the other in the same work: the change is in the middle.
    Halves,
    /// One alone.
    Only(Side),
}

/// Which side begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FirstSide {
    #[default]
    Right,
    Left,
    /// Right in the first round, left in the second, and so on.
    ByRound,
}

impl FirstSide {
    /// Returns the side that begins in a round, counted from 0.
    pub const fn in_round(self, round: usize) -> Side {
        match self {
            FirstSide::Right => Side::Right,
            FirstSide::Left => Side::Left,
            FirstSide::ByRound if round.is_multiple_of(2) => Side::Right,
            FirstSide::ByRound => Side::Left,
        }
    }
}

/// A movement as a block uses it.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    pub place: Place,
    pub movement: Located<String>,
    pub side: Option<Located<SideChoice>>,
    pub first_side: Option<Located<FirstSide>>,
    pub work: Option<Lasts>,
    pub rest: Option<Located<Millis>>,
    pub load: Option<Located<String>>,
    /// How much is said in its works, where that is not what the session asks for.
    pub talk: Option<Talk>,
    pub note: Option<String>,
    pub note_place: Option<Place>,
    /// Cues of this use, before the movement's own.
    pub cues: Vec<Cue>,
}

impl Use {
    /// Makes the use of a movement with nothing said beside it.
    pub fn bare(movement: Located<String>) -> Self {
        Self {
            place: movement.place,
            movement,
            side: None,
            first_side: None,
            work: None,
            rest: None,
            load: None,
            talk: None,
            note: None,
            note_place: None,
            cues: Vec::new(),
        }
    }
}

/// Rounds of movements.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    pub place: Place,
    pub title: Option<String>,
    pub title_place: Option<Place>,
    pub part: Part,
    pub rounds: usize,
    pub work: Lasts,
    pub rest: PerRound,
    /// From the start of one work to the start of the next; the rest is what the work leaves.
    pub every: Option<Located<Millis>>,
    /// Whether several people do all movements at once, each on a station, and move on in the rests.
    pub stations: bool,
    /// The rest at the end of a round.
    pub between_rounds: PerRound,
    /// Whether the block ends with a rest.
    pub last_rest: bool,
    /// Whether the end of a work is counted out.
    pub count_out: bool,
    /// What it says of music.
    pub music: Option<Wish>,
    pub uses: Vec<Use>,
}
