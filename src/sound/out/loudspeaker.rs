//! The loudspeaker: keeps a stream open, whatever becomes of the device, and its mixer's place.
//!
//! A thread keeps watch. A stream opens with silence and keeps silence flowing, since a new one
//! loses its first milliseconds and a wireless loudspeaker up to 1.5 s. A lost device counts as a
//! hold: what sounded is cut, the clock stands, and the owner says when to play on.
#![expect(
    clippy::disallowed_methods,
    reason = "this is the part of the shell that keeps the sound going"
)]

use std::sync::Arc;
use std::sync::Mutex;
use std::sync::MutexGuard;
use std::sync::TryLockError;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;
use std::sync::mpsc;
use std::sync::mpsc::Receiver;
use std::sync::mpsc::RecvTimeoutError;
use std::sync::mpsc::Sender;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use cpal::BufferSize;
use cpal::StreamConfig;
use cpal::traits::DeviceTrait;
use cpal::traits::StreamTrait;

use super::DeviceError;
use super::Host;
use super::devices::ANSWER;
use super::devices::find;
use super::devices::id_of;
use super::devices::name_of;
use super::devices::open_host;
use super::devices::quiet;
use super::pipe::Pipe;
use super::pipe::PipeKeeper;
use super::source::Source;
use super::source::now;
use super::watchdog::Pulse;
use super::watchdog::Watchdog;
use crate::base::units::FrameAt;
use crate::base::units::SampleRate;

/// Frames a buffer: with a fade of 20 ms, silence 53 ms after a hold in the median. 480 frames
/// saved 15 ms and left no room for a busy machine; 2048 took 73 ms.
const BUFFER: u32 = 960;

/// How often the stream is looked at, and whether a device is there that no other may stand in for.
const LOOK: Duration = Duration::from_millis(50);

/// How often a lost device is looked for.
pub(super) const RETRY: Duration = Duration::from_millis(500);

/// How long the end of a stream is waited for. That of a lost device may never come: then the
/// thread that waits for it is left behind.
const GRACE: Duration = Duration::from_millis(300);

/// How long opening a stream may take.
const OPENING: Duration = Duration::from_secs(2);

/// How the loudspeaker is opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Options {
    pub host: Host,
    /// The device's id; the default device where none is given.
    pub device: Option<String>,
    /// A pipe in place of a device.
    pub pipe: Option<Pipe>,
    /// Frames a buffer.
    pub buffer: u32,
    /// Whether to wait for a device where there is none yet, instead of failing.
    pub wait: bool,
    /// Whether no other device may play it, even where none is named: a sound server moves the stream of a
    /// device that is gone to the next one, where somebody else would hear it. One that is named is kept to anyway.
    pub alone: bool,
    /// A device that is never taken where none is named: it is somebody else's.
    pub except: Option<String>,
}

/// What happens to the device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// It is gone. The session clock is held at this position; it is looked for until it is back.
    Lost { at: FrameAt, reason: String },
    /// It is back, or another in its place, and plays silence. The clock is still held.
    Back { device: String },
    /// It is gone and does not come again; the clock is held.
    Ended { reason: String },
}

/// A loudspeaker that plays what its mixer renders. Dropped, it falls silent at once.
#[derive(Debug)]
pub struct Loudspeaker {
    /// Dropped, it tells the keeper to end.
    orders: Option<Sender<()>>,
    events: Receiver<Event>,
    ended: Receiver<()>,
    stand: Arc<Stand>,
    device: Option<String>,
}

/// Where the mixer stands between the streams that come and go.
#[derive(Debug)]
pub(super) struct Stand {
    /// Only ever locked by trying, so nobody waits for it in the callback. A callback that finds
    /// it taken plays silence.
    mixer: Mutex<Option<Box<dyn Source>>>,
    /// The stream that may take the mixer, counted; one left behind plays silence.
    turn: AtomicU64,
    underruns: AtomicU64,
}

/// A stream and what is needed to look after it.
struct Playing {
    stream: cpal::Stream,
    pulse: Arc<Pulse>,
    watchdog: Watchdog,
    device: String,
    /// Asked whether the device with this id is there, where no other may stand in for it.
    kept_to: Option<(cpal::Host, String)>,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            host: Host::Best,
            device: None,
            pipe: None,
            buffer: BUFFER,
            wait: false,
            alone: false,
            except: None,
        }
    }
}

