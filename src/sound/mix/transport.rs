//! The session clock: what each command does to it, and to what sounds.

use super::Clear;
use super::Command;
use super::Mixer;
use super::Outcome;
use super::State;
use super::lead::Lead;
use crate::base::heard::Moved;

/// What the session clock does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Clock {
    Held,
    Running,
    /// Runs until what sounds has faded, `left` frames on; then goes to `jump`, if any.
    Fading {
        left: u32,
        jump: Option<u64>,
        then: Then,
    },
    Stopped,
}

/// What the clock does after a fade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Then {
    Run,
    Hold,
    Stop,
}

impl Clock {
    pub fn state(self) -> State {
        match self {
            Clock::Held => State::Held,
            Clock::Running => State::Playing,
            Clock::Fading { .. } => State::Fading,
            Clock::Stopped => State::Stopped,
        }
    }
}

impl Mixer {
    /// Heeds one command.
    pub(super) fn heed(&mut self, command: Command) {
        match command {
            Command::Play => self.play(),
            Command::PlayWhenSaid => {
                self.play_when_said = true;
                self.play_if_all_is_said();
            }
            Command::Hold => self.leave(None, Then::Hold),
            Command::Jump(to) => {
                self.drop_waiting(Clear::All);
                self.leave(Some(to.index()), Then::Run);
            }
            Command::Place(to) => self.place(to.index()),
            Command::Clear(which) => self.drop_waiting(which),
            Command::Hush => self.hush(),
            Command::Volume(volume) => {
                self.volume.aim(volume);
                if self.device == 0 {
                    // Nothing was heard that could step.
                    self.volume.arrive();
                }
                self.note(Moved::Volume(volume), self.device);
            }
            Command::Bed(aim) => {
                if let Some(bed) = &mut self.bed {
                    bed.aim(aim);
                }
            }
            Command::BedMove(moved) => {
                if let Some(bed) = &mut self.bed {
                    bed.follow(moved, self.device);
                }
            }
            Command::Stop => {
                self.drop_waiting(Clear::All);
                self.leave(None, Then::Stop);
            }
        }
    }

    /// Tells whether a clip at this position would be too late, a jump under way counted in.
    pub(super) fn past(&self, at: u64) -> bool {
        match self.clock {
            Clock::Fading {
                jump: Some(jump), ..
            } => at < jump,
            _ => match &self.lead {
                Some(lead) => lead.past(at, self.position),
                None => at < self.position,
            },
        }
    }

    /// Lets `run` frames pass on the clock.
    pub(super) fn pass(&mut self, run: u64) {
        match &mut self.clock {
            Clock::Held | Clock::Stopped => {}
            Clock::Running => {
                if !self.lead.as_ref().is_some_and(Lead::waits) {
                    self.position = self.position.saturating_add(run);
                }
            }
            Clock::Fading { left, .. } => {
                self.position = self.position.saturating_add(run);
                *left = left.saturating_sub(run as u32);
                if *left == 0 {
                    self.arrive();
                }
            }
        }
    }

    /// Ends a fade: gives back what was cut and does what the fade was for.
    pub(super) fn arrive(&mut self) {
        let Clock::Fading { jump, then, .. } = self.clock else {
            return;
        };
        self.cut_sounding();
        if jump.is_none() {
            // What was to begin during the fade was cut by it too.
            while let Some(next) = self.waiting.last()
                && next.clip.at.index() < self.position
            {
                let Some(due) = self.waiting.pop() else {
                    break;
                };
                self.give_back(due.clip, false, Outcome::Cut(Default::default()));
            }
        }
        self.go(jump, then);
    }

    /// Gives back at once all of the session that sounds.
    pub(super) fn cut_sounding(&mut self) {
        while !self.sounding.is_empty() {
            let sound = self.sounding.remove(0);
            self.give_back_sound(sound, false);
        }
    }

    /// Gives back at once all that was to be spoken over the session.
    pub(super) fn cut_over(&mut self) {
        while let Some(over) = self.over.pop_front() {
            match over.sound.played {
                0 => self.give_back(over.sound.clip, true, Outcome::Dropped),
                _ => self.give_back_sound(over.sound, true),
            }
        }
    }

