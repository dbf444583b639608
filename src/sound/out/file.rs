//! Writes a session to a sound file: 48 kHz, stereo, whole or not at all.

use std::io::Seek;
use std::io::SeekFrom;
use std::io::Write;
use std::ops::ControlFlow;
use std::path::Path;

use super::FileError;
use super::Offline;
use super::Progress;
use super::Target;
use super::encode;
use crate::base::chapters::Contents;

/// What a sound file is written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Format {
    /// Uncompressed; 4 GiB at most.
    #[default]
    Wav,
    /// Lossless: the same samples in about half the room.
    Flac,
    /// Lossy, read by everything; with the feature `mp3` alone.
    Mp3,
    /// Lossy (RFC 6716), in Ogg.
    Opus,
}

/// Bits a sample, where samples are kept as they are: in WAV and FLAC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Bits {
    #[default]
    Sixteen,
    TwentyFour,
}

/// How a sound file is written, and what it says of itself.
#[derive(Debug, Clone, Default)]
pub struct SoundFile {
    pub format: Format,
    pub bits: Bits,
    pub contents: Contents,
    /// Whether a file that is there is replaced.
    pub overwrite: bool,
}

impl Format {
    /// Tells whether this build of the program can write it.
    pub fn is_built(self) -> bool {
        self != Format::Mp3 || cfg!(feature = "mp3")
    }
}

/// Renders a session to a file at `path`, block by block: what it takes of memory does not grow with its length.
///
/// In WAV and FLAC values are rounded to the nearest, without dither: outside clips the samples have to be digital
/// zeros, and at -18 LUFS speech lies some 70 dB above a step of 16 bits. `progress` is told after every block and may
/// break off.
///
/// # Errors
///
/// [`FileError`].
pub fn write_sound(
    path: &Path,
    sound: &SoundFile,
    mut offline: Offline,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<(), FileError> {
    let failed = |error| FileError::of(error, path);
    let mut encoder = encode::encoder(path, sound, offline.progress().of)?;
    let mut target = Target::begin(path, sound.overwrite)?;
    let mut bytes = Vec::new();
    encoder.begin(&mut bytes).map_err(failed)?;
    while let Some(block) = offline.next_block() {
        encoder.block(block, &mut bytes).map_err(failed)?;
        target.file().write_all(&bytes).map_err(failed)?;
        bytes.clear();
        if progress(offline.progress()).is_break() {
            return Err(FileError::Cancelled(path.into()));
        }
    }
    debug_assert_eq!(offline.lost(), 0, "clips were not played");
    let patches = encoder.end(&mut bytes).map_err(failed)?;
    target.file().write_all(&bytes).map_err(failed)?;
    for patch in patches {
        let to = SeekFrom::Start(patch.at);
        target.file().seek(to).map_err(failed)?;
        target.file().write_all(&patch.bytes).map_err(failed)?;
    }
    target.finish()
}

impl Bits {
    pub(super) fn count(self) -> u16 {
        match self {
            Bits::Sixteen => 16,
            Bits::TwentyFour => 24,
        }
    }

    /// Rounds a sample to the nearest whole number of steps; halves away from zero. The highest value is one step
    /// below full scale.
    pub(super) fn whole(self, sample: f32) -> i32 {
        let scale = 1i32 << (self.count() - 1);
        let scaled = sample * scale as f32;
        ((scaled + 0.5f32.copysign(scaled)) as i32).clamp(-scale, scale - 1)
    }

    /// Appends samples as a WAV file has them: whole numbers, the lowest byte first.
    pub(super) fn encode(self, block: &[f32], bytes: &mut Vec<u8>) {
        match self {
            Bits::Sixteen => bytes.extend(block.iter().flat_map(|sample| {
                let [low, high, _, _] = Bits::Sixteen.whole(*sample).to_le_bytes();
                [low, high]
            })),
            Bits::TwentyFour => bytes.extend(block.iter().flat_map(|sample| {
                let [low, middle, high, _] = Bits::TwentyFour.whole(*sample).to_le_bytes();
                [low, middle, high]
            })),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_rounded_to_the_nearest_and_zero_stays_zero() {
        let whole = |sample| Bits::Sixteen.whole(sample);
        assert_eq!(whole(0.0), 0);
        assert_eq!(whole(-0.0), 0);
        assert_eq!(whole(0.49 / 32768.0), 0);
        assert_eq!(whole(-0.5 / 32768.0), -1);
        assert_eq!(whole(1.0), 32767);
        assert_eq!(whole(-1.0), -32768);
        assert_eq!(Bits::TwentyFour.whole(0.25), 1 << 21);
    }
}
