//! Whether a key of the terminal was pressed or is held down, as a pure function of what the terminal tells
//! and of time.
//!
//! A key that is held down comes again after 225 to 660 ms, as the system has it, and then at least every
//! 100 ms (common practice; from memory). Most terminals tell it as any other press. So the same key again
//! after such a time is in doubt: it counts 150 ms after it was pressed, unless it came again until then.
//! Where the terminal tells when a key is let go, nothing is in doubt.

use super::Key;
use crate::base::units::Millis;
use std::collections::BTreeSet;

/// The same key again so soon is a bounce, or the key held down.
const REPEATS_WITHIN: Millis = Millis::from_ms(150);
/// No key begins to repeat before this.
const DOUBT_FROM: Millis = Millis::from_ms(220);
/// A key that was quiet for so long is pressed anew, even if nobody told that it was let go: the window may
/// have been left with the key down.
const QUIET: Millis = Millis::from_secs(1);
/// How often what may repeat does so, for a key that is held down.
const AGAIN_EVERY: Millis = Millis::from_ms(200);

/// What the terminal tells of a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// It is down: pressed, or held where the terminal does not tell the difference.
    Down,
    /// It is held down.
    Repeat,
    Up,
}

/// What a stroke means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// The key was pressed at this time.
    Pressed(Key, Millis),
    /// The key was pressed or is held down: it is known when [`Held::due`] says.
    Perhaps(Key, Millis),
}

/// The keys of a terminal.
#[derive(Debug, Clone, Default)]
pub struct Held {
    /// The last key that was down, and when it last came: no other one repeats.
    last: Option<(Key, Millis)>,
    /// Whether it was let go since.
    up: bool,
    /// Whether it was held down when it last came.
    holding: bool,
    /// When it last counted as pressed.
    counted: Option<Millis>,
    /// A key in doubt, since when.
    doubt: Option<(Key, Millis)>,
    /// The keys of which the terminal tells that they are let go: few do so for every key.
    told: BTreeSet<Key>,
}

impl Held {
    /// Takes in a stroke and returns what it means, in order; `may_repeat` says whether the key does its
    /// work again and again while it is held down.
    pub fn step(&mut self, at: Millis, key: Key, stroke: Stroke, may_repeat: bool) -> Vec<Meaning> {
        let mut meant = Vec::new();
        let last = self.last.filter(|(last, _)| *last == key);
        if stroke == Stroke::Up {
            self.told.insert(key);
            if last.is_some() {
                self.up = true;
                // It came again without being let go before.
                self.doubt = None;
            }
            return meant;
        }
        let since = last
            .map(|(_, then)| at - then)
            .filter(|since| *since < QUIET);
        if since.is_none() {
            // What was in doubt cannot come again.
            meant.extend(self.settle());
        }
        let up = std::mem::take(&mut self.up);
        self.last = Some((key, at));
        match since {
            None => meant.push(self.count(key, at)),
            Some(_) if may_repeat => {
                if self.counted.is_none_or(|then| at - then >= AGAIN_EVERY) {
                    meant.push(self.count(key, at));
                }
            }
            Some(since) if stroke == Stroke::Repeat || since < REPEATS_WITHIN => {
                self.doubt = None;
                self.holding = true;
            }
            Some(_) if self.told.contains(&key) => {
                if up {
                    meant.push(self.count(key, at));
                }
            }
            Some(since) if since < DOUBT_FROM && !self.holding && self.doubt.is_none() => {
                meant.push(self.count(key, at));
            }
            Some(_) => {
                self.doubt = Some((key, at));
                meant.push(Meaning::Perhaps(key, at));
            }
        }
        meant
    }

    /// Takes in that time has passed: due at what [`Held::due`] said.
    pub fn tick(&mut self, at: Millis) -> Option<Meaning> {
        self.due().filter(|due| *due <= at)?;
        self.settle()
    }

    /// Returns when the next tick is due, if one is.
    pub fn due(&self) -> Option<Millis> {
        self.doubt.map(|(_, at)| at + REPEATS_WITHIN)
    }

    /// What was in doubt did not come again: it was pressed.
    fn settle(&mut self) -> Option<Meaning> {
        let (key, at) = self.doubt.take()?;
        Some(self.count(key, at))
    }

