//! The voice of the operating system: it is told what to say and when, and gives no samples.
//!
//! A line of it is kept in time by silence of its estimated length; whoever plays that tells this
//! voice to speak when the silence begins. The library that reaches the system may wait for ever on
//! a server that died, so it has a thread of its own that nobody waits for: all calls here return at
//! once, and [`System::trouble`] finds out by the time that passes.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: threads and time"
)]

#[cfg(feature = "os-voice")]
mod link;

use std::sync::Arc;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::Sender;
use std::time::Duration;
use std::time::Instant;

use crate::base::units::Millis;
use crate::sound::speech::Rate;
use crate::sound::speech::VoiceError;
use crate::sound::speech::library::VoiceInfo;

/// What to do where it is not there: the program must be built with it, and the system have one.
pub const TO_GET: &str = match cfg!(feature = "os-voice") {
    true => "sudo apt-get install speech-dispatcher speech-dispatcher-espeak-ng",
    false => "cargo install --path . --features os-voice",
};

/// The program that speaks for Linux systems, and the variable that says where it is reached.
const SERVER: &str = "speech-dispatcher";
const ADDRESS: &str = "SPEECHD_ADDRESS";

/// It must be reached and say which voices it has within this time: a server may have to start, and
/// a common one has thirteen thousand, told twice, in 4.5 s on a quiet machine.
const TO_OPEN: Duration = Duration::from_secs(20);
/// An order takes some milliseconds, and a line begins 1 to 4 ms after it.
const TO_BEGIN: Duration = Duration::from_millis(1500);
/// The end is told some 370 ms after the last sample; without a sound server never.
const TO_END: Duration = Duration::from_millis(2500);

/// Looks whether the system's voice is here, without waking it.
///
/// # Errors
///
/// [`VoiceError::Model`], saying how to get it.
pub fn find(wanted: bool) -> Result<(), VoiceError> {
    if !cfg!(feature = "os-voice") || !wanted {
        return Err(missing());
    }
    let path = std::env::var_os("PATH").unwrap_or_default();
    let installed = || std::env::split_paths(&path).any(|folder| folder.join(SERVER).is_file());
    if !cfg!(target_os = "linux") || std::env::var_os(ADDRESS).is_some() || installed() {
        return Ok(());
    }
    Err(VoiceError::Model(format!(
        "the program {SERVER} is not installed; on Debian run: {TO_GET}"
    )))
}

fn missing() -> VoiceError {
    VoiceError::Model(format!(
        "this program was built without the voice of the operating system; build it with: {TO_GET}"
    ))
}

/// What speaks for the system, on its own thread; a call may hang.
pub trait Mouth {
    /// Begins to speak, in place of what is being said.
    ///
    /// # Errors
    ///
    /// With the reason, if it cannot.
    fn say(&mut self, text: &str, rate: Rate) -> Result<(), String>;

    /// Falls silent.
    ///
    /// # Errors
    ///
    /// With the reason, if it cannot.
    fn stop(&mut self) -> Result<(), String>;
}

/// Makes a mouth on the thread where it lives; what it hears goes to [`Ear`].
pub type Open = Box<dyn FnOnce(Ear) -> Result<Box<dyn Mouth>, String> + Send>;

/// The voice of the operating system, opened.
pub struct System {
    info: VoiceInfo,
    orders: Sender<Order>,
    shared: Arc<Mutex<State>>,
}

enum Order {
    Say(u64, String, Rate),
    Stop,
}

#[derive(Default)]
struct State {
    /// The how manieth line is meant.
    line: u64,
    doing: Doing,
    failed: Option<String>,
    /// Whether the failure was told.
    told: bool,
}

#[derive(Default, Clone, Copy)]
enum Doing {
    #[default]
    Nothing,
    /// Told to begin, not heard to.
    Told {
        since: Instant,
        lasts: Duration,
    },
    Speaking {
        until: Instant,
    },
}

/// Hears what the system tells of the line that it speaks.
#[derive(Clone)]
pub struct Ear(Arc<Mutex<State>>);

impl Ear {
    /// A line has begun.
    pub fn begun(&self) {
        let mut state = locked(&self.0);
        if let Doing::Told { lasts, .. } = state.doing {
            state.doing = Doing::Speaking {
                until: Instant::now() + lasts + TO_END,
            };
        }
    }

