//! The control half: feeds clips, sends commands, takes back what is done, reads the gauges.

use std::sync::Arc;
use std::sync::atomic::AtomicU8;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;

use rtrb::Consumer;
use rtrb::Producer;
use rtrb::RingBuffer;

use super::Clip;
use super::Command;
use super::Finished;
use super::Full;
use super::Mixer;
use super::Noted;
use super::State;
use super::Status;
use super::sounding::Due;
use super::sounding::Heard;
use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::SampleRate;

/// Commands that may be unread at a time. The mixer reads all at each callback, and nobody presses
/// a button this often in 20 ms; while a device is away its sink reads them twice a second.
const COMMANDS: usize = 64;

/// Changes that may be untaken at a time: the bed moves some thirty times a minute. Where nobody takes them, nothing
/// else changes.
const NOTED: usize = 256;

/// What goes to the mixer, in order.
#[derive(Debug)]
pub(super) enum Message {
    Clip(Due),
    Over(Due),
    Command(Command),
}

/// What the mixer shows; written by it alone.
#[derive(Debug)]
pub(super) struct Gauges {
    pub position: AtomicU64,
    pub device: AtomicU64,
    pub state: AtomicU8,
    pub heeded: AtomicU64,
    /// An id plus one, 0 for none.
    pub sounding: AtomicU64,
    pub over: AtomicU64,
    pub waiting: AtomicUsize,
    pub late: AtomicU64,
    pub bed_gaps: AtomicU64,
}

/// The control half of a mixer.
#[derive(Debug)]
pub struct Desk {
    to: Producer<Message>,
    from: Consumer<Finished>,
    noted: Consumer<Noted>,
    gauges: Arc<Gauges>,
    rate: SampleRate,
    capacity: usize,
    /// Clips handed over and not yet taken back.
    out: usize,
    /// Commands sent.
    sent: u64,
}

/// Makes the two halves for a `rate` and a number of `channels` (each hears the same; 0 counts as
/// 1), with room for `capacity` clips under way at a time.
pub fn desk_and_mixer(rate: SampleRate, channels: u16, capacity: usize) -> (Desk, Mixer) {
    let capacity = capacity.max(1);
    // Room for every clip and, besides, for commands: a full store of clips never keeps a hold out.
    let (to, messages) = RingBuffer::new(capacity + COMMANDS);
    // No more clips than this are ever under way, so a push into this ring always finds room.
    let (done, from) = RingBuffer::new(capacity);
    let (note, noted) = RingBuffer::new(NOTED);
    let gauges = Arc::new(Gauges {
        position: AtomicU64::new(0),
        device: AtomicU64::new(0),
        state: AtomicU8::new(State::Held as u8),
        heeded: AtomicU64::new(0),
        sounding: AtomicU64::new(0),
        over: AtomicU64::new(0),
        waiting: AtomicUsize::new(0),
        late: AtomicU64::new(0),
        bed_gaps: AtomicU64::new(0),
    });
    let mixer = Mixer::new(
        rate,
        channels,
        capacity,
        messages,
        (done, note),
        Arc::clone(&gauges),
    );
    let desk = Desk {
        to,
        from,
        noted,
        gauges,
        rate,
        capacity,
        out: 0,
        sent: 0,
    };
    (desk, mixer)
}

impl Desk {
    /// The loudest volume. Speech leaves 6 dB and more to full scale for most of the time; what
    /// still goes over is for the limiter.
    pub const LOUDEST: Db = Db::new(6.0);

    /// Returns what the mixer shows, for another one that is ahead of it.
    pub(super) fn gauges(&self) -> Arc<Gauges> {
        Arc::clone(&self.gauges)
    }

    /// Returns the rate of the mixer.
    pub fn rate(&self) -> SampleRate {
        self.rate
    }

    /// Hands a clip over, to sound at its place in the session.
    ///
    /// Feed up to [`super::AHEAD`] ahead, in any order.
    ///
    /// # Errors
    ///
    /// With the clip, when as many are under way as the desk has room for, those not yet taken
    /// back by [`Desk::finished`] included.
    pub fn feed(&mut self, clip: Clip) -> Result<(), Full<Clip>> {
        self.hand_over(clip, Message::Clip)
    }

    /// Hands a clip over to be spoken over the session, held or not: at once, or after those spoken
    /// over before it. `clip.at` is read as the silence before it, in frames from then on.
    ///
    /// A hold, a jump and a hush that come later end it, as they end all that sounds.
    ///
    /// # Errors
    ///
    /// As [`Desk::feed`].
    pub fn speak_over(&mut self, clip: Clip) -> Result<(), Full<Clip>> {
        self.hand_over(clip, Message::Over)
    }

    /// Sends a command; it is heeded after all that was handed over before it.
    ///
    /// # Errors
    ///
    /// With the command, when the mixer has not read the last 64: nobody asks it for samples.
    pub fn tell(&mut self, command: Command) -> Result<(), Full<Command>> {
        match self.to.push(Message::Command(command)) {
            Ok(()) => {
                self.sent += 1;
                Ok(())
            }
            Err(_) => Err(Full(command)),
        }
    }

    /// Takes back the next clip that is done, in the order in which they were.
    pub fn finished(&mut self) -> Option<Finished> {
        let finished = self.from.pop().ok()?;
        self.out -= 1;
        Some(finished)
    }

    /// Takes the next change in how the mixer sounds, in order.
    pub fn noted(&mut self) -> Option<Noted> {
        self.noted.pop().ok()
    }

    /// Returns how many more clips there is room for.
    pub fn room(&self) -> usize {
        self.capacity - self.out
    }

    /// Reads the gauges: as they were after the last callback.
    pub fn status(&self) -> Status {
        let gauges = &*self.gauges;
        // Written last, read first: what follows is at least as new.
        let settled = gauges.heeded.load(Ordering::Acquire) == self.sent;
        Status {
            position: FrameAt::new(gauges.position.load(Ordering::Relaxed)),
            device: Frames::new(gauges.device.load(Ordering::Relaxed)),
            state: state_of(gauges.state.load(Ordering::Relaxed)),
            settled,
            sounding: gauges.sounding.load(Ordering::Relaxed).checked_sub(1),
            over: gauges.over.load(Ordering::Relaxed).checked_sub(1),
            waiting: gauges.waiting.load(Ordering::Relaxed),
            late: gauges.late.load(Ordering::Relaxed),
            bed_gaps: gauges.bed_gaps.load(Ordering::Relaxed),
        }
    }

    fn hand_over(
        &mut self,
        clip: Clip,
        message: impl FnOnce(Due) -> Message,
    ) -> Result<(), Full<Clip>> {
        if self.out >= self.capacity {
            return Err(Full(clip));
        }
        let heard = Heard::of(&clip.samples);
        match self.to.push(message(Due { clip, heard })) {
            Ok(()) => {
                self.out += 1;
                Ok(())
            }
            Err(rtrb::PushError::Full(Message::Clip(due) | Message::Over(due))) => {
                Err(Full(due.clip))
            }
            Err(rtrb::PushError::Full(Message::Command(_))) => unreachable!("a clip was pushed"),
        }
    }
}

/// Reads a state back from its gauge.
fn state_of(state: u8) -> State {
    const PLAYING: u8 = State::Playing as u8;
    const FADING: u8 = State::Fading as u8;
    const STOPPED: u8 = State::Stopped as u8;
    match state {
        PLAYING => State::Playing,
        FADING => State::Fading,
        STOPPED => State::Stopped,
        _ => State::Held,
    }
}
