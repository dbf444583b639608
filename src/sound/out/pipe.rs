//! A pipe: raw samples for a program that carries them on, such as a server for several rooms.
//!
//! 48 kHz, 16 bit, the lowest byte first, two channels interleaved. The samples go out as fast as time goes, or
//! as fast as the reader takes them where that is slower: the reader's clock is then that of the class. Who no
//! longer reads is a device that is gone.
#![expect(
    clippy::disallowed_methods,
    reason = "this is the part of the shell that keeps the sound going"
)]

use std::fmt;
use std::fmt::Display;
use std::fmt::Formatter;
use std::fs::File;
use std::fs::OpenOptions;
use std::io;
use std::io::IsTerminal;
use std::io::Write;
use std::os::fd::AsFd;
use std::os::unix::fs::FileTypeExt;
use std::os::unix::fs::OpenOptionsExt;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::RecvTimeoutError;
use std::sync::mpsc::Sender;
use std::sync::mpsc::TryRecvError;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use rustix::event::PollFd;
use rustix::event::PollFlags;
use rustix::event::Timespec;
use rustix::fs::OFlags;

use super::Bits;
use super::DeviceError;
use super::Event;
use super::loudspeaker::RETRY;
use super::loudspeaker::Stand;
use super::source::now;
use crate::base::units::SampleRate;

/// A pipe that can be written to for a byte holds as many as this at least without waiting (POSIX: `PIPE_BUF`
/// is at least 512, 4096 on Linux).
const AT_ONCE: usize = 4096;
/// Bytes that may wait in the pipe, 85 ms: a pause is to be heard soon.
const WAITING: usize = 16_384;
const CHANNELS: u16 = 2;
/// How long a full pipe is waited for before it is asked whether to end.
const TURN: Duration = Duration::from_millis(50);
/// A reader is waited for so long: a server that found no writer looks again within a second or so.
const READER: Duration = Duration::from_secs(4);
/// How often it is looked whether somebody reads.
const GLANCE: Duration = Duration::from_millis(10);
/// A reader that takes nothing for so long is gone.
const STUCK: Duration = Duration::from_secs(2);
/// So far behind, the reader is the slower clock.
const BEHIND: Duration = Duration::from_millis(200);

/// Where raw samples go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pipe {
    /// A named pipe.
    Named(PathBuf),
    StandardOutput,
}

impl Pipe {
    /// Reads `pipe:PATH`; `pipe:-` is standard output.
    pub fn parse(text: &str) -> Option<Pipe> {
        match text.strip_prefix("pipe:")? {
            "" => None,
            "-" => Some(Pipe::StandardOutput),
            path => Some(Pipe::Named(path.into())),
        }
    }

    /// Returns its name for a person.
    pub fn name(&self) -> String {
        match self {
            Pipe::Named(path) => format!("the pipe {}", path.display()),
            Pipe::StandardOutput => "standard output".to_owned(),
        }
    }

    /// Opens it for writing once somebody reads it, who is waited for.
    ///
    /// A reader that finds no writer meets the end of the file and looks again later, as a server does; so this
    /// program stays in the pipe itself, with some silence, until that is taken.
    fn open(&self, wait: Duration, ended: &dyn Fn() -> bool) -> Result<File, DeviceError> {
        let path = match self {
            Pipe::Named(path) => path,
            Pipe::StandardOutput => return standard_output(),
        };
        let shown = path.display();
        let opened = |options: &mut OpenOptions| {
            let flags = OFlags::NONBLOCK.bits() as i32;
            options.custom_flags(flags).open(path).map_err(|error| {
                DeviceError::Pipe(match error.kind() {
                    io::ErrorKind::NotFound => format!(
                        "expected a named pipe at {shown}, found nothing: make one (mkfifo {shown}), or start the \
                         server that makes it"
                    ),
                    _ => format!("the pipe {shown} cannot be written to: {error}"),
                })
            })
        };
        let stays = opened(File::options().read(true).write(true))?;
        if !stays.metadata().is_ok_and(|it| it.file_type().is_fifo()) {
            return Err(DeviceError::Pipe(format!(
                "expected a named pipe at {shown}, found something else: `render` writes files"
            )));
        }
        let mut file = opened(File::options().write(true))?;
        #[cfg(target_os = "linux")]
        {
            // Where it may not be smaller, a pause is heard a little later.
            let _ = rustix::pipe::fcntl_setpipe_size(&file, WAITING);
        }
        let waiting = || rustix::io::ioctl_fionread(&stays).unwrap_or(0);
        // What an earlier writer left may be in the way; then that is what is waited for.
        let before = waiting() + file.write(&[0; AT_ONCE]).unwrap_or(0) as u64;
        let begun = Instant::now();
        while waiting() >= before {
            if begun.elapsed() >= wait || ended() {
                return Err(DeviceError::Pipe(format!(
                    "nobody reads the pipe {shown}: start the server that does"
                )));
            }
            thread::sleep(GLANCE);
        }
        Ok(file)
    }
}

