//! Blocks of samples -> the bytes of a sound file: one file a format. What all of them share, from progress to a full
//! disk, is in `file.rs`.

mod comments;
mod flac;
#[cfg(feature = "mp3")]
mod id3;
#[cfg(feature = "mp3")]
mod mp3;
mod opus;
mod wav;

use std::fmt::Display;
use std::io;
use std::path::Path;

use super::Bits;
use super::FileError;
use super::Format;
use super::Offline;
use super::SoundFile;
use crate::base::units::Frames;
use flac::Flac;
use opus::Opus;
use wav::Wav;

/// Makes the bytes of a file, in order; what it holds of the samples does not grow with their number.
pub(super) trait Encoder {
    /// Appends what stands before all sound.
    ///
    /// # Errors
    ///
    /// That of the library that encodes; so do the others.
    fn begin(&mut self, bytes: &mut Vec<u8>) -> io::Result<()>;

    /// Appends what comes of a block: interleaved, stereo, full scale 1.0, of any length. It may come with a later one.
    fn block(&mut self, block: &[f32], bytes: &mut Vec<u8>) -> io::Result<()>;

    /// Appends what is left, and returns what is known only now and stands further up.
    fn end(&mut self, bytes: &mut Vec<u8>) -> io::Result<Vec<Patch>>;
}

/// Bytes that replace others.
#[derive(Debug)]
pub(super) struct Patch {
    /// Where in the file.
    pub at: u64,
    pub bytes: Vec<u8>,
}

/// Makes the encoder of a file that is to hold so many frames.
pub(super) fn encoder(
    path: &Path,
    sound: &SoundFile,
    length: Frames,
) -> Result<Box<dyn Encoder>, FileError> {
    let told = |error| FileError::of(error, path);
    let contents = &sound.contents;
    Ok(match sound.format {
        Format::Wav => match Wav::new(sound.bits, contents, length) {
            Some(wav) => Box::new(wav),
            None => return Err(FileError::TooLong(path.into())),
        },
        Format::Flac => Box::new(Flac::new(sound.bits, contents).map_err(told)?),
        Format::Opus => Box::new(Opus::new(contents).map_err(told)?),
        #[cfg(feature = "mp3")]
        Format::Mp3 => Box::new(mp3::Mp3::new(contents).map_err(told)?),
        #[cfg(not(feature = "mp3"))]
        Format::Mp3 => return Err(FileError::NotBuilt(path.into())),
    })
}

/// Passes on what a library says that could not encode.
fn failed(error: impl Display) -> io::Error {
    io::Error::other(error.to_string())
}
