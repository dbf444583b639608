//! Renders a whole session as fast as it goes, block by block: for files of any kind.

use std::fmt;

use rtrb::Producer;
use rtrb::RingBuffer;

use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::mix::AHEAD;
use crate::sound::mix::BedAim;
use crate::sound::mix::BedBlock;
use crate::sound::mix::CAPACITY;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::Desk;
use crate::sound::mix::Full;
use crate::sound::mix::Master;
use crate::sound::mix::Outcome;
use crate::sound::mix::desk_and_mixer;

/// Frames rendered at a time, 85 ms: progress is smooth and a cancel immediate.
const BLOCK: usize = 4096;

/// Blocks of the bed kept ready, over 0.6 s: far more than are mixed at a time.
const BED: usize = 64;

/// Clips in the order in which they begin.
type Clips = Box<dyn Iterator<Item = Clip>>;

/// The bed of a session that is rendered.
pub struct OfflineBed {
    /// Gives the next block, made while it is waited for; `None` at the end of the music.
    pub blocks: Box<dyn FnMut() -> Option<BedBlock>>,
    /// What the bed is told, and from which frame of the session on; in any order.
    pub aims: Vec<(FrameAt, BedAim)>,
}

/// How far a rendering is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    pub done: Frames,
    pub of: Frames,
}

/// A session on its way to a file: stereo, 48 kHz.
pub struct Offline {
    desk: Desk,
    mixer: Master,
    /// Those not yet handed over, in order of time.
    clips: Clips,
    next: Option<Clip>,
    progress: Progress,
    block: Vec<f32>,
    lost: u64,
    bed: Option<Laid>,
    /// What the mixer is told, in order of time, and how much of it is.
    commands: Vec<(FrameAt, Command)>,
    told: usize,
    /// Frames at the beginning that are rendered and not handed out.
    skip: u64,
    /// Those before the first one that was mixed comes out.
    latency: u64,
}

/// A bed and the way to its mixer.
struct Laid {
    blocks: Box<dyn FnMut() -> Option<BedBlock>>,
    ring: Producer<BedBlock>,
}

impl Offline {
    /// The number of channels.
    pub const CHANNELS: u16 = 2;

    /// Prepares to render `length` frames of clips given in any order. What lies beyond is cut.
    pub fn new(clips: Vec<Clip>, length: Frames) -> Self {
        Self::of_stream(sorted(clips), length, None)
    }

    /// Prepares to render clips that come in the order in which they begin, and are taken when they are due.
    pub fn of_stream(
        clips: impl Iterator<Item = Clip> + 'static,
        length: Frames,
        bed: Option<OfflineBed>,
    ) -> Self {
        Self::of(Box::new(clips), length, bed, false)
    }

    /// Prepares the same over a bed.
    pub fn with_bed(clips: Vec<Clip>, length: Frames, bed: OfflineBed) -> Self {
        Self::of_stream(sorted(clips), length, Some(bed))
    }

    /// Prepares a bed that steps back for clips which are not heard.
    pub fn bed_alone(
        clips: impl Iterator<Item = Clip> + 'static,
        length: Frames,
        bed: OfflineBed,
    ) -> Self {
        Self::of(Box::new(clips), length, Some(bed), true)
    }

    /// Has the mixer told something more, on the very frames.
    #[must_use]
    pub fn told(mut self, commands: impl IntoIterator<Item = (FrameAt, Command)>) -> Self {
        self.commands.extend(commands);
        self.commands.sort_by_key(|(at, _)| *at);
        self
    }

    /// Leaves out what lies before a place: it is rendered, so that the rest is as it would be with it, and not handed
    /// out.
    #[must_use]
    pub fn since(self, from: FrameAt) -> Self {
        let of = self.progress.of.count().saturating_sub(from.index());
        let progress = Progress {
            of: Frames::new(of),
            ..self.progress
        };
        Offline {
            skip: from.index(),
            progress,
            ..self
        }
    }