    /// A line has come to its end.
    pub fn ended(&self) {
        let mut state = locked(&self.0);
        if let Doing::Speaking { .. } = state.doing {
            state.doing = Doing::Nothing;
        }
    }
}

impl System {
    /// Opens the system's voice for a language.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`] if the program was built without it, or it is not there.
    #[cfg(feature = "os-voice")]
    pub fn open(info: VoiceInfo, language: &str) -> Result<System, VoiceError> {
        System::with(info, link::open(language.to_owned()))
    }

    /// Opens the system's voice for a language.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`]: the program was built without it.
    #[cfg(not(feature = "os-voice"))]
    pub fn open(_info: VoiceInfo, _language: &str) -> Result<System, VoiceError> {
        Err(missing())
    }

    /// Does the same with whatever speaks for the system.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`] if it cannot be opened or does not answer in time.
    pub fn with(info: VoiceInfo, open: Open) -> Result<System, VoiceError> {
        let failed = |why: String| {
            VoiceError::Model(format!(
                "the voice of the operating system cannot be used: {why}"
            ))
        };
        let shared = Arc::default();
        let (orders, from) = mpsc::channel();
        let (ready, opened) = mpsc::channel();
        let ear = Ear(Arc::clone(&shared));
        std::thread::Builder::new()
            .name("system-voice".to_owned())
            .spawn(move || serve(open, &ear, &from, &ready))
            .map_err(|error| failed(error.to_string()))?;
        match opened.recv_timeout(TO_OPEN) {
            Ok(Ok(())) => Ok(System {
                info,
                orders,
                shared,
            }),
            Ok(Err(why)) => Err(failed(why)),
            Err(_) => Err(failed("it does not answer".to_owned())),
        }
    }

    /// Returns what is known of it.
    pub fn info(&self) -> &VoiceInfo {
        &self.info
    }

    /// Speaks a normalised text that should last so long, in place of what is being said; returns at
    /// once.
    pub fn say(&self, text: &str, rate: Rate, lasts: Millis) {
        let mut state = locked(&self.shared);
        state.line += 1;
        state.doing = Doing::Told {
            since: Instant::now(),
            lasts: Duration::from_millis(lasts.ms().max(0) as u64),
        };
        // A thread that is gone is found by the time that passes.
        drop(
            self.orders
                .send(Order::Say(state.line, text.to_owned(), rate)),
        );
    }

    /// Falls silent at once; returns at once.
    pub fn stop(&self) {
        let mut state = locked(&self.shared);
        // A line that was not begun is not begun any more.
        state.line += 1;
        state.doing = Doing::Nothing;
        drop(self.orders.send(Order::Stop));
    }

    /// Returns whether a line is under way, as far as the system tells.
    pub fn speaks(&self) -> bool {
        self.works() && !matches!(locked(&self.shared).doing, Doing::Nothing)
    }

    /// Returns whether it can be asked for more lines.
    pub fn works(&self) -> bool {
        self.look().failed.is_none()
    }

    /// Returns why it cannot be used any more, once.
    pub fn trouble(&self) -> Option<String> {
        let mut state = self.look();
        let failed = state.failed.clone()?;
        (!std::mem::replace(&mut state.told, true)).then_some(failed)
    }

    /// Looks whether what was to happen by now has happened.
    fn look(&self) -> MutexGuard<'_, State> {
        let mut state = locked(&self.shared);
        let now = Instant::now();
        let late = match state.doing {
            Doing::Nothing => None,
            Doing::Told { since, .. } => (now > since + TO_BEGIN).then_some("it does not answer"),
            Doing::Speaking { until } => {
                (now > until).then_some("a line that it began did not come to its end")
            }
        };
        if let Some(why) = late {
            state.failed.get_or_insert_with(|| why.to_owned());
            state.doing = Doing::Nothing;
        }
        state
    }
}

