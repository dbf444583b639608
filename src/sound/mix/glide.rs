//! A value on its way: along half a cosine, so that it starts and arrives without a corner.

use std::f32::consts::PI;

/// A value that rests or moves.
#[derive(Debug, Clone, Copy)]
pub(super) struct Glide {
    from: f32,
    to: f32,
    length: u64,
    left: u64,
}

impl Glide {
    /// Rests at a value.
    pub fn at(value: f32) -> Self {
        Glide {
            from: value,
            to: value,
            length: 1,
            left: 0,
        }
    }

    /// Sets out for a value from where it is, to be there in so many frames.
    pub fn aim(&mut self, to: f32, frames: u64) {
        let frames = frames.max(1);
        *self = Glide {
            from: self.value(),
            to,
            length: frames,
            left: frames,
        };
    }

    /// Lets frames pass.
    pub fn pass(&mut self, frames: u64) {
        self.left = self.left.saturating_sub(frames);
    }

    /// Returns where it is.
    pub fn value(&self) -> f32 {
        if self.left == 0 {
            return self.to;
        }
        let way = (self.length - self.left) as f32 / self.length as f32;
        self.from + (self.to - self.from) * (0.5 - 0.5 * (PI * way).cos())
    }

    /// Returns how many frames it still moves.
    pub fn left(&self) -> u64 {
        self.left
    }

    /// Returns where it is going.
    pub fn goal(&self) -> f32 {
        self.to
    }

    /// Tells whether it rests at this value.
    pub fn rests_at(&self, value: f32) -> bool {
        self.left == 0 && self.to == value
    }
}
