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
use crate::base::units::Frames;
use jiff::Timestamp;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

/// A class tells some twenty things a minute, most of them sounds; a key held down, five a second.
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
    /// Whether the log was told; each line after the first would fail the same.
    failed: AtomicBool,
}

impl Recorder {
    /// Begins the record of a run in a session folder.
    pub fn start(folder: &Path, time: Timestamp, began: Began) -> Self {
        Self::start_at(folder, time, began, Frames::ZERO)
    }

    /// Begins it when so many frames were rendered.
    pub fn start_at(folder: &Path, time: Timestamp, began: Began, frame: Frames) -> Self {
        let log = log_of(folder);
        let mut file = LiveFile::new(&log, time, &began.session);
        let first = Entry::new(time, 0, Happening::Began(began)).at_frame(frame);
        Self::with(log, first, move |entry| file.add(entry))
    }

    /// The same on any disk: it takes an entry and returns how many lines got there.
    fn with(
        log: PathBuf,
        first: Entry,
        disk: impl FnMut(&Entry) -> io::Result<u64> + Send + 'static,
    ) -> Self {
        let (queue, entries) = mpsc::sync_channel::<Entry>(QUEUE);
        let (running, over) = mpsc::sync_channel(0);
        let shared = Arc::new(Shared::default());
        let own = shared.clone();
        thread::spawn(move || {
            // Dropped after the disk is let go of: who waits for the end finds the file free.
            let _running: mpsc::SyncSender<()> = running;
            let mut disk = disk;
            for entry in entries {
                match disk(&entry) {
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
        recorder.record(first);
        recorder
    }

    /// Hands an entry over to be written; never waits.
    pub fn record(&mut self, entry: Entry) {
        if self.missed > 0 {
            let count = self.missed;
            let missed = Entry {
                what: Happening::Missed { count },
                ..entry.clone()
            };
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
    fn fail(&self, log: &Path, error: &io::Error) {
        let text = error.to_string();
        let why = text.split(" (os error").next().unwrap_or(&text);
        if !self.failed.swap(true, Ordering::Relaxed) {
            tracing::warn!(log = %log.display(), why, "the record is not written");
        }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::history::Caution;
    use crate::live::history::FORMAT;
    use std::time::Instant;

    const START: Timestamp = Timestamp::UNIX_EPOCH;

    fn began() -> Began {
        Began {
            language: None,
            clarity: None,
            from: None,
            format: FORMAT.to_owned(),
            version: "0.1.0".to_owned(),
            voice: "compact".to_owned(),
            session: "boathouse-five".to_owned(),
            title: "Boathouse five".to_owned(),
            path: "sessions/boathouse-five.toml".to_owned(),
            hash: String::new(),
            caution: Caution::Full,
            works: 12,
            planned_ms: 466_000,
        }
    }

    /// A record on a disk that hangs: it shows each line that it is given, and takes it when told to
    /// go on.
    fn hanging() -> (Recorder, mpsc::Receiver<Happening>, mpsc::Sender<()>) {
        let (shows, shown) = mpsc::channel();
        let (go, gone_on) = mpsc::channel();
        let disk = move |entry: &Entry| {
            let _ = shows.send(entry.what.clone());
            // Once the sender is gone it hangs no more.
            let _ = gone_on.recv();
            Ok(1)
        };
        let log = PathBuf::from("log");
        let first = Entry::new(START, 0, Happening::Began(began()));
        (Recorder::with(log, first, disk), shown, go)
    }

    fn entry(number: i64) -> Entry {
        Entry::new(START, number, Happening::GoneBack { to_ms: number })
    }

    #[test]
    fn what_a_disk_that_hangs_has_no_room_for_is_counted_before_the_next_that_fits() {
        let (mut recorder, shown, go) = hanging();
        let gone_back = |to_ms| Happening::GoneBack { to_ms };
        // With the first line at the disk the whole queue is free.
        assert_eq!(shown.recv(), Ok(Happening::Began(began())));
        let room = QUEUE as i64;
        for number in 0..room + 7 {
            recorder.record(entry(number));
        }
        assert_eq!(recorder.written(), 0);
        let trouble = recorder.trouble().unwrap();
        assert!(trouble.contains("cannot keep up"), "{trouble}");
        // Room for one line: the count takes it, and what comes after is missed in its turn.
        go.send(()).unwrap();
        assert_eq!(shown.recv(), Ok(gone_back(0)));
        recorder.record(entry(-1));
        drop(go);
        for number in 1..room {
            assert_eq!(shown.recv(), Ok(gone_back(number)));
        }
        assert_eq!(shown.recv(), Ok(Happening::Missed { count: 7 }));
        recorder.record(entry(-2));
        assert_eq!(shown.recv(), Ok(Happening::Missed { count: 1 }));
        assert_eq!(shown.recv(), Ok(gone_back(-2)));
        assert_eq!(recorder.close(), None, "told once");
    }

    #[test]
    fn a_disk_that_does_not_answer_is_left_behind_after_two_seconds() {
        let (mut recorder, shown, go) = hanging();
        shown.recv().unwrap();
        recorder.record(entry(0));
        let begun = Instant::now();
        let trouble = recorder.close().unwrap();
        let took = begun.elapsed();
        assert!(took >= Duration::from_secs(2), "{took:?}");
        assert!(took < Duration::from_secs(10), "{took:?}");
        assert!(trouble.contains("does not answer"), "{trouble}");
        drop(go);
    }

    #[test]
    fn a_record_that_is_closed_has_let_go_of_its_disk() {
        struct Slow(Arc<AtomicBool>);
        impl Drop for Slow {
            fn drop(&mut self) {
                thread::sleep(Duration::from_millis(100));
                self.0.store(true, Ordering::Release);
            }
        }
        let gone = Arc::new(AtomicBool::new(false));
        let slow = Slow(gone.clone());
        let disk = move |_: &Entry| {
            let _disk = &slow;
            Ok(1)
        };
        let first = Entry::new(START, 0, Happening::Began(began()));
        let recorder = Recorder::with(PathBuf::from("log"), first, disk);
        assert_eq!(recorder.close(), None);
        assert!(gone.load(Ordering::Acquire));
    }
}
