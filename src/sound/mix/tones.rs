//! The tones: what marks the start and the end of a work, and what sounds where nothing can be said.
//!
//! Three kinds, told apart by rhythm and by pitch at once, so that either is enough: a start is one
//! high pulse, an end is two low ones, a fault falls from high to low. Fewer than four can be
//! learned, and all that matters lies between 500 and 2000 Hz, in pulses of 100 to 150 ms, for older
//! listeners (PMC4777049). The fundamentals, 960 and 600 Hz, lie a minor sixth apart and have
//! a whole number of samples to the period at 48 kHz, so each pulse is the same to the sample.
//! Weaker second and third partials below 2000 Hz give small loudspeakers something to carry.

use std::f32::consts::TAU;
use std::sync::Arc;
use std::sync::LazyLock;

use super::Clip;
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

/// The rise of a pulse: half a cosine this long is free of clicks, and above -40 dBFS within 1 ms.
const ATTACK: Millis = Millis::from_ms(2);

/// The fall of a pulse: longer than the rise, as with a struck thing, and to exactly zero.
const RELEASE: Millis = Millis::from_ms(30);

/// One pulse of a tone.
struct Pulse {
    from: Millis,
    length: Millis,
    hz: f32,
    /// The amplitudes of the first, second and third partial.
    partials: [f32; 3],
}

/// High: 960 Hz and its octave, 1920 Hz.
const HIGH: (f32, [f32; 3]) = (960.0, [1.0, 0.25, 0.0]);

/// Low: 600, 1200 and 1800 Hz.
const LOW: (f32, [f32; 3]) = (600.0, [1.0, 0.35, 0.15]);

/// The peak of each tone before its partials are added. Chosen by the meter, so that its loudest
/// 400 ms in stereo are at about -15.5 LUFS: clear of speech at -18 LUFS without startling.
const START_LEVEL: f32 = 0.282;
const END_LEVEL: f32 = 0.259;
const FAULT_LEVEL: f32 = 0.224;

static START: LazyLock<Recipe> = LazyLock::new(|| recipe(START_LEVEL, &[pulse(0, 150, HIGH)]));
static END: LazyLock<Recipe> = LazyLock::new(|| {
    // 80 ms between them: two pulses, not one long one, also in a room that rings.
    recipe(END_LEVEL, &[pulse(0, 100, LOW), pulse(180, 100, LOW)])
});
static FAULT: LazyLock<Recipe> =
    LazyLock::new(|| recipe(FAULT_LEVEL, &[pulse(0, 100, HIGH), pulse(120, 150, LOW)]));

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
    pub fn samples(self) -> Arc<[f32]> {
        Arc::clone(&self.recipe().samples)
    }

    /// Returns how many samples lie before the first one above -40 dBFS; less than 1 ms.
    pub fn onset(self) -> Frames {
        self.recipe().onset
    }

    /// Returns how many samples lie before the last one above -40 dBFS, and that one.
    pub fn end(self) -> Frames {
        self.recipe().end
    }

    /// Returns the length in frames at 48 kHz; at most 350 ms.
    pub fn length(self) -> Frames {
        Frames::new(self.recipe().samples.len() as u64)
    }

    /// Makes the clip whose first audible sample lies exactly on `mark`.
    ///
    /// Where the session has no room for the inaudible samples before it, they are left out.
    pub fn clip(self, id: u64, mark: FrameAt) -> Clip {
        let recipe = self.recipe();
        match mark.index().checked_sub(recipe.onset.count()) {
            Some(at) => Clip {
                id,
                at: FrameAt::new(at),
                samples: self.samples(),
            },
            None => Clip {
                id,
                at: FrameAt::START,
                samples: recipe.samples[(recipe.onset.count() - mark.index()) as usize..].into(),
            },
        }
    }

    fn recipe(self) -> &'static Recipe {
        match self {
            Tone::Start => &START,
            Tone::End => &END,
            Tone::Fault => &FAULT,
        }
    }
}