/// Takes what standard output is, unless somebody would look at it.
fn standard_output() -> Result<File, DeviceError> {
    let output = io::stdout();
    if output.is_terminal() {
        return Err(DeviceError::Pipe(
            "expected a pipe or a file on standard output, found a terminal: send it on to a program that plays \
             raw samples"
                .to_owned(),
        ));
    }
    let copy = output.as_fd().try_clone_to_owned();
    let copy = copy.map_err(|it| DeviceError::Pipe(format!("standard output: {it}")))?;
    Ok(File::from(copy))
}

impl Display for Pipe {
    fn fmt(&self, out: &mut Formatter) -> fmt::Result {
        match self {
            Pipe::Named(path) => write!(out, "pipe:{}", path.display()),
            Pipe::StandardOutput => out.write_str("pipe:-"),
        }
    }
}

/// The thread that feeds a pipe.
pub(super) struct PipeKeeper {
    pub pipe: Pipe,
    pub stand: Arc<Stand>,
    pub wait: bool,
    pub buffer: u32,
    pub told: Receiver<()>,
    pub tell: Sender<Event>,
}

/// Why no more is written.
enum Ended {
    Asked,
    Gone(io::Error),
}

impl PipeKeeper {
    pub fn keep(self, opened: &Sender<Result<Option<String>, DeviceError>>) {
        let mut file = match self.open(READER) {
            Ok(file) => Some(file),
            Err(_) if self.wait => None,
            Err(error) => {
                // The one who opens it waits for this.
                let _ = opened.send(Err(error));
                return;
            }
        };
        let name = self.pipe.name();
        let _ = opened.send(Ok(file.is_some().then(|| name.clone())));
        let turn = self.stand.next_turn();
        loop {
            let Some(open) = &mut file else {
                match self.told.recv_timeout(RETRY) {
                    Err(RecvTimeoutError::Timeout) => {}
                    Ok(()) | Err(RecvTimeoutError::Disconnected) => return,
                }
                // Commands are heeded although nobody takes samples.
                self.stand.with_mixer(|mixer| mixer.fill(now(), &mut []));
                file = match self.pipe {
                    Pipe::Named(_) => self.open(RETRY).ok(),
                    // Who read it does not come again.
                    Pipe::StandardOutput => None,
                };
                if file.is_some() {
                    let device = name.clone();
                    let _ = self.tell.send(Event::Back { device });
                }
                continue;
            };
            match self.play(open, turn) {
                Ended::Asked => return,
                Ended::Gone(error) => {
                    file = None;
                    let at = self.stand.with_mixer(|mixer| {
                        mixer.device_lost();
                        mixer.position()
                    });
                    let reason = match error.kind() {
                        io::ErrorKind::TimedOut => format!("{name} is full, and nobody empties it"),
                        io::ErrorKind::BrokenPipe => format!("nobody reads {name} any more"),
                        _ => format!("{name} cannot be written to: {error}"),
                    };
                    let at = at.unwrap_or_default();
                    let _ = self.tell.send(match self.pipe {
                        Pipe::Named(_) => Event::Lost { at, reason },
                        Pipe::StandardOutput => Event::Ended { reason },
                    });
                }
            }
        }
    }

