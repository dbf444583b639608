//! MP3 by LAME, with a tag of ID3 before it and LAME's own in its first frame, which tells players what to leave out.

use std::io;

use mp3lame_encoder::Bitrate;
use mp3lame_encoder::Builder;
use mp3lame_encoder::FlushGap;
use mp3lame_encoder::InterleavedPcm;
use mp3lame_encoder::Mode;
use mp3lame_encoder::Quality;

use super::Encoder;
use super::Offline;
use super::Patch;
use super::failed;
use super::id3::tag;
use crate::base::chapters::Contents;
use crate::base::units::SampleRate;

/// What LAME multiplies all samples by at this bit rate (its `presets.c`), so that what is already at full scale does
/// not clip in decoders. Ours leave a decibel free, and are to be as loud as in every other format.
const SCALED_BY: f32 = 0.95;

/// An MP3 file in the making.
pub struct Mp3 {
    encoder: mp3lame_encoder::Encoder,
    tag: Vec<u8>,
    /// The samples of a block, made louder.
    louder: Vec<f32>,
}

impl Mp3 {
    pub fn new(contents: &Contents) -> io::Result<Self> {
        let builder = Builder::new().ok_or_else(|| io::Error::from(io::ErrorKind::OutOfMemory))?;
        // 128 kbit/s, joint stereo: speech and a bed far below it, in a file that every player can seek in.
        let encoder = builder
            .with_sample_rate(SampleRate::OUTPUT.hz())
            .and_then(|it| it.with_num_channels(Offline::CHANNELS as u8))
            .and_then(|it| it.with_brate(Bitrate::Kbps128))
            .and_then(|it| it.with_mode(Mode::JointStereo))
            .and_then(|it| it.with_quality(Quality::Good))
            .and_then(|it| it.with_to_write_vbr_tag(true))
            .and_then(Builder::build)
            .map_err(failed)?;
        Ok(Self {
            encoder,
            tag: tag(contents)?,
            louder: Vec::new(),
        })
    }
}

impl Encoder for Mp3 {
    fn begin(&mut self, bytes: &mut Vec<u8>) -> io::Result<()> {
        bytes.extend(&self.tag);
        Ok(())
    }

    fn block(&mut self, block: &[f32], bytes: &mut Vec<u8>) -> io::Result<()> {
        if block.is_empty() {
            return Ok(());
        }
        bytes.reserve(mp3lame_encoder::max_required_buffer_size(block.len()));
        self.louder.clear();
        self.louder.extend(block.iter().map(|it| it / SCALED_BY));
        let encoded = self
            .encoder
            .encode_to_vec(InterleavedPcm(&self.louder[..]), bytes);
        encoded.map(drop).map_err(failed)
    }

    fn end(&mut self, bytes: &mut Vec<u8>) -> io::Result<Vec<Patch>> {
        bytes.reserve(mp3lame_encoder::max_required_buffer_size(0));
        let encoded = self.encoder.flush_to_vec::<FlushGap>(bytes);
        encoded.map(drop).map_err(failed)?;
        // The first frame was left empty for it.
        let mut first = Vec::with_capacity(self.encoder.lame_tag_size());
        self.encoder.lame_tag_encode_to_vec(&mut first);
        Ok(vec![Patch {
            at: self.tag.len() as u64,
            bytes: first,
        }])
    }
}
