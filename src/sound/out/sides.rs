//! One device for two: the room on one channel, the ear on the other.

use std::time::Duration;

use super::source::Source;
use crate::base::units::FrameAt;
use crate::sound::mix::Master;

/// Frames rendered at a time.
const BLOCK: usize = 480;

/// The channel that a listener with one ear on the device hears.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Channel {
    Left,
    Right,
}

/// Two mono masters side by side.
#[derive(Debug)]
pub struct Sides {
    room: Master,
    ear: Master,
    ear_on: Channel,
    room_block: [f32; BLOCK],
    ear_block: [f32; BLOCK],
}

impl Sides {
    /// Puts the ear on a channel and the room on the other. Both masters have one channel each.
    pub fn new(room: Master, ear: Master, ear_on: Channel) -> Self {
        debug_assert_eq!((room.channels(), ear.channels()), (1, 1));
        Sides {
            room,
            ear,
            ear_on,
            room_block: [0.0; BLOCK],
            ear_block: [0.0; BLOCK],
        }
    }
}

impl Source for Sides {
    fn channels(&self) -> u16 {
        2
    }

    fn position(&self) -> FrameAt {
        self.room.position()
    }

    fn fill(&mut self, _now: Duration, out: &mut [f32]) {
        if out.is_empty() {
            self.ear.fill(&mut []);
            self.room.fill(&mut []);
        }
        let (frames, rest) = out.as_chunks_mut::<2>();
        rest.fill(0.0);
        for frames in frames.chunks_mut(BLOCK) {
            let room = &mut self.room_block[..frames.len()];
            let ear = &mut self.ear_block[..frames.len()];
            // The ear first, so that it is ahead of the room also where both begin.
            self.ear.fill(ear);
            self.room.fill(room);
            let (left, right) = match self.ear_on {
                Channel::Left => (ear, room),
                Channel::Right => (room, ear),
            };
            for ((frame, left), right) in frames.iter_mut().zip(left).zip(right) {
                *frame = [*left, *right];
            }
        }
    }

    fn device_lost(&mut self) {
        self.ear.device_lost();
        self.room.device_lost();
    }
}
