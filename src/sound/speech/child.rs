//! The neural engine as a child process of the same binary: started when it is needed, ended when
//! idle, killed when it hangs.
//!
//! A loaded model does not give its memory back, and nothing in a process can stop a thread that
//! hangs; a child solves both. Any number of threads may ask; as many texts as the child has
//! workers are with it at a time, so a text's time starts when its work does.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: processes and their threads"
)]

use std::collections::HashMap;
use std::io::BufReader;
use std::path::PathBuf;
use std::process::Child;
use std::process::ChildStdin;
use std::process::ChildStdout;
use std::process::Command;
use std::process::Stdio;
use std::sync::Arc;
use std::sync::Condvar;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::sync::mpsc;
use std::time::Duration;

use crate::sound::speech::Estimate;
use crate::sound::speech::Rate;
use crate::sound::speech::Raw;
use crate::sound::speech::Voice;
use crate::sound::speech::VoiceError;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::protocol;
use crate::sound::speech::protocol::Answer;
use crate::sound::speech::protocol::Request;
use crate::sound::speech::serve;

/// How often a text is tried when the child dies on it: once more, in a new child. One that hangs is
/// killed and the text not tried again: a class may be waiting, and another voice is ready.
const ATTEMPTS: usize = 2;

/// How the child is started and watched.
#[derive(Debug, Clone)]
pub struct ChildSettings {
    /// The program that serves when its first argument is [`serve::ARGUMENT`].
    pub program: PathBuf,
    /// The folder of the voice's files.
    pub folder: PathBuf,
    /// After this long without a text the child ends.
    pub idle: Duration,
    /// How long an answer may take beyond the time that speaking the text aloud would.
    pub patience: Duration,
}

/// A voice that lives in a child process.
pub struct ChildVoice {
    info: VoiceInfo,
    id: String,
    settings: ChildSettings,
    state: Mutex<State>,
    free: Condvar,
}

struct State {
    running: Option<Running>,
    next_id: u32,
    /// Texts with the child now.
    asked: usize,
    started: u32,
    closed: bool,
}

struct Running {
    number: u32,
    stdin: ChildStdin,
    process: Arc<Mutex<Child>>,
    waiting: Waiting,
}

/// Who waits for which answer. Emptied when the child is gone, which its owners then notice.
type Waiting = Arc<Mutex<Option<HashMap<u32, mpsc::SyncSender<Outcome>>>>>;

enum Outcome {
    Answered(Result<Raw, VoiceError>),
    /// The child ended; of its own will if it was idle.
    Gone {
        idle: bool,
    },
}

impl ChildVoice {
    /// Makes the voice; the child starts with the first text.
    pub fn new(info: VoiceInfo, settings: ChildSettings) -> ChildVoice {
        ChildVoice {
            id: info.id(),
            info,
            settings,
            state: Mutex::new(State {
                running: None,
                next_id: 0,
                asked: 0,
                started: 0,
                closed: false,
            }),
            free: Condvar::new(),
        }
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        locked(&self.state)
    }

    fn ask(&self, text: &str, rate: Rate) -> Result<Raw, VoiceError> {
        let estimate = Estimate::of(&self.info).length(text, rate);
        let budget = self.settings.patience + Duration::from_millis(estimate.ms().max(0) as u64);
        let mut failures = 0;
        // A child that ended because it was idle, just when it was asked, is no failure; several
        // in a row are.
        for _ in 0..ATTEMPTS + 3 {
            let (number, answer) = self.send(text, rate)?;
            match answer.recv_timeout(budget) {
                Ok(Outcome::Answered(spoken)) => return spoken,
                Ok(Outcome::Gone { idle: true }) => {}
                Ok(Outcome::Gone { idle: false }) | Err(mpsc::RecvTimeoutError::Disconnected) => {
                    failures += 1;
                }
                Err(mpsc::RecvTimeoutError::Timeout) => {
                    failures = ATTEMPTS;
                    self.kill(number);
                }
            }
            if failures == ATTEMPTS {
                break;
            }
        }
        Err(VoiceError::Engine(format!(
            "the speech engine of the voice {} did not answer",
            self.info.name
        )))
    }

    /// Sends a text to the child, starting one if none runs.
    fn send(&self, text: &str, rate: Rate) -> Result<(u32, mpsc::Receiver<Outcome>), VoiceError> {
        let mut state = self.lock();
        if state.closed {
            return Err(VoiceError::Engine(
                "the speech engine was closed".to_owned(),
            ));
        }
        state.next_id = state.next_id.wrapping_add(1);
        let id = state.next_id;
        let (sender, answer) = mpsc::sync_channel(1);
        let alive = |running: &Running| {
            let mut waiting = locked(&running.waiting);
            let alive = waiting.as_mut();
            alive
                .map(|waiting| waiting.insert(id, sender.clone()))
                .is_some()
        };
        if !state.running.as_ref().is_some_and(alive) {
            state.started += 1;
            let running = self.start(state.started)?;
            if !alive(&running) {
                drop(sender.try_send(Outcome::Gone { idle: false }));
            }
            state.running = Some(running);
        }
        let Some(running) = state.running.as_mut() else {
            return Err(VoiceError::Engine("no speech engine".to_owned()));
        };
        let request = Request {
            id,
            rate,
            text: text.to_owned(),
        };
        // A child that is gone is noticed by the thread that reads from it.
        drop(protocol::write(&mut running.stdin, &request.encode()));
        Ok((running.number, answer))
    }

