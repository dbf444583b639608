//! The tones: what marks the start and the end of a work, and what sounds where nothing can be said.
//!
//! Three kinds, told apart by rhythm and by pitch at once, so that either is enough: a start is one
//! high pulse, an end is two low ones, a fault falls from high to low. Fewer than four can be
//! learned, and all that matters lies between 500 and 2000 Hz, in pulses of 100 to 150 ms, for older
//! listeners (PMC4777049). The fundamentals, 960 and 600 Hz, lie a minor sixth apart and have
//! a whole number of samples to the period at 48 kHz, so each pulse is the same to the sample.
//! Weaker second and third partials below 2000 Hz give small loudspeakers something to carry. Soft ones are
//! fainter and rounder and are heard as long, so that a plan does not depend on the kind.

use std::f32::consts::TAU;
use std::sync::Arc;
use std::sync::LazyLock;

use super::Clip;
use crate::base::tones::Tones;
use crate::base::units::Db;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::Millis;
use crate::base::units::SampleRate;

/// A tone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tone {
    /// A work starts: one high pulse.
    Start,
    /// A work ends: two low pulses.
    End,
    /// Something could not be spoken: a high pulse and a low one.
    Fault,
}

/// What counts as heard: the onset of a sound is its first sample above this.
const AUDIBLE: Db = Db::new(-40.0);

/// How the pulses of a kind of tones are made.
struct Kind {
    /// The rise of a pulse, half a cosine.
    attack: Millis,
    /// The fall of a pulse: longer than the rise, as with a struck thing, and to exactly zero.
    release: Millis,
    /// By so much its pulses are longer than those of the clear one, so that it is heard as long: start, end, fault.
    longer: [Millis; 3],
    /// Of what the upper partials have in the clear ones.
    upper: f32,
    /// The peak of each tone before its partials are added: start, end, fault.
    levels: [f32; 3],
}

/// A rise of 2 ms is free of clicks, and above -40 dBFS within 1 ms. The levels are chosen by the meter, so that
/// the loudest 400 ms in stereo are at about -15.5 LUFS: clear of speech at -18 LUFS without startling.
const CLEAR: Kind = Kind {
    attack: Millis::from_ms(2),
    release: Millis::from_ms(30),
    longer: [Millis::ZERO; 3],
    upper: 1.0,
    levels: [0.282, 0.259, 0.224],
};

/// As loud as speech less 1.5 LU: no edge, and hardly an octave above the fundamental.
const SOFT: Kind = Kind {
    attack: Millis::from_ms(10),
    release: Millis::from_ms(60),
    longer: [Millis::from_ms(6), Millis::from_ms(7), Millis::from_ms(7)],
    upper: 0.4,
    levels: [0.2, 0.198, 0.165],
};

/// One pulse of a tone.
struct Pulse {
    from: Millis,
    length: Millis,
    hz: f32,
    /// The amplitudes of the first, second and third partial.
    partials: [f32; 3],
}

/// A frequency in Hz with the amplitudes of its partials.
type Pitch = (f32, [f32; 3]);

/// High: 960 Hz and its octave, 1920 Hz.
const HIGH: Pitch = (960.0, [1.0, 0.25, 0.0]);

/// Low: 600, 1200 and 1800 Hz.
const LOW: Pitch = (600.0, [1.0, 0.35, 0.15]);

/// All tones of each kind.
static RECIPES: LazyLock<[[Recipe; 3]; 2]> =
    LazyLock::new(|| [CLEAR, SOFT].map(|kind| kind.recipes()));

/// A tone that is worked out.
struct Recipe {
    samples: Arc<[f32]>,
    onset: Frames,
    end: Frames,
}

impl Tone {
    /// All tones, in the order in which they are learned.
    pub const ALL: [Tone; 3] = [Tone::Start, Tone::End, Tone::Fault];

    /// Returns the samples: mono, 48 kHz, the same store each time.
    pub fn samples(self, kind: Tones) -> Arc<[f32]> {
        Arc::clone(&self.recipe(kind).samples)
    }

    /// Returns how many samples lie before the first one above -40 dBFS; less than 1 ms, 2 ms of a soft one.
    pub fn onset(self, kind: Tones) -> Frames {
        self.recipe(kind).onset
    }

