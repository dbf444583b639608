//! The thread that watches: waits for the system to tell, looks, reads what is settled, tells.
#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: a thread that waits and reads files"
)]

use super::Changes;
use super::Known;
use super::Name;
use super::Part;
use super::Seen;
use super::Shelf;
use super::Stamp;
use super::Told;
use super::cores::on_all_cores;
use super::eyes::Eyes;
use super::eyes::Signal;
use crate::folder::LoneMovement;
use crate::folder::LoneSession;
use std::collections::BTreeSet;
use std::io;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::RecvTimeoutError;
use std::sync::mpsc::SyncSender;
use std::thread;
use std::time::Duration;
use std::time::Instant;
use std::time::SystemTime;

/// After a reason to look, so long nothing more may come before the look: one save is several
/// events, a `git checkout` is hundreds.
const WINDOW: Duration = Duration::from_millis(75);
/// The same while one file was closed and nothing else was heard of: a save. What an editor does to it
/// more than once it does within a few milliseconds.
const WINDOW_OF_ONE: Duration = Duration::from_millis(25);
/// However much comes, a look is not put off for longer.
const LONGEST_WINDOW: Duration = Duration::from_millis(250);
/// The folder is looked at this often whatever is told: watches die silently.
const EVERY: Duration = Duration::from_secs(30);
/// The same where nobody tells.
const POLL: Duration = Duration::from_secs(1);
/// So long the first look waits for files that are not settled.
const FIRST_LOOK: Duration = Duration::from_secs(2);
/// How often a folder that is not there is looked for.
const MISSING: Duration = Duration::from_millis(500);
/// What the system may tell before it is taken in; more than this is lost, which is made up for
/// by looking at everything.
const TOLD_AHEAD: usize = 4096;
/// So long what the system has still to tell of what was read is waited for.
const TOLD_LATE: Duration = Duration::from_secs(1);
/// From so many files on they are read on all cores.
const MANY: usize = 32;
/// So many sessions are read before they are told: whoever is told takes them in while the next are
/// read, as long as they are no more than may wait there.
const AT_ONCE: usize = 64;

/// How a folder is watched.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Look at the folder every second instead of waiting to be told: memory sticks and network
    /// folders do not always tell.
    pub poll: bool,
    /// The voices that sessions may ask for.
    pub voices: Vec<String>,
}

/// What wakes the watch.
enum Order {
    Told(Signal),
    Wake,
}

/// What was asked for; kept apart from the queue, so that asking never waits.
#[derive(Debug, Default)]
struct Asked {
    lost: AtomicBool,
    again: AtomicBool,
    stop: AtomicBool,
}

/// A folder being watched, until this is dropped.
#[derive(Debug)]
pub struct Watch {
    orders: SyncSender<Order>,
    asked: Arc<Asked>,
}

impl Watch {
    /// Watches a folder; `tell` is told on the watching thread, which waits for it, and returns
    /// whether anybody still listens.
    ///
    /// # Errors
    ///
    /// Where no thread can be started.
    pub fn start(
        root: PathBuf,
        options: Options,
        tell: impl FnMut(Told) -> bool + Send + 'static,
    ) -> io::Result<Self> {
        let (orders, from) = mpsc::sync_channel(TOLD_AHEAD);
        let asked = Arc::new(Asked::default());
        let (to, heard) = (orders.clone(), Arc::clone(&asked));
        thread::Builder::new()
            .name("watch".to_owned())
            .spawn(move || watch(root, options, from, to, heard, tell))?;
        Ok(Self { orders, asked })
    }

    /// Reads everything again; returns at once.
    pub fn read_all(&self) {
        self.asked.again.store(true, Ordering::Release);
        // A queue that is full wakes it as well.
        let _ = self.orders.try_send(Order::Wake);
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.asked.stop.store(true, Ordering::Release);
        let _ = self.orders.try_send(Order::Wake);
    }
}

struct Turn<T> {
    root: PathBuf,
    eyes: Eyes,
    known: Known,
    shelf: Shelf,
    tell: T,
    orders: Receiver<Order>,
    asked: Arc<Asked>,
    /// When there is a look to come, and since when there is a reason for it.
    due: Option<(Instant, Instant)>,
    /// Whether the watches must be set, or set again.
    listen: bool,
    /// Whether there was a look.
    begun_to_look: bool,
    /// Whether the folder, or a part of it, was not there at the last look.
    missing: bool,
    /// What was told last of a folder that cannot be listed.
    blind: Option<String>,
    looked: bool,
    begun: Instant,
}

fn watch(
    root: PathBuf,
    options: Options,
    orders: Receiver<Order>,
    to: SyncSender<Order>,
    asked: Arc<Asked>,
    tell: impl FnMut(Told) -> bool,
) {
    let heard = {
        let asked = Arc::clone(&asked);
        move |signal| {
            if to.try_send(Order::Told(signal)).is_err() {
                asked.lost.store(true, Ordering::Release);
            }
        }
    };
    let (eyes, notice) = Eyes::open(root.clone(), (!options.poll).then_some(heard));
    let mut turn = Turn {
        root,
        eyes,
        known: Known::default(),
        shelf: Shelf::new(options.voices),
        tell,
        orders,
        asked,
        due: None,
        listen: true,
        begun_to_look: false,
        missing: false,
        blind: None,
        looked: false,
        begun: Instant::now(),
    };
    if notice.is_none_or(|notice| (turn.tell)(Told::Notice(notice))) && turn.look() {
        turn.go_on();
    }
}

