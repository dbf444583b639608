//! The order of work: what is needed now first, what may be needed later after it, nothing twice.

use std::collections::HashMap;
use std::collections::VecDeque;
use std::panic;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::sync::Condvar;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::sync::mpsc;
use std::thread::JoinHandle;

use crate::sound::speech::Rate;
use crate::sound::speech::Take;
use crate::sound::speech::VoiceError;
use crate::sound::speech::cache::Key;

/// What may wait to be made ahead; more than this is forgotten, oldest first: whoever needs it
/// asks for it then.
const MOST_LATER: usize = 4096;

/// Makes the take of a normalised text.
pub type Make = dyn Fn(&Job) -> Result<Take, VoiceError> + Send + Sync;

/// Where an answer goes.
pub type Reply = mpsc::Sender<(Key, Result<Take, VoiceError>)>;

/// A text to be made.
#[derive(Debug, Clone)]
pub struct Job {
    pub key: Key,
    /// Normalised.
    pub text: String,
    pub rate: Rate,
}

/// Worker threads and what they have to do; they end when this is dropped.
pub struct Queue {
    shared: Arc<Shared>,
    workers: Vec<JoinHandle<()>>,
}

struct Shared {
    state: Mutex<State>,
    wake: Condvar,
}

#[derive(Default)]
struct State {
    now: VecDeque<Job>,
    later: VecDeque<Job>,
    /// Who waits for what is queued or in work.
    waiting: HashMap<Key, Vec<Reply>>,
    /// What is in work.
    making: Vec<Key>,
    closing: bool,
}

impl Queue {
    /// Starts `workers` threads.
    pub fn new(workers: usize, make: Arc<Make>) -> Queue {
        let shared = Arc::new(Shared {
            state: Mutex::default(),
            wake: Condvar::new(),
        });
        let workers = (1..=workers)
            .filter_map(|number| {
                let (shared, make) = (Arc::clone(&shared), Arc::clone(&make));
                std::thread::Builder::new()
                    .name(format!("speech-{number}"))
                    .spawn(move || work(&shared, &*make))
                    .ok()
            })
            .collect();
        Queue { shared, workers }
    }

    /// Puts a job in front of all that can wait, behind what is needed now too.
    pub fn now(&self, job: Job, reply: Reply) {
        let mut state = self.shared.lock();
        if self.workers.is_empty() {
            let error = VoiceError::Engine("no thread could be started".to_owned());
            drop(reply.send((job.key, Err(error))));
            return;
        }
        state.later.retain(|other| other.key != job.key);
        let known = state.making.contains(&job.key) || state.now.iter().any(|j| j.key == job.key);
        state
            .waiting
            .entry(job.key.clone())
            .or_default()
            .push(reply);
        if !known {
            state.now.push_back(job);
            self.shared.wake.notify_one();
        }
    }

    /// Puts a job behind all others.
    pub fn later(&self, job: Job) {
        let mut state = self.shared.lock();
        let queued = |jobs: &VecDeque<Job>| jobs.iter().any(|other| other.key == job.key);
        if state.making.contains(&job.key) || queued(&state.now) || queued(&state.later) {
            return;
        }
        if state.later.len() >= MOST_LATER {
            state.later.pop_front();
        }
        state.later.push_back(job);
        self.shared.wake.notify_one();
    }

    /// Forgets what nobody waits for.
    pub fn forget_later(&self) {
        self.shared.lock().later.clear();
    }
}

impl Drop for Queue {
    fn drop(&mut self) {
        let mut state = self.shared.lock();
        state.closing = true;
        state.now.clear();
        state.later.clear();
        drop(state);
        self.shared.wake.notify_all();
        for worker in self.workers.drain(..) {
            drop(worker.join());
        }
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn work(shared: &Shared, make: &Make) {
    let mut state = shared.lock();
    loop {
        if state.closing {
            return;
        }
        let next = state.now.pop_front().or_else(|| state.later.pop_front());
        let Some(job) = next else {
            state = shared
                .wake
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
            continue;
        };
        state.making.push(job.key.clone());
        drop(state);
        // Our own bugs are caught a job at a time.
        let made = panic::catch_unwind(AssertUnwindSafe(|| make(&job)));
        let made = made.unwrap_or_else(|_| {
            let text = &job.text;
            Err(VoiceError::Engine(format!("speaking {text:?} failed")))
        });
        state = shared.lock();
        state.making.retain(|key| *key != job.key);
        for reply in state.waiting.remove(&job.key).into_iter().flatten() {
            drop(reply.send((job.key.clone(), made.clone())));
        }
    }
}
