//! The background process as it runs: threads that watch, plan ahead and speak, and one loop that
//! carries out what `daemon` decides.

mod announce;
mod prepare;
mod single;

pub use single::Single;
pub use single::SingleError;

use super::daemon::Daemon;
use super::daemon::Effect;
use super::daemon::Event;
use super::watch;
use super::watch::Watch;
use crate::base::wording::Wording;
use crate::sound::out;
use crate::sound::speech::Settings;
use crate::sound::speech::Speaker;
use crate::sound::speech::library;
use announce::Announcer;
use prepare::Preparer;
use sd_notify::NotifyState;
use signal_hook::consts::SIGHUP;
use signal_hook::consts::SIGINT;
use signal_hook::consts::SIGTERM;
use signal_hook::iterator::Signals;
use std::collections::HashMap;
use std::io;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::SyncSender;
use std::thread;

/// Events that may wait for the loop. Whoever has more to tell waits: the watch, the planner and
/// the speaking thread lose nothing by it.
const WAITING: usize = 64;

/// How the process runs.
#[derive(Debug, Clone)]
pub struct Options {
    /// The session folder.
    pub root: PathBuf,
    pub poll: bool,
    /// Print the news and do not speak it.
    pub silent: bool,
    /// The voice for the news, and for sessions that name none.
    pub voice: Option<String>,
    pub out: out::Options,
}

/// Who asked for the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The system, in good order.
    Asked,
    /// The user at the terminal.
    Interrupted,
}

/// The voices in use, each opened once.
struct Voices {
    default: Option<String>,
    open: Mutex<HashMap<Option<String>, Arc<Speaker>>>,
}

impl Voices {
    /// Opens a voice, or the default one; `notice` hears what a listener should know.
    fn get(&self, name: Option<String>, notice: &mut dyn FnMut(String)) -> Arc<Speaker> {
        let name = name.or_else(|| self.default.clone());
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let speaker = open.entry(name.clone()).or_insert_with(|| {
            let settings = Settings {
                voice: name,
                ..Settings::standard()
            };
            let (speaker, notices) = Speaker::open(settings);
            notices.into_iter().for_each(|n| notice(n.message));
            Arc::new(speaker)
        });
        Arc::clone(speaker)
    }
}

/// Runs until an end is asked for; `print` is handed a line at a time, without its line feed.
///
/// # Errors
///
/// Where the system lacks what threads or signals need.
pub fn run(options: Options, print: &mut dyn FnMut(&str)) -> io::Result<Ended> {
    let (to, events) = mpsc::sync_channel(WAITING);
    let interrupted = Arc::new(AtomicBool::new(false));
    heed_signals(to.clone(), Arc::clone(&interrupted))?;
    let voices = Arc::new(Voices {
        default: options.voice,
        open: Mutex::default(),
    });
    let announcer = match options.silent {
        true => None,
        false => Some(Announcer::start(
            Arc::clone(&voices),
            options.out,
            to.clone(),
        )?),
    };
    let preparer = Preparer::start(options.root.clone(), voices, to.clone())?;
    let watch = watch::Options {
        poll: options.poll,
        voices: library::voices().into_iter().map(|v| v.name).collect(),
    };
    let tell = to.clone();
    let watch = Watch::start(options.root, watch, move |told| {
        tell.send(Event::Told(told)).is_ok()
    })?;
    let mut daemon = Daemon::new(Wording::english());
    // What was said is an event of the loop's own, which must not wait for itself.
    let mut own = Vec::new();
    loop {
        let event = match own.pop() {
            Some(event) => event,
            None => match events.recv() {
                Ok(event) => event,
                // Not reached: the signals' thread has the other end as long as it lives.
                Err(_) => Event::Stop,
            },
        };
        for effect in daemon.step(event) {
            match effect {
                Effect::Print(line) => print(&line),
                Effect::Say(text) => match &announcer {
                    Some(announcer) => announcer.say(text),
                    None => own.push(Event::Spoken),
                },
                Effect::Prepare {
                    id,
                    session,
                    urgent,
                } => preparer.prepare(id, session, urgent),
                Effect::Forget(id) => preparer.forget(&id),
                Effect::Ready => tell_manager(&[NotifyState::Ready]),
                Effect::Status(text) => tell_manager(&[NotifyState::Status(&text)]),
                Effect::ReadAgain => watch.read_all(),
                Effect::End => {
                    tell_manager(&[NotifyState::Stopping]);
                    if let Some(announcer) = announcer {
                        announcer.stop();
                    }
                    return Ok(match interrupted.load(Ordering::Acquire) {
                        true => Ended::Interrupted,
                        false => Ended::Asked,
                    });
                }
            }
        }
    }
}

/// Tells the service manager, if one started this process.
fn tell_manager(state: &[NotifyState]) {
    if let Err(error) = sd_notify::notify(state) {
        tracing::warn!(%error, "the service manager does not listen");
    }
}

/// Turns signals into events; a second request for an end ends at once.
fn heed_signals(to: SyncSender<Event>, interrupted: Arc<AtomicBool>) -> io::Result<()> {
    let mut signals = Signals::new([SIGTERM, SIGINT, SIGHUP])?;
    let terminal = io::stdout().is_terminal();
    thread::Builder::new()
        .name("signals".to_owned())
        .spawn(move || {
            let mut ending = false;
            for signal in signals.forever() {
                // A terminal that was closed says so with the signal that also asks for reading
                // again; then it is no terminal any more.
                let hung_up = signal == SIGHUP && terminal && !io::stdout().is_terminal();
                if signal == SIGHUP && !hung_up {
                    if to.send(Event::ReadAgain).is_err() {
                        return;
                    }
                    continue;
                }
                if ending {
                    std::process::exit(130);
                }
                ending = true;
                interrupted.store(signal == SIGINT, Ordering::Release);
                if to.send(Event::Stop).is_err() {
                    return;
                }
            }
        })?;
    Ok(())
}
