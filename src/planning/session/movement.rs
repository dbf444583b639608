//! A movement and its cues.

use super::Said;
use super::Template;
use crate::base::diagnostic::Place;
use crate::base::units::Millis;
use crate::base::wording::Language;
use crate::base::wording::Noun;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a movement trains, by its main pattern (terms of strength coaching).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pattern {
    Squat,
    Hinge,
    Lunge,
    Push,
    Pull,
    Carry,
    Rotate,
    Brace,
    Locomotion,
    Mobility,
}

impl Pattern {
    /// All patterns, each with its word in the files.
    pub const WORDS: [(&str, Pattern); 10] = [
        ("squat", Pattern::Squat),
        ("hinge", Pattern::Hinge),
        ("lunge", Pattern::Lunge),
        ("push", Pattern::Push),
        ("pull", Pattern::Pull),
        ("carry", Pattern::Carry),
        ("rotate", Pattern::Rotate),
        ("brace", Pattern::Brace),
        ("locomotion", Pattern::Locomotion),
        ("mobility", Pattern::Mobility),
    ];

    /// Returns its word in the files.
    pub fn word(self) -> &'static str {
        let known = Self::WORDS.iter().find(|(_, pattern)| *pattern == self);
        known.map_or("", |(word, _)| *word)
    }
}

/// How the sides of the body take part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Sides {
    /// Both at once.
    #[default]
    Both,
    /// One, and then the other: each side is a work of its own.
    Each,
    /// In turn, from one repetition to the next.
    Alternate,
}

/// What the side names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Limb {
    Arm,
    Leg,
    Side,
}

impl Limb {
    /// Returns its name in messages; none where the side names no more than the side.
    pub const fn named(self) -> Option<&'static str> {
        match self {
            Limb::Arm => Some("arm"),
            Limb::Leg => Some("leg"),
            Limb::Side => None,
        }
    }
}

/// Where the body is during the movement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Posture {
    #[default]
    Standing,
    Kneeling,
    Floor,
}

/// What a movement asks of body and room that calls for care.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Demands {
    /// Jumps and landings.
    pub impact: bool,
    /// Loads or hands above the head.
    pub overhead: bool,
    /// A position held still.
    pub held_still: bool,
}

/// Something a movement needs.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Equipment {
    /// What it is called in every language: by this, sessions and movements are joined.
    pub item: String,
    /// What it is called in the language spoken.
    pub noun: Noun,
    pub count: u8,
    pub load: Option<String>,
    /// Whether it stays where it is (a bench, a wall) rather than in the hands.
    pub fixed: bool,
}

/// Seconds of each phase of a repetition; `None` is as fast as possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tempo {
    pub eccentric: Option<u8>,
    pub pause_after_eccentric: Option<u8>,
    pub concentric: Option<u8>,
    pub pause_after_concentric: Option<u8>,
}

impl Tempo {
    fn phases(self) -> [Option<u8>; 4] {
        [
            self.eccentric,
            self.pause_after_eccentric,
            self.concentric,
            self.pause_after_concentric,
        ]
    }

    /// Returns whether a phase is as fast as possible.
    pub fn any_as_fast_as_possible(self) -> bool {
        self.phases().contains(&None)
    }

    /// Returns the length of a repetition; a phase as fast as possible counts as one second
    /// (common practice).
    pub fn length(self) -> Millis {
        self.phases()
            .iter()
            .map(|s| Millis::from_secs(i64::from(s.unwrap_or(1))))
            .sum()
    }
}

/// The phase with which a repetition begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    Effort,
    Lowering,
}

/// What a cue is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CueKind {
    Safety,
    Form,
    Breathing,
    Easier,
    Harder,
}

/// When a cue helps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum When {
    /// In the rest, before the first repetition.
    Before,
    /// In the work.
    During,
    /// In the rest or in the work.
    Either,
}

/// One thing to say about a movement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cue {
    pub kind: CueKind,
    pub when: When,
    pub said: Said,
}

/// A movement, as one file describes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Movement {
    pub id: String,
    pub place: Place,
    /// The language that its texts are meant for; what was not translated is in another.
    pub language: Language,
    /// The texts that no translation has, so that they are those of the movement's own file.
    pub untranslated: Vec<String>,
    /// The same movement with its texts in other languages; `None` where a file is at fault.
    pub translations: BTreeMap<Language, Option<Arc<Movement>>>,
    pub name: String,
    pub name_place: Place,
    pub pattern: Pattern,
    pub sides: Sides,
    pub limb: Option<Limb>,
    pub posture: Posture,
    pub demands: Demands,
    pub equipment: Vec<Equipment>,
    /// How the items that are not fixed are held; with none, the hands are free.
    pub hold: Option<Template>,
    /// Own words for taking it up, in place of the program's: full and brief.
    pub take: Option<Template>,
    pub take_brief: Option<Template>,
    pub tempo: Option<Tempo>,
    pub begins: Option<Phase>,
    pub start: Said,
    pub how: Vec<Said>,
    pub cues: Vec<Cue>,
}

impl Movement {
    /// Returns the items that are in the hands during the movement.
    pub fn held(&self) -> impl Iterator<Item = &Equipment> {
        self.equipment
            .iter()
            .filter(|item| self.hold.is_some() && !item.fixed)
    }
}
