//! The real-time half: fills the device's buffer. Allocates, frees, locks, logs and panics never.

use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use rtrb::Consumer;
use rtrb::Producer;

use super::BedBlock;
use super::Clip;
use super::Desk;
use super::FADE;
use super::Finished;
use super::Noted;
use super::Outcome;
use super::bed::Bed;
use super::desk::Gauges;
use super::desk::Message;
use super::lead::Lead;
use super::sounding::Due;
use super::sounding::Sounding;
use super::transport::Clock;
use super::volume::Volume;
use crate::base::heard::BedMove;
use crate::base::heard::Moved;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// Frames mixed at a time: small enough to stay in the first cache, large enough to pay.
const BLOCK: usize = 512;

/// The half that renders.
#[derive(Debug)]
pub struct Mixer {
    messages: Consumer<Message>,
    done: Producer<Finished>,
    noted: Producer<Noted>,
    gauges: Arc<Gauges>,
    channels: usize,
    pub(super) fade: u32,
    pub(super) clock: Clock,
    /// The session frame that is rendered next.
    pub(super) position: u64,
    pub(super) device: u64,
    /// Clips before their time, the next one last.
    pub(super) waiting: Vec<Due>,
    /// Clips of the session that sound.
    pub(super) sounding: Vec<Sounding>,
    /// What is spoken over the session, one after another; the first may sound.
    pub(super) over: VecDeque<Over>,
    /// Whether the clock starts with the end of what is spoken over the session.
    pub(super) play_when_said: bool,
    pub(super) volume: Volume,
    pub(super) late: u64,
    read: u64,
    /// Where this mixer is ahead of another one.
    pub(super) lead: Option<Lead>,
    /// The bed, where there is one.
    pub(super) bed: Option<Bed>,
    /// Whether clips are kept unheard.
    clips_muted: bool,
    rate: SampleRate,
    /// What is heard in the middle, and the bed with its two sides.
    mono: [f32; BLOCK],
    sides: [[f32; 2]; BLOCK],
}

/// A clip spoken over the session.
#[derive(Debug)]
pub(super) struct Over {
    /// Frames of silence left before it.
    pub silence: u64,
    pub sound: Sounding,
}

impl Mixer {
    pub(super) fn new(
        rate: SampleRate,
        channels: u16,
        capacity: usize,
        messages: Consumer<Message>,
        (done, noted): (Producer<Finished>, Producer<Noted>),
        gauges: Arc<Gauges>,
    ) -> Self {
        Mixer {
            messages,
            done,
            noted,
            gauges,
            channels: usize::from(channels.max(1)),
            fade: FADE.frames(rate).count().clamp(1, u64::from(u32::MAX)) as u32,
            clock: Clock::Held,
            position: 0,
            device: 0,
            waiting: Vec::with_capacity(capacity),
            sounding: Vec::with_capacity(capacity),
            over: VecDeque::with_capacity(capacity),
            play_when_said: false,
            volume: Volume::new(rate),
            late: 0,
            read: 0,
            lead: None,
            bed: None,
            clips_muted: false,
            rate,
            mono: [0.0; BLOCK],
            sides: [[0.0; 2]; BLOCK],
        }
    }

    /// Lays a bed below the clips: blocks as they come from this end of a ring.
    ///
    /// The ring should hold a second and more; where it runs low the bed fades, and comes back with it.
    #[must_use]
    pub fn with_bed(mut self, bed: Consumer<BedBlock>) -> Self {
        self.lay(bed);
        self
    }

    /// Lays a bed, as [`Mixer::with_bed`] does.
    pub fn lay(&mut self, bed: Consumer<BedBlock>) {
        self.bed = Some(Bed::new(bed, self.rate));
    }

    /// Keeps the clips unheard; the bed steps back for them all the same.
    pub fn mute_clips(&mut self) {
        self.clips_muted = true;
    }

