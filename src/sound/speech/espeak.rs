//! espeak-ng as a process for each text, started ahead: one that has read its data and waits for a
//! text costs half as much as one that is to be started.
//!
//! It is a separate program under the GPL and only ever run, never linked. A process speaks one text
//! and ends: none grows, none remembers, and one that hangs is killed without harm to another. Its
//! speed is an argument, so the one that waits is started with the speed of the text before.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: processes and their time"
)]

use std::io;
use std::io::Read;
use std::io::Write;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::sync::Arc;
use std::sync::Condvar;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::PoisonError;
use std::time::Duration;
use std::time::Instant;
use std::time::SystemTime;

use rustix::event::PollFd;
use rustix::event::PollFlags;
use rustix::event::Timespec;

use crate::base::units::SampleRate;
use crate::sound::dsp::stretch;
use crate::sound::speech::Estimate;
use crate::sound::speech::Rate;
use crate::sound::speech::Raw;
use crate::sound::speech::Voice;
use crate::sound::speech::VoiceError;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::serve;

/// The program's name on the path.
pub const PROGRAM: &str = "espeak-ng";

/// What to do where it is not there, on Debian.
pub const TO_GET: &str = "sudo apt-get install espeak-ng";

/// Its own speed, in words a minute, and the slowest that it takes.
const WORDS_A_MINUTE: f32 = 175.0;
const SLOWEST: f32 = 80.0;

/// Up to this its own rate is understood no worse than a stretch (words misheard at 1.4 times, of 1,200:
/// 29.7 % against 30.5 % with a stretch from 1.2 on, 13.8 % at its own rate); the rest is stretched.
const FASTEST: f32 = 1.4;

/// How often a text is tried when the process dies on it. One that hangs is not asked again: the
/// class may be waiting.
const ATTEMPTS: usize = 2;

/// A closed voice is noticed by those who wait for it within this time.
const LOOK: Duration = Duration::from_millis(20);

/// The longest sound: some minutes, for a piece of half a minute.
const MOST: usize = 16 * 1024 * 1024;

/// How the processes are started and watched.
#[derive(Debug, Clone)]
pub struct EspeakSettings {
    pub program: PathBuf,
    /// After this long without a text those that wait are ended.
    pub idle: Duration,
    /// How long an answer may take beyond the time that speaking the text aloud would.
    pub patience: Duration,
}

/// A voice of espeak-ng.
pub struct Espeak {
    info: VoiceInfo,
    id: String,
    settings: EspeakSettings,
    shared: Arc<Shared>,
}

struct Shared {
    state: Mutex<State>,
    changed: Condvar,
}

struct State {
    /// Started and not yet given a text.
    waiting: Vec<Process>,
    used: Instant,
    /// Whether a thread looks after those that wait.
    kept: bool,
    closed: bool,
}

struct Process {
    speed: u32,
    child: Child,
}

/// Why a process gave no sound.
enum Failure {
    /// It could not be started, or ended without a word.
    Ended(String),
    Hung,
    Closed,
}

/// Finds the program: the one that was asked for, or the first on the path.
///
/// # Errors
///
/// [`VoiceError::Model`], saying how to get it.
pub fn find(asked: Option<&Path>) -> Result<PathBuf, VoiceError> {
    let found = match asked {
        Some(program) => program.is_file().then(|| program.to_owned()),
        None => {
            let path = std::env::var_os("PATH").unwrap_or_default();
            let mut all = std::env::split_paths(&path).map(|folder| folder.join(PROGRAM));
            all.find(|program| program.is_file())
        }
    };
    found.ok_or_else(|| {
        VoiceError::Model(format!(
            "the program {PROGRAM} is not installed; on Debian run: {TO_GET}"
        ))
    })
}

impl Espeak {
    /// Makes the voice; the first process starts with the first text.
    pub fn new(info: VoiceInfo, settings: EspeakSettings) -> Espeak {
        Espeak {
            id: id(&info, &settings.program),
            info,
            settings,
            shared: Arc::new(Shared {
                state: Mutex::new(State {
                    waiting: Vec::new(),
                    used: Instant::now(),
                    kept: false,
                    closed: false,
                }),
                changed: Condvar::new(),
            }),
        }
    }