impl<T: FnMut(Told) -> bool> Turn<T> {
    fn go_on(&mut self) {
        loop {
            // Asked for before the waiting: what woke this thread may have come while it looked.
            if self.asked.stop.load(Ordering::Acquire) {
                return;
            }
            self.heed_lost();
            if self.asked.again.swap(false, Ordering::AcqRel) {
                self.known.read_all_again();
                self.listen = true;
                self.look_after(Duration::ZERO);
            }
            let regular = match (self.missing, self.eyes.hear()) {
                (true, _) => MISSING,
                (false, true) => EVERY,
                (false, false) => POLL,
            };
            let now = Instant::now();
            let due = self.due.map(|(at, _)| at.saturating_duration_since(now));
            let wait = due.map_or(regular, |due| due.min(regular));
            match self.orders.recv_timeout(wait) {
                Ok(order) => {
                    self.told(order);
                    self.hear_all_come();
                    if self.due.is_none_or(|(at, _)| at > Instant::now()) {
                        continue;
                    }
                    self.heed_lost();
                }
                Err(RecvTimeoutError::Timeout) => {
                    // A watch dies without a word when its folder is made again.
                    self.listen |= wait == EVERY || self.missing;
                }
                Err(RecvTimeoutError::Disconnected) => return,
            }
            self.due = None;
            if !self.look() {
                return;
            }
        }
    }

    fn hear_all_come(&mut self) {
        while let Ok(order) = self.orders.try_recv() {
            self.told(order);
        }
    }

    /// Takes in that something was not told; returns whether it was so.
    fn heed_lost(&mut self) -> bool {
        let lost = self.asked.lost.swap(false, Ordering::AcqRel);
        if lost {
            // First what came before: a writer of it may be one of whose close was not told.
            self.hear_all_come();
            self.known.saw(Seen::Lost, now_ms());
            self.look_after(WINDOW);
        }
        lost
    }

    fn told(&mut self, order: Order) {
        match order {
            Order::Told(Signal::Folder) => {
                self.listen = true;
                self.look_after(WINDOW);
            }
            Order::Told(Signal::File { seen, look }) => {
                let closed = matches!(seen, Some(Seen::Closed(_)));
                if let Some(seen) = seen {
                    self.known.saw(seen, now_ms());
                }
                if look {
                    let one = closed && self.known.stirred() == 1;
                    self.look_after(if one { WINDOW_OF_ONE } else { WINDOW });
                }
            }
            Order::Told(Signal::Bell(_)) | Order::Wake => {}
        }
    }

    /// Waits until all is told that happened while these were read, or notes that some of it is to
    /// come.
    fn hear_out(&mut self, read: &[Name]) {
        if read.is_empty() || !self.eyes.hear() {
            return;
        }
        let Some(rung) = self.eyes.ring() else {
            return self.known.saw(Seen::Late, now_ms());
        };
        let end = Instant::now() + TOLD_LATE;
        loop {
            let left = end.saturating_duration_since(Instant::now());
            match self.orders.recv_timeout(left) {
                Ok(Order::Told(Signal::Bell(number))) if number == rung => {
                    self.heed_lost();
                    return;
                }
                Ok(order) => self.told(order),
                Err(_) => return self.known.saw(Seen::Late, now_ms()),
            }
            // The bell may be what was lost.
            if self.heed_lost() {
                return;
            }
        }
    }

    /// Puts the next look off until nothing has come for this long, but not for ever.
    fn look_after(&mut self, wait: Duration) {
        let now = Instant::now();
        let since = self.due.map_or(now, |(_, since)| since.min(now));
        let at = (now + wait).min(since + LONGEST_WINDOW.max(wait));
        self.due = Some((at, since));
    }

    /// Looks at the folder, reads what is settled, tells what has changed; returns whether anybody
    /// still listens.
    ///
    /// The first look hears nothing while it reads: to be told of each file that it opens costs more
    /// than to open it. A second one at once finds what has changed meanwhile.
    fn look(&mut self) -> bool {
        let first = !std::mem::replace(&mut self.begun_to_look, true);
        if first {
            self.look_after(Duration::ZERO);
        } else if !self.listen_if_due() {
            return false;
        }
        let sight = self.eyes.look();
        self.missing = sight.missing || sight.blind.is_some();
        if self.blind != sight.blind {
            self.blind.clone_from(&sight.blind);
            let again = "the folder can be listed again".to_owned();
            let notice = sight.blind.clone().unwrap_or(again);
            if !(self.tell)(Told::Notice(notice)) {
                return false;
            }
        }
        if sight.blind.is_some() {
            // Nothing is known of the files: all stays as it was.
            return self.told_all();
        }
        let changes = self.known.compare(&sight.files, now_ms());
        if let Some(wait) = changes.look_again {
            self.look_again_after(Duration::from_millis(wait.ms().max(0) as u64));
        }
        let unsettled = changes.unsettled;
        let Some(told) = self.take_in(changes) else {
            return false;
        };
        if self.looked {
            return !told || (self.tell)(Told::Looked);
        }
        // What was just written belongs to what there is at the start.
        let wait = unsettled && self.begun.elapsed() < FIRST_LOOK;
        wait || self.told_all()
    }