    /// Lets this mixer be ahead of another one, the room's, by up to so much: it hears the same clips
    /// sooner, by what silence there is to skip.
    #[must_use]
    pub fn ahead_of(mut self, room: &Desk, ahead: Millis) -> Self {
        self.lead = Some(Lead::new(room.gauges(), ahead, room.rate()));
        self
    }

    /// Returns the number of channels of what [`Mixer::fill`] fills.
    pub fn channels(&self) -> u16 {
        self.channels as u16
    }

    /// Returns how many blocks of the bed are ready.
    #[cfg(test)]
    pub(super) fn bed_ready(&self) -> usize {
        self.bed.as_ref().map_or(0, Bed::ready)
    }

    /// Returns the rate of what it renders.
    pub(super) fn rate(&self) -> SampleRate {
        self.rate
    }

    /// Returns the session frame that is rendered next.
    pub fn position(&self) -> FrameAt {
        FrameAt::new(self.position)
    }

    /// Renders the next frames: interleaved, the clips the same in every channel, the bed to both sides.
    ///
    /// Outside clips and bed the samples are exactly zero; one clip alone at unity volume keeps its
    /// values. What the volume and the bed make louder than full scale is left to the limiter of the
    /// [`Master`](super::Master). A part of a frame at the end is filled with zeros. An empty buffer
    /// only heeds commands.
    pub fn fill(&mut self, out: &mut [f32]) {
        self.listen();
        let channels = self.channels;
        let whole = out.len() / channels * channels;
        let (frames, rest) = out.split_at_mut(whole);
        rest.fill(0.0);
        for block in frames.chunks_mut(BLOCK * channels) {
            let count = block.len() / channels;
            let sides = match self.bed {
                Some(_) => count,
                None => 0,
            };
            self.mono[..count].fill(0.0);
            self.sides[..sides].fill([0.0; 2]);
            self.render(count);
            if self.clips_muted {
                self.mono[..count].fill(0.0);
            }
            self.volume
                .apply(&mut self.mono[..count], &mut self.sides[..sides]);
            self.hand_out(block, sides);
        }
        self.show();
    }

    /// Writes what is mixed to all channels, the bed's sides to them in turn.
    fn hand_out(&self, block: &mut [f32], sides: usize) {
        let channels = self.channels;
        match channels {
            1 => block.copy_from_slice(&self.mono[..block.len()]),
            2 => {
                for (frame, sample) in block.as_chunks_mut::<2>().0.iter_mut().zip(&self.mono) {
                    *frame = [*sample; 2];
                }
            }
            _ => {
                for (frame, sample) in block.chunks_exact_mut(channels).zip(&self.mono) {
                    frame.fill(*sample);
                }
            }
        }
        for (frame, side) in block.chunks_exact_mut(channels).zip(&self.sides[..sides]) {
            match frame {
                [one] => *one += 0.5 * (side[0] + side[1]),
                _ => {
                    for (sample, side) in frame.iter_mut().zip(side.iter().cycle()) {
                        *sample += side;
                    }
                }
            }
        }
    }

    /// Tells the mixer that its device is gone: what sounds is cut where it is, and the clock is held
    /// until it is told to play. To be called by a sink, outside its callback.
    pub fn device_lost(&mut self) {
        self.listen();
        // It was to start with the end of what is lost.
        self.play_when_said = false;
        self.cut_sounding();
        self.cut_over();
        match self.clock {
            Clock::Fading { .. } => self.arrive(),
            Clock::Running | Clock::Held | Clock::Stopped => {}
        }
        if self.clock == Clock::Running {
            self.clock = Clock::Held;
        }
        if self.bed.as_mut().is_some_and(Bed::cut) {
            self.note(Moved::Bed(BedMove::CUT), self.device);
        }
        self.show();
    }