    /// Returns how many samples lie before the last one above -40 dBFS, and that one.
    pub fn end(self, kind: Tones) -> Frames {
        self.recipe(kind).end
    }

    /// Returns the length in frames at 48 kHz; at most 350 ms.
    pub fn length(self, kind: Tones) -> Frames {
        Frames::new(self.recipe(kind).samples.len() as u64)
    }

    /// Makes the clip whose first audible sample lies exactly on `mark`.
    ///
    /// Where the session has no room for the inaudible samples before it, they are left out.
    pub fn clip(self, kind: Tones, id: u64, mark: FrameAt) -> Clip {
        let recipe = self.recipe(kind);
        match mark.index().checked_sub(recipe.onset.count()) {
            Some(at) => Clip {
                id,
                at: FrameAt::new(at),
                samples: self.samples(kind),
            },
            None => Clip {
                id,
                at: FrameAt::START,
                samples: recipe.samples[(recipe.onset.count() - mark.index()) as usize..].into(),
            },
        }
    }

    fn recipe(self, kind: Tones) -> &'static Recipe {
        let recipes = match kind {
            Tones::Clear => &RECIPES[0],
            Tones::Soft => &RECIPES[1],
        };
        match self {
            Tone::Start => &recipes[0],
            Tone::End => &recipes[1],
            Tone::Fault => &recipes[2],
        }
    }
}

impl Kind {
    fn recipes(&self) -> [Recipe; 3] {
        // 80 ms between two low ones: two pulses, not one long one, also in a room that rings.
        let start: &[_] = &[(0, 150, HIGH)];
        let end: &[_] = &[(0, 100, LOW), (180, 100, LOW)];
        let fault: &[_] = &[(0, 100, HIGH), (120, 150, LOW)];
        let mut nth = 0..;
        [start, end, fault].map(|pulses| {
            let nth = nth.next().unwrap_or(0);
            let pulse = |(from, length, pitch): &(i64, i64, Pitch)| {
                self.pulse(*from, Millis::from_ms(*length) + self.longer[nth], *pitch)
            };
            let pulses: Vec<_> = pulses.iter().map(pulse).collect();
            self.recipe(self.levels[nth], &pulses)
        })
    }

    fn pulse(&self, from_ms: i64, length: Millis, (hz, partials): Pitch) -> Pulse {
        let [first, second, third] = partials;
        Pulse {
            from: Millis::from_ms(from_ms),
            length,
            hz,
            partials: [first, second * self.upper, third * self.upper],
        }
    }

    fn recipe(&self, level: f32, pulses: &[Pulse]) -> Recipe {
        let frames = |length: Millis| length.frames(SampleRate::OUTPUT).count() as usize;
        let length = pulses
            .iter()
            .map(|it| frames(it.from + it.length))
            .max()
            .unwrap_or(0);
        let mut samples = vec![0.0; length];
        for pulse in pulses {
            let (attack, release) = (frames(self.attack), frames(self.release));
            let length = frames(pulse.length);
            for index in 0..length {
                let rise = half_cosine(index as f32 / attack as f32);
                // The last sample is where the fall ends: exactly zero.
                let fall = half_cosine((length - 1 - index) as f32 / release as f32);
                let phase = TAU * pulse.hz * index as f32 / SampleRate::OUTPUT.hz() as f32;
                let wave: f32 = (1..)
                    .zip(pulse.partials)
                    .map(|(n, amplitude): (u8, f32)| amplitude * (phase * f32::from(n)).sin())
                    .sum();
                samples[frames(pulse.from) + index] += level * rise * fall * wave;
            }
        }
        let audible = |it: &f32| it.abs() > AUDIBLE.gain();
        let onset = samples.iter().position(audible).unwrap_or(0);
        let end = samples.iter().rposition(audible).map_or(0, |last| last + 1);
        Recipe {
            samples: samples.into(),
            onset: Frames::new(onset as u64),
            end: Frames::new(end as u64),
        }
    }
}

/// Rises from 0 to 1 along half a cosine while `x` goes from 0 to 1.
fn half_cosine(x: f32) -> f32 {
    0.5 - 0.5 * (TAU / 2.0 * x.clamp(0.0, 1.0)).cos()
}

#[cfg(test)]
mod tests {
    use ebur128::EbuR128;
    use ebur128::Mode;

    use super::*;

    const KINDS: [Tones; 2] = [Tones::Clear, Tones::Soft];

