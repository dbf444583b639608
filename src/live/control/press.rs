//! One button for everything, as a pure function of presses and time.
//!
//! While a class runs the first press pauses at once and, a second later, says where; another
//! within 400 ms makes it a skip; a later one goes on. Between classes a press names the next
//! session and two start the one that was named.

use super::Doing;
use super::Verb;
use crate::base::units::Millis;

/// A second press within this time belongs to the first.
const TOGETHER: Millis = Millis::from_ms(400);
/// After a pause so long, it says where the class stands.
const WHERE_AFTER: Millis = Millis::from_secs(1);
/// It is known so soon whether what may be a press is one: [`super::Held`] takes 150 ms, and it may be told
/// a little late.
const KNOWN_AFTER: Millis = Millis::from_ms(250);
/// What comes so soon after another press is the button's bounce or a key held down.
pub(super) const BOUNCE: Millis = Millis::from_ms(150);

/// What happened, at a time since any fixed moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Input {
    Press(Doing),
    /// A press, or a key held down; if it was a press it is told with the time of this.
    Perhaps,
    /// Time has passed: due at what [`Button::due`] said.
    Tick(Doing),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Since {
    /// It paused at this time, and has not said where yet.
    Paused(Millis),
    /// A class that waited was let go on: another press soon after is the same one.
    WentOn(Millis),
    /// A press between classes, which may be the first of two.
    Named(Millis),
}

/// The one button.
#[derive(Debug, Clone, Copy, Default)]
pub struct Button {
    since: Option<Since>,
    last: Option<Millis>,
    /// What may have been a press.
    perhaps: Option<Millis>,
}

impl Button {
    /// Takes in what happened and returns what to tell, in order.
    pub fn step(&mut self, at: Millis, input: Input) -> Vec<Verb> {
        self.perhaps = None;
        match input {
            Input::Perhaps => {
                self.perhaps = Some(at);
                Vec::new()
            }
            Input::Press(doing) => {
                let bounced = self.last.is_some_and(|last| at - last < BOUNCE);
                // A key held down repeats for as long as it is held.
                self.last = Some(at);
                if bounced {
                    return Vec::new();
                }
                self.pressed(at, doing)
            }
            Input::Tick(doing) => match self.since {
                Some(Since::Paused(then)) if at - then >= WHERE_AFTER => {
                    self.since = None;
                    // Somebody else may have let it go on.
                    let still = doing == Doing::Paused;
                    still.then_some(Verb::Where).into_iter().collect()
                }
                Some(Since::Named(then)) if at - then >= TOGETHER => {
                    self.since = None;
                    vec![Verb::Next]
                }
                _ => Vec::new(),
            },
        }
    }

    /// Returns when the next [`Input::Tick`] is due, if one is.
    pub fn due(&self) -> Option<Millis> {
        let due = match self.since? {
            Since::Paused(then) => then + WHERE_AFTER,
            Since::Named(then) => then + TOGETHER,
            Since::WentOn(_) => return None,
        };
        let known = self.perhaps.map(|at| at + KNOWN_AFTER);
        Some(known.map_or(due, |known| due.max(known)))
    }

