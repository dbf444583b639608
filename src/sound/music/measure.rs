//! How loud a track is, and how long: measured a little at a time, before it is first heard.

use std::fs::File;
use std::io::Read;
use std::io::Seek;
use std::io::SeekFrom;
use std::path::Path;
use std::path::PathBuf;

use ebur128::EbuR128;
use ebur128::Mode;
use sha2::Digest;
use sha2::Sha256;

use super::kept;
use super::kept::Kept;
use super::track::Track;
use crate::base::units::SampleRate;

/// What is known of a track.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Measured {
    /// Integrated over the track (EBU R 128), in LUFS; minus infinity for silence.
    pub loudness: f32,
    /// Its length at 48 kHz, as far as it was measured.
    pub frames: u64,
    /// Whether the file ends before it should.
    pub cut: bool,
}

/// Measured of a longer track: a mix of an hour is not waited for.
const LONGEST_SECS: u64 = 20 * 60;
/// Decoded at a step; at 48 kHz a third of a second.
const STEP: usize = 16_384;
/// Hashed at a step.
const BYTES: usize = 1 << 20;
/// Of a larger file the beginning and the end, so much of each, stand for the whole.
const HASHED: u64 = 32 << 20;

/// A track on its way to being known.
pub(super) struct Measuring {
    path: PathBuf,
    stage: Stage,
    kept: Kept,
}

enum Stage {
    Fresh,
    Hashing {
        file: File,
        hash: Box<Sha256>,
        /// Bytes still to hash here, and behind the gap.
        left: u64,
        tail: Option<SeekFrom>,
    },
    Decoding {
        key: String,
        track: Box<Track>,
        meter: Box<EbuR128>,
        frames: u64,
        left: Vec<f32>,
        right: Vec<f32>,
    },
}

/// What a step came to.
pub(super) enum Step {
    NotYet,
    Known(Measured),
    /// Why it will not be played.
    Bad(String),
}

impl Measuring {
    pub(super) fn new(path: &Path, kept: Kept) -> Self {
        Self {
            path: path.to_owned(),
            stage: Stage::Fresh,
            kept,
        }
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Does a little of the work: some milliseconds.
    pub(super) fn step(&mut self) -> Step {
        self.try_step().unwrap_or_else(Step::Bad)
    }

    fn try_step(&mut self) -> Result<Step, String> {
        match &mut self.stage {
            Stage::Fresh => {
                // What is no music at all is told from its beginning, not hashed to its end.
                drop(Track::open(&self.path)?);
                let file = File::open(&self.path).map_err(|_| GONE)?;
                let length = file.metadata().map_err(|_| GONE)?.len();
                let mut hash = Box::new(Sha256::new());
                hash.update(kept::VERSION.to_le_bytes());
                hash.update(length.to_le_bytes());
                let whole = length <= 2 * HASHED;
                self.stage = Stage::Hashing {
                    file,
                    hash,
                    left: if whole { length } else { HASHED },
                    tail: (!whole).then_some(SeekFrom::End(-(HASHED as i64))),
                };
                Ok(Step::NotYet)
            }
            Stage::Hashing {
                file,
                hash,
                left,
                tail,
            } => {
                let mut bytes = vec![0; BYTES.min(usize::try_from(*left).unwrap_or(BYTES))];
                let read = file.read(&mut bytes).map_err(|_| GONE)?;
                hash.update(&bytes[..read]);
                *left = if read == 0 { 0 } else { *left - read as u64 };
                if *left > 0 {
                    return Ok(Step::NotYet);
                }
                if let Some(tail) = tail.take() {
                    file.seek(tail).map_err(|_| GONE)?;
                    *left = HASHED;
                    return Ok(Step::NotYet);
                }
                let key = kept::hex(&hash.finalize_reset());
                if let Some(known) = self.kept.get(&key) {
                    return Ok(Step::Known(known));
                }
                let track = Box::new(Track::open(&self.path)?);
                let meter = EbuR128::new(2, track.rate.hz(), Mode::I)
                    .map_err(|_| "its rate cannot be measured")?;
                self.stage = Stage::Decoding {
                    key,
                    track,
                    meter: Box::new(meter),
                    frames: 0,
                    left: Vec::with_capacity(STEP),
                    right: Vec::with_capacity(STEP),
                };
                Ok(Step::NotYet)
            }
            Stage::Decoding {
                key,
                track,
                meter,
                frames,
                left,
                right,
            } => {
                left.clear();
                right.clear();
                let more = track.read(STEP, left, right);
                *frames += left.len() as u64;
                meter
                    .add_frames_planar_f32(&[left, right])
                    .map_err(|_| "it cannot be measured")?;
                let hz = u64::from(track.rate.hz());
                if more && *frames < LONGEST_SECS * hz {
                    return Ok(Step::NotYet);
                }
                // A second or a twentieth less is what headers are wrong by; more is missing.
                let cut = |said: u64| *frames + (said / 20).max(hz) < said;
                let known = Measured {
                    loudness: meter.loudness_global().unwrap_or(f64::NEG_INFINITY) as f32,
                    frames: *frames * u64::from(SampleRate::OUTPUT.hz()) / hz,
                    cut: track.cut || !more && track.said.is_some_and(cut),
                };
                self.kept.put(key, known);
                Ok(Step::Known(known))
            }
        }
    }
}

const GONE: &str = "it cannot be read any more";