    fn open(&self, wait: Duration) -> Result<File, DeviceError> {
        let channels = self.stand.with_mixer(|mixer| mixer.channels());
        if channels.is_some_and(|channels| channels != CHANNELS) {
            return Err(DeviceError::Pipe("a pipe carries two channels".to_owned()));
        }
        let ended = || !matches!(self.told.try_recv(), Err(TryRecvError::Empty));
        self.pipe.open(wait, &ended)
    }

    /// Plays buffer by buffer, each when it is due.
    fn play(&self, file: &mut File, turn: u64) -> Ended {
        let frames = self.buffer.max(1);
        let lasts = Duration::from_secs(1) * frames / SampleRate::OUTPUT.hz();
        let mut samples = vec![0.0; frames as usize * usize::from(CHANNELS)];
        let mut bytes = Vec::new();
        let mut due = Instant::now();
        loop {
            let wait = due.saturating_duration_since(Instant::now());
            match self.told.recv_timeout(wait) {
                Err(RecvTimeoutError::Timeout) => {}
                Ok(()) | Err(RecvTimeoutError::Disconnected) => return Ended::Asked,
            }
            self.stand.fill(turn, &mut samples);
            bytes.clear();
            Bits::Sixteen.encode(&samples, &mut bytes);
            if let Err(ended) = self.write(file, &bytes) {
                return ended;
            }
            due += lasts;
            if due + BEHIND < Instant::now() {
                due = Instant::now();
            }
        }
    }

    /// Writes without ever waiting where it could not be told to end.
    fn write(&self, file: &mut File, bytes: &[u8]) -> Result<(), Ended> {
        let mut taken = Instant::now();
        for part in bytes.chunks(AT_ONCE) {
            let mut left = part;
            while !left.is_empty() {
                if !ready(file).map_err(Ended::Gone)? {
                    if taken.elapsed() > STUCK {
                        return Err(Ended::Gone(io::ErrorKind::TimedOut.into()));
                    }
                    match self.told.try_recv() {
                        Err(TryRecvError::Empty) => continue,
                        Ok(()) | Err(TryRecvError::Disconnected) => {
                            return Err(Ended::Asked);
                        }
                    }
                }
                match file.write(left) {
                    Ok(written) => {
                        left = &left[written..];
                        taken = Instant::now();
                    }
                    Err(error) if error.kind() == io::ErrorKind::WouldBlock => {}
                    Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                    Err(error) => return Err(Ended::Gone(error)),
                }
            }
        }
        Ok(())
    }
}

/// Waits a little until a file takes some bytes at once; returns whether it does.
fn ready(file: &File) -> io::Result<bool> {
    let mut asked = [PollFd::new(file, PollFlags::OUT)];
    let turn = Timespec {
        tv_sec: 0,
        tv_nsec: TURN.as_nanos() as i64,
    };
    match rustix::event::poll(&mut asked, Some(&turn)) {
        // One whose reader is gone is ready too: the write says so.
        Ok(0) => Ok(false),
        Ok(_) => Ok(true),
        Err(rustix::io::Errno::INTR) => Ok(false),
        Err(error) => Err(error.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sink_is_named_in_words() {
        let named = |path: &str| Some(Pipe::Named(path.into()));
        assert_eq!(Pipe::parse("pipe:/run/rooms"), named("/run/rooms"));
        assert_eq!(Pipe::parse("pipe:a b"), named("a b"));
        assert_eq!(Pipe::parse("pipe:-"), Some(Pipe::StandardOutput));
        assert_eq!(
            Pipe::Named("/run/rooms".into()).to_string(),
            "pipe:/run/rooms"
        );
        for none in ["pipe:", "pipe", "file:x", "", "/run/rooms"] {
            assert_eq!(Pipe::parse(none), None, "{none}");
        }
    }
}