impl Loudspeaker {
    /// Opens the loudspeaker and begins to play: silence, until the desk says otherwise.
    ///
    /// # Errors
    ///
    /// [`DeviceError`]; where it may wait, only if the system lacks what a thread needs. The mixer is
    /// gone then.
    pub fn open(mixer: impl Into<Box<dyn Source>>, options: Options) -> Result<Self, DeviceError> {
        let stand = Arc::new(Stand {
            mixer: Mutex::new(Some(mixer.into())),
            turn: AtomicU64::new(0),
            underruns: AtomicU64::new(0),
        });
        let (orders, told) = mpsc::channel();
        let (tell, events) = mpsc::channel();
        let (opened, first) = mpsc::channel();
        let (done, ended) = mpsc::channel();
        let stood = Arc::clone(&stand);
        // A stream is opened, kept and ended on one thread.
        thread::Builder::new()
            .name("loudspeaker".into())
            .spawn(move || {
                match options.pipe.clone() {
                    Some(pipe) => PipeKeeper {
                        pipe,
                        stand: stood,
                        wait: options.wait,
                        buffer: options.buffer,
                        told,
                        tell,
                    }
                    .keep(&opened),
                    None => Keeper {
                        stand: stood,
                        options,
                        had: None,
                        told,
                        tell,
                    }
                    .keep(&opened),
                }
                // The owner may be gone.
                let _ = done.send(());
            })
            .map_err(|it| DeviceError::Failed(it.to_string()))?;
        match first.recv_timeout(ANSWER) {
            Ok(Ok(device)) => Ok(Loudspeaker {
                orders: Some(orders),
                events,
                ended,
                stand,
                device,
            }),
            Ok(Err(error)) => Err(error),
            Err(_) => Err(DeviceError::silent()),
        }
    }

    /// Returns what happens to the device.
    pub fn events(&self) -> &Receiver<Event> {
        &self.events
    }

    /// Returns the name of the device that it was opened with; none if it waits for one.
    pub fn device(&self) -> Option<&str> {
        self.device.as_deref()
    }

    /// Returns how often the device ran dry since it was opened, as far as the host tells: a sound
    /// server does not.
    pub fn underruns(&self) -> u64 {
        self.stand.underruns.load(Ordering::Relaxed)
    }

    /// Closes the loudspeaker and returns the mixer, held, its place kept. Takes at most 1 s; `None`
    /// where the sound system does not let go of it.
    ///
    /// For a fade tell the desk to hold and close when that is settled and heard.
    pub fn close(mut self) -> Option<Box<dyn Source>> {
        self.end();
        let mut mixer = self.stand.take()?.take()?;
        mixer.device_lost();
        Some(mixer)
    }

    /// Ends the keeper and with it the stream; does nothing the second time.
    fn end(&mut self) {
        if self.orders.take().is_some() {
            // Longer than the end of a stream may take, shorter than a person waits.
            let _ = self.ended.recv_timeout(GRACE * 2);
            // Also where the keeper hangs: whatever stream there is plays silence.
            self.stand.turn.fetch_add(1, Ordering::AcqRel);
        }
    }
}

impl Drop for Loudspeaker {
    fn drop(&mut self) {
        self.end();
    }
}

impl Stand {
    /// Takes the mixer if nobody has it.
    fn attempt(&self) -> Option<MutexGuard<'_, Option<Box<dyn Source>>>> {
        match self.mixer.try_lock() {
            Ok(mixer) => Some(mixer),
            Err(TryLockError::Poisoned(poisoned)) => Some(poisoned.into_inner()),
            Err(TryLockError::WouldBlock) => None,
        }
    }

    /// Takes the mixer as soon as the callback that has it is done: 200 attempts in 200 ms, ten
    /// buffers long.
    fn take(&self) -> Option<MutexGuard<'_, Option<Box<dyn Source>>>> {
        (0..200).find_map(|_| {
            let mixer = self.attempt();
            if mixer.is_none() {
                thread::sleep(Duration::from_millis(1));
            }
            mixer
        })
    }

    /// Gives the turn to another stream; returns its number.
    pub(super) fn next_turn(&self) -> u64 {
        self.turn.fetch_add(1, Ordering::AcqRel) + 1
    }

    /// Does something with the mixer outside the callback.
    pub(super) fn with_mixer<T>(&self, act: impl FnOnce(&mut dyn Source) -> T) -> Option<T> {
        Some(act(self.take()?.as_mut()?.as_mut()))
    }

    /// Fills the buffer of a stream whose turn it may be.
    ///
    /// Looks twice: a stream left behind must not keep the mixer from the one that plays, nor take
    /// it when its turn ended in between.
    pub(super) fn fill(&self, turn: u64, out: &mut [f32]) {
        let mine = || self.turn.load(Ordering::Acquire) == turn;
        if mine()
            && let Some(mut stand) = self.attempt()
            && let Some(mixer) = stand.as_mut()
            && mine()
        {
            mixer.fill(now(), out);
        } else {
            out.fill(0.0);
        }
    }
}

/// The thread that looks after the stream.
struct Keeper {
    stand: Arc<Stand>,
    options: Options,
    /// The device that it was heard by last.
    had: Option<String>,
    told: Receiver<()>,
    tell: Sender<Event>,
}

