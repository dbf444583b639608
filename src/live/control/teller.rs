//! The line from controls to a running class: what was told, and by which control.

use super::Verb;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::SyncSender;
use std::sync::mpsc::TrySendError;
use std::time::Duration;

/// What may be told before anybody looks; a control that tells more is refused, not waited for.
const TOLD_AHEAD: usize = 64;

/// Where a verb came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Source {
    /// The program itself, such as on a signal.
    Program,
    Keys,
    Socket,
    Media,
    Device,
    Hotkey,
}

/// A verb that was told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    pub verb: Verb,
    pub from: Source,
}

/// Why a verb was not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotTaken {
    #[error("too much was told at once: wait a moment and tell it again")]
    Busy,
    #[error("the class has ended")]
    Ended,
}

/// Tells a running class what the listener wants; one for each control.
#[derive(Debug, Clone)]
pub struct Teller {
    to: SyncSender<Told>,
    from: Source,
}

/// Where what is told comes in.
pub struct Inputs(Receiver<Told>);

/// Makes the line from controls to a class that will run.
pub fn line() -> (Teller, Inputs) {
    let (to, inputs) = mpsc::sync_channel(TOLD_AHEAD);
    let from = Source::Program;
    (Teller { to, from }, Inputs(inputs))
}

impl Teller {
    /// Returns a teller for a control.
    pub fn of(&self, from: Source) -> Self {
        let to = self.to.clone();
        Self { to, from }
    }

    /// Tells a verb; returns whether anybody still listens. Never waits: what is too much is
    /// dropped and logged.
    pub fn tell(&self, verb: Verb) -> bool {
        let taken = self.try_tell(verb);
        if taken == Err(NotTaken::Busy) {
            tracing::warn!(from = ?self.from, "too much was told at once");
        }
        taken != Err(NotTaken::Ended)
    }

    /// Tells a verb.
    ///
    /// # Errors
    ///
    /// [`NotTaken`] where too much waits, or nobody listens any more.
    pub fn try_tell(&self, verb: Verb) -> Result<(), NotTaken> {
        let from = self.from;
        self.to
            .try_send(Told { verb, from })
            .map_err(|error| match error {
                TrySendError::Full(_) => NotTaken::Busy,
                TrySendError::Disconnected(_) => NotTaken::Ended,
            })
    }
}

impl Inputs {
    /// Waits for what is told next; `None` when nobody can tell anything any more.
    pub fn wait(&self) -> Option<Told> {
        self.0.recv().ok()
    }

    /// Waits so long for what is told next.
    pub fn next(&self, wait: Duration) -> Option<Told> {
        self.0.recv_timeout(wait).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_too_much_is_refused_and_what_was_taken_comes_in_order() {
        let (teller, inputs) = line();
        let keys = teller.of(Source::Keys);
        for _ in 0..TOLD_AHEAD {
            assert_eq!(keys.try_tell(Verb::Skip), Ok(()));
        }
        assert_eq!(keys.try_tell(Verb::Pause), Err(NotTaken::Busy));
        assert!(keys.tell(Verb::Pause), "somebody still listens");
        let first = inputs.next(Duration::ZERO).unwrap();
        assert_eq!(first.verb, Verb::Skip);
        assert_eq!(first.from, Source::Keys);
        drop(inputs);
        assert_eq!(keys.try_tell(Verb::Pause), Err(NotTaken::Ended));
        assert!(!keys.tell(Verb::Pause));
    }
}