    /// Mixes `count` frames into `mono`, run by run: between two runs something begins or ends.
    fn render(&mut self, count: usize) {
        let mut done = 0;
        while done < count {
            self.begin();
            self.look();
            let run = self.until_change(count - done);
            let over_waits = self.over_waits();
            let heard = self.sounding.iter().any(|sound| sound.heard_left() > 0);
            let out = &mut self.mono[done..done + run];
            for sound in &mut self.sounding {
                sound.add_to(out, self.device);
            }
            if let Some(over) = self.over.front_mut().filter(|_| !over_waits) {
                match over.silence {
                    0 => over.sound.add_to(out, self.device),
                    _ => over.silence -= run as u64,
                }
            }
            let sides = &mut self.sides[done..];
            let bed = self.bed.as_mut();
            if let Some(cut) = bed.and_then(|bed| bed.add_to(&mut sides[..run])) {
                self.note(Moved::Bed(BedMove::CUT), self.device + cut);
            }
            done += run;
            self.device += run as u64;
            self.pass(run as u64);
            if let Some(lead) = &mut self.lead {
                lead.ran(run as u64, self.position, heard, !self.over.is_empty());
            }
            self.end();
        }
    }

    /// Starts the clips whose time is now; gives back those whose time is past.
    fn begin(&mut self) {
        if self.clock != Clock::Running {
            return;
        }
        if self.lead.is_some() {
            return self.begin_ahead();
        }
        while let Some(next) = self.waiting.last() {
            if next.clip.at.index() > self.position {
                break;
            }
            let on_time = next.clip.at.index() == self.position;
            let Some(due) = self.waiting.pop() else {
                break;
            };
            if !on_time {
                self.late += 1;
                self.give_back(due.clip, false, Outcome::Late);
            } else {
                self.sounding.push(Sounding::new(due, self.fade));
            }
        }
        // An empty clip ends before it sounds.
        self.end();
    }

    /// Lets the bed see what is near, where it is time to.
    fn look(&mut self) {
        let is_due = |bed: &Bed| bed.until_look(self.device) == 0;
        if !self.bed.as_ref().is_some_and(is_due) {
            return;
        }
        let (near, clock) = (self.near(), self.clock);
        let moves = self.bed.as_mut().and_then(|bed| bed.look(near, clock));
        if let Some(moves) = moves
            && !self.note(Moved::Bed(moves), self.device)
            && let Some(bed) = &mut self.bed
        {
            bed.tell_again();
        }
    }

    /// Tells the desk what changes how this mixer sounds; returns whether there was room.
    pub(super) fn note(&mut self, what: Moved, frame: u64) -> bool {
        let frame = Frames::new(frame);
        self.noted.push(Noted { what, frame }).is_ok()
    }

    /// Returns how many frames, at most `most` and at least one, lie before the next change.
    fn until_change(&self, most: usize) -> usize {
        let mut run = most as u64;
        if let Some(bed) = &self.bed {
            // One that is due was done just now.
            run = run.min(1 + bed.until_look(self.device + 1));
        }
        if let Some(next) = self.waiting.last()
            && self.clock == Clock::Running
        {
            let due = next.clip.at.index().saturating_sub(self.position);
            run = run.min(self.lead.as_ref().map_or(due, Lead::most));
        }
        if let Clock::Fading { left, .. } = self.clock {
            run = run.min(u64::from(left));
        }
        for sound in &self.sounding {
            run = run.min(sound.left() as u64);
            if self.lead.is_some() && sound.heard_left() > 0 {
                run = run.min(sound.heard_left() as u64);
            }
        }
        if let Some(over) = self.over.front() {
            run = run.min(match over.silence {
                0 => over.sound.left() as u64,
                silence => silence,
            });
        }
        (run as usize).clamp(1, most)
    }

    /// Gives back what has sounded to its end or faded.
    pub(super) fn end(&mut self) {
        let mut index = 0;
        while index < self.sounding.len() {
            if self.sounding[index].left() > 0 {
                index += 1;
                continue;
            }
            // In order: the last of them is the one begun last.
            let sound = self.sounding.remove(index);
            self.give_back_sound(sound, false);
        }
        while let Some(first) = self.over.front() {
            if first.silence > 0 || first.sound.left() > 0 {
                break;
            }
            let Some(over) = self.over.pop_front() else {
                break;
            };
            self.give_back_sound(over.sound, true);
        }
        self.play_if_all_is_said();
    }