impl Keeper {
    fn keep(mut self, opened: &Sender<Result<Option<String>, DeviceError>>) {
        let mut playing = match self.start() {
            Ok(playing) => Some(playing),
            Err(_) if self.options.wait => None,
            Err(error) => {
                // The one who opens it waits for this.
                let _ = opened.send(Err(error));
                return;
            }
        };
        let _ = opened.send(Ok(playing.as_ref().map(|it| it.device.clone())));
        let mut last = Instant::now();
        loop {
            let pause = match playing {
                Some(_) => LOOK,
                None => RETRY,
            };
            match self.told.recv_timeout(pause) {
                Err(RecvTimeoutError::Timeout) => {}
                Ok(()) | Err(RecvTimeoutError::Disconnected) => break,
            }
            let since = last.elapsed();
            last = Instant::now();
            playing = match playing {
                Some(playing) => self.look(playing, since),
                None => self.retry(),
            };
        }
        self.stand.turn.fetch_add(1, Ordering::AcqRel);
        if let Some(playing) = playing {
            end(playing.stream);
        }
    }

    /// Looks after a stream; gives it up when it is dead.
    fn look(&self, mut playing: Playing, since: Duration) -> Option<Playing> {
        let underruns = Watchdog::underruns(&playing.pulse);
        self.stand.underruns.fetch_add(underruns, Ordering::Relaxed);
        let dead = playing.watchdog.look(&playing.pulse, since);
        let Some(reason) = dead.map(str::to_owned).or_else(|| is_elsewhere(&playing)) else {
            return Some(playing);
        };
        self.stand.turn.fetch_add(1, Ordering::AcqRel);
        let at = self.with_mixer(|mixer| {
            mixer.device_lost();
            mixer.position()
        });
        // Told before the stream is ended, which takes a while.
        let _ = self.tell.send(Event::Lost {
            at: at.unwrap_or_default(),
            reason,
        });
        end(playing.stream);
        None
    }

    /// Looks for a device.
    fn retry(&mut self) -> Option<Playing> {
        // Commands are heeded although nobody asks for samples.
        self.with_mixer(|mixer| mixer.fill(now(), &mut []));
        let playing = self.start().ok()?;
        let _ = self.tell.send(Event::Back {
            device: playing.device.clone(),
        });
        Some(playing)
    }

    fn with_mixer<T>(&self, act: impl FnOnce(&mut dyn Source) -> T) -> Option<T> {
        self.stand.with_mixer(act)
    }

    /// Opens a stream and plays. The host that it plays through is kept to from then on: while a sound
    /// server starts again, its device is not to be taken from it.
    fn start(&mut self) -> Result<Playing, DeviceError> {
        quiet();
        // Asked for once before any callback does.
        let _ = now();
        let channels = self.with_mixer(|it| it.channels()).unwrap_or(2);
        let (host, found) = open_host(self.options.host)?;
        let mut device = find(&host, self.options.device.as_deref())?;
        let mut id = id_of(&device);
        if self.options.device.is_none() && id.is_some() && id == self.options.except {
            // A sound server stays with the device that it moved to, also when the one before is back.
            let before = self.had.as_deref().ok_or(DeviceError::NoDevice)?;
            device = find(&host, Some(before))?;
            id = id_of(&device);
        }
        let pulse = Arc::new(Pulse::default());
        let turn = self.stand.next_turn();
        let config = StreamConfig {
            channels,
            // Asked for even where the device has another rate: a sound server resamples.
            sample_rate: SampleRate::OUTPUT.hz(),
            buffer_size: BufferSize::Fixed(self.options.buffer.max(1)),
        };
        let (stand, beat, noted) = (
            Arc::clone(&self.stand),
            Arc::clone(&pulse),
            Arc::clone(&pulse),
        );
        let stream = device.build_output_stream::<f32, _, _>(
            config,
            move |out, _| {
                stand.fill(turn, out);
                beat.beat(out.len() / usize::from(channels));
            },
            move |error| noted.error(error.kind()),
            Some(OPENING),
        )?;
        if let Err(error) = stream.play() {
            end(stream);
            return Err(error.into());
        }
        // A stream that is dead from the start is none.
        thread::sleep(LOOK);
        let mut watchdog = Watchdog::default();
        if let Some(reason) = watchdog.look(&pulse, LOOK) {
            end(stream);
            return Err(DeviceError::Failed(reason.into()));
        }
        self.options.host = found;
        self.had.clone_from(&id);
        Ok(Playing {
            stream,
            pulse,
            watchdog,
            device: name_of(&device),
            kept_to: match self.options.alone || self.options.device.is_some() {
                // The system's own devices move no stream.
                true if found == Host::Server => id.map(|id| (host, id)),
                _ => None,
            },
        })
    }
}

/// Says that the device is gone although its stream goes on, on another one.
fn is_elsewhere(playing: &Playing) -> Option<String> {
    let (host, id) = playing.kept_to.as_ref()?;
    match find(host, Some(id)) {
        Err(DeviceError::Unknown { .. }) => Some(format!("{id} is not there any more")),
        Ok(_) | Err(_) => None,
    }
}

/// Ends a stream on a thread of its own, which is left behind if the stream does not end.
pub(in super::super) fn end(stream: cpal::Stream) {
    let (done, ended) = mpsc::channel();
    let spawned = thread::Builder::new()
        .name("stream's end".into())
        .spawn(move || {
            drop(stream);
            let _ = done.send(());
        });
    if spawned.is_ok() {
        let _ = ended.recv_timeout(GRACE);
    }
}