    fn count(&mut self, key: Key, at: Millis) -> Meaning {
        self.holding = false;
        self.counted = Some(at);
        Meaning::Pressed(key, at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs a script, "t:500 s" a stroke: a key is down, "s-repeat" held, "s-up" let go; plus may repeat.
    /// Returns when each key counted and as what: "t:650 s from 500" for one that was in doubt.
    fn counted(script: &[&str]) -> Vec<String> {
        let mut held = Held::default();
        let mut log = Vec::new();
        let mut note = |now: Millis, meant: Meaning| {
            if let Meaning::Pressed(key, at) = meant {
                let key = key.to_string().to_lowercase();
                let late = if at < now {
                    format!(" from {}", at.ms())
                } else {
                    String::new()
                };
                log.push(format!("t:{} {key}{late}", now.ms()));
            }
        };
        for step in script {
            let (at, what) = step.split_once(' ').unwrap();
            let at = Millis::from_ms(at.strip_prefix("t:").unwrap().parse().unwrap());
            while let Some(due) = held.due().filter(|due| *due <= at) {
                held.tick(due)
                    .into_iter()
                    .for_each(|meant| note(due, meant));
            }
            let (key, stroke) = match what.rsplit_once('-') {
                Some((key, "repeat")) => (key, Stroke::Repeat),
                Some((key, "up")) => (key, Stroke::Up),
                _ => (what, Stroke::Down),
            };
            if key != "wait" {
                let key = Key::parse(key).unwrap();
                let may_repeat = key == Key::Char('+');
                for meant in held.step(at, key, stroke, may_repeat) {
                    note(at, meant);
                }
            }
        }
        log
    }

    /// A key as a terminal sends it that is held: after so long, then every so often, until it is let go.
    fn hold(key: &str, from: i64, after: i64, every: i64, until: i64) -> Vec<String> {
        let repeats = (from + after..until).step_by(usize::try_from(every).unwrap());
        let all = [from].into_iter().chain(repeats);
        all.map(|at| format!("t:{at} {key}")).collect()
    }

    #[test]
    fn a_key_held_down_counts_once_whenever_it_begins_to_repeat() {
        for (after, every) in [
            (225, 30),
            (250, 92),
            (400, 33),
            (500, 30),
            (600, 40),
            (660, 40),
        ] {
            let mut script = hold("s", 0, after, every, 4000);
            script.push("t:9000 wait".to_owned());
            let script: Vec<_> = script.iter().map(String::as_str).collect();
            assert_eq!(counted(&script), ["t:0 s"], "{after} {every}");
        }
    }

    #[test]
    fn a_key_pressed_again_counts_again() {
        let cases: &[(&[&str], &[&str])] = &[
            // At once where no key repeats so soon, or where it was quiet; else when it is known.
            (&["t:0 s", "t:180 s"], &["t:0 s", "t:180 s"]),
            (&["t:0 s", "t:400 s", "t:549 wait"], &["t:0 s"]),
            (
                &["t:0 s", "t:400 s", "t:550 wait"],
                &["t:0 s", "t:550 s from 400"],
            ),
            (&["t:0 s", "t:1000 s"], &["t:0 s", "t:1000 s"]),
            // Twice a second, many times.
            (
                &["t:0 s", "t:500 s", "t:1000 s", "t:1500 s", "t:2000 wait"],
                &[
                    "t:0 s",
                    "t:650 s from 500",
                    "t:1150 s from 1000",
                    "t:1650 s from 1500",
                ],
            ),
            // Bounces.
            (&["t:0 s", "t:100 s", "t:9000 wait"], &["t:0 s"]),
            // Another key between two: the first of them cannot be held.
            (
                &["t:0 s", "t:300 b", "t:600 s"],
                &["t:0 s", "t:300 b", "t:600 s"],
            ),
            (
                &["t:0 s", "t:400 s", "t:450 b"],
                &["t:0 s", "t:450 s from 400", "t:450 b"],
            ),
        ];
        for (script, wanted) in cases {
            assert_eq!(counted(script), *wanted, "{script:?}");
        }
    }

    #[test]
    fn a_line_that_stutters_does_not_make_a_held_key_count() {
        let stutters = [
            "t:0 s", "t:500 s", "t:530 s", "t:710 s", "t:740 s", "t:1040 s", "t:1050 s",
        ];
        assert_eq!(counted(&stutters), ["t:0 s"]);
        // Let go and pressed again soon after.
        let again = ["t:0 s", "t:500 s", "t:530 s", "t:730 s", "t:880 wait"];
        assert_eq!(counted(&again), ["t:0 s", "t:880 s from 730"]);
    }

    /// What came in time is read late: no tick stands between.
    #[test]
    fn a_machine_that_stands_still_does_not_make_a_held_key_count() {
        let mut held = Held::default();
        let counts = [0, 500, 690, 691, 692, 900].map(|at| {
            let meant = held.step(Millis::from_ms(at), Key::Char('s'), Stroke::Down, false);
            matches!(meant[..], [Meaning::Pressed(..)])
        });
        assert_eq!(counts, [true, false, false, false, false, false]);
    }

    #[test]
    fn what_may_repeat_does_so_five_times_a_second() {
        let script = hold("+", 0, 500, 40, 1000);
        let script: Vec<_> = script.iter().map(String::as_str).collect();
        assert_eq!(counted(&script), ["t:0 +", "t:500 +", "t:700 +", "t:900 +"]);
        assert_eq!(
            counted(&["t:0 +", "t:200 +", "t:300 +"]),
            ["t:0 +", "t:200 +"]
        );
    }

    #[test]
    fn where_it_is_told_when_a_key_is_let_go_nothing_is_in_doubt() {
        let cases: &[(&[&str], &[&str])] = &[
            (
                &["t:0 s", "t:90 s-up", "t:400 s", "t:480 s-up"],
                &["t:0 s", "t:400 s"],
            ),
            // Held with repeats that are told as such, and with those that are not.
            (
                &[
                    "t:0 s",
                    "t:300 s-repeat",
                    "t:700 s-repeat",
                    "t:750 s-up",
                    "t:950 s",
                ],
                &["t:0 s", "t:950 s"],
            ),
            (
                &[
                    "t:0 s",
                    "t:90 s-up",
                    "t:400 s",
                    "t:900 s",
                    "t:1100 s",
                    "t:9000 wait",
                ],
                &["t:0 s", "t:400 s"],
            ),
            // The first that is let go is the one that was held.
            (
                &["t:0 s", "t:500 s", "t:520 s-up", "t:9000 wait"],
                &["t:0 s"],
            ),
            // It was let go while another window was in front.
            (
                &["t:0 s", "t:90 s-up", "t:400 s", "t:3000 s"],
                &["t:0 s", "t:400 s", "t:3000 s"],
            ),
        ];
        for (script, wanted) in cases {
            assert_eq!(counted(script), *wanted, "{script:?}");
        }
    }
}
