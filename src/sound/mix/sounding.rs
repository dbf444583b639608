//! One clip while it sounds: how far it is, and its fade.

use super::Clip;

/// A clip that sounds.
#[derive(Debug)]
pub(super) struct Sounding {
    pub clip: Clip,
    /// Frames rendered.
    pub played: usize,
    fade: Fade,
}

/// A level that moves between silence and unity in `length` frames, in a straight line.
#[derive(Debug, Clone, Copy)]
struct Fade {
    /// Where it is: 0 is silence, `length` unity.
    level: u32,
    length: u32,
    way: Way,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Level,
    Out,
    In,
}

impl Sounding {
    /// Starts a clip at full level; its fades take `fade` frames.
    pub fn new(clip: Clip, fade: u32) -> Self {
        let fade = Fade {
            level: fade,
            length: fade,
            way: Way::Level,
        };
        Sounding {
            clip,
            played: 0,
            fade,
        }
    }

    /// Begins to fade out, from where the level is.
    pub fn fade_out(&mut self) {
        self.fade.way = Way::Out;
    }

    /// Turns a fade-out round.
    pub fn fade_back(&mut self) {
        if self.fade.way == Way::Out {
            self.fade.way = Way::In;
        }
    }

    /// Returns how many frames are left to be heard.
    pub fn left(&self) -> usize {
        let left = self.clip.samples.len() - self.played;
        match self.fade.way {
            Way::Out => left.min(self.fade.level as usize),
            Way::In | Way::Level => left,
        }
    }

    /// Tells whether the clip was rendered to its last sample.
    pub fn whole(&self) -> bool {
        self.played == self.clip.samples.len()
    }

    /// Adds the next frames to `out` (mono), as many as it holds or are left.
    pub fn add_to(&mut self, out: &mut [f32]) {
        let count = out.len().min(self.left());
        let samples = &self.clip.samples[self.played..self.played + count];
        self.played += count;
        if self.fade.way == Way::Level {
            // No gain here: one clip alone comes out as it went in.
            for (out, sample) in out.iter_mut().zip(samples) {
                *out += sample;
            }
            return;
        }
        for (out, sample) in out.iter_mut().zip(samples) {
            *out += sample * self.fade.step();
        }
    }
}

impl Fade {
    /// Moves on by a frame and returns the level there.
    fn step(&mut self) -> f32 {
        match self.way {
            Way::Level => return 1.0,
            Way::Out => self.level = self.level.saturating_sub(1),
            Way::In => {
                self.level = (self.level + 1).min(self.length);
                if self.level == self.length {
                    self.way = Way::Level;
                }
            }
        }
        self.level as f32 / self.length as f32
    }
}
