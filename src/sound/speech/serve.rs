//! The child's side: loads the voice once and speaks for whoever holds the other end of the pipes.
//!
//! It ends when its input does (the program is gone), or when nobody asked for a while.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: processes and their threads"
)]

use std::ffi::OsString;
use std::io;
use std::io::BufReader;
use std::panic;
use std::panic::AssertUnwindSafe;
use std::path::Path;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::OnceLock;
use std::sync::PoisonError;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::time::Duration;

use crate::sound::speech::VoiceError;
use crate::sound::speech::library;
use crate::sound::speech::library::Shelf;
use crate::sound::speech::neural::Neural;
use crate::sound::speech::protocol;
use crate::sound::speech::protocol::Answer;
use crate::sound::speech::protocol::Request;

/// The first argument that makes the program serve as an engine.
pub const ARGUMENT: &str = "speech-engine";

/// Texts in work at a time: one core each of the two that the program counts on.
pub const WORKERS: usize = 2;

/// Texts that wait here for a worker; the asking side never sends more than there are workers.
const QUEUED: usize = 64;

/// Ends with this when the arguments are not those of the asking side.
const USAGE: u8 = 2;

/// Serves until the input ends or nobody asks any more; `arguments` are those after
/// [`ARGUMENT`]: the voice's name or the file that describes it, the folder of its files, and the milliseconds to wait.
pub fn serve(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let mut arguments = arguments.into_iter();
    let voice = arguments.next().and_then(|name| {
        let embedded = name.to_str().and_then(library::find);
        embedded.or_else(|| Shelf::load(Path::new(&name)))
    });
    let folder = arguments.next().map(PathBuf::from);
    let idle = arguments.next().and_then(|ms| ms.to_str()?.parse().ok());
    let (Some(voice), Some(folder), Some(idle)) = (voice, folder, idle) else {
        return ExitCode::from(USAGE);
    };
    let idle = Duration::from_millis(idle);

    let engine: Arc<OnceLock<Result<Neural, VoiceError>>> = Arc::default();
    let busy = Arc::new(AtomicUsize::new(0));
    let (to_workers, requests) = mpsc::sync_channel::<Request>(QUEUED);
    let requests = Arc::new(Mutex::new(requests));
    for _ in 0..WORKERS {
        let (engine, busy) = (Arc::clone(&engine), Arc::clone(&busy));
        let requests = Arc::clone(&requests);
        let (voice, folder) = (voice.clone(), folder.clone());
        std::thread::spawn(move || {
            // The first to come loads, the others wait for it.
            let engine = engine.get_or_init(|| {
                let load = || Neural::load(&voice, &folder);
                panic::catch_unwind(load).unwrap_or_else(|_| Err(panicked()))
            });
            work(engine, &requests, &busy);
        });
    }

    let (arrived, arrivals) = mpsc::sync_channel(QUEUED);
    std::thread::spawn(move || {
        let mut input = BufReader::new(io::stdin());
        while let Ok(Some(body)) = protocol::read(&mut input, protocol::MOST_ASKED) {
            let Some(request) = Request::decode(&body) else {
                break;
            };
            if arrived.send(request).is_err() {
                break;
            }
        }
    });
    loop {
        match arrivals.recv_timeout(idle) {
            Ok(request) => {
                busy.fetch_add(1, Ordering::SeqCst);
                if to_workers.send(request).is_err() {
                    return ExitCode::FAILURE;
                }
            }
            Err(mpsc::RecvTimeoutError::Timeout) if busy.load(Ordering::SeqCst) > 0 => {}
            // Returning from here ends the workers too, whatever they do.
            Err(_) => return ExitCode::SUCCESS,
        }
    }
}

fn work(
    engine: &Result<Neural, VoiceError>,
    requests: &Mutex<mpsc::Receiver<Request>>,
    busy: &AtomicUsize,
) {
    loop {
        let request = requests
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .recv();
        let Ok(request) = request else {
            return;
        };
        let speak = || match engine {
            Ok(engine) => engine.speak(&request.text, request.rate),
            Err(error) => Err(error.clone()),
        };
        let spoken = panic::catch_unwind(AssertUnwindSafe(speak));
        let answer = Answer {
            id: request.id,
            spoken: spoken.unwrap_or_else(|_| Err(panicked())),
        };
        let written = protocol::write(&mut io::stdout().lock(), &answer.encode());
        busy.fetch_sub(1, Ordering::SeqCst);
        if written.is_err() {
            return;
        }
    }
}

fn panicked() -> VoiceError {
    VoiceError::Engine("the neural engine failed at this text".to_owned())
}