    fn pressed(&mut self, at: Millis, doing: Doing) -> Vec<Verb> {
        let (since, verb) = match (self.since.take(), doing) {
            (Some(Since::Paused(then)), _) if at - then <= TOGETHER => (None, Verb::Skip),
            // What it does may not be known yet: this button has paused it.
            (Some(Since::Paused(_)), _) | (_, Doing::Paused) => (None, Verb::Resume),
            (Some(Since::Named(then)), _) if at - then <= TOGETHER => (None, Verb::Start(None)),
            (Some(Since::WentOn(then)), _) if at - then <= TOGETHER => return Vec::new(),
            (_, Doing::Running | Doing::Building) => (Some(Since::Paused(at)), Verb::Pause),
            (_, Doing::Waiting) => (Some(Since::WentOn(at)), Verb::PauseOrResume),
            (_, Doing::Idle | Doing::Finished) => {
                // Not named at once: two presses start the session that was named before.
                self.since = Some(Since::Named(at));
                return Vec::new();
            }
        };
        self.since = since;
        vec![verb]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs a script, "t:1500 press" a step, on a class that does as it is told; ticks come when
    /// they are due. Returns what was told, "t:1500 pause".
    fn told(doing: Doing, script: &[&str]) -> Vec<String> {
        let mut button = Button::default();
        let mut doing = doing;
        let mut log = Vec::new();
        let mut tell = |button: &mut Button, doing: &mut Doing, at: Millis, tick: bool| {
            let input = if tick { Input::Tick } else { Input::Press };
            for verb in button.step(at, input(*doing)) {
                *doing = match verb {
                    Verb::Pause => Doing::Paused,
                    Verb::Resume | Verb::Skip | Verb::PauseOrResume | Verb::Start(_) => {
                        Doing::Running
                    }
                    _ => *doing,
                };
                log.push(format!("t:{} {}", at.ms(), verb.text()));
            }
        };
        for step in script {
            let (at, what) = step.split_once(' ').unwrap();
            let at = Millis::from_ms(at.strip_prefix("t:").unwrap().parse().unwrap());
            while let Some(due) = button.due().filter(|due| *due <= at) {
                tell(&mut button, &mut doing, due, true);
            }
            match what {
                "press" => tell(&mut button, &mut doing, at, false),
                "goes-on" => doing = Doing::Running,
                "wait" => {}
                other => panic!("{other}?"),
            }
        }
        log
    }

    /// A key of a terminal comes again: whether it is held down is known only after.
    #[test]
    fn what_is_decided_by_time_waits_for_a_press_that_is_not_known_yet() {
        let ms = Millis::from_ms;
        let mut button = Button::default();
        let tell = |button: &mut Button, at, input| -> Vec<String> {
            let told = button.step(ms(at), input);
            told.iter().map(Verb::text).collect()
        };
        assert!(tell(&mut button, 0, Input::Press(Doing::Idle)).is_empty());
        assert!(tell(&mut button, 300, Input::Perhaps).is_empty());
        assert_eq!(button.due(), Some(ms(550)));
        // It was one: two presses together.
        let told = tell(&mut button, 300, Input::Press(Doing::Idle));
        assert_eq!(told, ["start"]);
        assert!(tell(&mut button, 5000, Input::Press(Doing::Idle)).is_empty());
        assert!(tell(&mut button, 5300, Input::Perhaps).is_empty());
        // It was the key held down: one press.
        assert_eq!(tell(&mut button, 5550, Input::Tick(Doing::Idle)), ["next"]);
    }

    #[test]
    fn one_button_does_what_its_presses_mean() {
        use Doing::Building;
        use Doing::Finished;
        use Doing::Idle;
        use Doing::Paused;
        use Doing::Running;
        use Doing::Waiting;
        let cases: &[(Doing, &[&str], &[&str])] = &[
            (Running, &["t:1500 press"], &["t:1500 pause"]),
            (
                Running,
                &["t:1500 press", "t:9000 wait"],
                &["t:1500 pause", "t:2500 where"],
            ),
            (
                Running,
                &["t:1500 press", "t:1900 press", "t:9000 wait"],
                &["t:1500 pause", "t:1900 skip"],
            ),
            (
                Running,
                &["t:1500 press", "t:1901 press", "t:9000 wait"],
                &["t:1500 pause", "t:1901 resume"],
            ),
            (
                Running,
                &["t:0 press", "t:5000 press"],
                &["t:0 pause", "t:1000 where", "t:5000 resume"],
            ),
            // Bounces, and a key held down for two seconds.
            (
                Running,
                &["t:0 press", "t:149 press", "t:9000 wait"],
                &["t:0 pause", "t:1000 where"],
            ),
            (
                Running,
                &["t:0 press", "t:150 press"],
                &["t:0 pause", "t:150 skip"],
            ),
            (
                Running,
                &[
                    "t:0 press",
                    "t:40 press",
                    "t:80 press",
                    "t:120 press",
                    "t:160 press",
                    "t:200 press",
                    "t:240 press",
                ],
                &["t:0 pause"],
            ),
            // Somebody else let it go on: where it stands is no news.
            (
                Running,
                &["t:0 press", "t:600 goes-on", "t:2000 wait"],
                &["t:0 pause"],
            ),
            // A skip, then another pause.
            (
                Running,
                &["t:0 press", "t:300 press", "t:600 press", "t:2000 wait"],
                &["t:0 pause", "t:300 skip", "t:600 pause", "t:1600 where"],
            ),
            (Paused, &["t:0 press", "t:2000 wait"], &["t:0 resume"]),
            (
                Waiting,
                &["t:0 press", "t:300 press", "t:2000 wait"],
                &["t:0 pause-or-resume"],
            ),
            (
                Waiting,
                &["t:0 press", "t:500 press"],
                &["t:0 pause-or-resume", "t:500 pause"],
            ),
            (Building, &["t:0 press"], &["t:0 pause"]),
            (Finished, &["t:0 press", "t:400 wait"], &["t:400 next"]),
            (Idle, &["t:0 press", "t:399 wait"], &[]),
            (Idle, &["t:0 press", "t:400 wait"], &["t:400 next"]),
            (
                Idle,
                &["t:0 press", "t:300 press", "t:2000 wait"],
                &["t:300 start"],
            ),
            (
                Idle,
                &["t:0 press", "t:700 press", "t:2000 wait"],
                &["t:400 next", "t:1100 next"],
            ),
            (
                Idle,
                &["t:0 press", "t:100 press", "t:2000 wait"],
                &["t:400 next"],
            ),
        ];
        for (doing, script, wanted) in cases {
            assert_eq!(told(*doing, script), *wanted, "{doing:?} {script:?}");
        }
    }
}
