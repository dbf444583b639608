//! Opus (RFC 6716) in Ogg (RFC 7845): a stream that decodes to as many frames as were encoded.

use std::io;

use opus_pure::Application;
use opus_pure::MAX_PACKET_BYTES;
use opus_pure::OggOpusWriter;
use opus_pure::OpusEncoder;
use opus_pure::OpusHead;
use opus_pure::OpusTags;

use super::Encoder;
use super::Offline;
use super::Patch;
use super::comments;
use super::failed;
use crate::base::chapters::Contents;
use crate::base::units::SampleRate;

/// Bits a second: for music in stereo what many take for transparent (common practice), for speech ample.
const BIT_RATE: i32 = 96_000;

/// Frames in a packet, 20 ms: the codec's usual one.
const PACKET: usize = 960;

/// The number of the stream. The only one in its file may have any, and one by chance would make other bytes each time.
const SERIAL: u32 = 1;

/// An Opus file in the making.
pub struct Opus {
    encoder: OpusEncoder,
    /// Gone at the end.
    writer: Option<OggOpusWriter<Vec<u8>>>,
    /// Frames that a decoder leaves out at the beginning: the encoder's delay.
    skipped: u64,
    /// Samples that wait for their packet to be full, interleaved.
    waiting: Vec<f32>,
    packet: Vec<u8>,
    frames: u64,
}

impl Opus {
    pub fn new(contents: &Contents) -> io::Result<Self> {
        let (rate, channels) = (SampleRate::OUTPUT.hz(), usize::from(Offline::CHANNELS));
        let encoder = OpusEncoder::new(rate as i32, channels, Application::Audio);
        let mut encoder = encoder.map_err(failed)?;
        encoder.bitrate_bps = BIT_RATE;
        let head = OpusHead::for_encoder(&encoder, rate);
        let skipped = u64::from(head.pre_skip);
        let mut tags = OpusTags {
            vendor: comments::VENDOR.to_owned(),
            comments: Vec::new(),
        };
        for (name, value) in comments::comments(contents) {
            tags.push(&name, &value).map_err(failed)?;
        }
        let writer = OggOpusWriter::with_serial(Vec::new(), head, tags, SERIAL);
        Ok(Self {
            encoder,
            writer: Some(writer.map_err(failed)?),
            skipped,
            waiting: Vec::with_capacity(PACKET * channels),
            packet: vec![0; MAX_PACKET_BYTES],
            frames: 0,
        })
    }

    /// Encodes the packet that waits, filled with silence where it is not full. The last one says where the sound ends
    /// in it.
    fn encode(&mut self, last: bool) -> io::Result<()> {
        let channels = usize::from(Offline::CHANNELS);
        self.waiting.resize(PACKET * channels, 0.0);
        let Some(writer) = &mut self.writer else {
            return Ok(());
        };
        let size = self.encoder.encode(&self.waiting, PACKET, &mut self.packet);
        let packet = &self.packet[..size.map_err(failed)?];
        let written = match last {
            true => {
                let end = self.skipped + self.frames;
                let left = end.saturating_sub(writer.granule() as u64);
                writer.write_packet_with_duration(packet, left as u32)
            }
            false => writer.write_packet(packet),
        };
        self.waiting.clear();
        written.map_err(failed)
    }

    /// Fetches the pages that are full.
    fn fetch(&mut self, bytes: &mut Vec<u8>) {
        if let Some(pages) = self.writer.as_mut().and_then(OggOpusWriter::get_mut) {
            bytes.append(pages);
        }
    }
}

impl Encoder for Opus {
    fn begin(&mut self, bytes: &mut Vec<u8>) -> io::Result<()> {
        self.fetch(bytes);
        Ok(())
    }

    fn block(&mut self, block: &[f32], bytes: &mut Vec<u8>) -> io::Result<()> {
        for sample in block {
            self.waiting.push(*sample);
            if self.waiting.len() == PACKET * usize::from(Offline::CHANNELS) {
                self.encode(false)?;
            }
        }
        self.frames += (block.len() / usize::from(Offline::CHANNELS)) as u64;
        self.fetch(bytes);
        Ok(())
    }

    fn end(&mut self, bytes: &mut Vec<u8>) -> io::Result<Vec<Patch>> {
        // What is still in the encoder comes out with silence behind it.
        let packets = (self.frames + self.skipped).div_ceil(PACKET as u64);
        let written = self.frames / PACKET as u64;
        for packet in written..packets {
            self.encode(packet + 1 == packets)?;
        }
        if let Some(writer) = self.writer.take() {
            bytes.extend(writer.finish().map_err(failed)?);
        }
        Ok(Vec::new())
    }
}
