//! Spectra and pitch -> samples: pulses shaped frame by frame, plus noise, overlapped and added.

use std::f32::consts::PI;
use std::f32::consts::TAU;
use std::sync::Arc;

use rustfft::Fft;
use rustfft::FftPlanner;
use rustfft::num_complex::Complex32;

use crate::sound::speech::VoiceError;
use crate::sound::speech::neural::model::Spectra;

/// Samples a second. This and the two below are how the model was trained.
pub const RATE: u32 = 24_000;
/// Samples from one frame to the next.
pub const HOP: usize = 300;
const WINDOW: usize = 1200;
const BINS: usize = WINDOW / 2 + 1;

/// Pulses hold harmonics up to here, in Hz.
const HARMONICS_TO: f32 = 11_000.0;
/// A pitch up to this, in Hz, marks an unvoiced frame.
const UNVOICED: f32 = 40.0;
/// Caps the logarithm of an envelope: a broken frame is loud, not infinite.
const LOUDEST: f32 = 7.0;

/// The transforms and the window, made once.
pub struct Vocoder {
    forward: Arc<dyn Fft<f32>>,
    inverse: Arc<dyn Fft<f32>>,
    window: Vec<f32>,
}

impl Vocoder {
    /// Makes the transforms.
    pub fn new() -> Self {
        let mut planner = FftPlanner::new();
        Vocoder {
            forward: planner.plan_fft_forward(WINDOW),
            inverse: planner.plan_fft_inverse(WINDOW),
            window: (0..WINDOW)
                .map(|n| 0.5 - 0.5 * (std::f64::consts::TAU * n as f64 / WINDOW as f64).cos())
                .map(|value| value as f32)
                .collect(),
        }
    }

    /// Makes mono samples at 24 kHz; `seed` fixes the noise.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Engine`] if the spectra do not fit together.
    pub fn samples(&self, spectra: &Spectra, seed: u64) -> Result<Vec<f32>, VoiceError> {
        let frames = spectra.pitch.len();
        let planes = [
            &spectra.voiced,
            &spectra.turn,
            &spectra.noise,
            &spectra.rest,
            &spectra.phase,
        ];
        if frames == 0 || planes.iter().any(|plane| plane.len() != frames * BINS) {
            return Err(VoiceError::Engine(
                "the neural model's outputs do not fit together".to_owned(),
            ));
        }
        let pulses = pulses(&spectra.pitch);
        let mut noise = Noise::new(seed);
        let mut sum = vec![0.0; (frames + 3) * HOP];
        let mut weight = vec![0.0; (frames + 3) * HOP];
        let mut buffer = vec![Complex32::default(); WINDOW];
        let scratch = self.forward.get_inplace_scratch_len();
        let scratch = scratch.max(self.inverse.get_inplace_scratch_len());
        let mut scratch = vec![Complex32::default(); scratch];
        for frame in 0..frames {
            let start = frame * HOP;
            for (n, value) in buffer.iter_mut().enumerate() {
                let pulse = reflected(&pulses, (start + n) as isize - (WINDOW / 2) as isize);
                *value = Complex32::new(pulse * self.window[n] / (WINDOW as f32 / 4.0), 0.0);
            }
            self.forward.process_with_scratch(&mut buffer, &mut scratch);
            for bin in 0..BINS {
                let at = bin * frames + frame;
                let envelope = |log: f32| log.min(LOUDEST).exp();
                let turn = PI * spectra.turn[at].tanh();
                let voiced =
                    buffer[bin] * Complex32::from_polar(envelope(spectra.voiced[at]), turn);
                let breath = Complex32::new(noise.next(), noise.next());
                let shaped = voiced
                    + breath * envelope(spectra.noise[at])
                    + Complex32::from_polar(envelope(spectra.rest[at]), spectra.phase[at]);
                buffer[bin] = shaped;
                if bin > 0 && bin < WINDOW / 2 {
                    buffer[WINDOW - bin] = shaped.conj();
                }
            }
            buffer[0].im = 0.0;
            buffer[WINDOW / 2].im = 0.0;
            self.inverse.process_with_scratch(&mut buffer, &mut scratch);
            for (n, value) in buffer.iter().enumerate() {
                sum[start + n] += value.re / WINDOW as f32 * self.window[n];
                weight[start + n] += self.window[n] * self.window[n];
            }
        }
        let whole = WINDOW / 2..WINDOW / 2 + frames * HOP;
        Ok(sum[whole.clone()]
            .iter()
            .zip(&weight[whole])
            .map(|(sum, weight)| sum / weight.max(1e-11))
            .collect())
    }
}

/// A band-limited pulse train that follows the pitch, silent where there is no voice.
fn pulses(pitch: &[f32]) -> Vec<f32> {
    let last = pitch.len() - 1;
    let mut phase = 0f64;
    let mut out = Vec::with_capacity(pitch.len() * HOP);
    for frame in 0..pitch.len() {
        for n in 0..HOP {
            // The pitch of a frame belongs to its middle; between two it is interpolated.
            let at = frame as f32 + (n as f32 + 0.5) / HOP as f32 - 0.5;
            let before = at.floor();
            let part = at - before;
            let left = pitch[(before.max(0.0) as usize).min(last)];
            let right = pitch[((before + 1.0).max(0.0) as usize).min(last)];
            let hz = left * (1.0 - part) + right * part;
            let voiced = hz > UNVOICED;
            let hz = hz.max(UNVOICED);
            phase += f64::from(hz) / f64::from(RATE);
            phase -= phase.floor();
            out.push(if voiced { pulse(phase, hz) } else { 0.0 });
        }
    }
    out
}

/// The sum of all harmonics up to 11 kHz at a phase of 0 to 1, in closed form.
fn pulse(phase: f64, hz: f32) -> f32 {
    let angle = (phase * std::f64::consts::TAU) as f32;
    let harmonics = (HARMONICS_TO / hz).floor() + 0.5;
    let below = 2.0 * (angle * 0.5).sin();
    if below.abs() <= 2e-3 {
        harmonics - 0.5
    } else {
        (harmonics * angle).sin() / below - 0.5
    }
}

/// The sample at `at`, mirrored at both ends.
fn reflected(samples: &[f32], at: isize) -> f32 {
    let last = samples.len() as isize - 1;
    let at = if at < 0 { -at } else { at };
    let at = if at > last { 2 * last - at } else { at };
    samples[at.clamp(0, last) as usize]
}

/// Normally distributed numbers: xorshift and the Box-Muller transform.
struct Noise {
    state: u64,
    spare: Option<f32>,
}

impl Noise {
    fn new(seed: u64) -> Self {
        Noise {
            state: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1,
            spare: None,
        }
    }

    fn uniform(&mut self) -> f32 {
        self.state ^= self.state << 13;
        self.state ^= self.state >> 7;
        self.state ^= self.state << 17;
        ((self.state >> 40) as f32 + 0.5) / 16_777_216.0
    }

    fn next(&mut self) -> f32 {
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        let angle = TAU * self.uniform();
        self.spare = Some(radius * angle.sin());
        radius * angle.cos()
    }
}
