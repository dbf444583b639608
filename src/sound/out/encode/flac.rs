//! FLAC (RFC 9639), frame by frame: the crate's own way to a file holds all of it in memory.

use std::io;

use flacenc::bitsink::ByteSink;
use flacenc::component::BitRepr;
use flacenc::component::StreamInfo;
use flacenc::config;
use flacenc::error::Verified;
use flacenc::error::Verify;
use flacenc::source::Context;
use flacenc::source::Fill;
use flacenc::source::FrameBuf;

use super::Bits;
use super::Encoder;
use super::Offline;
use super::Patch;
use super::comments;
use super::failed;
use crate::base::chapters::Contents;
use crate::base::units::SampleRate;

/// Frames in a block, 85 ms: what the reference encoder takes at its usual level.
const BLOCK: usize = 4096;

/// The kinds of blocks of metadata, and the mark of the last one.
const STREAM_INFO: u8 = 0;
const COMMENTS: u8 = 4;
const LAST: u8 = 0x80;

/// Where the block of what is known of the stream lies: after `fLaC` and its own head.
const STREAM_INFO_AT: u64 = 8;

/// A FLAC file in the making.
pub struct Flac {
    bits: Bits,
    comments: Vec<u8>,
    config: Verified<config::Encoder>,
    stream: StreamInfo,
    /// Counts frames and sums up their samples (MD5).
    context: Context,
    buffer: FrameBuf,
    /// Samples that wait for their block to be full, interleaved.
    waiting: Vec<i32>,
    /// The least and the most bytes that a block came to.
    sizes: Option<(usize, usize)>,
    frames: u64,
}

impl Flac {
    pub fn new(bits: Bits, contents: &Contents) -> io::Result<Self> {
        let channels = usize::from(Offline::CHANNELS);
        let depth = usize::from(bits.count());
        let mut config = config::Encoder::default();
        config.block_size = BLOCK;
        let config = config.into_verified().map_err(|(_, error)| failed(error))?;
        let rate = SampleRate::OUTPUT.hz() as usize;
        Ok(Self {
            bits,
            comments: comments::block(contents),
            config,
            stream: StreamInfo::new(rate, channels, depth).map_err(failed)?,
            context: Context::new(depth, channels),
            buffer: FrameBuf::with_size(channels, BLOCK).map_err(failed)?,
            waiting: Vec::with_capacity(BLOCK * channels),
            sizes: None,
            frames: 0,
        })
    }

    /// Writes what is known of the stream: sizes of blocks in frames and bytes, rate, channels, bits, length, MD5.
    fn stream_info(&self) -> Vec<u8> {
        let block = (BLOCK as u16).to_be_bytes();
        let (least, most) = self.sizes.unwrap_or_default();
        let size = |bytes: usize| (bytes as u32).to_be_bytes()[1..].to_vec();
        // 20 bits of rate, 3 of channels less one, 5 of bits less one, 36 of length.
        let about = u64::from(SampleRate::OUTPUT.hz()) << 44
            | u64::from(Offline::CHANNELS - 1) << 41
            | u64::from(self.bits.count() - 1) << 36
            | self.frames & ((1 << 36) - 1);
        let mut bytes = [block, block].concat();
        bytes.extend(size(least));
        bytes.extend(size(most));
        bytes.extend(about.to_be_bytes());
        bytes.extend(self.context.md5_digest());
        bytes
    }

    /// Encodes the samples that wait, at most a block.
    fn encode(&mut self, bytes: &mut Vec<u8>) -> io::Result<()> {
        let channels = usize::from(Offline::CHANNELS);
        let frames = self.waiting.len() / channels;
        if frames == 0 {
            return Ok(());
        }
        let mut both = (&mut self.buffer, &mut self.context);
        both.fill_interleaved(&self.waiting).map_err(failed)?;
        let number = self.context.current_frame_number().unwrap_or_default();
        let frame =
            flacenc::encode_fixed_size_frame(&self.config, &self.buffer, number, &self.stream);
        let frame = frame.map_err(failed)?;
        let mut sink = ByteSink::new();
        frame.write(&mut sink).map_err(failed)?;
        let size = sink.as_slice().len();
        let (least, most) = self.sizes.unwrap_or((size, size));
        self.sizes = Some((least.min(size), most.max(size)));
        self.frames += frames as u64;
        bytes.extend(sink.as_slice());
        self.waiting.clear();
        Ok(())
    }
}

impl Encoder for Flac {
    fn begin(&mut self, bytes: &mut Vec<u8>) -> io::Result<()> {
        bytes.extend(b"fLaC");
        block(STREAM_INFO, &self.stream_info(), bytes)?;
        block(COMMENTS | LAST, &self.comments, bytes)
    }

    fn block(&mut self, block: &[f32], bytes: &mut Vec<u8>) -> io::Result<()> {
        for sample in block {
            self.waiting.push(self.bits.whole(*sample));
            if self.waiting.len() == BLOCK * usize::from(Offline::CHANNELS) {
                self.encode(bytes)?;
            }
        }
        Ok(())
    }

    fn end(&mut self, bytes: &mut Vec<u8>) -> io::Result<Vec<Patch>> {
        self.encode(bytes)?;
        Ok(vec![Patch {
            at: STREAM_INFO_AT,
            bytes: self.stream_info(),
        }])
    }
}

/// Appends a block of metadata: its kind, its size in 24 bits, its bytes.
fn block(kind: u8, of: &[u8], bytes: &mut Vec<u8>) -> io::Result<()> {
    let [0, size @ ..] = (of.len() as u32).to_be_bytes() else {
        return Err(io::Error::other(
            "titles and chapters take more than 16 MiB",
        ));
    };
    bytes.push(kind);
    bytes.extend(size);
    bytes.extend(of);
    Ok(())
}