    /// Starts the clock if that waits for the end of what is spoken, and nothing more is.
    pub(super) fn play_if_all_is_said(&mut self) {
        if self.play_when_said && self.over.is_empty() {
            self.play_when_said = false;
            self.play();
        }
    }

    fn play(&mut self) {
        match &mut self.clock {
            Clock::Held => self.clock = Clock::Running,
            Clock::Running | Clock::Stopped => {}
            Clock::Fading {
                jump: None,
                then: Then::Hold,
                ..
            } => {
                self.clock = Clock::Running;
                for sound in &mut self.sounding {
                    sound.fade_back();
                }
            }
            Clock::Fading { then, .. } => {
                if *then == Then::Hold {
                    *then = Then::Run;
                }
            }
        }
    }

    /// Is to be at another place when it plays on.
    fn place(&mut self, to: u64) {
        match &mut self.clock {
            Clock::Held => self.go(Some(to), Then::Hold),
            Clock::Fading {
                jump,
                then: Then::Hold,
                ..
            } => *jump = Some(to),
            Clock::Running | Clock::Fading { .. } | Clock::Stopped => return,
        }
        self.drop_waiting(Clear::All);
    }

    /// Leaves this place, for a hold, a jump or a stop: after a fade if something sounds.
    fn leave(&mut self, to: Option<u64>, next: Then) {
        self.hush();
        match &mut self.clock {
            Clock::Stopped => {}
            Clock::Held => match next {
                Then::Run | Then::Hold => self.go(to, Then::Hold),
                Then::Stop => self.stop_or_fade(to, next),
            },
            Clock::Running => self.stop_or_fade(to, next),
            Clock::Fading { jump, then, .. } => {
                // A jump keeps what was to follow: a hold stays a hold.
                *jump = to.or(*jump);
                if *then != Then::Stop && to.is_none() {
                    *then = next;
                }
            }
        }
    }

    /// Fades what sounds and leaves after that; where nothing sounds, leaves now.
    fn stop_or_fade(&mut self, to: Option<u64>, next: Then) {
        // While it is held only what is spoken over the session can sound, and fades by itself.
        if self.clock == Clock::Held || (self.sounding.is_empty() && self.over.is_empty()) {
            return self.go(to, next);
        }
        for sound in &mut self.sounding {
            sound.fade_out();
        }
        self.clock = Clock::Fading {
            left: self.fade,
            jump: to,
            then: next,
        };
    }

    /// Is at the new place.
    fn go(&mut self, to: Option<u64>, then: Then) {
        self.position = to.unwrap_or(self.position);
        if let (Some(to), Some(lead)) = (to, &mut self.lead) {
            lead.go(to);
        }
        self.clock = match then {
            Then::Run => Clock::Running,
            Then::Hold => Clock::Held,
            Then::Stop => Clock::Stopped,
        };
    }

    /// Fades out what is spoken over the session and drops what was to follow it.
    fn hush(&mut self) {
        self.play_when_said = false;
        while self.over.len() > 1 {
            let Some(over) = self.over.pop_back() else {
                break;
            };
            self.give_back(over.sound.clip, true, Outcome::Dropped);
        }
        match self.over.front_mut() {
            Some(first) if first.sound.played > 0 => first.sound.fade_out(),
            Some(_) => self.cut_over(),
            None => {}
        }
    }

    /// Drops clips that wait.
    fn drop_waiting(&mut self, which: Clear) {
        let mut index = 0;
        while index < self.waiting.len() {
            let clip = &self.waiting[index].clip;
            let keep = match which {
                Clear::All => false,
                Clear::From(at) => clip.at < at,
                Clear::Ids(id) => clip.id < id,
                Clear::Id(id) => clip.id != id,
            };
            if keep {
                index += 1;
            } else {
                let due = self.waiting.remove(index);
                self.give_back(due.clip, false, Outcome::Dropped);
            }
        }
    }
}