    fn start(&self, number: u32) -> Result<Running, VoiceError> {
        let mut command = Command::new(&self.settings.program);
        command
            .arg(serve::ARGUMENT)
            .arg(match &self.info.source {
                Some(file) => file.as_os_str(),
                None => self.info.name.as_ref(),
            })
            .arg(&self.settings.folder)
            .arg(self.settings.idle.as_millis().to_string())
            // Each thread's own heap of the C library would keep what it once held.
            .env("MALLOC_ARENA_MAX", "1")
            // For a program that mostly idles; an engine at work would ask for it all again.
            .env_remove("MALLOC_TRIM_THRESHOLD_")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null());
        // An interrupt at the terminal is for the program, which ends the child itself.
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        let failed = |why: String| VoiceError::Engine(format!("no speech engine: {why}"));
        let mut process = command.spawn().map_err(|error| failed(error.to_string()))?;
        let (Some(stdin), Some(stdout)) = (process.stdin.take(), process.stdout.take()) else {
            return Err(failed("it has no pipes".to_owned()));
        };
        let process = Arc::new(Mutex::new(process));
        let waiting: Waiting = Arc::new(Mutex::new(Some(HashMap::new())));
        let reader = (Arc::clone(&process), Arc::clone(&waiting));
        std::thread::Builder::new()
            .name("speech-answers".to_owned())
            .spawn(move || listen(stdout, &reader.0, &reader.1))
            .map_err(|error| failed(error.to_string()))?;
        Ok(Running {
            number,
            stdin,
            process,
            waiting,
        })
    }

    /// Kills the child with this number, if it is still the one that runs.
    fn kill(&self, number: u32) {
        let mut state = self.lock();
        if state
            .running
            .as_ref()
            .is_some_and(|running| running.number == number)
            && let Some(running) = state.running.take()
        {
            drop(locked(&running.process).kill());
        }
    }
}

impl Voice for ChildVoice {
    fn info(&self) -> &VoiceInfo {
        &self.info
    }

    fn id(&self) -> &str {
        &self.id
    }

    fn speak(&self, text: &str, rate: Rate) -> Result<Raw, VoiceError> {
        let mut state = self.lock();
        while state.asked >= serve::WORKERS {
            state = self
                .free
                .wait(state)
                .unwrap_or_else(PoisonError::into_inner);
        }
        state.asked += 1;
        drop(state);
        let spoken = self.ask(text, rate);
        self.lock().asked -= 1;
        self.free.notify_one();
        spoken
    }

    /// Ends the child and answers all that wait with an error; nothing is spoken after this.
    fn close(&self) {
        let mut state = self.lock();
        state.closed = true;
        // Its input closes with this and it ends; killed too, in case it hangs.
        if let Some(running) = state.running.take() {
            drop(running.stdin);
            drop(locked(&running.process).kill());
        }
    }

    fn process_id(&self) -> Option<u32> {
        let state = self.lock();
        let running = state.running.as_ref()?;
        if locked(&running.waiting).is_none() {
            return None;
        }
        Some(locked(&running.process).id())
    }
}

impl Drop for ChildVoice {
    fn drop(&mut self) {
        self.close();
    }
}

/// Hands out the answers of a child until it is gone, then says so to all who still wait.
fn listen(stdout: ChildStdout, process: &Mutex<Child>, waiting: &Waiting) {
    let mut stdout = BufReader::new(stdout);
    while let Ok(Some(body)) = protocol::read(&mut stdout, protocol::MOST_ANSWERED) {
        let Some(answer) = Answer::decode(&body) else {
            break;
        };
        let waiter = locked(waiting)
            .as_mut()
            .and_then(|all| all.remove(&answer.id));
        if let Some(waiter) = waiter {
            drop(waiter.try_send(Outcome::Answered(answer.spoken)));
        }
    }
    let left = locked(waiting).take();
    let mut process = locked(process);
    // A child that closed its output without ending is of no more use.
    let idle = match process.try_wait() {
        Ok(Some(status)) => status.success(),
        _ => {
            // It may be just about to end by itself.
            std::thread::sleep(Duration::from_millis(50));
            let ended = process.try_wait().ok().flatten();
            drop(process.kill());
            drop(process.wait());
            ended.is_some_and(|status| status.success())
        }
    };
    for waiter in left.into_iter().flatten() {
        drop(waiter.1.try_send(Outcome::Gone { idle }));
    }
}

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