fn pulse(from_ms: i64, length_ms: i64, (hz, partials): (f32, [f32; 3])) -> Pulse {
    Pulse {
        from: Millis::from_ms(from_ms),
        length: Millis::from_ms(length_ms),
        hz,
        partials,
    }
}

fn recipe(level: f32, pulses: &[Pulse]) -> Recipe {
    let frames = |length: Millis| length.frames(SampleRate::OUTPUT).count() as usize;
    let length = pulses
        .iter()
        .map(|it| frames(it.from + it.length))
        .max()
        .unwrap_or(0);
    let mut samples = vec![0.0; length];
    for pulse in pulses {
        let (attack, release, length) = (frames(ATTACK), frames(RELEASE), frames(pulse.length));
        for index in 0..length {
            let rise = half_cosine(index as f32 / attack as f32);
            // The last sample is where the fall ends: exactly zero.
            let fall = half_cosine((length - 1 - index) as f32 / release as f32);
            let phase = TAU * pulse.hz * index as f32 / SampleRate::OUTPUT.hz() as f32;
            let wave: f32 = (1..)
                .zip(pulse.partials)
                .map(|(n, amplitude): (u8, f32)| amplitude * (phase * f32::from(n)).sin())
                .sum();
            samples[frames(pulse.from) + index] = level * rise * fall * wave;
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

/// Rises from 0 to 1 along half a cosine while `x` goes from 0 to 1.
fn half_cosine(x: f32) -> f32 {
    0.5 - 0.5 * (TAU / 2.0 * x.clamp(0.0, 1.0)).cos()
}

#[cfg(test)]
mod tests {
    use ebur128::EbuR128;
    use ebur128::Mode;

    use super::*;

    /// The loudest 400 ms in LUFS and the true peak in dBTP of a tone in stereo, by the meter crate.
    fn measured(tone: Tone) -> (f64, f64) {
        let mut meter = EbuR128::new(2, 48_000, Mode::M | Mode::TRUE_PEAK).unwrap();
        let mut loudest = f64::NEG_INFINITY;
        let mut samples = tone.samples().to_vec();
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
    fn tones_stand_a_little_above_speech_and_below_full_scale() {
        for tone in Tone::ALL {
            let (loudest, peak) = measured(tone);
            assert!(
                (-15.8..=-15.2).contains(&loudest),
                "{tone:?}: {loudest} LUFS"
            );
            assert!(peak <= -1.0, "{tone:?}: {peak} dBTP");
        }
    }

    #[test]
    fn the_onset_comes_within_a_millisecond_without_a_click() {
        for tone in Tone::ALL {
            let samples = tone.samples();
            let onset = tone.onset().count() as usize;
            assert!(onset < 48, "{tone:?}: {onset}");
            let end = tone.end().count() as usize;
            assert!(
                samples[end - 1].abs() > 0.01 && samples[end..].iter().all(|it| it.abs() <= 0.01)
            );
            assert!(
                samples[onset].abs() > 0.01 && samples[..onset].iter().all(|it| it.abs() <= 0.01)
            );
            assert_eq!(samples[0], 0.0);
            assert_eq!(samples.last(), Some(&0.0));
            assert!(tone.length().millis(SampleRate::OUTPUT).ms() <= 350);
        }
    }

    #[test]
    fn the_energy_lies_between_500_and_2000_hz() {
        for tone in Tone::ALL {
            let samples = tone.samples();
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
            assert!(band / all > 0.99, "{tone:?}: {}", band / all);
        }
    }

    #[test]
    fn a_clip_is_placed_by_its_onset() {
        let clip = Tone::Start.clip(7, FrameAt::new(48_000));
        assert_eq!(clip.at + Tone::Start.onset(), FrameAt::new(48_000));
        let first = Tone::Start.clip(8, FrameAt::START);
        assert!(first.at == FrameAt::START && first.samples[0].abs() > 0.01);
    }
}
