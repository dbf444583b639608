//! Writes a session to a WAV file: 48 kHz, stereo, 16 or 24 bit.

use std::io;
use std::io::Cursor;
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
use crate::base::units::SampleRate;

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

/// Renders a session to a file at `path`: stereo, 48 kHz.
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
    mut offline: Offline,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<(), FileError> {
    let length = offline.progress().of;
    let frame = u64::from(Offline::CHANNELS) * u64::from(wav.bits.count() / 8);
    if length
        .count()
        .checked_mul(frame)
        .is_none_or(|bytes| bytes > MOST_BYTES)
    {
        return Err(FileError::TooLong(path.into()));
    }
    let mut target = Target::begin(path, wav.overwrite)?;
    let header = wav.header(length.count() * frame);
    let header = header.map_err(|it| FileError::Io(path.into(), it))?;
    let failed = |error| FileError::of(error, path);
    target.file().write_all(&header).map_err(failed)?;
    let mut bytes = Vec::new();
    while let Some(block) = offline.next_block() {
        bytes.clear();
        wav.bits.encode(block, &mut bytes);
        target.file().write_all(&bytes).map_err(failed)?;
        if progress(offline.progress()).is_break() {
            return Err(FileError::Cancelled(path.into()));
        }
    }
    debug_assert_eq!(offline.lost(), 0, "clips were not played");
    target.finish()
}

impl Wav {
    /// Makes the header of a file with so many bytes of samples.
    fn header(self, bytes: u64) -> io::Result<Vec<u8>> {
        let spec = WavSpec {
            channels: Offline::CHANNELS,
            sample_rate: SampleRate::OUTPUT.hz(),
            bits_per_sample: self.bits.count(),
            sample_format: SampleFormat::Int,
        };
        // That of an empty file, with its two sizes set: the samples themselves are written block by
        // block, since one by one those of 24 bit took more time than all the mixing.
        let mut header = Cursor::new(Vec::new());
        let written = WavWriter::new(&mut header, spec).and_then(WavWriter::finalize);
        written.map_err(io::Error::other)?;
        let mut header = header.into_inner();
        let outer = header.len() as u64 - 8 + bytes;
        let sizes = [(4, outer), (header.len() - 4, bytes)];
        for (place, size) in sizes {
            header[place..place + 4].copy_from_slice(&(size as u32).to_le_bytes());
        }
        Ok(header)
    }
}

impl Bits {
    fn count(self) -> u16 {
        match self {
            Bits::Sixteen => 16,
            Bits::TwentyFour => 24,
        }
    }

    /// Appends samples as a WAV file has them: whole numbers, the lowest byte first.
    pub(super) fn encode(self, block: &[f32], bytes: &mut Vec<u8>) {
        match self {
            Bits::Sixteen => bytes.extend(block.iter().flat_map(|sample| {
                let [low, high, _, _] = whole(*sample, 1 << 15).to_le_bytes();
                [low, high]
            })),
            Bits::TwentyFour => bytes.extend(block.iter().flat_map(|sample| {
                let [low, middle, high, _] = whole(*sample, 1 << 23).to_le_bytes();
                [low, middle, high]
            })),
        }
    }
}

/// Rounds a sample to the nearest whole number of steps, of which full scale has `scale`; halves
/// away from zero. The highest value is one step below full scale.
fn whole(sample: f32, scale: i32) -> i32 {
    let scaled = sample * scale as f32;
    ((scaled + 0.5f32.copysign(scaled)) as i32).clamp(-scale, scale - 1)
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
