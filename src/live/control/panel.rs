//! Where all controls come together: actions become verbs, presses of the one button among them.
#![expect(
    clippy::disallowed_methods,
    reason = "the one button is timed on a thread of its own"
)]

use super::Action;
use super::Board;
use super::Button;
use super::Input;
use super::NotTaken;
use super::Source;
use super::Teller;
use super::Verb;
use crate::base::units::Millis;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::RecvTimeoutError;
use std::sync::mpsc::SyncSender;
use std::thread;
use std::time::Duration;
use std::time::Instant;

/// Presses that may wait: a button held down sends some thirty a second.
const PRESSES: usize = 64;
/// Notices that may wait to be shown.
const NOTICES: usize = 32;

/// What each control is given: it acts here, and tells here what the listener should know.
#[derive(Debug, Clone)]
pub struct Panel {
    teller: Teller,
    board: Board,
    presses: SyncSender<(Instant, Source)>,
    notices: SyncSender<String>,
}

impl Panel {
    /// Makes the panel; notices come out of the receiver.
    pub fn new(teller: Teller, board: Board) -> (Self, Receiver<String>) {
        let (presses, pressed) = mpsc::sync_channel(PRESSES);
        let (notices, told) = mpsc::sync_channel(NOTICES);
        let to = teller.clone();
        let shown = board.clone();
        // Ends when the last panel is gone.
        thread::spawn(move || one_button(&pressed, &to, &shown));
        let panel = Self {
            teller,
            board,
            presses,
            notices,
        };
        (panel, told)
    }

    /// Does what a key or button is for; returns whether anybody still listens.
    pub fn act(&self, action: &Action, from: Source) -> bool {
        match action {
            Action::Tell(verb) => self.teller.of(from).tell(verb.clone()),
            Action::OneButton => {
                // A press too many is a bounce anyway.
                let _ = self.presses.try_send((Instant::now(), from));
                true
            }
        }
    }

    /// Tells a verb and says whether it was taken.
    ///
    /// # Errors
    ///
    /// [`NotTaken`] says why not.
    pub fn tell(&self, verb: Verb, from: Source) -> Result<(), NotTaken> {
        self.teller.of(from).try_tell(verb)
    }

    /// Returns the board that shows what runs.
    pub fn board(&self) -> &Board {
        &self.board
    }

    /// Tells the listener something about a control.
    pub fn notice(&self, text: impl Into<String>) {
        // Where nobody looks any more, nobody needs to know.
        let _ = self.notices.try_send(text.into());
    }
}

fn one_button(pressed: &Receiver<(Instant, Source)>, teller: &Teller, board: &Board) {
    let begun = Instant::now();
    let since = |at: Instant| {
        let ms = at.saturating_duration_since(begun).as_millis();
        Millis::from_ms(i64::try_from(ms).unwrap_or(i64::MAX))
    };
    let mut button = Button::default();
    let mut last = Source::Program;
    loop {
        let now = since(Instant::now());
        let wait = button.due().map_or(Duration::MAX, |due| {
            let ms = (due - now).ms().max(0);
            Duration::from_millis(u64::try_from(ms).unwrap_or(0))
        });
        let input = match pressed.recv_timeout(wait) {
            Ok((at, from)) => {
                last = from;
                (since(at), Input::Press(board.now().state))
            }
            Err(RecvTimeoutError::Timeout) => {
                (since(Instant::now()), Input::Tick(board.now().state))
            }
            Err(RecvTimeoutError::Disconnected) => return,
        };
        for verb in button.step(input.0, input.1) {
            teller.of(last).tell(verb);
        }
    }
}
