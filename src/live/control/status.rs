//! What runs, as it is told to whoever asks, and the board on which it is kept.

use serde::Deserialize;
use serde::Serialize;
use std::sync::Arc;
use std::sync::Condvar;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::time::Duration;

/// What the program is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Doing {
    /// No class runs.
    #[default]
    Idle,
    /// The next stretch is being made.
    Building,
    /// The class waits for a key.
    Waiting,
    Running,
    Paused,
    Finished,
}

/// What is told of a class. In a rest, movement, side and round are those of the work that comes.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Status {
    pub state: Doing,
    /// The title of the session.
    pub session: Option<String>,
    pub position_ms: i64,
    /// How long the session is, as far as it is planned.
    pub length_ms: Option<i64>,
    /// `lead-in`, `work`, `rest` or `finish`.
    pub segment: Option<String>,
    pub movement: Option<String>,
    /// `right` or `left`, the listener's own.
    pub side: Option<String>,
    /// Counted from 1.
    pub round: Option<usize>,
}

impl Status {
    /// Returns the status as a sentence.
    pub fn sentence(&self) -> String {
        let doing = match self.state {
            Doing::Idle => return "No class runs.".to_owned(),
            Doing::Building => "Waiting for the voice",
            Doing::Waiting => "Waiting for a key",
            Doing::Running => "Running",
            Doing::Paused => "Paused",
            Doing::Finished => "Finished",
        };
        let seconds = self.position_ms / 1000;
        let mut parts = vec![doing.to_owned()];
        parts.extend(self.session.clone());
        parts.push(format!("at {}:{:02}", seconds / 60, seconds % 60));
        parts.extend(self.segment.clone());
        let movement = self
            .movement
            .clone()
            .map(|m| match self.segment.as_deref() {
                Some("work") | None => m,
                _ => format!("next {m}"),
            });
        parts.extend(movement);
        parts.extend(self.side.clone());
        parts.extend(self.round.map(|round| format!("round {round}")));
        format!("{}.", parts.join(", "))
    }

    /// Whether a follower should hear of this after `before`.
    fn is_news_after(&self, before: &Self) -> bool {
        let second = |status: &Self| Self {
            position_ms: status.position_ms / 1000,
            ..status.clone()
        };
        second(self) != second(before)
    }
}

/// The status as it is now, for all who ask; clones share it.
#[derive(Debug, Clone, Default)]
pub struct Board(Arc<Shared>);

#[derive(Debug, Default)]
struct Shared {
    now: Mutex<Shown>,
    changed: Condvar,
}

#[derive(Debug, Clone, Default)]
struct Shown {
    status: Status,
    /// How often it was news.
    change: u64,
}

impl Board {
    /// Returns the status as it is.
    pub fn now(&self) -> Status {
        self.lock().status.clone()
    }

    /// Puts a new status up; who follows hears of it when more than the clock within its second
    /// has changed.
    pub fn show(&self, status: Status) {
        let mut shown = self.lock();
        let news = status.is_news_after(&shown.status);
        shown.status = status;
        if news {
            shown.change += 1;
            self.0.changed.notify_all();
        }
    }

    /// Waits until there is news after `seen`, at most so long; returns it with the number to
    /// wait after next.
    pub fn after(&self, seen: u64, wait: Duration) -> Option<(Status, u64)> {
        let shown = self.lock();
        let (shown, _) = self
            .0
            .changed
            .wait_timeout_while(shown, wait, |shown| shown.change <= seen)
            .unwrap_or_else(PoisonError::into_inner);
        (shown.change > seen).then(|| (shown.status.clone(), shown.change))
    }

    /// Returns the number to wait after for the next news.
    pub fn change(&self) -> u64 {
        self.lock().change
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Shown> {
        self.0.now.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_follower_hears_of_each_second_and_each_change() {
        let board = Board::default();
        let at = |position_ms, state| Status {
            position_ms,
            state,
            ..Status::default()
        };
        board.show(at(100, Doing::Running));
        let seen = board.change();
        board.show(at(900, Doing::Running));
        assert_eq!(board.after(seen, Duration::ZERO), None);
        assert_eq!(board.now().position_ms, 900);
        board.show(at(1000, Doing::Running));
        let (status, seen) = board.after(seen, Duration::ZERO).unwrap();
        assert_eq!(status.position_ms, 1000);
        board.show(at(1001, Doing::Paused));
        let (status, _) = board.after(seen, Duration::ZERO).unwrap();
        assert_eq!(status.state, Doing::Paused);
    }

    #[test]
    fn the_sentence_says_what_comes_in_a_rest() {
        let status = Status {
            state: Doing::Paused,
            session: Some("Boathouse five".to_owned()),
            position_ms: 108_400,
            length_ms: Some(466_000),
            segment: Some("rest".to_owned()),
            movement: Some("one-arm row".to_owned()),
            side: Some("right".to_owned()),
            round: Some(1),
        };
        assert_eq!(
            status.sentence(),
            "Paused, Boathouse five, at 1:48, rest, next one-arm row, right, round 1."
        );
        assert_eq!(Status::default().sentence(), "No class runs.");
    }
}