    fn all() -> impl Iterator<Item = (Tones, Tone)> {
        KINDS
            .into_iter()
            .flat_map(|kind| Tone::ALL.map(|tone| (kind, tone)))
    }

    /// The loudest 400 ms in LUFS and the true peak in dBTP of a tone in stereo, by the meter crate.
    fn measured(kind: Tones, tone: Tone) -> (f64, f64) {
        let mut meter = EbuR128::new(2, 48_000, Mode::M | Mode::TRUE_PEAK).unwrap();
        let mut loudest = f64::NEG_INFINITY;
        let mut samples = tone.samples(kind).to_vec();
        samples.resize(48_000, 0.0);
        // In steps of 10 ms.
        for block in samples.chunks(480) {
            let stereo: Vec<f32> = block.iter().flat_map(|it| [*it; 2]).collect();
            meter.add_frames_f32(&stereo).unwrap();
            loudest = loudest.max(meter.loudness_momentary().unwrap());
        }
        (loudest, 20.0 * meter.true_peak(0).unwrap().log10())
    }

    #[test]
    fn tones_stand_beside_speech_and_below_full_scale() {
        for (kind, tone) in all() {
            let (loudest, peak) = measured(kind, tone);
            // Speech is at -18 LUFS.
            let wanted = match kind {
                Tones::Clear => -15.5,
                Tones::Soft => -19.5,
            };
            assert!(
                (loudest - wanted).abs() <= 0.3,
                "{kind:?} {tone:?}: {loudest} LUFS"
            );
            assert!(peak <= -1.0, "{kind:?} {tone:?}: {peak} dBTP");
        }
    }

    #[test]
    fn the_onset_comes_within_a_millisecond_or_two_without_a_click() {
        for (kind, tone) in all() {
            let samples = tone.samples(kind);
            let onset = tone.onset(kind).count() as usize;
            let soon = if kind == Tones::Clear { 48 } else { 96 };
            assert!(onset < soon, "{kind:?} {tone:?}: {onset}");
            let end = tone.end(kind).count() as usize;
            assert!(
                samples[end - 1].abs() > 0.01 && samples[end..].iter().all(|it| it.abs() <= 0.01)
            );
            assert!(
                samples[onset].abs() > 0.01 && samples[..onset].iter().all(|it| it.abs() <= 0.01)
            );
            assert_eq!(samples[0], 0.0);
            assert_eq!(samples.last(), Some(&0.0));
            assert!(tone.length(kind).millis(SampleRate::OUTPUT).ms() <= 350);
        }
    }

    #[test]
    fn a_plan_is_the_same_whatever_the_tones() {
        let heard = |kind, tone: Tone| {
            let frames = tone.end(kind).count() - tone.onset(kind).count();
            (frames * 1000).div_ceil(48_000)
        };
        for tone in Tone::ALL {
            assert_eq!(
                heard(Tones::Soft, tone),
                heard(Tones::Clear, tone),
                "{tone:?}"
            );
        }
    }

    #[test]
    fn the_energy_lies_between_500_and_2000_hz() {
        for (kind, tone) in all() {
            let samples = tone.samples(kind);
            // A plain Fourier sum, 20 Hz apart, to 6 kHz.
            let power = |hz: usize| -> f64 {
                let step = std::f64::consts::TAU * hz as f64 / 48_000.0;
                let (mut re, mut im) = (0.0, 0.0);
                for (index, sample) in samples.iter().enumerate() {
                    re += f64::from(*sample) * (step * index as f64).cos();
                    im += f64::from(*sample) * (step * index as f64).sin();
                }
                re * re + im * im
            };
            let all: f64 = (0..300).map(|it| power(it * 20)).sum();
            let band: f64 = (25..=100).map(|it| power(it * 20)).sum();
            assert!(band / all > 0.99, "{kind:?} {tone:?}: {}", band / all);
        }
    }

    #[test]
    fn a_clip_is_placed_by_its_onset() {
        for kind in KINDS {
            let clip = Tone::Start.clip(kind, 7, FrameAt::new(48_000));
            assert_eq!(clip.at + Tone::Start.onset(kind), FrameAt::new(48_000));
            let first = Tone::Start.clip(kind, 8, FrameAt::START);
            assert!(first.at == FrameAt::START && first.samples[0].abs() > 0.01);
        }
    }
}
