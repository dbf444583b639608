//! A value on its way: along half a cosine, so that it starts and arrives without a corner.

use std::f32::consts::PI;

use crate::base::heard::Way;

/// A value that rests or moves.
#[derive(Debug, Clone, Copy)]
pub(super) struct Glide {
    way: Way,
    /// Whether it set out since it was last asked.
    is_news: bool,
}

impl Glide {
    /// Rests at a value.
    pub fn at(value: f32) -> Self {
        Glide::on(Way {
            from: value,
            to: value,
            frames: 1,
            left: 0,
        })
    }

    /// Goes on along a way.
    pub fn on(way: Way) -> Self {
        Glide {
            way,
            is_news: false,
        }
    }

    /// Returns where it is on its way.
    pub fn way(&self) -> Way {
        self.way
    }

    /// Returns its way if it set out on it since it was last asked.
    pub fn news(&mut self) -> Option<Way> {
        std::mem::take(&mut self.is_news).then_some(self.way)
    }

    /// Sets out for a value from where it is, to be there in so many frames.
    pub fn aim(&mut self, to: f32, frames: u64) {
        let frames = frames.max(1);
        *self = Glide {
            way: Way {
                from: self.value(),
                to,
                frames,
                left: frames,
            },
            is_news: true,
        };
    }

    /// Lets frames pass.
    pub fn pass(&mut self, frames: u64) {
        self.way.left = self.way.left.saturating_sub(frames);
    }

    /// Returns where it is.
    pub fn value(&self) -> f32 {
        let Way {
            from,
            to,
            frames,
            left,
        } = self.way;
        if left == 0 {
            return to;
        }
        let done = frames.saturating_sub(left) as f32 / frames as f32;
        from + (to - from) * (0.5 - 0.5 * (PI * done).cos())
    }

    /// Returns how many frames it still moves.
    pub fn left(&self) -> u64 {
        self.way.left
    }

    /// Returns where it is going.
    pub fn goal(&self) -> f32 {
        self.way.to
    }

    /// Tells whether it rests at this value.
    pub fn rests_at(&self, value: f32) -> bool {
        self.way.left == 0 && self.way.to == value
    }
}
