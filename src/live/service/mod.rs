//! The background process as it runs: threads that watch, plan ahead and speak, and one loop that
//! carries out what `daemon` decides.

mod announce;
mod class;
mod prepare;
mod single;

pub use single::Single;
pub use single::SingleError;

use super::config::Outputs;
use super::control::Board;
use super::control::Controls;
use super::control::Inputs;
use super::control::Mapping;
use super::control::Panel;
use super::control::Status;
use super::control::line;
use super::core::Wishes;
use super::daemon::Daemon;
use super::daemon::Effect;
use super::daemon::Event;
use super::daemon::Hints;
use super::history;
use super::shell::Change;
use super::watch;
use super::watch::Watch;
use super::wishes;
use crate::base::diagnostic::Sources;
use crate::base::music::Wish;
use crate::base::tones::Tones;
use crate::base::units::Millis;
use crate::base::utterance::Clarity;
use crate::base::wording::Language;
use crate::base::wording::Wording;
use crate::planning::session::Session;
use crate::sound::out;
use crate::sound::speech::Settings;
use crate::sound::speech::Speaker;
use crate::sound::speech::library::Shelf;
use announce::Announcer;
use class::Order;
use class::Running;
use class::Stage;
use jiff::Timestamp;
use prepare::Preparer;
use sd_notify::NotifyState;
use signal_hook::consts::SIGHUP;
use signal_hook::consts::SIGINT;
use signal_hook::consts::SIGTERM;
use signal_hook::iterator::Signals;
use std::collections::HashMap;
use std::collections::VecDeque;
use std::io;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::RecvTimeoutError;
use std::sync::mpsc::SyncSender;
use std::thread;
use std::time::Duration;

/// Events that may wait for the loop. Whoever has more to tell waits: the watch, the planner and
/// the speaking thread lose nothing by it.
const WAITING: usize = 64;
/// How often is looked for what the controls have to say of themselves.
const NOTICES: Duration = Duration::from_secs(1);

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
    /// How loud the room is, and whether a class has an ear.
    pub outputs: Outputs,
    /// Silence before the first sound, for loudspeakers that wake slowly.
    pub wake: Millis,
    /// What the configuration says of music; none at all where no music is wanted.
    pub music: Option<Option<Wish>>,
    /// The tones where a session asks for none.
    pub tones: Tones,
    /// How clearly sessions are spoken that do not say it, and the news.
    pub clarity: Clarity,
    pub mapping: Mapping,
    /// What is spoken in between classes.
    pub language: Language,
    /// Where the socket of the controls is.
    pub socket: PathBuf,
}

/// Who asked for the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The system, in good order.
    Asked,
    /// The user at the terminal.
    Interrupted,
}

/// What a voice is opened for: its name or the default one, how clearly it speaks, and in which language.
type Wanted = (Option<String>, Clarity, Language);

/// The voices in use, each opened once.
struct Voices {
    default: Option<String>,
    clarity: Clarity,
    /// The folder of the session folder's own voices.
    own: PathBuf,
    /// What is spoken between classes.
    language: Language,
    open: Mutex<HashMap<Wanted, Arc<Speaker>>>,
}

impl Voices {
    /// Opens the voice of a session, or the default one; `notice` hears what a listener should know.
    fn get(&self, session: Option<&Session>, notice: &mut dyn FnMut(String)) -> Arc<Speaker> {
        let text = session.map(|session| &session.text);
        let name = text.and_then(|text| text.voice.as_ref().map(|v| v.value.clone()));
        let name = name.or_else(|| self.default.clone());
        let clarity = text.and_then(|text| text.clarity).unwrap_or(self.clarity);
        let language = text.map_or(self.language, |text| text.language);
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let speaker = open
            .entry((name.clone(), clarity, language))
            .or_insert_with(|| {
                let settings = Settings {
                    voice: name,
                    clarity,
                    language: Some(language.tag().to_owned()),
                    own: vec![self.own.clone()],
                    ..Settings::standard()
                };
                let (speaker, notices) = Speaker::open(settings);
                notices.into_iter().for_each(|n| notice(n.message));
                Arc::new(speaker)
            });
        Arc::clone(speaker)
    }
}

