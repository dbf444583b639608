//! The dip: how far the bed steps back, and when, from what is about to be heard.
//!
//! What is planned is known ahead, so the bed is down before a sound begins and no word is spoken
//! into a bed that still falls. What comes unforeseen finds it going down as fast as is smooth.

use super::glide::Glide;
use crate::base::units::Db;
use crate::base::units::Frames;
use crate::base::units::Lufs;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// How long before a sound the dip begins. It is first noticed when it is about 1 dB down, which is
/// 250 ms before the sound.
const LEAD: Millis = Millis::from_ms(280);

/// How long the bed takes on its way down where it has the time: it arrives 50 ms before the sound.
pub(super) const DOWN: Millis = Millis::from_ms(230);

/// The fastest way down: smooth still, and shorter than a first syllable.
const QUICK: Millis = Millis::from_ms(60);

/// The way up, begun with the last audible sample.
const UP: Millis = Millis::from_ms(600);

/// A silence between two sounds that is shorter than this leaves the bed down: it would pump.
const BRIDGE: Millis = Millis::from_ms(1200);

/// The loudest that the bed may be while something is heard: speech at -18 LUFS, at least 10 LU over
/// it (Torcoli et al. 2019, doi 10.17743/jaes.2019.0052), and 2 LU for what a short window hides.
const UNDER_SPEECH: Lufs = Lufs::new(-30.0);

/// The least dip: that the bed has stepped back is heard of a quiet one too.
const LEAST: Db = Db::new(6.0);

/// The deepest dip: below this nothing is heard of the bed.
const MOST: Db = Db::new(60.0);

/// A bed that grows by less than this is not followed: 2 LU are in hand.
const TOLERANCE: Db = Db::new(0.25);

/// What is heard next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Near {
    /// Something is heard now.
    Now,
    /// Something will be heard in so many frames, as far as is known.
    In(u64),
    /// Nothing is known of.
    Nothing,
}

/// The dip of one bed.
#[derive(Debug)]
pub(super) struct Dip {
    /// In decibels; 0 is no dip.
    glide: Glide,
    down: bool,
    /// Frames since something was heard.
    quiet: u64,
    lead: u64,
    way_down: u64,
    quick: u64,
    up: u64,
    bridge: u64,
}

impl Near {
    /// Returns the nearer of two.
    pub fn or(self, other: Near) -> Near {
        match (self, other) {
            (Near::Now, _) | (_, Near::Now) => Near::Now,
            (Near::In(a), Near::In(b)) => Near::In(a.min(b)),
            (Near::In(a), Near::Nothing) | (Near::Nothing, Near::In(a)) => Near::In(a),
            (Near::Nothing, Near::Nothing) => Near::Nothing,
        }
    }
}

impl Dip {
    /// Begins without a dip.
    pub fn new(rate: SampleRate) -> Self {
        let frames = |time: Millis| time.frames(rate).count();
        Dip {
            glide: Glide::at(0.0),
            down: false,
            quiet: frames(BRIDGE),
            lead: frames(LEAD),
            way_down: frames(DOWN),
            quick: frames(QUICK),
            up: frames(UP),
            bridge: frames(BRIDGE),
        }
    }

    /// Sees what is near, with a bed of this loudness before the dip.
    pub fn see(&mut self, near: Near, bed: Lufs) {
        let time = match near {
            Near::Now => 0,
            Near::In(frames) => frames,
            Near::Nothing => u64::MAX,
        };
        if near == Near::Now {
            self.quiet = 0;
        }
        let wanted = time <= self.lead || self.quiet.saturating_add(time) < self.bridge;
        if !wanted {
            if self.down {
                self.down = false;
                self.glide.aim(0.0, self.up);
            }
            return;
        }
        let depth = depth(bed).db();
        if !self.down {
            self.down = true;
            let spare = self.lead - self.way_down;
            let way = time.saturating_sub(spare);
            self.glide.aim(-depth, way.clamp(self.quick, self.way_down));
        } else if depth > TOLERANCE.db() - self.glide.goal() {
            // A bed that grows is known of three seconds ahead. One that sinks is left where it is,
            // for it would pump.
            self.glide.aim(-depth, self.way_down);
        }
    }

    /// Goes as it went once.
    pub fn goes(&mut self, glide: Glide) {
        self.glide = glide;
    }

    /// Returns how deep it is, in decibels.
    pub fn glide(&mut self) -> &mut Glide {
        &mut self.glide
    }

    /// Lets frames pass.
    pub fn pass(&mut self, frames: Frames) {
        self.glide.pass(frames.count());
        self.quiet = self.quiet.saturating_add(frames.count());
    }

    /// Returns the factor for amplitudes.
    pub fn gain(&self) -> f32 {
        Db::new(self.glide.value()).gain()
    }
}