    /// Sets the watches if they must be; returns whether anybody still listens.
    fn listen_if_due(&mut self) -> bool {
        let due = std::mem::take(&mut self.listen);
        let notice = due.then(|| self.eyes.listen()).flatten();
        notice.is_none_or(|notice| (self.tell)(Told::Notice(notice)))
    }

    /// Says that the first look is over, once.
    fn told_all(&mut self) -> bool {
        let first = !std::mem::replace(&mut self.looked, true);
        !first || (self.tell)(Told::Looked)
    }

    fn look_again_after(&mut self, wait: Duration) {
        let at = Instant::now() + wait;
        let sooner = self.due.is_none_or(|(due, _)| at < due);
        if sooner {
            self.due = Some((at, at));
        }
    }

    /// Reads what is settled and tells what has changed; returns whether it told anything, `None`
    /// where nobody listens any more.
    fn take_in(&mut self, changes: Changes) -> Option<bool> {
        let (movements, sessions): (Vec<_>, Vec<_>) = changes
            .read
            .into_iter()
            .partition(|name| name.part != Part::Sessions);
        // Texts that are gone leave their movement, which is read again without them.
        let texts_gone = changes
            .gone
            .iter()
            .filter(|name| name.part.may_be_missing());
        let ids: BTreeSet<&str> = movements.iter().chain(texts_gone).map(|n| &*n.id).collect();
        let movements: Vec<Vec<Name>> = ids
            .into_iter()
            .map(|id| Name::all_of_movement(id).collect::<Vec<_>>())
            .filter(|files| self.is_settled(files))
            .collect();
        let mut to_check: BTreeSet<Name> = sessions.into_iter().collect();
        let mut users = Vec::new();
        let (root, eyes) = (&self.root, &self.eyes);
        let read = on_all_cores(&movements, MANY, |files| {
            let read = LoneMovement::read(&files[0].id, &files[0].path(root));
            let stamps: Vec<_> = files.iter().map(|name| eyes.stamp(name)).collect();
            (read, stamps)
        });
        self.hear_out(movements.first().map_or(&[], |files| files));
        for (files, (read, stamps)) in movements.iter().zip(read) {
            let mut whole = true;
            for (name, stamp) in files.iter().zip(stamps) {
                // Of texts that are not there nothing was read.
                let none = stamp.is_none() && !self.known.is_read(name);
                whole &= none || self.is_whole(name, stamp);
            }
            if whole {
                users.extend(self.shelf.movement(&files[0].id, read));
            }
        }
        let mut news = Vec::new();
        for name in &changes.gone {
            match name.part {
                Part::Movements => users.extend(self.shelf.movement_gone(&name.id)),
                Part::Texts(_) => {}
                Part::Sessions => news.extend(self.shelf.session_gone(&name.id)),
            }
        }
        // A session that is not settled is read when it is.
        let users = users.into_iter().map(Name::session);
        to_check.extend(users.filter(|name| self.known.is_read(name)));
        let to_check: Vec<_> = to_check.into_iter().collect();
        let mut told = false;
        let mut some = to_check.chunks(AT_ONCE).peekable();
        loop {
            let names = some.next().unwrap_or_default();
            let (root, eyes, shelf) = (&self.root, &self.eyes, &self.shelf);
            let checked = on_all_cores(names, MANY, |name| {
                let checked = shelf.check(&name.id, LoneSession::read(&name.path(root)));
                (checked, eyes.stamp(name))
            });
            let last = some.peek().is_none();
            if last && !self.listen_if_due() {
                return None;
            }
            self.hear_out(names);
            for (name, (checked, stamp)) in names.iter().zip(checked) {
                if self.is_whole(name, stamp) {
                    news.extend(self.shelf.session(&name.id, checked));
                }
            }
            for news in news.drain(..) {
                told = true;
                if !(self.tell)(Told::News(news)) {
                    return None;
                }
            }
            if last {
                return Some(told);
            }
        }
    }

    /// Returns whether a movement can be read: its own file is there, and nobody writes to any of
    /// its files. Else it is read with the last of them.
    fn is_settled(&self, files: &[Name]) -> bool {
        self.known.is_read(&files[0]) && !files.iter().any(|name| self.known.waits(name))
    }

    /// Returns whether what was just read of a file is the whole of it. If not, it is looked at again.
    fn is_whole(&mut self, name: &Name, stamp: Option<Stamp>) -> bool {
        let whole = self.known.holds(name, stamp, now_ms());
        if !whole {
            self.look_again_after(WINDOW);
        }
        whole
    }
}

fn now_ms() -> i64 {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    i64::try_from(since.unwrap_or_default().as_millis()).unwrap_or(i64::MAX)
}
