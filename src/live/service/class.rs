//! A class that runs in the background process, on a thread of its own.

use super::Voices;
use crate::base::music::Wish;
use crate::base::tones::Tones;
use crate::base::units::Millis;
use crate::base::wording::Wording;
use crate::compile::Beds;
use crate::compile::plan_by_estimate;
use crate::folder::Folder;
use crate::live::config::Outputs;
use crate::live::control::Board;
use crate::live::control::Inputs;
use crate::live::control::Mapping;
use crate::live::control::Source;
use crate::live::control::Teller;
use crate::live::control::Verb;
use crate::live::control::line;
use crate::live::core::State;
use crate::live::core::Wishes;
use crate::live::daemon::Event;
use crate::live::history;
use crate::live::history::Began;
use crate::live::history::Keeper;
use crate::live::history::Unfinished;
use crate::live::shell;
use crate::live::shell::Change;
use crate::live::shell::News;
use crate::live::status::Reporter;
use crate::live::watch::Name;
use crate::planning::session::Session;
use crate::sound::out;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::Sender;
use std::sync::mpsc::SyncSender;
use std::thread;
use std::thread::JoinHandle;
use std::time::Duration;

/// At the end of the process a class gets this long to fade out and close its record.
const LAST_WAIT: Duration = Duration::from_secs(3);

/// What every class of this process is given.
#[derive(Clone)]
pub struct Stage {
    pub root: PathBuf,
    pub voices: Arc<Voices>,
    pub out: out::Options,
    pub outputs: Outputs,
    pub wake: Millis,
    /// What the configuration says of music; none at all where no music is wanted.
    pub music: Option<Option<Wish>>,
    pub tones: Tones,
    /// What the keys do, which a class says in its language.
    pub mapping: Arc<Mapping>,
    pub board: Board,
    pub to: SyncSender<Event>,
}

/// A class to begin.
pub struct Order {
    pub id: String,
    pub session: Arc<Session>,
    pub left: Option<Box<Unfinished>>,
    pub wishes: Wishes,
}

/// The class that runs.
pub struct Running {
    teller: Teller,
    changes: Sender<Change>,
    over: Receiver<()>,
    thread: JoinHandle<()>,
}

impl Running {
    /// Begins a class; when it is over that is an event.
    pub fn begin(stage: Stage, order: Order) -> io::Result<Self> {
        let (teller, inputs) = line();
        let (changes, changed) = mpsc::channel();
        let (running, over) = mpsc::channel::<()>();
        let thread = thread::Builder::new()
            .name("class".to_owned())
            .spawn(move || {
                let _running = running;
                // Whatever happens to this thread, the loop hears that the class is over.
                let mut over = Over {
                    to: stage.to.clone(),
                    trouble: Some("the class broke off".to_owned()),
                };
                over.trouble = stage.play(&order, &inputs, &changed);
            })?;
        Ok(Self {
            teller,
            changes,
            over,
            thread,
        })
    }

    /// Tells the class what a listener wants.
    pub fn tell(&self, verb: Verb) {
        self.teller.of(Source::Program).tell(verb);
    }

    /// Has it planned again.
    pub fn change(&self, change: Change) {
        // It may have ended just now.
        let _ = self.changes.send(change);
    }

    /// Ends it, and waits until its record is closed.
    pub fn stop(self) {
        self.tell(Verb::Stop);
        if self.over.recv_timeout(LAST_WAIT) != Err(mpsc::RecvTimeoutError::Timeout) {
            let _ = self.thread.join();
        }
    }
}

/// Tells, when it is dropped, that a class is over.
struct Over {
    to: SyncSender<Event>,
    trouble: Option<String>,
}

impl Drop for Over {
    fn drop(&mut self) {
        // Nobody listens at the end of the process only.
        let _ = self.to.send(Event::ClassOver(self.trouble.take()));
    }
}

/// Returns the hash of a session's texts as its files are now.
pub fn hash(root: &Path, id: &str) -> String {
    let folder = Folder::at(root.to_owned());
    let loaded = folder.load(&Name::session(id).path(root));
    history::hash(loaded.sources.texts())
}

impl Stage {
    /// Chooses the music of a class that is begun today.
    fn beds(&self, id: &str) -> Option<Beds> {
        let now = Timestamp::now().to_zoned_datetime(TimeZone::system());
        let today = now.date().to_string();
        let outside = self.music.clone()?;
        Some(Beds::new(&self.root, outside, id, Some(&today)))
    }

    /// Plays a class to its end; returns what kept it from being played.
    fn play(&self, order: &Order, inputs: &Inputs, changes: &Receiver<Change>) -> Option<String> {
        let session = &order.session;
        let wording = Wording::of(session.text.language);
        let speaker = self
            .voices
            .get(Some(session.as_ref()), &mut |text| self.notice(text));
        let now = Timestamp::now();
        let caution = history::caution(&history::read(&self.root).runs, now);
        let from = order.left.as_ref().map(|left| left.goes_on_from(session));
        let plan = plan_by_estimate(session, wording, speaker.name(), caution);
        let began = Began::new(
            session,
            &Name::session(&order.id).path(&self.root),
            hash(&self.root, &order.id),
            speaker.name(),
            caution,
            &plan.timeline,
            from,
        )
        .with_clarity(speaker.clarity());
        let mut keeper = Keeper::new(&self.root, Arc::clone(session), began);
        let mut reporter = Reporter::new(Arc::clone(session), self.board.clone());
        let class = shell::Class {
            session: Arc::clone(session),
            speaker,
            caution,
            from,
            wishes: order.wishes,
            // A class that was begun by ear waits for a loudspeaker rather than fall silent for good.
            out: out::Options {
                wait: true,
                ..self.out.clone()
            },
            outputs: self.outputs.clone(),
            wake: self.wake,
            tones: self.tones,
            asks: true,
            keys: self.mapping.spoken(wording, false),
            key: self.mapping.goes_on_spoken(wording),
            sync_tone: false,
            beds: self.beds(&order.id),
        };
        let ended = shell::run(class, inputs, changes, &mut |news| {
            let now = Timestamp::now();
            match &news {
                News::Step(step) => keeper.see(step, now),
                News::Heard(what, frame) => keeper.heard((*what).clone(), *frame, now),
                News::Changed(change) => {
                    let session = Arc::clone(&change.session);
                    keeper.changed(session, change.hash.clone(), now);
                    self.notice("the class goes on as its files are now".to_owned());
                }
                News::Notice(text) => self.notice(text.clone()),
                News::Wishes(wishes) => {
                    let _ = self.to.try_send(Event::Wishes(*wishes));
                }
                News::State(State::Paused) => self.notice("paused".to_owned()),
                News::State(_) | News::Said(_) | News::Clock { .. } => {}
            }
            if let Some(trouble) = keeper.trouble() {
                self.notice(trouble);
            }
            reporter.hear(&news);
        });
        if let Some(trouble) = keeper.close() {
            self.notice(trouble);
        }
        ended.err().map(|error| error.to_string())
    }

    /// Tells the user something; a class never waits for that.
    fn notice(&self, text: String) {
        if let Err(error) = self.to.try_send(Event::Notice(text)) {
            tracing::warn!(%error, "a notice was not told");
        }
    }
}
