//! The bed as it is pushed: ahead of a loudspeaker, by a thread that nobody waits for.

use std::panic;
use std::panic::AssertUnwindSafe;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use rtrb::Consumer;
use rtrb::Producer;
use rtrb::RingBuffer;

use super::Bed;
use super::Shelf;
use crate::base::heard::MusicFrom;
use crate::sound::mix::BedBlock;

/// Blocks that lie ready: three seconds, longer than a disk sleeps.
const DEEP: usize = 300;
/// How long the thread rests where all is ready.
const REST: Duration = Duration::from_millis(50);

/// A bed that is made ahead. Let go of, its thread ends by itself, at once or when its disk answers.
#[derive(Debug)]
pub struct BedThread {
    shelves: mpsc::Sender<Shelf>,
    news: mpsc::Receiver<BedNews>,
    ended: Arc<AtomicBool>,
    thread: Option<thread::JoinHandle<()>>,
}

/// What there is to say of a bed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BedNews {
    /// What is skipped and why.
    Notice(String),
    /// Music of another shelf begins.
    Begun(MusicFrom),
}

impl BedThread {
    /// Gets ready to make music, once a shelf is asked for; returns the end of the ring that the mixer takes it
    /// from. Neither waits for the other: where the ring is empty, music is not ready.
    pub fn start(kept: Option<PathBuf>) -> (Self, Consumer<BedBlock>) {
        let (to, from) = RingBuffer::new(DEEP);
        let (shelves, wanted) = mpsc::channel();
        let (tell, news) = mpsc::channel();
        let ended = Arc::new(AtomicBool::new(false));
        let begun = {
            let (tell, ended) = (tell.clone(), Arc::clone(&ended));
            let work = move || {
                let made = panic::catch_unwind(AssertUnwindSafe(|| {
                    // Until there is music in the class, nothing is woken.
                    if let Ok(first) = wanted.recv() {
                        make(Bed::open(first, kept), to, &wanted, &tell, &ended);
                    }
                }));
                if made.is_err() {
                    let text = "it ends here, by a fault of the program".to_owned();
                    drop(tell.send(BedNews::Notice(text)));
                }
            };
            thread::Builder::new().name("music".to_owned()).spawn(work)
        };
        let begun = begun.inspect_err(|error| {
            drop(tell.send(BedNews::Notice(format!("there is none: {error}"))));
        });
        let thread = Self {
            shelves,
            news,
            ended,
            thread: begun.ok(),
        };
        (thread, from)
    }

    /// Asks for music from a shelf; from another one later: it fades in as soon as it is ready and what lies in
    /// the ring was heard.
    pub fn switch(&self, shelf: Shelf) {
        // A thread that is no more plays nothing from this one either, and has said so.
        drop(self.shelves.send(shelf));
    }

    /// Returns whether its thread has ended: nobody takes what it makes.
    pub fn has_ended(&self) -> bool {
        self.thread
            .as_ref()
            .is_none_or(thread::JoinHandle::is_finished)
    }

    /// Returns what there is to say since the last time.
    pub fn news(&self) -> Vec<BedNews> {
        self.news.try_iter().collect()
    }
}

impl Drop for BedThread {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
    }
}

fn make(
    mut bed: Bed,
    mut to: Producer<BedBlock>,
    wanted: &mpsc::Receiver<Shelf>,
    tell: &mpsc::Sender<BedNews>,
    ended: &AtomicBool,
) {
    while !ended.load(Ordering::Relaxed) && !to.is_abandoned() {
        if let Some(shelf) = wanted.try_iter().last() {
            bed.switch(shelf);
        }
        // What is heard next comes first; then what is heard later.
        if !to.is_full() {
            drop(to.push(bed.pull()));
        } else if !bed.prepare() {
            thread::sleep(REST);
        }
        let notices = bed.notices().into_iter().map(BedNews::Notice);
        for news in notices.chain(bed.begun().into_iter().map(BedNews::Begun)) {
            drop(tell.send(news));
        }
    }
}
