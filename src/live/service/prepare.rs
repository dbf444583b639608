//! Gets sessions ready before anybody asks for them: plans each, and speaks the lines of its
//! opening into the cache, those just written first.
#![expect(
    clippy::disallowed_methods,
    reason = "the shell: reads the clock for the log"
)]

use super::Voices;
use crate::base::diagnostic::any_error;
use crate::base::wording::Wording;
use crate::compile::Compiler;
use crate::compile::plan_by_estimate;
use crate::compile::settings_in;
use crate::folder::Folder;
use crate::live::daemon::Event;
use crate::live::watch::Fault;
use crate::live::watch::Name;
use crate::live::watch::fault_of;
use crate::planning::script::CautionLength;
use crate::planning::session::Session;
use crate::sound::speech::Speaker;
use std::collections::HashMap;
use std::collections::VecDeque;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Condvar;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::sync::mpsc::SyncSender;
use std::thread;
use std::time::Instant;

/// Of a folder just opened the openings of so many sessions are spoken ahead. More would fill the
/// cache with what nobody may ask for; the others start as fast as any session that was never
/// heard.
const OPENINGS: usize = 24;

#[derive(Default)]
struct Jobs {
    /// Each once, as it was written last.
    waiting: HashMap<String, Job>,
    /// In which order; those that were forgotten meanwhile are passed over.
    urgent: VecDeque<String>,
    later: VecDeque<String>,
    /// The one in work, so that it can be called off.
    at_work: Option<String>,
    called_off: bool,
}

#[derive(Clone)]
struct Job {
    id: String,
    session: Arc<Session>,
    urgent: bool,
}

#[derive(Default)]
struct Shared {
    jobs: Mutex<Jobs>,
    wake: Condvar,
}

/// The thread that gets sessions ready. A session is queued once, as it was written last, so the
/// queue is never longer than the folder.
pub struct Preparer(Arc<Shared>);

impl Preparer {
    /// Starts the thread; it answers each session with [`Event::Planned`] once it is planned.
    pub fn start(root: PathBuf, voices: Arc<Voices>, to: SyncSender<Event>) -> io::Result<Self> {
        let shared = Arc::new(Shared::default());
        let worker = Worker {
            shared: Arc::clone(&shared),
            folder: Folder::at(root),
            voices,
            to,
            openings: OPENINGS,
        };
        thread::Builder::new()
            .name("prepare".to_owned())
            .spawn(move || worker.work())?;
        Ok(Self(shared))
    }

    /// Has a session made ready; returns at once.
    pub fn prepare(&self, id: String, session: Arc<Session>, urgent: bool) {
        let mut jobs = self.0.lock();
        jobs.call_off(&id);
        let job = Job {
            id: id.clone(),
            session,
            urgent,
        };
        let before = jobs.waiting.insert(id.clone(), job);
        if before.is_none_or(|before| before.urgent != urgent) {
            let jobs = &mut *jobs;
            let queue = if urgent {
                &mut jobs.urgent
            } else {
                &mut jobs.later
            };
            queue.push_back(id);
        }
        self.0.wake.notify_one();
    }

    /// Leaves a session alone.
    pub fn forget(&self, id: &str) {
        self.0.lock().forget(id);
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Jobs> {
        self.jobs.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Jobs {
    fn forget(&mut self, id: &str) {
        self.waiting.remove(id);
        self.call_off(id);
    }

    fn call_off(&mut self, id: &str) {
        self.called_off |= self.at_work.as_deref() == Some(id);
    }

    fn next(&mut self) -> Option<Job> {
        loop {
            let next = self.urgent.pop_front().or_else(|| self.later.pop_front());
            if let Some(job) = self.waiting.remove(&next?) {
                return Some(job);
            }
        }
    }
}

struct Worker {
    shared: Arc<Shared>,
    folder: Folder,
    voices: Arc<Voices>,
    to: SyncSender<Event>,
    /// Openings that may still be spoken ahead without anybody having written to them.
    openings: usize,
}

impl Worker {
    fn work(mut self) {
        loop {
            let job = self.next();
            let begun = Instant::now();
            let mut notices = Vec::new();
            let speaker = self
                .voices
                .get(Some(job.session.as_ref()), &mut |text| notices.push(text));
            let fault = self.fault(&job, &speaker);
            let sound = fault.is_none();
            let planned = Event::Planned {
                id: job.id.clone(),
                session: Arc::clone(&job.session),
                fault,
            };
            if self.to.send(planned).is_err() {
                return;
            }
            let planning = begun.elapsed();
            if sound && self.has_room(&job) {
                self.opening(&job, &speaker);
                tracing::info!(id = job.id, ?planning, all = ?begun.elapsed(), "opening made");
            }
            notices.extend(speaker.notices().into_iter().map(|n| n.message));
            for notice in notices {
                if self.to.send(Event::Notice(notice)).is_err() {
                    return;
                }
            }
        }
    }

    fn next(&self) -> Job {
        let mut jobs = self.shared.lock();
        jobs.at_work = None;
        loop {
            if let Some(job) = jobs.next() {
                jobs.at_work = Some(job.id.clone());
                jobs.called_off = false;
                return job;
            }
            let woken = self.shared.wake.wait(jobs);
            jobs = woken.unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Plans the whole session by estimate: what does not fit is found before it is begun.
    fn fault(&self, job: &Job, speaker: &Speaker) -> Option<Fault> {
        let plan = |session: &Session| {
            let wording = Wording::of(session.text.language);
            plan_by_estimate(session, wording, speaker.name(), CautionLength::Full)
        };
        if !any_error(&plan(&job.session).diagnostics) {
            return None;
        }
        // Where it is, the files say: their texts are not kept.
        let loaded = self.folder.load(&self.file(&job.id));
        let session = loaded.session?;
        fault_of(&plan(&session).diagnostics, &loaded.sources)
    }

    fn file(&self, id: &str) -> PathBuf {
        let root: &Path = self.folder.root();
        Name::session(id).path(root)
    }

    fn has_room(&mut self, job: &Job) -> bool {
        if job.urgent {
            return true;
        }
        let room = self.openings > 0;
        self.openings = self.openings.saturating_sub(1);
        room
    }

    /// Speaks what is heard first: the opening and the first work.
    fn opening(&self, job: &Job, speaker: &Speaker) {
        let wording = Wording::of(job.session.text.language);
        let settings = settings_in(wording, speaker.name(), CautionLength::Full);
        let mut compiler = Compiler::new(&job.session, wording, speaker, settings);
        let _ = compiler.first_line();
        if !self.shared.lock().called_off {
            let _ = compiler.next_stretch();
        }
    }
}
