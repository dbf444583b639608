//! How a mixer is ahead of another one: its lead is elastic, and made of silence alone.
//!
//! A listener who is to hear things first has a mixer of their own, with the same clips. Where it is quiet
//! its clock skips to the next clip, until it is as far ahead as it may be; where the lead must shrink the
//! clock waits, in silence too. So no sound is ever cut, squeezed or late for the sake of the lead. What
//! stands close together keeps its beat: a count is counted.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use super::Mixer;
use super::Outcome;
use super::desk::Gauges;
use super::sounding::Sounding;
use super::transport::Clock;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// Between what is heard of two sounds, as in a plan: less than this is left of no gap. What a clip holds beside
/// that, 50 ms before it and 200 ms behind it, is silence to skip: of the 400 ms of a plan it would leave nothing.
const GAP: Millis = Millis::from_ms(150);
/// What is short and follows within this is a beat, and keeps its place: counts stand a second apart, and
/// each word of one is over before the next.
const BEAT: Millis = Millis::from_secs(1);
const SHORT: Millis = Millis::from_ms(800);
/// Less is not skipped: the other clock is seen a buffer at a time, and a beat is not to waver by it.
const WORTH: Millis = Millis::from_ms(100);
/// What comes so long after its moment in the room helps nobody any more. Sooner it is heard after the line
/// that the ear was busy with.
const STALE: Millis = Millis::from_secs(3);

/// The lead of a mixer over another.
#[derive(Debug)]
pub(super) struct Lead {
    /// What the other one shows.
    room: Arc<Gauges>,
    ahead: u64,
    gap: u64,
    beat: u64,
    short: u64,
    worth: u64,
    stale: u64,
    /// Frames in which nothing was heard since the last sound.
    quiet: u64,
    /// Where the last sound was no longer heard, on the session clock.
    last_end: u64,
    /// Whether the clock waits for the other one.
    waits: bool,
    /// Whether nothing has sounded since it came to this place.
    fresh: bool,
    /// How many frames may pass until the next look.
    most: u64,
}

/// The clip that waits.
#[derive(Debug, Clone, Copy)]
struct Next {
    at: u64,
    length: u64,
    /// How many of its frames pass before it is heard.
    unheard: u64,
}

/// What comes of a look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Look {
    /// The next clip begins now, wherever the clock stands.
    Begin,
    /// So many frames may pass.
    Run(u64),
}

impl Lead {
    pub fn new(room: Arc<Gauges>, ahead: Millis, rate: SampleRate) -> Self {
        let frames = |lasts: Millis| lasts.frames(rate).count().max(1);
        Lead {
            room,
            ahead: ahead.frames(rate).count(),
            gap: frames(GAP),
            beat: frames(BEAT),
            short: frames(SHORT),
            worth: frames(WORTH),
            stale: frames(STALE),
            quiet: frames(GAP),
            last_end: 0,
            waits: false,
            fresh: true,
            most: u64::MAX,
        }
    }

    /// The clock is at a new place.
    pub fn go(&mut self, position: u64) {
        self.quiet = self.gap;
        self.last_end = position;
        self.waits = false;
        self.fresh = true;
    }

    /// Returns whether a clip at this place comes too late for both.
    pub fn past(&self, at: u64, position: u64) -> bool {
        at.saturating_add(self.stale) < position.min(self.room())
    }

    /// Returns whether the clock waits.
    pub fn waits(&self) -> bool {
        self.waits
    }

    /// Returns how many frames may pass until the next look.
    pub fn most(&self) -> u64 {
        self.most
    }

    /// Takes in that so many frames have passed, and whether something was heard of the session in them, or over it.
    pub fn ran(&mut self, run: u64, position: u64, heard: bool, over: bool) {
        match heard || over {
            true => self.quiet = 0,
            false => self.quiet = self.quiet.saturating_add(run),
        }
        if heard {
            self.last_end = position;
            self.fresh = false;
        }
    }

    /// Decides what comes next: a clip waits, what sounds is heard for so many frames more (`left`), and something
    /// may be spoken over the session.
    fn look(&mut self, position: u64, clip: Next, left: u64, over: bool) -> Look {
        self.waits = false;
        let (next, length) = (clip.at, clip.length);
        // The clip brings a part of the gap itself.
        let gap = self.gap.saturating_sub(clip.unheard);
        if left > self.gap {
            return Look::Run(left - self.gap);
        }
        let room = self.room();
        // The room made sure that it fits there; here it gives way as long as it may.
        if over && next > room && next <= position {
            self.waits = true;
            return Look::Run(self.gap);
        }
        if next < position {
            // It was fed where the clock has been already: at once, as soon as it is quiet.
            if left == 0 && self.quiet >= gap {
                return Look::Begin;
            }
            return Look::Run((gap + left).saturating_sub(self.quiet).max(1));
        }
        let due = next - position;
        let most = room.saturating_add(self.ahead);
        if due == 0 {
            self.waits = next > most.saturating_add(self.worth);
            return match self.waits {
                true => Look::Run(self.worth),
                false => Look::Begin,
            };
        }
        let near = next.saturating_sub(self.last_end) <= self.beat;
        // Two devices begin a buffer apart: an ear that is behind takes the first silence to catch up, and
        // only that, for the other one is seen a buffer at a time.
        let hardly = due <= self.worth && !(self.fresh && position < room);
        if left > 0 || (near && length <= self.short) || over || hardly {
            return Look::Run(due);
        }
        if next > most {
            return Look::Run(due.min(next - most));
        }
        if self.quiet < gap {
            return Look::Run(due.min(gap - self.quiet));
        }
        Look::Begin
    }

    fn room(&self) -> u64 {
        self.room.position.load(Ordering::Relaxed)
    }
}

impl Mixer {
    /// Begins what may begin, with a lead over the room.
    pub(super) fn begin_ahead(&mut self) {
        loop {
            let Some(lead) = &mut self.lead else {
                return;
            };
            let left = self.sounding.iter().map(Sounding::heard_left).max();
            let left = left.unwrap_or(0) as u64;
            let over = !self.over.is_empty();
            lead.most = u64::MAX;
            let Some(due) = self.waiting.last() else {
                lead.waits = false;
                break;
            };
            let next = due.clip.at.index();
            let clip = Next {
                at: next,
                length: due.clip.samples.len() as u64,
                unheard: due.heard.from as u64,
            };
            if let Look::Run(most) = lead.look(self.position, clip, left, over) {
                lead.most = most;
                break;
            }
            let past = lead.past(next, self.position);
            let Some(due) = self.waiting.pop() else {
                break;
            };
            if past {
                self.late += 1;
                self.give_back(due.clip, false, Outcome::Late);
            } else {
                self.position = next;
                self.sounding.push(Sounding::new(due, self.fade));
            }
        }
        // An empty clip ends before it sounds.
        self.end();
    }

    /// Returns whether what is to be spoken over the session waits for the end of what sounds: the room
    /// found it quiet, which it need not be here.
    pub(super) fn over_waits(&self) -> bool {
        let first = self.over.front();
        let fresh = first.is_some_and(|over| over.silence == 0 && over.sound.played == 0);
        self.clock == Clock::Running && self.lead.is_some() && fresh && !self.sounding.is_empty()
    }
}
