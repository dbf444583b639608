//! Writes a session to a WAV file: 48 kHz, stereo, 16 or 24 bit.

use std::io;
use std::io::BufWriter;
use std::io::Seek;
use std::io::Write;
use std::ops::ControlFlow;
use std::path::Path;

use hound::SampleFormat;
use hound::WavSpec;
use hound::WavWriter;

use super::FileError;
use super::Offline;
use super::Progress;
use super::Target;
use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::mix::Clip;

/// Bits a sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Bits {
    #[default]
    Sixteen,
    TwentyFour,
}

/// How a WAV file is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Wav {
    pub bits: Bits,
    /// Whether a file that is there is replaced.
    pub overwrite: bool,
}

/// What the sizes in a WAV file, 32 bits each, can say, less room for the headers.
const MOST_BYTES: u64 = u32::MAX as u64 - 1024;

/// Renders `length` frames of `clips`, in any order, to a file at `path`: stereo, 48 kHz.
///
/// Values are rounded to the nearest, without dither: outside clips the samples have to be digital
/// zeros, and at -18 LUFS speech lies some 70 dB above a step of 16 bits. `progress` is told after
/// every block and may break off. A file is there whole or not at all.
///
/// # Errors
///
/// [`FileError`].
pub fn write_wav(
    path: &Path,
    wav: Wav,
    clips: Vec<Clip>,
    length: Frames,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<(), FileError> {
    let frame = u64::from(Offline::CHANNELS) * u64::from(wav.bits.count() / 8);
    if length
        .count()
        .checked_mul(frame)
        .is_none_or(|bytes| bytes > MOST_BYTES)
    {
        return Err(FileError::TooLong(path.into()));
    }
    let mut target = Target::begin(path, wav.overwrite)?;
    let mut offline = Offline::new(clips, length);
    let failed = |error| FileError::of(io_error(error), path);
    let mut writer = WavWriter::new(BufWriter::new(target.file()), wav.spec()).map_err(failed)?;
    while let Some(block) = offline.next_block() {
        write(&mut writer, wav.bits, block).map_err(failed)?;
        if progress(offline.progress()).is_break() {
            return Err(FileError::Cancelled(path.into()));
        }
    }
    debug_assert_eq!(offline.lost(), 0, "clips were not played");
    writer.finalize().map_err(failed)?;
    target.finish()
}

impl Wav {
    fn spec(self) -> WavSpec {
        WavSpec {
            channels: Offline::CHANNELS,
            sample_rate: SampleRate::OUTPUT.hz(),
            bits_per_sample: self.bits.count(),
            sample_format: SampleFormat::Int,
        }
    }
}

impl Bits {
    fn count(self) -> u16 {
        match self {
            Bits::Sixteen => 16,
            Bits::TwentyFour => 24,
        }
    }
}

fn write<W: Write + Seek>(
    writer: &mut WavWriter<W>,
    bits: Bits,
    block: &[f32],
) -> Result<(), hound::Error> {
    match bits {
        Bits::Sixteen => {
            let mut writer = writer.get_i16_writer(block.len() as u32);
            for sample in block {
                writer.write_sample(whole(*sample, 1 << 15) as i16);
            }
            writer.flush()
        }
        Bits::TwentyFour => {
            for sample in block {
                writer.write_sample(whole(*sample, 1 << 23))?;
            }
            Ok(())
        }
    }
}

/// Rounds a sample to the nearest whole number of steps, of which full scale has `scale`; halves
/// away from zero. The highest value is one step below full scale.
fn whole(sample: f32, scale: i32) -> i32 {
    let scaled = sample * scale as f32;
    ((scaled + 0.5f32.copysign(scaled)) as i32).clamp(-scale, scale - 1)
}

fn io_error(error: hound::Error) -> io::Error {
    match error {
        hound::Error::IoError(error) => error,
        error => io::Error::other(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_rounded_to_the_nearest_and_zero_stays_zero() {
        assert_eq!(whole(0.0, 1 << 15), 0);
        assert_eq!(whole(-0.0, 1 << 15), 0);
        assert_eq!(whole(0.49 / 32768.0, 1 << 15), 0);
        assert_eq!(whole(-0.5 / 32768.0, 1 << 15), -1);
        assert_eq!(whole(1.0, 1 << 15), 32767);
        assert_eq!(whole(-1.0, 1 << 15), -32768);
        assert_eq!(whole(0.25, 1 << 23), 1 << 21);
    }
}