    /// Reads all that the desk has sent.
    fn listen(&mut self) {
        // Bounded by the ring: what comes in meanwhile is for the next time.
        for _ in 0..self.messages.slots() {
            match self.messages.pop() {
                Ok(Message::Clip(due)) => self.take_up(due),
                Ok(Message::Over(due)) => self.take_up_over(due),
                Ok(Message::Command(command)) => {
                    self.read += 1;
                    self.heed(command);
                }
                Err(_) => break,
            }
        }
    }

    fn take_up(&mut self, due: Due) {
        if self.clock == Clock::Stopped {
            return self.give_back(due.clip, false, Outcome::Dropped);
        }
        if self.past(due.clip.at.index()) {
            self.late += 1;
            return self.give_back(due.clip, false, Outcome::Late);
        }
        // The next one last; of two at one place the one fed first begins first.
        let at = due.clip.at;
        let place = self.waiting.partition_point(|other| other.clip.at > at);
        self.waiting.insert(place, due);
    }

    fn take_up_over(&mut self, due: Due) {
        if self.clock == Clock::Stopped {
            return self.give_back(due.clip, true, Outcome::Dropped);
        }
        let silence = due.clip.at.index();
        let sound = Sounding::new(due, self.fade);
        self.over.push_back(Over { silence, sound });
    }

    /// Hands a clip to the desk, which frees it.
    pub(super) fn give_back(&mut self, clip: Clip, over: bool, outcome: Outcome) {
        self.hand_back(Finished {
            clip,
            over,
            outcome,
            began: None,
            faded: None,
        });
    }

    fn hand_back(&mut self, finished: Finished) {
        if let Err(full) = self.done.push(finished) {
            // Never happens: the ring holds all that may be under way. If it did, a leak is
            // better than to free memory in the callback.
            std::mem::forget(full);
        }
    }

    pub(super) fn give_back_sound(&mut self, sound: Sounding, over: bool) {
        let outcome = match sound.whole() {
            true => Outcome::Played,
            false => Outcome::Cut(Frames::new(sound.played as u64)),
        };
        self.hand_back(Finished {
            clip: sound.clip,
            over,
            outcome,
            began: sound.began.map(Frames::new),
            faded: sound.faded.map(|frames| Frames::new(frames as u64)),
        });
    }

    /// Writes the gauges.
    fn show(&self) {
        let gauges = &*self.gauges;
        let sounding = self
            .sounding
            .last()
            .map_or(0, |it| it.clip.id.wrapping_add(1));
        let over = self
            .over
            .front()
            .map_or(0, |it| it.sound.clip.id.wrapping_add(1));
        gauges.position.store(self.position, Ordering::Relaxed);
        gauges.device.store(self.device, Ordering::Relaxed);
        gauges
            .state
            .store(self.clock.state() as u8, Ordering::Relaxed);
        gauges.sounding.store(sounding, Ordering::Relaxed);
        gauges.over.store(over, Ordering::Relaxed);
        gauges.waiting.store(self.waiting.len(), Ordering::Relaxed);
        gauges.late.store(self.late, Ordering::Relaxed);
        let gaps = self.bed.as_ref().map_or(0, Bed::gaps);
        gauges.bed_gaps.store(gaps, Ordering::Relaxed);
        // A stop is done when the bed has faded too.
        let fading = match self.clock {
            Clock::Fading { .. } => true,
            Clock::Stopped => !self.bed.as_ref().is_none_or(Bed::is_silent),
            Clock::Held | Clock::Running => false,
        };
        if !fading {
            gauges.heeded.store(self.read, Ordering::Release);
        }
    }
}
