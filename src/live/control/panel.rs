//! Where all controls come together: actions become verbs, presses of the one button and figures among
//! them.
#![expect(
    clippy::disallowed_methods,
    reason = "presses are timed on a thread of their own"
)]

use super::Action;
use super::Board;
use super::Button;
use super::Input;
use super::NotTaken;
use super::Source;
use super::Teller;
use super::Verb;
use super::figures::Figures;
use crate::base::units::Millis;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
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
    /// When it was made: presses are timed from here.
    begun: Instant,
    figures: SharedFigures,
    presses: SyncSender<Press>,
    notices: SyncSender<String>,
}

/// What the thread that times presses is told.
#[derive(Debug, Clone, Copy)]
enum Press {
    OneButton(Instant, Source),
    /// The one button, or it is held down: soon it is known.
    PerhapsOneButton(Instant),
    /// A figure waits from now on.
    Figure,
}

/// The figures, and the control that told the last one: shared, so that a figure that waits is told before
/// whatever is told after it.
#[derive(Debug, Clone)]
struct SharedFigures(Arc<Mutex<(Figures, Source)>>);

impl SharedFigures {
    fn lock(&self) -> MutexGuard<'_, (Figures, Source)> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Panel {
    /// Makes the panel; notices come out of the receiver.
    pub fn new(teller: Teller, board: Board) -> (Self, Receiver<String>) {
        let (presses, pressed) = mpsc::sync_channel(PRESSES);
        let (notices, told) = mpsc::sync_channel(NOTICES);
        let panel = Self {
            teller,
            board,
            begun: Instant::now(),
            figures: SharedFigures(Arc::new(Mutex::new((Figures::default(), Source::Program)))),
            presses,
            notices,
        };
        let timed = Timed {
            teller: panel.teller.clone(),
            board: panel.board.clone(),
            begun: panel.begun,
            figures: panel.figures.clone(),
        };
        // Ends when the last panel is gone.
        thread::spawn(move || timed.run(&pressed));
        (panel, told)
    }

    /// Does what a key or button is for; returns whether anybody still listens.
    pub fn act(&self, action: &Action, from: Source) -> bool {
        self.act_at(Instant::now(), action, from)
    }

    /// Does what a key is for that was pressed at this time, and of which it was known only after.
    pub fn act_at(&self, at: Instant, action: &Action, from: Source) -> bool {
        match action {
            Action::Tell(verb) => {
                self.figure_waits_no_longer();
                self.teller.of(from).tell(verb.clone())
            }
            Action::OneButton => {
                self.figure_waits_no_longer();
                // A press too many is a bounce anyway.
                let _ = self.presses.try_send(Press::OneButton(at, from));
                true
            }
            Action::Figure(figure) => {
                let mut figures = self.figures.lock();
                figures.1 = from;
                let verb = figures.0.press(since(self.begun, at), *figure);
                if figures.0.due().is_some() {
                    // Where the thread has more to do than it can hold, it looks by itself.
                    let _ = self.presses.try_send(Press::Figure);
                }
                verb.is_none_or(|verb| self.teller.of(from).tell(verb))
            }
        }
    }

    /// Takes in a key that was pressed at this time or is held down: what is decided by time waits until
    /// that is known.
    pub fn perhaps(&self, at: Instant, action: &Action) {
        if *action == Action::OneButton {
            let _ = self.presses.try_send(Press::PerhapsOneButton(at));
        }
    }

    /// Tells a verb and says whether it was taken.
    ///
    /// # Errors
    ///
    /// [`NotTaken`] says why not.
    pub fn tell(&self, verb: Verb, from: Source) -> Result<(), NotTaken> {
        self.figure_waits_no_longer();
        self.teller.of(from).try_tell(verb)
    }

    fn figure_waits_no_longer(&self) {
        let mut figures = self.figures.lock();
        let from = figures.1;
        if let Some(verb) = figures.0.told_now() {
            self.teller.of(from).tell(verb);
        }
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

/// What is decided by time alone.
struct Timed {
    teller: Teller,
    board: Board,
    begun: Instant,
    figures: SharedFigures,
}

impl Timed {
    fn run(&self, pressed: &Receiver<Press>) {
        let mut button = Button::default();
        let mut last = Source::Program;
        loop {
            let due = button.due().into_iter().chain(self.figures.lock().0.due());
            let now = since(self.begun, Instant::now());
            let wait = due.min().map_or(Duration::MAX, |due| {
                let ms = (due - now).ms().max(0);
                Duration::from_millis(u64::try_from(ms).unwrap_or(0))
            });
            let doing = || self.board.now().state;
            let verbs = match pressed.recv_timeout(wait) {
                Ok(Press::OneButton(at, from)) => {
                    last = from;
                    button.step(since(self.begun, at), Input::Press(doing()))
                }
                Ok(Press::PerhapsOneButton(at)) => {
                    button.step(since(self.begun, at), Input::Perhaps)
                }
                Ok(Press::Figure) => Vec::new(),
                Err(RecvTimeoutError::Timeout) => {
                    let now = since(self.begun, Instant::now());
                    self.figure(now);
                    button.step(now, Input::Tick(doing()))
                }
                Err(RecvTimeoutError::Disconnected) => return,
            };
            for verb in verbs {
                self.teller.of(last).tell(verb);
            }
        }
    }

    fn figure(&self, now: Millis) {
        let mut figures = self.figures.lock();
        let from = figures.1;
        if let Some(verb) = figures.0.tick(now) {
            self.teller.of(from).tell(verb);
        }
    }
}

fn since(begun: Instant, at: Instant) -> Millis {
    let ms = at.saturating_duration_since(begun).as_millis();
    Millis::from_ms(i64::try_from(ms).unwrap_or(i64::MAX))
}

#[cfg(test)]
mod tests {
    use super::super::line;
    use super::*;

    #[test]
    fn a_figure_that_waits_is_told_before_what_is_told_after_it() {
        let (teller, inputs) = line();
        let (panel, _notices) = Panel::new(teller, Board::default());
        panel.act(&Action::Figure(1), Source::Keys);
        panel.act(&Action::Tell(Verb::Stop), Source::Media);
        let told = [Duration::ZERO; 2].map(|wait| inputs.next(wait).unwrap());
        assert_eq!(
            (&told[0].verb, told[0].from),
            (&Verb::Rate(Some(1)), Source::Keys)
        );
        assert_eq!((&told[1].verb, told[1].from), (&Verb::Stop, Source::Media));
    }

    #[test]
    fn a_figure_that_waits_is_told_when_its_time_has_passed() {
        let (teller, inputs) = line();
        let (panel, _notices) = Panel::new(teller, Board::default());
        panel.act(&Action::Figure(1), Source::Keys);
        let told = inputs.next(Duration::from_secs(20)).unwrap();
        assert_eq!((told.verb, told.from), (Verb::Rate(Some(1)), Source::Keys));
    }
}
