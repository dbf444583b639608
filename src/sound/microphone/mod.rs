//! The microphone: mono samples as they are captured, when that began, what was lost, and how it ended.
//!
//! The callback mixes what comes to mono and puts it into a bounded ring; whoever listens polls. Nothing is
//! written anywhere, and nothing is judged here.
#![expect(
    clippy::disallowed_methods,
    reason = "this is the part of the shell that holds the microphone open"
)]

mod capture;
mod input;
mod watch;

use std::sync::Arc;
use std::sync::mpsc;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use cpal::ErrorKind;

use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::out::ANSWER;
use crate::sound::out::Host;
use crate::sound::out::end;
use capture::Captured;
use watch::Watch;

pub use crate::sound::out::Device;
pub use input::microphones;

/// How a microphone is opened.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Options {
    pub host: Host,
    /// The device's id; the default device where none is given.
    pub device: Option<String>,
}

/// Why nothing can be heard; named by what there is to be done.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum MicrophoneError {
    /// Start a sound system.
    #[error(
        "expected a sound system, but none answers ({0}): start it, or go without a microphone"
    )]
    NoHost(String),
    /// Connect a microphone.
    #[error("expected a microphone, found none: connect one, or go without")]
    NoDevice,
    /// Choose another.
    #[error(
        "expected a microphone called {wanted}, found {found}: choose one of these, or none for the default"
    )]
    Unknown { wanted: String, found: String },
    /// Choose another device.
    #[error("the microphone captures nothing that can be used ({0}): choose another")]
    Unfit(String),
    /// Allow it, or end what uses it.
    #[error("the microphone may not be used ({0}): allow it, or close what uses it")]
    Refused(String),
    /// Try again.
    #[error("the microphone does not work ({0}): plug it in again, or choose another")]
    Failed(String),
}

/// What came since the last poll, after the samples that were there: in this order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Poll {
    /// Frames that found no room after the samples of this poll and before those of the next.
    pub lost: Frames,
    /// Why nothing comes any more.
    pub gone: Option<String>,
}

/// When a microphone began, for a clock beside its count of frames.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Began {
    /// When its first frame arrived, at the earliest that any later one says: an arrival may be late, never early.
    pub at: Instant,
    /// How long before its arrival a frame was captured, as far as the host tells.
    pub latency: Duration,
}

/// A microphone that captures. Dropped, it lets go of its device.
pub struct Microphone {
    stream: Option<cpal::Stream>,
    captured: Captured,
    watch: Watch,
    looked: Instant,
    opened: Instant,
    device: String,
    rate: SampleRate,
}

impl Microphone {
    /// Opens a microphone at the rate that it has; any sample format, any number of channels.
    ///
    /// # Errors
    ///
    /// [`MicrophoneError`], within 6 s also where the sound system hangs.
    pub fn open(options: Options) -> Result<Self, MicrophoneError> {
        let (tell, told) = mpsc::channel();
        thread::Builder::new()
            .name("microphone".into())
            .spawn(move || {
                // Whoever asked may have given up: then it is let go of here.
                if let Err(mpsc::SendError(Ok(late))) = tell.send(open_now(&options)) {
                    drop(late);
                }
            })
            .map_err(|it| MicrophoneError::Failed(it.to_string()))?;
        told.recv_timeout(ANSWER)
            .unwrap_or_else(|_| Err(MicrophoneError::NoHost("not within 6 s".into())))
    }

    /// Returns the name of its device.
    pub fn device(&self) -> &str {
        &self.device
    }

    /// Returns the rate of its samples.
    pub fn rate(&self) -> SampleRate {
        self.rate
    }

    /// Appends what was captured since the last poll, mono, full scale being 1, and says what else there is to know.
    /// Never waits. To be called at least every few seconds: the ring holds ten.
    pub fn poll(&mut self, samples: &mut Vec<f32>) -> Poll {
        let lost = self.captured.take(samples);
        let now = Instant::now();
        let since = now - self.looked;
        self.looked = now;
        let gone = self.watch.look(&self.captured.pulse, since);
        if gone.is_some()
            && let Some(stream) = self.stream.take()
        {
            end(stream);
        }
        Poll {
            lost,
            gone: gone.map(str::to_owned),
        }
    }

    /// Returns when it began; `None` before the first frame.
    pub fn began(&self) -> Option<Began> {
        self.captured.pulse.began(self.opened)
    }
}

impl Drop for Microphone {
    fn drop(&mut self) {
        if let Some(stream) = self.stream.take() {
            end(stream);
        }
    }
}

fn open_now(options: &Options) -> Result<Microphone, MicrophoneError> {
    let input = input::find(options)?;
    let opened = Instant::now();
    let (ring, captured) = capture::ring(input.rate);
    let noted = Arc::clone(&captured.pulse);
    let stream = input.stream(ring, opened, move |error| noted.error(error.kind()))?;
    Ok(Microphone {
        stream: Some(stream),
        captured,
        watch: Watch::default(),
        looked: Instant::now(),
        opened,
        device: input.name,
        rate: input.rate,
    })
}

impl From<cpal::Error> for MicrophoneError {
    fn from(error: cpal::Error) -> Self {
        let text = error.to_string();
        match error.kind() {
            ErrorKind::DeviceNotAvailable => MicrophoneError::NoDevice,
            ErrorKind::HostUnavailable => MicrophoneError::NoHost(text),
            ErrorKind::UnsupportedConfig | ErrorKind::UnsupportedOperation => {
                MicrophoneError::Unfit(text)
            }
            ErrorKind::DeviceBusy | ErrorKind::PermissionDenied => MicrophoneError::Refused(text),
            _ => MicrophoneError::Failed(text),
        }
    }
}
