//! What is heard next: read from all that sounds, waits and is to be spoken over the session.

use super::Mixer;
use super::dip::Near;
use super::transport::Clock;
use super::transport::Then;

impl Mixer {
    /// Tells when something is heard next, as far as is known.
    pub(super) fn near(&self) -> Near {
        let sounding = self.sounding.iter().map(|it| it.near());
        let near = sounding.fold(self.near_over(), Near::or);
        match near {
            Near::Now => near,
            Near::In(_) | Near::Nothing => near.or(self.near_waiting()),
        }
    }

    fn near_over(&self) -> Near {
        let mut before = 0_u64;
        for over in &self.over {
            before = before.saturating_add(over.silence);
            match (before, over.sound.near()) {
                (0, Near::Now) => return Near::Now,
                (_, Near::Now) => return Near::In(before),
                (_, Near::In(frames)) => return Near::In(before.saturating_add(frames)),
                (_, Near::Nothing) => before = before.saturating_add(over.sound.left() as u64),
            }
        }
        Near::Nothing
    }

    fn near_waiting(&self) -> Near {
        // Where the session clock will be, and in how many frames.
        let (place, wait) = match self.clock {
            Clock::Running => (self.position, 0),
            Clock::Fading {
                left,
                jump: Some(jump),
                then: Then::Run,
            } => (jump, u64::from(left)),
            Clock::Held if self.play_when_said => {
                let said = |all: u64, it: &super::mixer::Over| {
                    all.saturating_add(it.silence)
                        .saturating_add(it.sound.left() as u64)
                };
                (self.position, self.over.iter().fold(0, said))
            }
            Clock::Held | Clock::Fading { .. } | Clock::Stopped => return Near::Nothing,
        };
        let mut near = Near::Nothing;
        for due in self.waiting.iter().rev() {
            let begins = wait.saturating_add(due.clip.at.index().saturating_sub(place));
            if matches!(near, Near::In(known) if known <= begins) {
                break;
            }
            near = near.or(match due.heard.near(0) {
                Near::Now => Near::In(begins),
                Near::In(frames) => Near::In(begins.saturating_add(frames)),
                Near::Nothing => Near::Nothing,
            });
        }
        near
    }
}