    fn start(&self, speed: u32) -> Result<Process, Failure> {
        let failed = |error: io::Error| Failure::Ended(error.to_string());
        let mut command = Command::new(&self.settings.program);
        command
            .args(["--stdin", "--stdout", "-b", "1", "-v"])
            .arg(self.info.speaks.as_deref().unwrap_or("en"))
            .args(["-s", &speed.to_string()])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null());
        // An interrupt at the terminal is for the program, whose end ends the process too: its
        // input closes.
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        let child = command.spawn().map_err(failed)?;
        Ok(Process { speed, child })
    }

    /// Takes a process that waits, or starts one.
    fn process(&self, speed: u32) -> Result<Process, Failure> {
        let mut state = self.shared.lock();
        if state.closed {
            return Err(Failure::Closed);
        }
        state.used = Instant::now();
        let same = state.waiting.iter().position(|p| p.speed == speed);
        let mut found = same.map(|at| state.waiting.remove(at));
        drop(state);
        // One that died meanwhile is of no use.
        let lives = |process: &mut Process| matches!(process.child.try_wait(), Ok(None));
        match found.take_if(lives) {
            Some(process) => Ok(process),
            None => self.start(speed),
        }
    }

    /// Starts the next process while this one speaks; one of another speed makes room.
    fn start_next(&self, speed: u32) {
        // A failure shows when a text needs it.
        let Ok(next) = self.start(speed) else {
            return;
        };
        let mut state = self.shared.lock();
        let mut over = Vec::new();
        if state.closed {
            over.push(next);
        } else {
            state.waiting.push(next);
            if state.waiting.len() > serve::WORKERS {
                over.push(state.waiting.remove(0));
            }
            if !state.kept {
                state.kept = true;
                let (shared, idle) = (Arc::clone(&self.shared), self.settings.idle);
                let keeper = std::thread::Builder::new().name("espeak-idle".to_owned());
                state.kept = keeper.spawn(move || shared.keep(idle)).is_ok();
            }
        }
        drop(state);
        over.into_iter().for_each(end);
    }

    fn ask(&self, text: &str, speed: u32, budget: Duration) -> Result<Vec<u8>, Failure> {
        let mut process = self.process(speed)?;
        if let Some(mut input) = process.child.stdin.take() {
            // A process that is gone shows when it is read from.
            drop(input.write_all(text.as_bytes()));
            drop(input.write_all(b"\n"));
        }
        self.start_next(speed);
        let sound = self.read(&mut process.child, budget);
        match sound {
            Ok(sound) => match process.child.wait() {
                Ok(status) if status.success() && sound.len() > HEADER => Ok(sound),
                Ok(status) => Err(Failure::Ended(status.to_string())),
                Err(error) => Err(Failure::Ended(error.to_string())),
            },
            Err(failure) => {
                end(process);
                Err(failure)
            }
        }
    }

    /// Reads to the end of the output: the length in its header is a placeholder.
    fn read(&self, child: &mut Child, budget: Duration) -> Result<Vec<u8>, Failure> {
        let until = Instant::now() + budget;
        let no_pipe = || Failure::Ended("it has no output".to_owned());
        let output = child.stdout.as_mut().ok_or_else(no_pipe)?;
        let mut sound = Vec::with_capacity(1 << 18);
        let mut part = [0; 1 << 16];
        loop {
            if self.shared.lock().closed {
                return Err(Failure::Closed);
            }
            let left = until.saturating_duration_since(Instant::now());
            if left.is_zero() {
                return Err(Failure::Hung);
            }
            let limit = left.min(LOOK);
            let limit = Timespec {
                tv_sec: 0,
                tv_nsec: limit.subsec_nanos().into(),
            };
            let mut polled = [PollFd::new(&*output, PollFlags::IN)];
            match rustix::event::poll(&mut polled, Some(&limit)) {
                Ok(0) | Err(rustix::io::Errno::INTR) => continue,
                Ok(_) => {}
                Err(error) => return Err(Failure::Ended(error.to_string())),
            }
            match output.read(&mut part) {
                Ok(0) => return Ok(sound),
                Ok(count) if sound.len() + count <= MOST => sound.extend(&part[..count]),
                Ok(_) => return Err(Failure::Hung),
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(Failure::Ended(error.to_string())),
            }
        }
    }
}

impl Voice for Espeak {
    fn info(&self) -> &VoiceInfo {
        &self.info
    }

    fn id(&self) -> &str {
        &self.id
    }

    fn speak(&self, text: &str, rate: Rate) -> Result<Raw, VoiceError> {
        let speed = (WORDS_A_MINUTE * rate.factor().min(FASTEST)).max(SLOWEST);
        let speed = speed.round() as u32;
        let estimate = Estimate::of(&self.info).length(text, rate);
        let estimate = Duration::from_millis(estimate.ms().max(0) as u64);
        let budget = self.settings.patience + estimate;
        let text = plain(text);
        let mut why = String::new();
        for _ in 0..ATTEMPTS {
            match self.ask(&text, speed, budget) {
                Ok(sound) => {
                    let (samples, hz) = samples(&sound).ok_or_else(|| {
                        VoiceError::Engine(format!(
                            "{PROGRAM} answered with something else than sound"
                        ))
                    })?;
                    let beyond = f64::from(rate.factor() / FASTEST);
                    let samples = match beyond > 1.0 {
                        true => stretch::stretch(&samples, hz, beyond),
                        false => samples,
                    };
                    return Ok(Raw {
                        samples,
                        rate: hz,
                        // It has no simple way to tell them.
                        words: Vec::new(),
                    });
                }
                Err(Failure::Closed) => {
                    let message = "the speech engine was closed".to_owned();
                    return Err(VoiceError::Engine(message));
                }
                Err(Failure::Hung) => {
                    return Err(VoiceError::Engine(format!("{PROGRAM} did not answer")));
                }
                Err(Failure::Ended(reason)) => why = reason,
            }
        }
        let speaks = self.info.speaks.as_deref().unwrap_or_default();
        Err(VoiceError::Engine(format!(
            "{PROGRAM} gave no sound with its voice {speaks} ({why})"
        )))
    }