/// How deep the dip has to be for a bed of this loudness.
fn depth(bed: Lufs) -> Db {
    let over = -bed.gain_to(UNDER_SPEECH).db();
    // What is no number is taken for loud.
    match over.is_nan() {
        true => MOST,
        false => Db::new(over.clamp(LEAST.db(), MOST.db())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: SampleRate = SampleRate::OUTPUT;
    const MS: u64 = 48;
    const LOUD: Lufs = Lufs::new(-18.0);

    /// Follows the dip over sounds from and to these places, in ms, all known from `known` ms on; returns
    /// the level in dB at each ms.
    fn levels(
        sounds: &[(u64, u64)],
        known: u64,
        length: u64,
        bed: impl Fn(u64) -> f32,
    ) -> Vec<f32> {
        let mut dip = Dip::new(RATE);
        (0..length)
            .map(|ms| {
                let near = sounds.iter().fold(Near::Nothing, |near, (from, to)| {
                    near.or(match ms {
                        _ if ms < known || ms >= *to => Near::Nothing,
                        _ if ms >= *from => Near::Now,
                        _ => Near::In((from - ms) * MS),
                    })
                });
                dip.see(near, Lufs::new(bed(ms)));
                let level = Db::from_gain(dip.gain()).db();
                dip.pass(Frames::new(MS));
                level
            })
            .collect()
    }

    fn first_below(levels: &[f32], db: f32) -> usize {
        levels.iter().position(|level| *level < db).unwrap()
    }

    #[test]
    fn it_begins_a_quarter_of_a_second_before_a_sound_and_is_done_when_that_begins() {
        let levels = levels(&[(2000, 3000)], 0, 5000, |_| LOUD.lufs());
        // Seen at once, heard at 1 dB, obvious at 3 dB: each of them 200 to 300 ms ahead.
        for db in [-0.01, -1.0, -3.0] {
            let ahead = 2000 - first_below(&levels, db);
            assert!((200..=300).contains(&ahead), "{db} dB {ahead} ms ahead");
        }
        assert!(
            levels[1960..3000]
                .iter()
                .all(|level| (level + 12.0).abs() < 0.01)
        );
        // Up again within 600 ms, and without haste.
        assert!((levels[3300] + 6.0).abs() < 0.2, "{}", levels[3300]);
        assert!(levels[3601..].iter().all(|level| *level == 0.0));
    }

    #[test]
    fn it_does_not_pump_over_less_than_1200_ms_and_rises_over_more() {
        for (gap, stays) in [(150, true), (900, true), (1190, true), (1210, false)] {
            let next = 2000 + gap;
            let levels = levels(&[(1000, 2000), (next, next + 500)], 0, 5000, |_| -18.0);
            let between = &levels[2000..next as usize];
            let steady = between.iter().all(|level| (level + 12.0).abs() < 0.01);
            assert_eq!(steady, stays, "{gap} ms");
            if !stays {
                assert!(between.contains(&0.0));
                assert!((levels[next as usize] + 12.0).abs() < 0.01);
            }
        }
    }

    #[test]
    fn what_comes_unforeseen_finds_it_down_within_60_ms() {
        // Told when it begins, and told 100 ms ahead.
        let late = levels(&[(1000, 2000)], 1000, 2000, |_| -18.0);
        assert_eq!(first_below(&late, -0.001), 1001);
        assert!((1055..=1060).contains(&first_below(&late, -11.99)));
        let short = levels(&[(1000, 2000)], 900, 2000, |_| -18.0);
        assert!(first_below(&short, -11.99) < 965);
    }

    #[test]
    fn it_is_deep_enough_for_a_loud_chorus_and_goes_down_but_once() {
        // Quiet, then loud, then quiet again: told three seconds ahead, as blocks are.
        let chorus = |ms: u64| match ms {
            3000..=7000 => -12.0_f32,
            _ => -28.0,
        };
        let told = |ms: u64| {
            (ms..ms + 3000)
                .step_by(10)
                .map(chorus)
                .fold(-99.0, f32::max)
        };
        let levels = levels(&[(1000, 2500), (2900, 9000)], 0, 11_000, told);
        for ms in 1000..9000 {
            let heard = chorus(ms) + levels[ms as usize];
            assert!(
                heard <= UNDER_SPEECH.lufs() + 0.3,
                "{heard} LUFS at {ms} ms"
            );
        }
        assert!(levels[1000..9000].is_sorted_by(|a, b| a >= b), "it pumps");
        assert_eq!(*levels.last().unwrap(), 0.0);
    }

    #[test]
    fn the_depth_is_bounded_whatever_the_bed() {
        for (bed, wanted) in [
            (f32::NEG_INFINITY, 6.0),
            (-40.0, 6.0),
            (-20.0, 10.0),
            (f32::INFINITY, 60.0),
            (f32::NAN, 60.0),
        ] {
            assert_eq!(depth(Lufs::new(bed)).db(), wanted, "{bed}");
        }
    }
}
