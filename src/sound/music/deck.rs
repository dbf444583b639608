//! A track being played: at 48 kHz, at the level of all, decoded as far ahead as a cross-fade needs.

use std::collections::VecDeque;
use std::path::Path;

use super::LEVEL;
use super::measure::Measured;
use super::track::Track;
use crate::base::units::Db;
use crate::base::units::SampleRate;
use crate::sound::dsp::flow::Flow;

/// The most that a soft track is raised by: beyond, it is the noise of its recording that one would hear.
const MOST_RAISED: f32 = 20.0;
/// Frames decoded at a time.
const STEP: usize = 2048;

pub(super) struct Deck {
    track: Track,
    flows: [Flow; 2],
    gain: f32,
    made: VecDeque<[f32; 2]>,
    /// Frames taken in and handed on, to tell how many the last block should hold.
    decoded: u64,
    produced: u64,
    ended: bool,
    /// The length that was measured.
    pub(super) frames: u64,
    left: Vec<f32>,
    right: Vec<f32>,
    mixed: [Vec<f32>; 2],
}

impl Deck {
    /// Puts on a track that was measured.
    pub(super) fn open(path: &Path, measured: Measured) -> Result<Self, String> {
        let track = Track::open(path)?;
        let flow =
            || Flow::new(track.rate, SampleRate::OUTPUT).ok_or("its rate cannot be converted");
        Ok(Self {
            flows: [flow()?, flow()?],
            gain: Db::new((LEVEL - measured.loudness).min(MOST_RAISED)).gain(),
            made: VecDeque::new(),
            decoded: 0,
            produced: 0,
            ended: false,
            frames: measured.frames,
            left: Vec::with_capacity(STEP),
            right: Vec::with_capacity(STEP),
            mixed: Default::default(),
            track,
        })
    }

    /// Decodes until so many frames are there, or the track has ended.
    pub(super) fn ready(&mut self, frames: usize) {
        while self.made.len() < frames && !self.ended {
            self.left.clear();
            self.right.clear();
            let more = self.track.read(STEP, &mut self.left, &mut self.right);
            self.decoded += self.left.len() as u64;
            let read = [&self.left, &self.right];
            for ((flow, mixed), samples) in self.flows.iter_mut().zip(&mut self.mixed).zip(read) {
                mixed.clear();
                let mut take = |made: &[f32]| mixed.extend_from_slice(made);
                flow.push(samples, &mut take);
                if !more {
                    flow.finish(&mut take);
                }
            }
            let mut many = self.mixed[0].len().min(self.mixed[1].len());
            if !more {
                // Without what the last block was filled up with: the next track begins at once.
                let (from, to) = (
                    u64::from(self.track.rate.hz()),
                    u64::from(SampleRate::OUTPUT.hz()),
                );
                let whole = (self.decoded * to).div_ceil(from);
                many = many.min(usize::try_from(whole - self.produced.min(whole)).unwrap_or(many));
                self.ended = true;
            }
            self.produced += many as u64;
            let frames = self.mixed[0].iter().zip(&self.mixed[1]).take(many);
            self.made
                .extend(frames.map(|(l, r)| [l * self.gain, r * self.gain]));
        }
    }

    /// Returns how many frames are left, once the end is in sight.
    pub(super) fn remaining(&self) -> Option<usize> {
        self.ended.then_some(self.made.len())
    }

    /// Takes the next frames; behind the end they are silence.
    pub(super) fn take(&mut self, out: &mut [[f32; 2]]) {
        self.ready(out.len());
        for frame in out {
            *frame = self.made.pop_front().unwrap_or_default();
        }
    }
}
