//! A second device that keeps the pace of the first: its stream is resampled by what the drift asks for.

use std::time::Duration;

use rubato::Adjustable;
use rubato::Async;
use rubato::FixedAsync;
use rubato::Resampler;
use rubato::SincInterpolationParameters;
use rubato::SincInterpolationType;
use rubato::WindowFunction;
use rubato::audioadapter_buffers::direct::InterleavedSlice;

use super::drift::Drift;
use super::source::DeviceClock;
use super::source::Source;
use super::source::origin;
use crate::base::units::FrameAt;
use crate::sound::mix::Master;

/// Frames made at a time: 5 ms, which is what a hold waits for at most besides the buffer.
const CHUNK: usize = 240;
/// Points of the filter: speech and tones keep their band to 19 kHz, and it is late by 0.7 ms.
const POINTS: usize = 64;
/// The rate's bounds, wider than the drift's, which stays inside them.
const BOUNDS: f64 = 1.001;

/// A mono master on a device of its own, at the pace of the device that it follows.
pub struct Following {
    master: Master,
    leader: DeviceClock,
    /// The leader's stream, counted.
    stream: i64,
    drift: Drift,
    resampler: Async<f32>,
    channels: u16,
    /// What was mixed, and what came of it; `ready` of the latter are still to be handed out.
    mixed: Vec<f32>,
    made: [f32; CHUNK],
    ready: usize,
    /// Frames mixed since the device was opened.
    frames: u64,
}

impl Following {
    /// Puts a master with one channel on a device with so many, each of which hears the same. `None` where
    /// the resampler cannot be made.
    pub fn new(master: Master, leader: DeviceClock, channels: u16) -> Option<Self> {
        debug_assert_eq!(master.channels(), 1);
        let parameters = SincInterpolationParameters {
            sinc_len: POINTS,
            f_cutoff: None,
            oversampling_factor: 128,
            interpolation: SincInterpolationType::Cubic,
            window: WindowFunction::BlackmanHarris2,
        };
        let resampler =
            Async::new_sinc(1.0, BOUNDS, &parameters, CHUNK, 1, FixedAsync::Output).ok()?;
        Some(Following {
            master,
            leader,
            stream: 0,
            drift: Drift::default(),
            mixed: vec![0.0; resampler.input_frames_max()],
            resampler,
            channels: channels.max(1),
            made: [0.0; CHUNK],
            ready: 0,
            frames: 0,
        })
    }

    /// Sets the pace by where both clocks are now.
    fn keep_pace(&mut self, now: Duration) {
        let (leader, stream) = self.leader.read();
        if stream != self.stream || leader.is_none() {
            self.stream = stream;
            self.drift.forget_the_place();
        }
        let Some(leader) = leader else {
            return;
        };
        // What is made and not handed out yet is not heard yet.
        let own = origin(now, self.frames.saturating_sub(self.ready as u64));
        let rate = self.drift.see(now.as_micros() as i64, leader, own);
        // More mixed for each frame heard is a ratio below one; within the bounds it cannot fail.
        let set = self.resampler.set_resample_ratio_relative(1.0 / rate, true);
        debug_assert!(set.is_ok());
    }

    /// Mixes and resamples the next frames.
    fn make(&mut self) {
        let wanted = self.resampler.input_frames_next().min(self.mixed.len());
        let mixed = &mut self.mixed[..wanted];
        self.master.fill(mixed);
        self.frames += wanted as u64;
        let input = InterleavedSlice::new(&*mixed, 1, wanted);
        let output = InterleavedSlice::new_mut(&mut self.made, 1, CHUNK);
        let done = match (input, output) {
            (Ok(input), Ok(mut output)) => {
                let done = self
                    .resampler
                    .process_into_buffer(&input, &mut output, None);
                done.is_ok()
            }
            // The sizes are those that it asked for.
            _ => false,
        };
        if !done {
            self.made.fill(0.0);
        }
        self.ready = CHUNK;
    }
}

impl Source for Following {
    fn channels(&self) -> u16 {
        self.channels
    }

    fn position(&self) -> FrameAt {
        self.master.position()
    }

    fn fill(&mut self, now: Duration, out: &mut [f32]) {
        if out.is_empty() {
            return self.master.fill(&mut []);
        }
        self.keep_pace(now);
        let channels = usize::from(self.channels);
        let mut frames = out.chunks_exact_mut(channels);
        for frame in frames.by_ref() {
            if self.ready == 0 {
                self.make();
            }
            frame.fill(self.made[CHUNK - self.ready]);
            self.ready -= 1;
        }
        frames.into_remainder().fill(0.0);
    }

    fn device_lost(&mut self) {
        self.master.device_lost();
        self.resampler.reset();
        self.drift.forget_the_place();
        self.ready = 0;
        self.frames = 0;
    }
}

impl std::fmt::Debug for Following {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Following")
            .field("master", &self.master)
            .field("drift", &self.drift)
            .finish_non_exhaustive()
    }
}
