//! What becomes of the gains that frames need: their minimum over the look-ahead, let go slowly, and means.

use std::collections::VecDeque;

/// Unity, as a whole number.
pub(super) const ONE: u32 = 1 << 30;

/// The gain comes back by this part (a power of two) of what is missing, each frame: 85 ms to a third, so that a
/// voice is not distorted and a chord does not pump.
const RELEASE: u32 = 12;

/// The least gain of the last frames.
#[derive(Debug)]
pub(super) struct Needs {
    /// Rising candidates with the frame that they are for; unity is left out.
    queue: VecDeque<(u64, u32)>,
    frame: u64,
    window: u64,
    /// The minimum, let go slowly.
    held: u32,
}

/// A running sum of the last values.
#[derive(Debug)]
pub(super) struct Mean {
    values: Vec<u64>,
    place: usize,
    sum: u64,
}

impl Needs {
    /// Begins with no need, for a look-ahead of so many frames.
    pub fn new(ahead: usize) -> Self {
        Needs {
            queue: VecDeque::with_capacity(ahead + 2),
            frame: 0,
            window: ahead as u64,
            held: ONE,
        }
    }

    /// Lets frames pass that need nothing, where nothing is held.
    pub fn rest(&mut self, frames: u64) {
        self.frame += frames;
    }

    pub fn clear(&mut self) {
        self.queue.clear();
        self.held = ONE;
    }

    /// Takes the need of the next frame; returns the least of the look-ahead, let go slowly.
    pub fn pass(&mut self, need: u32) -> u32 {
        if need < ONE {
            while self.queue.back().is_some_and(|(_, last)| *last >= need) {
                self.queue.pop_back();
            }
            self.queue.push_back((self.frame, need));
        }
        while let Some((frame, _)) = self.queue.front()
            && frame + self.window < self.frame
        {
            self.queue.pop_front();
        }
        self.frame += 1;
        let least = self.queue.front().map_or(ONE, |(_, need)| *need);
        let back = self.held + ((ONE - self.held) >> RELEASE) + 1;
        self.held = back.min(least);
        self.held
    }
}

impl Mean {
    /// Begins with so many times this value.
    pub fn new(length: usize, value: u64) -> Self {
        Mean {
            values: vec![value; length],
            place: 0,
            sum: value * length as u64,
        }
    }

    /// Makes all values this one; returns the sum.
    pub fn fill(&mut self, value: u64) -> u64 {
        self.values.fill(value);
        self.sum = self.of_all(value);
        self.sum
    }

    /// Returns the sum if all values are this one.
    pub fn of_all(&self, value: u64) -> u64 {
        value * self.values.len() as u64
    }

    /// Takes in a value for the oldest; returns the sum.
    pub fn pass(&mut self, value: u64) -> u64 {
        let oldest = std::mem::replace(&mut self.values[self.place], value);
        self.sum = self.sum + value - oldest;
        self.place = (self.place + 1) % self.values.len();
        self.sum
    }
}
