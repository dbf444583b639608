//! Renders a whole session as fast as it goes, block by block: for files of any kind.

use std::vec::IntoIter;

use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::mix::AHEAD;
use crate::sound::mix::CAPACITY;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::Desk;
use crate::sound::mix::Full;
use crate::sound::mix::Mixer;
use crate::sound::mix::Outcome;
use crate::sound::mix::desk_and_mixer;

/// Frames rendered at a time, 85 ms: progress is smooth and a cancel immediate.
const BLOCK: usize = 4096;

/// How far a rendering is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    pub done: Frames,
    pub of: Frames,
}

/// A session on its way to a file: stereo, 48 kHz.
#[derive(Debug)]
pub struct Offline {
    desk: Desk,
    mixer: Mixer,
    /// Those not yet handed over, in order of time.
    clips: IntoIter<Clip>,
    next: Option<Clip>,
    progress: Progress,
    block: Vec<f32>,
    lost: u64,
}

impl Offline {
    /// The number of channels.
    pub const CHANNELS: u16 = 2;

    /// Prepares to render `length` frames of clips given in any order. What lies beyond is cut.
    pub fn new(mut clips: Vec<Clip>, length: Frames) -> Self {
        clips.sort_by_key(|it| it.at);
        // As many as there are, so that a crowd in one place fits too.
        let capacity = clips.len().max(CAPACITY);
        let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, Self::CHANNELS, capacity);
        // The ring is new: there is room.
        let _ = desk.tell(Command::Play);
        let mut clips = clips.into_iter();
        Offline {
            desk,
            mixer,
            next: clips.next(),
            clips,
            progress: Progress {
                done: Frames::ZERO,
                of: length,
            },
            block: vec![0.0; BLOCK * usize::from(Self::CHANNELS)],
            lost: 0,
        }
    }

    /// Renders the next block: interleaved, at most 4096 frames. `None` at the end.
    pub fn next_block(&mut self) -> Option<&[f32]> {
        let left = self.progress.of.count() - self.progress.done.count();
        if left == 0 {
            return None;
        }
        self.feed();
        let frames = left.min(BLOCK as u64) as usize;
        let block = &mut self.block[..frames * usize::from(Self::CHANNELS)];
        self.mixer.fill(block);
        self.progress.done = self.progress.done + Frames::new(frames as u64);
        while let Some(finished) = self.desk.finished() {
            self.lost += u64::from(!matches!(finished.outcome, Outcome::Played));
        }
        Some(block)
    }

    /// Returns how far it is.
    pub fn progress(&self) -> Progress {
        self.progress
    }

    /// Returns how many clips were not played whole so far; zero unless something is wrong.
    pub fn lost(&self) -> u64 {
        self.lost
    }

    fn feed(&mut self) {
        let horizon = self.mixer.position() + AHEAD.frames(SampleRate::OUTPUT);
        while let Some(clip) = self.next.take_if(|it| it.at < horizon) {
            match self.desk.feed(clip) {
                Ok(()) => self.next = self.clips.next(),
                Err(Full(clip)) => {
                    self.next = Some(clip);
                    break;
                }
            }
        }
    }
}
