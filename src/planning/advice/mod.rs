//! What a coach should know of a session before it is run: a session and its plan -> a
//! [`Report`] of its time, its rests, its sides and its energy, with advice.
//!
//! This room changes nothing and estimates no length of speech itself: it reads those that the
//! plan was made with. Advice is one fact at one place, however many rounds it holds for. The texts
//! themselves are looked through in [`texts`].

mod balance;
mod cues;
mod energy;
mod fit;
mod look;
mod sense;
pub mod texts;
mod totals;
mod translated;

pub use energy::Activity;
pub use energy::COMPENDIUM;
pub use energy::Energy;
pub use energy::EnergyPart;
pub use energy::FORMULA;
pub use energy::Kilograms;
pub use energy::kcal_a_minute;
pub use fit::A_CHANGE;
pub use sense::outside_published_ratios;
pub use translated::untranslated;

use crate::base::diagnostic::Diagnostic;
use crate::base::units::At;
use crate::base::units::Millis;
use crate::planning::plan::Plan;
use crate::planning::session::Pattern;
use crate::planning::session::Session;
use crate::planning::session::Side;
use crate::planning::timeline::SegmentKind;
use look::Look;
use std::collections::HashSet;

/// What there is to know of a session.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    pub title: String,
    /// The voice whose lengths of speech were used.
    pub voice: String,
    pub totals: Totals,
    /// One entry for the lead-in, for each change of work, and for the finish.
    pub fit: Vec<Fit>,
    pub counts: Counts,
    /// What to have ready, each thing once, in the order of use.
    pub ready: Vec<ReadyItem>,
    pub balance: Balance,
    pub energy: Energy,
    /// What is worth knowing and no fault.
    pub notes: Vec<String>,
    /// One a fact, in the order of time.
    pub advice: Vec<Diagnostic>,
}

/// How long a session and its parts are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Totals {
    /// From the start of the lead-in to the end of the finish.
    pub whole: Millis,
    /// Works and rests alone.
    pub training: Millis,
    pub work: Millis,
    pub rest: Millis,
    pub works: usize,
    pub rests: usize,
}

impl Totals {
    /// Returns the work for each unit of rest; `None` where there is no rest.
    pub fn work_to_rest(&self) -> Option<f64> {
        (self.rest > Millis::ZERO).then(|| self.work.secs() / self.rest.secs())
    }
}

/// Whether what must be heard before a work fits the time before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fit {
    /// Lead-in, rest or finish; a rest of no length where a work follows another at once.
    pub kind: SegmentKind,
    pub at: At,
    /// As planned.
    pub rest: Millis,
    /// What of that was added so that everything can be heard.
    pub added: Millis,
    /// The movement before which it is, and its side; `None` at the end.
    pub before: Option<(String, Option<Side>)>,
    /// How many changes of equipment, hold or posture there are.
    pub changes: usize,
    /// What must be said, each in the wording that fits this meeting, with the gaps between.
    pub needed: Millis,
    /// The time in which it may be said: guards and count are taken off.
    pub free: Millis,
    /// Whether some of it is said at the end of the work before.
    pub in_work_before: bool,
    /// The least that would hold all that should be heard there in full, guards and count
    /// included, and the changes; whole seconds. `None` where no rest would, or none is needed.
    pub smallest: Option<Millis>,
}

impl Fit {
    /// Returns the free time that is left; negative where it lacks.
    pub fn spare(&self) -> Millis {
        self.free - self.needed
    }
}

/// How many works are of which kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counts {
    /// In the order of the patterns; none of zero.
    pub patterns: Vec<(Pattern, usize)>,
    pub impact: usize,
    pub overhead: usize,
    pub held_still: usize,
    pub right: usize,
    pub left: usize,
    pub both: usize,
    pub alternate: usize,
}

/// Something that a session needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadyItem {
    pub item: String,
    pub count: u8,
    pub load: Option<String>,
    /// Whether it stays where it is.
    pub fixed: bool,
}

/// How long each side works.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Balance {
    pub right: Millis,
    pub left: Millis,
    /// The names of movements of which one side does more, with the time right and left.
    pub uneven: Vec<(String, Millis, Millis)>,
}

/// Looks at a session and the plan that was made of it, for somebody of a body mass.
pub fn report(session: &Session, plan: &Plan, mass: Kilograms) -> Report {
    let look = Look::new(session, plan);
    let (fit, mut advice) = fit::fit(&look);
    advice.extend(sense::advice(&look));
    advice.extend(balance::advice(&look));
    advice.extend(cues::advice(&look));
    Report {
        title: plan.title.clone(),
        voice: plan.voice.clone(),
        totals: totals::totals(plan),
        fit,
        counts: balance::counts(&look),
        ready: balance::ready(&look),
        balance: balance::balance(&look),
        energy: energy::energy(&look, mass),
        notes: sense::notes(&look),
        advice: one_a_fact(advice),
    }
}

/// Keeps the first of what is said under one code of one place: a fact is told once, not once a
/// round.
pub fn one_a_fact(diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut told = HashSet::new();
    let first = |d: &Diagnostic| told.insert((d.place, d.code));
    diagnostics.into_iter().filter(first).collect()
}
