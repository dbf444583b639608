//! The bed as it is pulled: block after block, from one folder, later perhaps from another.

use std::path::PathBuf;

use super::CROSS_FADE;
use super::Order;
use super::Shelf;
use super::ahead::Ahead;
use super::ahead::Frames;
use super::kept::Kept;
use super::reel::Reel;
use super::reel::equal_power;
use crate::base::heard::MusicFrom;
use crate::sound::mix::BED_BLOCK;
use crate::sound::mix::BedBlock;

/// Music without end. The same files, shelf and switches give the same blocks.
pub struct Bed {
    /// Each goes on where it was when it comes back.
    reels: Vec<(Shelf, Reel)>,
    now: usize,
    wanted: Option<usize>,
    ahead: Ahead,
    kept: Kept,
    /// Blocks that were pulled.
    pulled: u64,
    /// At which blocks which reels began, since that was last asked for.
    begun: Vec<(u64, usize)>,
}

impl Bed {
    /// Lists the folder; what was measured of its tracks is kept in `kept`, if that is a folder.
    pub fn open(shelf: Shelf, kept: Option<PathBuf>) -> Self {
        let kept = Kept(kept);
        let reel = Reel::open(&shelf, kept.clone());
        Self {
            reels: vec![(shelf, reel)],
            now: 0,
            wanted: None,
            ahead: Ahead::default(),
            kept,
            pulled: 0,
            begun: vec![(0, 0)],
        }
    }

    /// Returns where music of another shelf began, since the last time.
    pub fn begun(&mut self) -> Vec<MusicFrom> {
        let begun = std::mem::take(&mut self.begun).into_iter();
        let from = |(block, reel): (u64, usize)| {
            let (shelf, reel) = &self.reels[reel];
            MusicFrom {
                block,
                folder: shelf.folder.clone(),
                seed: match shelf.order {
                    Order::Named => None,
                    Order::Shuffled { seed } => Some(seed),
                },
                files: reel.fingerprint(),
            }
        };
        begun.map(from).collect()
    }

    /// Asks for music from another shelf. It fades in with the next block that is pulled once
    /// [`Bed::prepare`] has got it ready.
    pub fn switch(&mut self, shelf: Shelf) {
        let known = self.reels.iter().position(|(known, _)| *known == shelf);
        let at = known.unwrap_or_else(|| {
            let reel = Reel::open(&shelf, self.kept.clone());
            self.reels.push((shelf, reel));
            self.reels.len() - 1
        });
        self.wanted = (at != self.now).then_some(at);
    }

    /// Does a little of what must be done before it is needed (some milliseconds: to measure the next track);
    /// returns whether there is more to do.
    pub fn prepare(&mut self) -> bool {
        if let Some(wanted) = self.wanted {
            let reel = &mut self.reels[wanted].1;
            return !reel.is_ready() && reel.prepare();
        }
        self.reels[self.now].1.prepare()
    }

    /// Returns what there is to say since the last time: what is skipped and why.
    pub fn notices(&mut self) -> Vec<String> {
        self.reels
            .iter_mut()
            .flat_map(|(_, reel)| reel.notices())
            .collect()
    }

    /// Pulls the next 10 ms. Waits for the disk, and for a track to be measured where [`Bed::prepare`] did not do
    /// it in time.
    pub fn pull(&mut self) -> BedBlock {
        if let Some(wanted) = self.wanted
            && self.reels[wanted].1.is_ready()
        {
            self.wanted = None;
            self.cross(wanted);
            self.begun.push((self.pulled, wanted));
        }
        self.pulled += 1;
        while !self.ahead.is_full() {
            let mut block = Box::new([[0.0; 2]; BED_BLOCK]);
            self.reels[self.now].1.fill(&mut block);
            self.ahead.push(block);
        }
        let next = self.ahead.pop();
        next.unwrap_or(BedBlock {
            frames: [[0.0; 2]; BED_BLOCK],
            loudness: f32::NEG_INFINITY,
        })
    }

    /// Fades what was made of one shelf into another, from the next block on.
    fn cross(&mut self, wanted: usize) {
        let old = self.ahead.take_back();
        self.now = wanted;
        let mut done = 0;
        for old in old.into_iter().take(CROSS_FADE / BED_BLOCK) {
            let mut block: Box<Frames> = Box::new([[0.0; 2]; BED_BLOCK]);
            self.reels[wanted].1.fill(&mut block);
            for (new, old) in block.iter_mut().zip(old.iter()) {
                let [rise, fall] = equal_power(done, CROSS_FADE);
                for (new, old) in new.iter_mut().zip(old) {
                    *new = *new * rise + old * fall;
                }
                done += 1;
            }
            self.ahead.push(block);
        }
    }
}

/// A bed whose shelves are known beforehand.
pub struct Sequence {
    bed: Bed,
    /// At which blocks the next ones begin, the last one first.
    rest: Vec<(u64, Shelf)>,
}

impl Sequence {
    /// Opens a bed of shelves in order, each with the block at which it begins, from 0 for the first; `None` where
    /// there is no shelf.
    pub fn open(mut shelves: Vec<(u64, Shelf)>, kept: Option<PathBuf>) -> Option<Self> {
        shelves.reverse();
        let (_, first) = shelves.pop()?;
        let bed = Bed::open(first, kept);
        Some(Sequence { bed, rest: shelves })
    }

    /// Pulls the next block, as [`Bed::pull`].
    pub fn pull(&mut self) -> BedBlock {
        while let Some((_, shelf)) = self.rest.pop_if(|(at, _)| *at <= self.bed.pulled) {
            self.bed.switch(shelf);
            while self.bed.prepare() {}
        }
        self.bed.pull()
    }

    /// Returns what there is to say since the last time: what is skipped and why.
    pub fn notices(&mut self) -> Vec<String> {
        self.bed.notices()
    }

    /// Returns where music of another shelf began, since the last time.
    pub fn begun(&mut self) -> Vec<MusicFrom> {
        self.bed.begun()
    }
}

impl From<&MusicFrom> for Shelf {
    fn from(music: &MusicFrom) -> Self {
        let shuffled = |seed| Order::Shuffled { seed };
        Shelf {
            folder: music.folder.clone(),
            order: music.seed.map_or(Order::Named, shuffled),
        }
    }
}
