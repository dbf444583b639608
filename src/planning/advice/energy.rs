//! An estimate of the energy that a session takes, from the kind of each block.
//!
//! A block of mobility alone counts as stretching, other warm-ups and cool-downs as light
//! calisthenics; a main block whose every movement is loaded, with rests of a minute or more in
//! the mean, as resistance training; any other as a circuit, light, moderate or vigorous by the
//! effort aimed at (1-3, 4-6, 7-10; moderate where none is given). Rests count with the work, as
//! they do in the Compendium; lead-in and finish do not.

use super::look::Look;
use crate::base::units::Millis;
use crate::planning::session::Part;
use crate::planning::session::Pattern;

/// Where the values come from.
pub const COMPENDIUM: &str =
    "2024 Adult Compendium of Physical Activities, Herrmann et al., J Sport Health Sci 13:6-12";
/// How energy follows from them.
pub const FORMULA: &str = "kcal = MET x 3.5 x kg / 200 x min";

/// An activity of the Compendium.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Activity {
    pub code: &'static str,
    pub name: &'static str,
    /// In tenths of a MET.
    met_tenths: u16,
}

impl Activity {
    /// Returns its metabolic equivalent.
    pub fn met(self) -> f64 {
        f64::from(self.met_tenths) / 10.0
    }
}

const fn activity(code: &'static str, name: &'static str, met_tenths: u16) -> Activity {
    Activity {
        code,
        name,
        met_tenths,
    }
}

// 2024 Adult Compendium, codes and METs as read; the names in our words.
const STRETCHING: Activity = activity("02101", "stretching", 23);
const CALISTHENICS_LIGHT: Activity = activity("02024", "calisthenics, light", 28);
const CIRCUIT_LIGHT: Activity = activity("02034", "circuit training, light", 35);
const CIRCUIT_MODERATE: Activity = activity("02035", "circuit training, moderate", 50);
const CIRCUIT_VIGOROUS: Activity = activity("02040", "circuit training, vigorous", 75);
const RESISTANCE: Activity = activity("02054", "resistance training, 8-15 repetitions", 35);
const RESISTANCE_VIGOROUS: Activity = activity("02050", "resistance training, vigorous", 60);

/// Rests of this length in the mean make sets of a block (common practice).
const LONG_REST: Millis = Millis::from_secs(60);
/// The effort aimed at, of ten, from which work counts as moderate, and as vigorous.
const MODERATE_FROM: u8 = 4;
const VIGOROUS_FROM: u8 = 7;

/// The mass of a body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kilograms(f64);

impl Kilograms {
    /// The mass taken where none is given.
    pub const USUAL: Kilograms = Kilograms(70.0);

    /// Makes a mass.
    pub const fn new(kg: f64) -> Self {
        Self(kg)
    }

    /// Returns the kilograms.
    pub const fn kg(self) -> f64 {
        self.0
    }
}

/// The estimated energy of a session.
#[derive(Debug, Clone, PartialEq)]
pub struct Energy {
    pub mass: Kilograms,
    /// One an activity, in the order of the session.
    pub parts: Vec<EnergyPart>,
}

/// The time that counts as one activity.
#[derive(Debug, Clone, PartialEq)]
pub struct EnergyPart {
    pub activity: Activity,
    pub time: Millis,
    pub kcal: f64,
}

impl Energy {
    /// Returns the whole, in kcal.
    pub fn kcal(&self) -> f64 {
        self.parts.iter().map(|part| part.kcal).sum()
    }
}

/// Returns the energy that a minute takes, in kcal.
pub fn kcal_a_minute(met: f64, mass: Kilograms) -> f64 {
    met * 3.5 * mass.kg() / 200.0
}

/// Estimates the energy of a session.
pub fn energy(look: &Look, mass: Kilograms) -> Energy {
    let mut times: Vec<(Activity, Millis)> = Vec::new();
    for block in 0..look.session.text.blocks.len() {
        let time = look.of_block(block).map(|d| d.end - d.start + d.rest).sum();
        let activity = activity_of(look, block);
        match times.iter_mut().find(|(known, _)| *known == activity) {
            Some((_, so_far)) => *so_far += time,
            None => times.push((activity, time)),
        }
    }
    let part = |(activity, time): (Activity, Millis)| EnergyPart {
        activity,
        time,
        kcal: kcal_a_minute(activity.met(), mass) * time.secs() / 60.0,
    };
    Energy {
        mass,
        parts: times.into_iter().map(part).collect(),
    }
}

fn activity_of(look: &Look, block: usize) -> Activity {
    let text = &look.session.text;
    let all = |what: fn(&super::look::Done) -> bool| look.of_block(block).all(what);
    if all(|d| d.movement.pattern == Pattern::Mobility) {
        return STRETCHING;
    }
    if text.blocks[block].part != Part::Main {
        return CALISTHENICS_LIGHT;
    }
    let effort = text.effort.unwrap_or(MODERATE_FROM);
    let loaded = all(|d| d.used.load.is_some() || d.movement.held().any(|i| i.load.is_some()));
    let rests: Vec<_> = look.of_block(block).map(|d| d.rest).collect();
    // The last rest may have been left out: the others say what kind of block it is.
    let between = &rests[..rests.len().saturating_sub(1)];
    let between_sum: Millis = between.iter().copied().sum();
    let sets = !between.is_empty() && between_sum.ms() >= LONG_REST.ms() * between.len() as i64;
    match (loaded && sets, effort) {
        (true, VIGOROUS_FROM..) => RESISTANCE_VIGOROUS,
        (true, _) => RESISTANCE,
        (false, VIGOROUS_FROM..) => CIRCUIT_VIGOROUS,
        (false, MODERATE_FROM..) => CIRCUIT_MODERATE,
        (false, _) => CIRCUIT_LIGHT,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_met_at_68_kg_take_what_the_published_example_says() {
        // Worked example beside the formula (R): 11.9 kcal a minute, 357 kcal in 30 minutes.
        let a_minute = kcal_a_minute(10.0, Kilograms::new(68.0));
        assert!((a_minute - 11.9).abs() < 1e-9, "{a_minute}");
        assert!((a_minute * 30.0 - 357.0).abs() < 1e-9);
    }

    #[test]
    fn the_values_are_those_of_the_2024_edition() {
        // Herrmann et al. 2024, J Sport Health Sci 13:6-12 (R); the 2011 edition has 4.3 for
        // 02035 and 8.0 for 02040.
        for (activity, met) in [
            (STRETCHING, 2.3),
            (CALISTHENICS_LIGHT, 2.8),
            (CIRCUIT_LIGHT, 3.5),
            (CIRCUIT_MODERATE, 5.0),
            (CIRCUIT_VIGOROUS, 7.5),
            (RESISTANCE, 3.5),
            (RESISTANCE_VIGOROUS, 6.0),
        ] {
            assert!((activity.met() - met).abs() < 1e-9, "{}", activity.code);
        }
    }
}