    fn of(mut clips: Clips, length: Frames, bed: Option<OfflineBed>, bed_alone: bool) -> Self {
        // As many as there are, so that a crowd in one place fits too.
        let (least, most) = clips.size_hint();
        let capacity = most.unwrap_or(least).max(CAPACITY);
        let (mut desk, mut mixer) = desk_and_mixer(SampleRate::OUTPUT, Self::CHANNELS, capacity);
        let mut aims = Vec::new();
        let bed = bed.map(|bed| {
            aims = bed.aims;
            let (ring, blocks) = RingBuffer::new(BED);
            mixer.lay(blocks);
            let blocks = bed.blocks;
            Laid { blocks, ring }
        });
        if bed_alone {
            mixer.mute_clips();
        }
        // The ring is new: there is room.
        let _ = desk.tell(Command::Play);
        let mixer = Master::new(mixer);
        let aims = aims.into_iter().map(|(at, aim)| (at, Command::Bed(aim)));
        Offline {
            desk,
            latency: mixer.latency().count(),
            skip: 0,
            mixer,
            next: clips.next(),
            clips,
            progress: Progress {
                done: Frames::ZERO,
                of: length,
            },
            block: vec![0.0; BLOCK * usize::from(Self::CHANNELS)],
            lost: 0,
            bed,
            commands: Vec::new(),
            told: 0,
        }
        .told(aims)
    }

    /// Renders the next block: interleaved, at most 4096 frames, none of what is left out. `None` at the end.
    pub fn next_block(&mut self) -> Option<&[f32]> {
        let left = self.progress.of.count() - self.progress.done.count();
        if left == 0 {
            return None;
        }
        while self.latency > 0 {
            let frames = self.latency.min(BLOCK as u64);
            self.render(frames as usize);
            self.latency -= frames;
        }
        let skipped = self.skip.min(BLOCK as u64) as usize;
        let frames = match skipped {
            0 => left.min(BLOCK as u64) as usize,
            _ => skipped,
        };
        self.render(frames);
        self.skip -= skipped as u64;
        let handed = if skipped == 0 { frames } else { 0 };
        let block = &self.block[..handed * usize::from(Self::CHANNELS)];
        self.progress.done = self.progress.done + Frames::new(handed as u64);
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

    /// Renders so many frames to the start of the block: up to each place where the mixer is told something.
    fn render(&mut self, frames: usize) {
        let mut done = 0;
        while done < frames {
            self.feed();
            if let Some(bed) = &mut self.bed {
                bed.fill_up();
            }
            let at = self.mixer.position();
            let run = self.tell(at).map_or(frames, |next| {
                next.since(at).count().min(frames as u64) as usize
            });
            let run = run.clamp(1, frames - done);
            let part =
                done * usize::from(Self::CHANNELS)..(done + run) * usize::from(Self::CHANNELS);
            self.mixer.fill(&mut self.block[part]);
            done += run;
        }
    }

    /// Tells the mixer what it is to be told by now; returns where something is to be told next.
    fn tell(&mut self, at: FrameAt) -> Option<FrameAt> {
        while let Some((place, command)) = self.commands.get(self.told) {
            if *place > at || self.desk.tell(*command).is_err() {
                return Some(*place);
            }
            self.told += 1;
        }
        None
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

fn sorted(mut clips: Vec<Clip>) -> std::vec::IntoIter<Clip> {
    clips.sort_by_key(|it| it.at);
    clips.into_iter()
}

impl Laid {
    /// Makes blocks until the ring is full.
    fn fill_up(&mut self) {
        while self.ring.slots() > 0
            && let Some(block) = (self.blocks)()
        {
            // There is room.
            let _ = self.ring.push(block);
        }
    }
}

impl fmt::Debug for Laid {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Laid").finish_non_exhaustive()
    }
}

impl fmt::Debug for OfflineBed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("OfflineBed")
            .field("aims", &self.aims)
            .finish_non_exhaustive()
    }
}