/// Carries orders out until nobody can give any more.
fn serve(open: Open, ear: &Ear, orders: &Receiver<Order>, ready: &Sender<Result<(), String>>) {
    let mut mouth = match open(ear.clone()) {
        Ok(mouth) => mouth,
        Err(why) => return drop(ready.send(Err(why))),
    };
    if ready.send(Ok(())).is_ok() {
        while let Ok(order) = orders.recv() {
            let done = match order {
                // One that was stopped or replaced meanwhile is not begun.
                Order::Say(line, ..) if locked(&ear.0).line != line => Ok(()),
                Order::Say(_, text, rate) => mouth.say(&text, rate),
                Order::Stop => mouth.stop(),
            };
            if let Err(why) = done {
                locked(&ear.0).failed.get_or_insert(why);
            }
        }
        drop(mouth.stop());
    }
    // The library aborts the process if it hears of a line after it was let go.
    std::mem::forget(mouth);
}

fn locked(state: &Mutex<State>) -> MutexGuard<'_, State> {
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::speech::library;

    /// Speaks as it is made to: begins or not, ends or not.
    struct Fake {
        ear: Ear,
        begins: bool,
        ends: bool,
    }

    impl Mouth for Fake {
        fn say(&mut self, text: &str, _: Rate) -> Result<(), String> {
            if text == "refused" {
                return Err("it refused".to_owned());
            }
            if self.begins {
                self.ear.begun();
            }
            if self.ends {
                self.ear.ended();
            }
            Ok(())
        }

        fn stop(&mut self) -> Result<(), String> {
            Ok(())
        }
    }

    fn system(begins: bool, ends: bool) -> System {
        let open = move |ear| Ok(Box::new(Fake { ear, begins, ends }) as Box<dyn Mouth>);
        System::with(library::find(library::SYSTEM).unwrap(), Box::new(open)).unwrap()
    }

    fn fails_within(system: &System, limit: Duration) -> Option<String> {
        let start = Instant::now();
        while start.elapsed() < limit {
            if let Some(why) = system.trouble() {
                return Some(why);
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        None
    }

    #[test]
    fn a_line_that_does_not_begin_or_end_is_noticed_once_and_one_that_does_is_none() {
        let line = Millis::from_ms(100);
        let limit = TO_BEGIN + TO_END + Duration::from_secs(3);
        let good = system(true, true);
        good.say("Rest.", Rate::NORMAL, line);
        let silent = system(false, false);
        silent.say("Rest.", Rate::NORMAL, line);
        let endless = system(true, false);
        endless.say("Rest.", Rate::NORMAL, line);
        assert_eq!(fails_within(&silent, limit).unwrap(), "it does not answer");
        assert!(
            fails_within(&endless, limit)
                .unwrap()
                .contains("did not come to its end")
        );
        assert!(!silent.works() && silent.trouble().is_none(), "told once");
        assert!(good.works() && !good.speaks());
        good.say("refused", Rate::NORMAL, line);
        assert_eq!(fails_within(&good, limit).unwrap(), "it refused");
    }

    #[test]
    fn what_is_stopped_is_not_waited_for() {
        let system = system(true, false);
        system.say("Rest.", Rate::NORMAL, Millis::from_ms(1));
        system.stop();
        assert!(!system.speaks());
        assert_eq!(
            fails_within(&system, TO_END + Duration::from_millis(300)),
            None
        );
    }

    #[test]
    fn one_that_hangs_when_it_is_opened_or_asked_holds_nobody_up() {
        struct Hangs;
        impl Mouth for Hangs {
            fn say(&mut self, _: &str, _: Rate) -> Result<(), String> {
                loop {
                    std::thread::park();
                }
            }
            fn stop(&mut self) -> Result<(), String> {
                Ok(())
            }
        }
        let info = || library::find(library::SYSTEM).unwrap();
        let opened = System::with(info(), Box::new(|_| Ok(Box::new(Hangs) as Box<dyn Mouth>)));
        let system = opened.unwrap();
        system.say("Rest.", Rate::NORMAL, Millis::from_ms(1));
        system.stop();
        system.say("Rest.", Rate::NORMAL, Millis::from_ms(1));
        let limit = TO_BEGIN + Duration::from_secs(3);
        assert_eq!(fails_within(&system, limit).unwrap(), "it does not answer");
        let refused = System::with(info(), Box::new(|_| Err("no server".to_owned())));
        assert!(refused.err().unwrap().to_string().contains("no server"));
    }
}
