//! Opens the socket and answers on it, a thread a client.
#![expect(
    clippy::disallowed_methods,
    reason = "each client is answered on a thread of its own"
)]

use super::super::Doing;
use super::super::Panel;
use super::super::Source;
use super::Answer;
use super::LOCK;
use super::LONGEST;
use super::Request;
use super::SOCKET;
use super::lines::Line;
use super::lines::Lines;
use super::place;
use rustix::fs::Mode;
use rustix::net::AddressFamily;
use rustix::net::SocketAddrUnix;
use rustix::net::SocketFlags;
use rustix::net::SocketType;
use rustix::net::sockopt::socket_peercred;
use rustix::process::geteuid;
use serde::Serialize;
use std::fs;
use std::fs::File;
use std::fs::TryLockError;
use std::io;
use std::io::Write;
use std::os::unix::net::UnixListener;
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;
use std::thread;
use std::time::Duration;

/// How many may be connected at once.
pub const CLIENTS: usize = 16;
/// Who has not read an answer for so long is dropped.
const READS_WITHIN: Duration = Duration::from_secs(2);
/// Who asks nothing for so long is dropped, to make room.
const ASKS_WITHIN: Duration = Duration::from_secs(60);
/// How often a follower's thread looks whether the socket was closed.
const LOOKS_EVERY: Duration = Duration::from_millis(500);
/// How many connections may wait to be accepted.
const BACKLOG: i32 = 32;

/// An open socket; dropped, it is closed and its file removed.
pub struct Socket {
    path: PathBuf,
    open: Arc<AtomicBool>,
    /// Held while the socket is there: who holds it may replace a stale one.
    _lock: File,
}

/// Why the socket could not be opened.
#[derive(Debug, thiserror::Error)]
pub enum NotOpened {
    #[error("another sidevoice of yours is running: `tell` and `status` reach that one")]
    Taken,
    #[error("`tell` and `status` do not reach this class: {0}")]
    Io(#[from] io::Error),
}

impl Socket {
    /// Opens the socket in a folder and answers on it.
    ///
    /// # Errors
    ///
    /// [`NotOpened`] where another program has it, or it cannot be made.
    pub fn open(folder: &Path, panel: Panel) -> Result<Self, NotOpened> {
        place::make(folder)?;
        let lock = File::options()
            .write(true)
            .create(true)
            .truncate(false)
            .open(folder.join(LOCK))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(NotOpened::Taken),
            Err(TryLockError::Error(error)) => return Err(error.into()),
        }
        let path = folder.join(SOCKET);
        // Whose it was is gone: the lock is ours.
        match fs::remove_file(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error.into()),
            _ => {}
        }
        let listener = bind(&path)?;
        let open = Arc::new(AtomicBool::new(true));
        let still = Arc::clone(&open);
        thread::spawn(move || accept(&listener, &panel, &still));
        Ok(Self {
            path,
            open,
            _lock: lock,
        })
    }
}

impl Drop for Socket {
    fn drop(&mut self) {
        self.open.store(false, Ordering::Relaxed);
        // Wakes the thread that accepts; it may be gone already.
        let _ = UnixStream::connect(&self.path);
        let _ = fs::remove_file(&self.path);
    }
}

/// Makes a socket that only its owner may use from its first moment on. The mode is set before it
/// has a name, as a umask would, but without touching what other threads create meanwhile.
fn bind(path: &Path) -> io::Result<UnixListener> {
    let flags = SocketFlags::CLOEXEC;
    let socket = rustix::net::socket_with(AddressFamily::UNIX, SocketType::STREAM, flags, None)?;
    rustix::fs::fchmod(&socket, Mode::from_raw_mode(0o600))?;
    rustix::net::bind(&socket, &SocketAddrUnix::new(path)?)?;
    rustix::net::listen(&socket, BACKLOG)?;
    Ok(UnixListener::from(socket))
}

fn accept(listener: &UnixListener, panel: &Panel, open: &Arc<AtomicBool>) {
    let clients = Arc::new(AtomicUsize::new(0));
    for stream in listener.incoming() {
        if !open.load(Ordering::Relaxed) {
            return;
        }
        let Ok(mut stream) = stream else {
            // Out of files, most likely: they come back when clients leave.
            thread::sleep(LOOKS_EVERY);
            continue;
        };
        // A client that cannot be dropped when it does not read is not served.
        if stream.set_write_timeout(Some(READS_WITHIN)).is_err()
            || stream.set_read_timeout(Some(ASKS_WITHIN)).is_err()
        {
            continue;
        }
        let refused = if !is_same_user(&stream) {
            Some("only the user who runs sidevoice may tell it anything".to_owned())
        } else if clients.load(Ordering::Relaxed) >= CLIENTS {
            Some(format!(
                "{CLIENTS} programs are connected: close one of them"
            ))
        } else {
            None
        };
        if let Some(why) = refused {
            tracing::warn!(why, "a client was refused");
            // It may not even listen.
            let _ = answer(&mut stream, &Answer::of(Err(why)));
            continue;
        }
        clients.fetch_add(1, Ordering::Relaxed);
        let (panel, open, clients) = (panel.clone(), Arc::clone(open), Arc::clone(&clients));
        thread::spawn(move || {
            if let Err(error) = serve(stream, &panel, &open) {
                tracing::debug!(%error, "a client was dropped");
            }
            clients.fetch_sub(1, Ordering::Relaxed);
        });
    }
}

fn is_same_user(stream: &UnixStream) -> bool {
    socket_peercred(stream).is_ok_and(|peer| peer.uid == geteuid())
}

/// Answers a client until it leaves or is dropped.
fn serve(mut stream: UnixStream, panel: &Panel, open: &AtomicBool) -> io::Result<()> {
    let mut lines = Lines::new(stream.try_clone()?);
    loop {
        let line = match lines.next()? {
            Line::Text(line) => line,
            Line::TooLong => {
                let why = format!("expected a line of at most {LONGEST} bytes");
                return answer(&mut stream, &Answer::of(Err(why)));
            }
            Line::End => return Ok(()),
        };
        match Request::parse(&line) {
            Err(why) => answer(&mut stream, &Answer::of(Err(why)))?,
            Ok(Request::Tell(verb)) => {
                let taken = panel.tell(verb, Source::Socket);
                answer(&mut stream, &Answer::of(taken.map_err(|e| e.to_string())))?;
            }
            Ok(Request::Status { follow: false }) => answer(&mut stream, &panel.board().now())?,
            Ok(Request::Status { follow: true }) => return follow(&mut stream, panel, open),
        }
    }
}

/// Tells the status now and at each change, until the socket is closed or the client is gone.
fn follow(stream: &mut UnixStream, panel: &Panel, open: &AtomicBool) -> io::Result<()> {
    let board = panel.board();
    let mut seen = board.change();
    let mut last = board.now();
    answer(stream, &last)?;
    while open.load(Ordering::Relaxed) {
        if let Some((status, change)) = board.after(seen, LOOKS_EVERY) {
            seen = change;
            answer(stream, &status)?;
            last = status;
        }
    }
    // What was shown last, if it came as the socket closed.
    let now = board.now();
    if now.state == Doing::Finished && last.state != Doing::Finished {
        answer(stream, &now)?;
    }
    Ok(())
}

fn answer(stream: &mut UnixStream, answer: &impl Serialize) -> io::Result<()> {
    let mut line = serde_json::to_vec(answer)?;
    line.push(b'\n');
    stream.write_all(&line)
}
