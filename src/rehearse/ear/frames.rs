//! Samples at 16 kHz -> frames of 8 ms: how much there is in each band, and how much of a voice.

use std::f32::consts::TAU;
use std::sync::Arc;

use earshot::Detector;
use rustfft::Fft;
use rustfft::FftPlanner;
use rustfft::num_complex::Complex32;

use crate::base::units::At;
use crate::base::units::FrameAt;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// The rate that the voice-activity network was made for.
pub(super) const RATE: SampleRate = SampleRate::from_hz(16_000);

/// Samples from one frame to the next: 8 ms, half a step of the network.
pub(super) const HOP: usize = 128;

/// Samples that a frame looks at: 24 ms, so that a low voice has two periods in it.
const WINDOW: usize = 384;

/// Samples from the end of a frame back to the instant that it stands for.
const CENTRE: usize = WINDOW / 2;

/// The points of the transform: one each 31 Hz.
const POINTS: usize = 512;

/// Samples that the network takes at a time: 16 ms.
const STEP: usize = 256;

/// The edges of the critical bands from 100 Hz on, in Hz (Zwicker 1961).
const EDGES: [u32; 21] = [
    100, 200, 300, 400, 510, 630, 770, 920, 1080, 1270, 1480, 1720, 2000, 2320, 2700, 3150, 3700,
    4400, 5300, 6400, 7700,
];

/// Bands of a frame.
pub(super) const BANDS: usize = EDGES.len() - 1;

/// What was heard around one instant.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// The mean square in each band, full scale is 1.
    pub bands: [f32; BANDS],
    /// How sure the network is of a voice, from 0 to 1. It looks back, so it lags by some frames.
    pub voice: f32,
}

impl Frame {
    /// The mean square of all bands.
    pub fn power(&self) -> f32 {
        self.bands.iter().sum()
    }
}

/// Makes frames of a stream.
pub(super) struct Frames {
    network: Box<Detector>,
    voice: f32,
    /// The last samples, a window and a step of the network at most.
    held: Vec<f32>,
    /// How many of them the network has not seen.
    unseen: usize,
    fft: Arc<dyn Fft<f32>>,
    shape: Vec<f32>,
    points: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl Frames {
    pub fn new() -> Self {
        let fft = FftPlanner::new().plan_fft_forward(POINTS);
        let hann = |n: usize| 0.5 - 0.5 * (TAU * (n as f32 + 0.5) / WINDOW as f32).cos();
        Frames {
            network: Detector::default_boxed(),
            voice: 0.0,
            held: vec![0.0; WINDOW],
            unseen: 0,
            shape: (0..WINDOW).map(hann).collect(),
            points: vec![Complex32::default(); POINTS],
            scratch: vec![Complex32::default(); fft.get_inplace_scratch_len()],
            fft,
        }
    }

    /// Takes in the next 8 ms, each within full scale.
    pub fn next(&mut self, samples: &[f32; HOP]) -> Frame {
        self.held.copy_within(HOP.., 0);
        self.held[WINDOW - HOP..].copy_from_slice(samples);
        self.unseen += HOP;
        if self.unseen == STEP {
            self.unseen = 0;
            self.voice = self.network.predict_f32(&self.held[WINDOW - STEP..]);
        }
        Frame {
            bands: self.bands(),
            voice: self.voice,
        }
    }

    fn bands(&mut self) -> [f32; BANDS] {
        let shaped = self.held.iter().zip(&self.shape).map(|(s, w)| s * w);
        for (point, value) in self.points.iter_mut().zip(shaped) {
            *point = Complex32::new(value, 0.0);
        }
        self.points[WINDOW..].fill(Complex32::default());
        self.fft
            .process_with_scratch(&mut self.points, &mut self.scratch);
        // Parseval: both halves of the spectrum, over the energy of the window (3/8 of its length).
        let scale = 2.0 / (POINTS as f32 * WINDOW as f32 * 0.375);
        std::array::from_fn(|band| {
            let points = &self.points[point(EDGES[band])..point(EDGES[band + 1])];
            points.iter().map(Complex32::norm_sqr).sum::<f32>() * scale
        })
    }
}

/// Returns how many independent values the mean square of a band rests on: the window is 24 ms long, so
/// that there is one each 42 Hz, and its shape leaves about two thirds of them.
pub(super) fn freedom(band: usize) -> f32 {
    let hz = (EDGES[band + 1] - EDGES[band]) as f32;
    hz * WINDOW as f32 / RATE.hz() as f32 * 0.67
}

/// Returns the instant that a frame stands for, by its number.
pub(super) fn instant(frame: u64) -> At {
    let end = (frame + 1) * HOP as u64;
    FrameAt::new(end.saturating_sub(CENTRE as u64)).at(RATE)
}

/// Returns the number of frames nearest to a length.
pub(super) const fn frames(length: Millis) -> usize {
    (length.ms() as usize * RATE.hz() as usize / 1000 + HOP / 2) / HOP
}

/// Returns the first point of the transform at or above a frequency.
const fn point(hz: u32) -> usize {
    (hz as usize * POINTS).div_ceil(RATE.hz() as usize)
}
