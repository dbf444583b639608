//! How fast one device runs against another, and what makes up for it: pure, time is handed in.
//!
//! A clock of frames is known by its *origin*: the instant at which it would have begun had it always run
//! at its nominal rate. Of two clocks that run alike the origins stay as far apart as they are; a callback
//! that comes late shows an origin that is late, so the earliest of a second is the one that counts.

/// Origins are looked at for so long before one is believed: fifty callbacks of 960 frames.
const WINDOW_US: i64 = 1_000_000;
/// What the rate is changed by for each second that one is off, and for each second that it stays so. At a
/// tenth and its square over four the way back is as short as it can be without overshoot: 20 s, and a
/// device that is off by 200 ppm is never more than 2 ms away.
const BY_OFFSET: f64 = 0.1;
const BY_SUM: f64 = BY_OFFSET * BY_OFFSET / 4.0;
/// The rate is never changed by more: clocks of sound devices are within 200 ppm of one another (common
/// practice: crystals of 50 to 100 ppm), and a hundredth of a semitone is heard by nobody.
const MOST: f64 = 500e-6;
/// Farther off than this it is no drift: a device was away, or took sound ahead. It is lived with.
const JUMP_US: i64 = 40_000;

/// Follows the drift between two clocks.
#[derive(Debug, Clone, Default)]
pub struct Drift {
    /// When the window ends, and the earliest origins in it.
    until: Option<i64>,
    leader: i64,
    follower: i64,
    /// How far apart the origins are to stay, once that is known.
    wanted: Option<i64>,
    /// The offset added up over time, in seconds times seconds.
    sum: f64,
    /// What the rate is off 1.
    change: f64,
}

impl Drift {
    /// Takes in where the clocks' origins lie now, in microseconds, and returns the rate at which the
    /// follower is to run: 1 and at most 500 millionths more or less.
    pub fn see(&mut self, now: i64, leader: i64, follower: i64) -> f64 {
        let until = *self.until.get_or_insert_with(|| {
            (self.leader, self.follower) = (leader, follower);
            now + WINDOW_US
        });
        self.leader = self.leader.min(leader);
        self.follower = self.follower.min(follower);
        if now >= until {
            self.until = None;
            self.adjust();
        }
        1.0 + self.change
    }

    /// Starts anew where one of the clocks stood still; what is known of the rate stays.
    pub fn forget_the_place(&mut self) {
        self.until = None;
        self.wanted = None;
    }

    fn adjust(&mut self) {
        let apart = self.follower - self.leader;
        let wanted = *self.wanted.get_or_insert(apart);
        if (apart - wanted).abs() > JUMP_US {
            self.wanted = Some(apart);
            return;
        }
        // Too late an origin: it has rendered too little.
        let off = (apart - wanted) as f64 / 1e6;
        let sum = self.sum + off * WINDOW_US as f64 / 1e6;
        let change = BY_OFFSET * off + BY_SUM * sum;
        if change.abs() <= MOST {
            self.sum = sum;
        }
        self.change = change.clamp(-MOST, MOST);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Callbacks of both clocks over so many minutes; returns the farthest that one was off, in us, after
    /// the first window.
    fn farthest(ppm: f64, minutes: i64, late: impl Fn(i64) -> i64) -> (f64, f64) {
        let mut drift = Drift::default();
        let (mut rate, mut ahead, mut farthest) = (1.0, 0.0_f64, 0.0_f64);
        for nth in 0..minutes * 3000 {
            let now = nth * 20_000;
            // What it rendered more than its leader, in us of sound.
            ahead += 20_000.0 * (rate * (1.0 + ppm / 1e6) - 1.0);
            let follower = 777 + late(nth) - ahead as i64;
            rate = drift.see(now, late(nth * 7 + 3), follower);
            farthest = farthest.max(ahead.abs());
        }
        (farthest, rate)
    }

    #[test]
    fn a_clock_that_is_200_ppm_off_is_held_within_2_ms() {
        for ppm in [200.0, -200.0] {
            let (farthest, rate) = farthest(ppm, 10, |_| 0);
            assert!(farthest < 2_000.0, "{farthest} us");
            assert!(((rate - 1.0) * 1e6 + ppm).abs() < 5.0, "{rate}");
        }
    }

    #[test]
    fn callbacks_that_come_late_by_up_to_a_buffer_do_no_harm() {
        // Any number from 0 to 19 ms, by a hash, and now and then a very late one.
        let late = |nth: i64| match nth % 97 {
            0 => 200_000,
            _ => (nth.wrapping_mul(2_654_435_761) >> 7).rem_euclid(19_000),
        };
        let (farthest, rate) = farthest(200.0, 10, late);
        assert!(farthest < 4_000.0, "{farthest} us");
        assert!(((rate - 1.0) * 1e6 + 200.0).abs() < 100.0, "{rate}");
    }

    #[test]
    fn the_rate_stays_within_its_bounds_and_a_jump_is_no_drift() {
        let (_, rate) = farthest(2000.0, 1, |_| 0);
        assert!((1.0 - MOST..1.0).contains(&rate), "{rate}");
        let mut drift = Drift::default();
        for nth in 0..200 {
            let jumped = if nth < 100 { 0 } else { 300_000 };
            assert_eq!(drift.see(nth * 20_000, 0, jumped), 1.0);
        }
    }
}