    fn close(&self) {
        let mut state = self.shared.lock();
        state.closed = true;
        let waiting = std::mem::take(&mut state.waiting);
        drop(state);
        self.shared.changed.notify_all();
        waiting.into_iter().for_each(end);
    }

    fn process_id(&self) -> Option<u32> {
        let state = self.shared.lock();
        state.waiting.last().map(|process| process.child.id())
    }
}

impl Drop for Espeak {
    fn drop(&mut self) {
        self.close();
    }
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Ends those that wait once nobody has spoken for a while.
    fn keep(&self, idle: Duration) {
        let mut state = self.lock();
        loop {
            let left = idle.saturating_sub(state.used.elapsed());
            if state.closed || left.is_zero() {
                break;
            }
            let (back, _) = self
                .changed
                .wait_timeout(state, left)
                .unwrap_or_else(PoisonError::into_inner);
            state = back;
        }
        state.kept = false;
        let waiting = std::mem::take(&mut state.waiting);
        drop(state);
        waiting.into_iter().for_each(end);
    }
}

fn end(mut process: Process) {
    drop(process.child.kill());
    drop(process.child.wait());
}

/// What the cache knows the voice by: another program of the name speaks otherwise.
fn id(info: &VoiceInfo, program: &Path) -> String {
    let speaks = info.speaks.as_deref().unwrap_or_default();
    let found = std::fs::metadata(program).ok();
    let length = found.as_ref().map_or(0, std::fs::Metadata::len);
    let made = found.and_then(|found| found.modified().ok());
    let made = made.and_then(|made| made.duration_since(SystemTime::UNIX_EPOCH).ok());
    let made = made.unwrap_or_default().as_secs();
    format!("{PROGRAM}/{speaks}/{length}-{made}/2")
}

/// A text that is read as text: the program takes double brackets for phonemes and control
/// characters for commands. The normaliser lets none of them pass; this is for whoever comes later.
fn plain(text: &str) -> String {
    let spoken = |c: char| if c == '[' || c.is_control() { ' ' } else { c };
    text.chars().map(spoken).collect()
}

/// A WAV header of the plainest kind.
const HEADER: usize = 44;

/// The samples of a WAV file, 16 bit mono, whatever length its header tells.
fn samples(wav: &[u8]) -> Option<(Vec<f32>, SampleRate)> {
    let (header, data) = wav.split_at_checked(HEADER)?;
    let kind = header.get(..4)? == b"RIFF" && header.get(8..16)? == b"WAVEfmt ";
    let mono_16 = header.get(22..24)? == [1, 0] && header.get(34..36)? == [16, 0];
    if !kind || !mono_16 || header.get(36..40)? != b"data" {
        return None;
    }
    let hz = u32::from_le_bytes(header.get(24..28)?.try_into().ok()?);
    if !(8_000..=192_000).contains(&hz) {
        return None;
    }
    let values = data.as_chunks::<2>().0.iter();
    let samples = values.map(|bytes| f32::from(i16::from_le_bytes(*bytes)) / 32_768.0);
    Some((samples.collect(), SampleRate::from_hz(hz)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_false_length_is_not_believed_and_other_bytes_are_no_sound() {
        let mut wav = b"RIFF\xff\xff\xff\x7fWAVEfmt \x10\0\0\0\x01\0\x01\0".to_vec();
        wav.extend(22_050u32.to_le_bytes());
        wav.extend(44_100u32.to_le_bytes());
        wav.extend(b"\x02\0\x10\0data\xff\xff\xff\x7f");
        wav.extend([0, 0, 0, 0x40, 9]);
        let (read, hz) = samples(&wav).unwrap();
        assert_eq!((read, hz.hz()), (vec![0.0, 0.5], 22_050));
        for (at, byte) in [(0, b'X'), (22, 2), (34, 8), (36, b'x'), (25, 0)] {
            let mut other = wav.clone();
            other[at] = byte;
            assert_eq!(samples(&other), None, "byte {at}");
        }
        assert_eq!(samples(&wav[..40]), None);
    }

    #[test]
    fn what_the_program_could_take_for_more_than_text_is_taken_out() {
        assert_eq!(plain("[[h@l'oU]] \u{1}12P <b>"), "  h@l'oU]]  12P <b>");
    }
}
