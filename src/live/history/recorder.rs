//! Brings what happens to the disk on a thread of its own: whoever records never waits for it.
//!
//! The queue holds [`QUEUE`] lines. Where it is full (a disk that hangs) a line is dropped and
//! counted, and a line with the count goes before the next one that fits. What a full or read-only
//! disk does not take is kept, up to a megabyte, and tried again with each line.

use super::Began;
use super::Entry;
use super::Happening;
use super::live_file::LiveFile;
use super::log_of;
use jiff::Timestamp;
use std::path::Path;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

/// A class tells a handful of things a minute; a key held down, five a second.
const QUEUE: usize = 1024;
/// At the end a disk gets this long to take what is left.
const LAST_WAIT: Duration = Duration::from_secs(2);

/// The record of one run.
#[derive(Debug)]
pub struct Recorder {
    queue: mpsc::SyncSender<Entry>,
    /// Hangs up when the thread is done.
    over: mpsc::Receiver<()>,
    shared: Arc<Shared>,
    missed: u64,
    told: bool,
}

#[derive(Debug, Default)]
struct Shared {
    /// Lines on the disk.
    written: AtomicU64,
    trouble: Mutex<Option<String>>,
}

impl Recorder {
    /// Begins the record of a run in a session folder.
    pub fn start(folder: &Path, time: Timestamp, began: Began) -> Self {
        let log = log_of(folder);
        let mut file = LiveFile::new(&log, time, &began.session);
        let (queue, entries) = mpsc::sync_channel::<Entry>(QUEUE);
        let (running, over) = mpsc::sync_channel(0);
        let shared = Arc::new(Shared::default());
        let own = shared.clone();
        thread::spawn(move || {
            let _running: mpsc::SyncSender<()> = running;
            for entry in entries {
                match file.add(&entry) {
                    Ok(lines) => {
                        own.written.fetch_add(lines, Ordering::Release);
                    }
                    Err(error) => own.fail(&log, &error),
                }
            }
        });
        let mut recorder = Self {
            queue,
            over,
            shared,
            missed: 0,
            told: false,
        };
        recorder.record(Entry::new(time, 0, Happening::Began(began)));
        recorder
    }

    /// Hands an entry over to be written; never waits.
    pub fn record(&mut self, entry: Entry) {
        if self.missed > 0 {
            let count = self.missed;
            let missed = Entry::new(entry.time, entry.at_ms, Happening::Missed { count });
            if self.queue.try_send(missed).is_ok() {
                self.missed = 0;
            }
        }
        if self.missed > 0 || self.queue.try_send(entry).is_err() {
            self.missed += 1;
            self.shared
                .tell("The record cannot keep up: the disk is slow to answer".to_owned());
        }
    }

    /// Returns how many lines are on the disk.
    pub fn written(&self) -> u64 {
        self.shared.written.load(Ordering::Acquire)
    }

    /// Returns what is wrong with the record, once.
    pub fn trouble(&mut self) -> Option<String> {
        if self.told {
            return None;
        }
        let trouble = self.shared.trouble.try_lock().ok()?.take();
        self.told = trouble.is_some();
        trouble
    }

    /// Ends the record; returns what is wrong with it, if that was not told yet. A disk that does
    /// not answer is left behind after two seconds.
    pub fn close(mut self) -> Option<String> {
        // With its only sender gone, the thread ends after what is queued.
        let (nobody, _) = mpsc::sync_channel(0);
        self.queue = nobody;
        if let Err(mpsc::RecvTimeoutError::Timeout) = self.over.recv_timeout(LAST_WAIT) {
            self.shared
                .tell("The end of the record is not on the disk, which does not answer".to_owned());
        }
        self.trouble()
    }
}

impl Shared {
    fn fail(&self, log: &Path, error: &std::io::Error) {
        let text = error.to_string();
        let why = text.split(" (os error").next().unwrap_or(&text);
        tracing::warn!(log = %log.display(), why, "the record was not written");
        self.tell(format!(
            "What is done cannot be written to {} ({}). The class goes on without",
            log.display(),
            why.to_lowercase()
        ));
    }

    /// Keeps the first trouble.
    fn tell(&self, text: String) {
        let mut trouble = self.trouble.lock().unwrap_or_else(PoisonError::into_inner);
        trouble.get_or_insert(text);
    }
}