/// Runs until an end is asked for; `print` is handed a line at a time, without its line feed, and
/// `controls` the panel that the keys of a terminal act on; it returns whether there are any.
///
/// # Errors
///
/// Where the system lacks what threads or signals need.
pub fn run(
    options: Options,
    controls: &mut dyn FnMut(&Panel) -> bool,
    print: &mut dyn FnMut(&str),
) -> io::Result<Ended> {
    let (to, events) = mpsc::sync_channel(WAITING);
    let interrupted = Arc::new(AtomicBool::new(false));
    heed_signals(to.clone(), Arc::clone(&interrupted))?;
    let (teller, inputs) = line();
    let board = Board::default();
    let open = Controls::open(&options.mapping, teller, board.clone(), &options.socket);
    let mapping = match controls(open.panel()) {
        true => options.mapping,
        false => options.mapping.without_keys(),
    };
    listen(inputs, to.clone())?;
    let wording = Wording::of(options.language);
    let hints = Hints {
        keys: mapping.spoken(wording, true),
        choose: mapping.choosing_spoken(wording),
    };
    let kept = wishes::path();
    let kept_wishes = kept.as_deref().map(wishes::load).unwrap_or_default();
    let voices = Arc::new(Voices {
        default: options.voice,
        clarity: options.clarity,
        language: options.language,
        own: options.root.join("voices"),
        open: Mutex::default(),
    });
    let announcer = match options.silent {
        true => None,
        false => Some(Announcer::start(
            Arc::clone(&voices),
            options.outputs.clone(),
            options.out.clone(),
            options.wake,
            to.clone(),
        )?),
    };
    let preparer = Preparer::start(options.root.clone(), Arc::clone(&voices), to.clone())?;
    let shelves = Settings {
        own: vec![options.root.join("voices")],
        ..Settings::standard()
    };
    let (shelf, _) = Shelf::read(&shelves.shelves(), &mut Sources::default());
    let watch = watch::Options {
        poll: options.poll,
        voices: shelf.voices().iter().map(|v| v.name.clone()).collect(),
    };
    let tell = to.clone();
    let watch = Watch::start(options.root.clone(), watch, move |told| {
        tell.send(Event::Told(told)).is_ok()
    })?;
    let mut service = Service {
        stage: Stage {
            root: options.root,
            voices,
            out: options.out,
            outputs: options.outputs,
            wake: options.wake,
            music: options.music,
            tones: options.tones,
            mapping: Arc::new(mapping),
            board,
            to,
        },
        announcer,
        preparer,
        watch,
        class: None,
        wishes: kept_wishes,
        kept,
        said: 0,
        own: VecDeque::new(),
    };
    let mut daemon = Daemon::new(wording, hints, kept_wishes);
    service.look_for_left();
    loop {
        for notice in open.notices() {
            service.own.push_back(Event::Notice(notice));
        }
        let event = match service.own.pop_front() {
            Some(event) => event,
            None => match events.recv_timeout(NOTICES) {
                Ok(event) => event,
                Err(RecvTimeoutError::Timeout) => continue,
                // Not reached: the signals' thread has the other end as long as it lives.
                Err(RecvTimeoutError::Disconnected) => Event::Stop,
            },
        };
        for effect in daemon.step(event) {
            if effect == Effect::End {
                service.end();
                return Ok(match interrupted.load(Ordering::Acquire) {
                    true => Ended::Interrupted,
                    false => Ended::Asked,
                });
            }
            service.carry_out(effect, print);
        }
    }
}

/// What the loop carries effects out with.
struct Service {
    stage: Stage,
    announcer: Option<Announcer>,
    preparer: Preparer,
    watch: Watch,
    class: Option<Running>,
    wishes: Wishes,
    kept: Option<PathBuf>,
    /// How often something was said.
    said: u64,
    /// Events of the loop's own, which must not wait for itself.
    own: VecDeque<Event>,
}

impl Service {
    fn carry_out(&mut self, effect: Effect, print: &mut dyn FnMut(&str)) {
        match effect {
            Effect::Print(line) => print(&line),
            Effect::Say(text) => {
                self.said += 1;
                match &self.announcer {
                    Some(announcer) => announcer.say(self.said, text, self.wishes),
                    None => self.own.push_back(Event::Spoken(self.said)),
                }
            }
            Effect::Hush => self.announcer.iter().for_each(Announcer::hush),
            Effect::Prepare {
                id,
                session,
                urgent,
            } => self.preparer.prepare(id, session, urgent),
            Effect::Forget(id) => self.preparer.forget(&id),
            Effect::Begin { id, session, left } => self.begin(Order {
                id,
                session,
                left,
                wishes: self.wishes,
            }),
            Effect::Tell(verb) => self.class.iter().for_each(|c| c.tell(verb.clone())),
            Effect::Change { id, session } => {
                if let Some(class) = &self.class {
                    let hash = class::hash(&self.stage.root, &id);
                    class.change(Change { session, hash });
                }
            }
            Effect::Rate(felt) => {
                let rated = history::rate(&self.stage.root, felt, Timestamp::now());
                let noted = rated.map(|_| ()).map_err(|why| why.to_string());
                self.own.push_back(Event::Rated(noted));
            }
            Effect::Keep(wishes) => self.keep(wishes),
            Effect::LookForLeft => self.look_for_left(),
            Effect::Show(session) => self.stage.board.show(Status {
                session,
                ..Status::default()
            }),
            Effect::Ready => tell_manager(&[NotifyState::Ready]),
            Effect::Status(text) => tell_manager(&[NotifyState::Status(&text)]),
            Effect::ReadAgain => self.watch.read_all(),
            Effect::End => {}
        }
    }

    fn begin(&mut self, order: Order) {
        match Running::begin(self.stage.clone(), order) {
            Ok(class) => self.class = Some(class),
            Err(error) => {
                let trouble = format!("it cannot be begun: {error}");
                self.own.push_back(Event::ClassOver(Some(trouble)));
            }
        }
    }

    /// Keeps what the listener wishes, for this process and the next.
    fn keep(&mut self, wishes: Wishes) {
        self.wishes = wishes;
        let saved = self.kept.as_deref().map(|path| wishes::save(path, wishes));
        if let Some(Err(error)) = saved {
            let text = format!("what was wished is not kept: {error}");
            self.own.push_back(Event::Notice(text));
        }
    }

    fn look_for_left(&mut self) {
        let record = history::read(&self.stage.root);
        let left = history::left_lately(&record.runs, Timestamp::now());
        self.own.push_back(Event::Left(left));
    }

    fn end(self) {
        tell_manager(&[NotifyState::Stopping]);
        if let Some(class) = self.class {
            class.stop();
        }
        if let Some(announcer) = self.announcer {
            announcer.stop();
        }
    }
}

/// Turns what is told by the controls into events.
fn listen(inputs: Inputs, to: SyncSender<Event>) -> io::Result<()> {
    thread::Builder::new()
        .name("controls".to_owned())
        .spawn(move || {
            while let Some(told) = inputs.wait() {
                if to.send(Event::Verb(told.verb)).is_err() {
                    return;
                }
            }
        })?;
    Ok(())
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
