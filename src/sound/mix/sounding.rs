//! One clip while it sounds: how far it is, and its fade.

use std::ops::Range;
use std::sync::Arc;

use super::Clip;
use super::FADE;
use super::dip::Near;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::dsp;

/// A clip and which of its samples are heard.
#[derive(Debug)]
pub(super) struct Due {
    pub clip: Clip,
    pub heard: Heard,
}

/// From which sample on and up to which one a clip is heard, by the -40 dBFS that a line is planned by.
///
/// One that holds nothing but silence counts as heard all through: somebody else speaks meanwhile, the
/// voice of the operating system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Heard {
    pub from: usize,
    pub to: usize,
}

/// A clip that sounds.
#[derive(Debug)]
pub(super) struct Sounding {
    pub clip: Clip,
    heard: Heard,
    /// Frames rendered.
    pub played: usize,
    /// When its first frame was rendered, in frames of the device.
    pub began: Option<u64>,
    /// After how many of its frames it began to fade out, if it does.
    pub faded: Option<usize>,
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

impl Heard {
    /// Looks through a clip's samples; not for the callback.
    pub fn of(samples: &[f32]) -> Self {
        let audible = |sample: &f32| sample.abs() > dsp::AUDIBLE;
        match samples.iter().position(audible) {
            Some(from) => Heard {
                from,
                to: samples
                    .iter()
                    .rposition(audible)
                    .map_or(from, |last| last + 1),
            },
            None => Heard {
                from: 0,
                to: samples.len(),
            },
        }
    }

    /// Tells when it is heard, `played` frames on.
    pub fn near(self, played: usize) -> Near {
        match played {
            _ if played >= self.to => Near::Nothing,
            _ if played >= self.from => Near::Now,
            _ => Near::In((self.from - played) as u64),
        }
    }
}

impl Sounding {
    /// Starts a clip at full level; its fades take `fade` frames.
    pub fn new(due: Due, fade: u32) -> Self {
        let Due { clip, heard } = due;
        let fade = Fade {
            level: fade,
            length: fade,
            way: Way::Level,
        };
        Sounding {
            clip,
            heard,
            played: 0,
            began: None,
            faded: None,
            fade,
        }
    }

    /// Begins to fade out, from where the level is.
    pub fn fade_out(&mut self) {
        self.faded.get_or_insert(self.played);
        self.fade.way = Way::Out;
    }

    /// Turns a fade-out round.
    pub fn fade_back(&mut self) {
        if self.fade.way == Way::Out {
            self.faded = None;
            self.fade.way = Way::In;
        }
    }

    /// Tells when it is heard.
    pub fn near(&self) -> Near {
        match self.left() {
            0 => Near::Nothing,
            _ => self.heard.near(self.played),
        }
    }

    /// Returns how many frames are left of it.
    pub fn left(&self) -> usize {
        let left = self.clip.samples.len() - self.played;
        match self.fade.way {
            Way::Out => left.min(self.fade.level as usize),
            Way::In | Way::Level => left,
        }
    }

    /// Returns for how many frames more it is heard: none once only its decay is left.
    pub fn heard_left(&self) -> usize {
        self.heard.to.saturating_sub(self.played).min(self.left())
    }

    /// Tells whether the clip was rendered to its last sample.
    pub fn whole(&self) -> bool {
        self.played == self.clip.samples.len()
    }

    /// Adds the next frames to `out` (mono), as many as it holds or are left; `now` is the device's clock.
    pub fn add_to(&mut self, out: &mut [f32], now: u64) {
        let count = out.len().min(self.left());
        if count > 0 {
            self.began.get_or_insert(now);
        }
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

/// Returns which samples of a clip are heard; all of one that is silent.
pub fn audible(samples: &[f32]) -> Range<usize> {
    let heard = Heard::of(samples);
    heard.from..heard.to
}

/// Returns the samples of a clip that ended after `played` frames as they were heard: with the fade that began after
/// `faded` of them, if there was one.
pub fn cut(samples: &Arc<[f32]>, played: Frames, faded: Option<Frames>) -> Arc<[f32]> {
    let played = (played.count() as usize).min(samples.len());
    let faded = faded.map_or(played, |frames| (frames.count() as usize).min(played));
    let clip = Clip {
        id: 0,
        at: FrameAt::START,
        samples: Arc::clone(samples),
    };
    let heard = Heard {
        from: 0,
        to: samples.len(),
    };
    let fade = FADE.frames(SampleRate::OUTPUT).count() as u32;
    let mut sound = Sounding::new(Due { clip, heard }, fade);
    let mut out = vec![0.0; played];
    sound.add_to(&mut out[..faded], 0);
    sound.fade_out();
    sound.add_to(&mut out[faded..], 0);
    out.into()
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
