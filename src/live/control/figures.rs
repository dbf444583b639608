//! The effort felt, told by figures, as a pure function of presses and time.
//!
//! A figure is told at once; a one waits a second for the nought that makes it a ten.

use super::Verb;
use super::press::BOUNCE;
use crate::base::units::Millis;

/// A one waits so long for its nought.
const FOR_A_NOUGHT: Millis = Millis::from_secs(1);

/// The figures pressed.
#[derive(Debug, Clone, Copy, Default)]
pub struct Figures {
    /// When a one was pressed that may become a ten.
    one: Option<Millis>,
    last: Option<(u8, Millis)>,
}

impl Figures {
    /// Takes in a press of a figure and returns what to tell.
    pub fn press(&mut self, at: Millis, figure: u8) -> Option<Verb> {
        let bounced = self
            .last
            .is_some_and(|(last, then)| last == figure && at - then < BOUNCE);
        // A key held down repeats for as long as it is held.
        self.last = Some((figure, at));
        if bounced {
            return None;
        }
        let one = self.one.take().filter(|one| at - *one < FOR_A_NOUGHT);
        match (one, figure) {
            (Some(_), 0) => Some(Verb::Rate(Some(10))),
            (_, 1) => {
                self.one = Some(at);
                None
            }
            // Another figure so soon after a one is what was meant: the first answer is the last.
            _ => Some(Verb::Rate(Some(figure))),
        }
    }

    /// Takes in that time has passed: due at what [`Figures::due`] said.
    pub fn tick(&mut self, at: Millis) -> Option<Verb> {
        self.due().filter(|due| *due <= at)?;
        self.told_now()
    }

    /// Waits no longer: something else was told.
    pub fn told_now(&mut self) -> Option<Verb> {
        self.one.take().map(|_| Verb::Rate(Some(1)))
    }

    /// Returns when the next tick is due, if one is.
    pub fn due(&self) -> Option<Millis> {
        self.one.map(|one| one + FOR_A_NOUGHT)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs a script, "t:400 0" a step; ticks come when they are due, and "stop" stands for any other
    /// verb. Returns what was told, "t:400 rate 10".
    fn told(script: &[&str]) -> Vec<String> {
        let mut figures = Figures::default();
        let mut log = Vec::new();
        for step in script {
            let (at, what) = step.split_once(' ').unwrap();
            let at = Millis::from_ms(at.strip_prefix("t:").unwrap().parse().unwrap());
            let mut tell = |at: Millis, verb: Option<Verb>| {
                log.extend(verb.map(|verb| format!("t:{} {}", at.ms(), verb.text())));
            };
            while let Some(due) = figures.due().filter(|due| *due <= at) {
                tell(due, figures.tick(due));
            }
            match what {
                "wait" => {}
                "stop" => {
                    tell(at, figures.told_now());
                    tell(at, Some(Verb::Stop));
                }
                figure => tell(at, figures.press(at, figure.parse().unwrap())),
            }
        }
        log
    }

    #[test]
    fn figures_tell_the_effort_felt() {
        let cases: &[(&[&str], &[&str])] = &[
            (&["t:0 7"], &["t:0 rate 7"]),
            (&["t:0 0"], &["t:0 rate 0"]),
            (&["t:0 1", "t:400 0", "t:9000 wait"], &["t:400 rate 10"]),
            (&["t:0 1", "t:60 0"], &["t:60 rate 10"]),
            (&["t:0 1", "t:999 0"], &["t:999 rate 10"]),
            (&["t:0 1", "t:999 wait"], &[]),
            (&["t:0 1", "t:1000 wait"], &["t:1000 rate 1"]),
            (&["t:0 1", "t:1000 0"], &["t:1000 rate 1", "t:1000 rate 0"]),
            // Put right before it was told.
            (&["t:0 1", "t:500 5", "t:9000 wait"], &["t:500 rate 5"]),
            (&["t:0 7", "t:900 8"], &["t:0 rate 7", "t:900 rate 8"]),
            // Bounces; a second press of the one waits anew.
            (&["t:0 7", "t:149 7"], &["t:0 rate 7"]),
            (&["t:0 7", "t:150 7"], &["t:0 rate 7", "t:150 rate 7"]),
            (&["t:0 1", "t:100 1", "t:9000 wait"], &["t:1000 rate 1"]),
            (&["t:0 1", "t:500 1", "t:9000 wait"], &["t:1500 rate 1"]),
            // A key held down.
            (
                &["t:0 7", "t:40 7", "t:80 7", "t:120 7", "t:160 7", "t:200 7"],
                &["t:0 rate 7"],
            ),
            // What ends the class comes after what was told before it.
            (
                &["t:0 1", "t:300 stop", "t:9000 wait"],
                &["t:300 rate 1", "t:300 stop"],
            ),
        ];
        for (script, wanted) in cases {
            assert_eq!(told(script), *wanted, "{script:?}");
        }
    }
}
