//! WAV: samples as they are, then title and chapters as chunks of RIFF.

use std::io;
use std::io::Cursor;

use hound::SampleFormat;
use hound::WavSpec;
use hound::WavWriter;

use super::Bits;
use super::Encoder;
use super::Offline;
use super::Patch;
use crate::base::chapters::Contents;
use crate::base::units::FrameAt;
use crate::base::units::Frames;
use crate::base::units::SampleRate;

/// What the sizes in a WAV file, 32 bits each, can say, less room for the headers.
const MOST_BYTES: u64 = u32::MAX as u64 - 1024;

/// A WAV file in the making.
pub struct Wav {
    bits: Bits,
    /// Bytes of samples.
    data: u64,
    /// What stands behind them.
    tail: Vec<u8>,
}

impl Wav {
    /// Begins a file of so many frames; `None` where it would be too large for its format.
    pub fn new(bits: Bits, contents: &Contents, length: Frames) -> Option<Self> {
        let frame = u64::from(Offline::CHANNELS) * u64::from(bits.count() / 8);
        let data = length.count().checked_mul(frame)?;
        let tail = [title(contents), marks(contents, length)].concat();
        let whole = data.checked_add(tail.len() as u64)?;
        (whole <= MOST_BYTES).then_some(Self { bits, data, tail })
    }
}

impl Encoder for Wav {
    fn begin(&mut self, bytes: &mut Vec<u8>) -> io::Result<()> {
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
        let outer = header.len() as u64 - 8 + self.data + self.tail.len() as u64;
        let sizes = [(4, outer), (header.len() - 4, self.data)];
        for (place, size) in sizes {
            header[place..place + 4].copy_from_slice(&(size as u32).to_le_bytes());
        }
        bytes.extend(header);
        Ok(())
    }

    fn block(&mut self, block: &[f32], bytes: &mut Vec<u8>) -> io::Result<()> {
        self.bits.encode(block, bytes);
        Ok(())
    }

    fn end(&mut self, bytes: &mut Vec<u8>) -> io::Result<Vec<Patch>> {
        // A frame is an even number of bytes, so the chunk of samples needs none to make it even.
        bytes.append(&mut self.tail);
        Ok(Vec::new())
    }
}

/// Makes the list that names the whole (`INAM`); nothing without a title.
fn title(contents: &Contents) -> Vec<u8> {
    match contents.title.as_str() {
        "" => Vec::new(),
        title => list(b"INFO", &chunk(b"INAM", &text(title))),
    }
}

/// Makes a mark for each chapter that holds no other (`cue `), with its title (`labl`) and how long it lasts (`ltxt`);
/// nothing without chapters.
fn marks(contents: &Contents, length: Frames) -> Vec<u8> {
    let leaves = contents.leaves();
    if leaves.is_empty() {
        return Vec::new();
    }
    // What is longer than 32 bits can count is too large for the samples too.
    let frame = |at: FrameAt| (at.index().min(length.count()) as u32).to_le_bytes();
    let mut points = (leaves.len() as u32).to_le_bytes().to_vec();
    // All labels, then all regions: a reader that takes them in pairs loses the names after the first.
    let (mut labels, mut regions) = (Vec::new(), Vec::new());
    for (leaf, id) in leaves.iter().zip(1u32..) {
        let id = id.to_le_bytes();
        let start = SampleRate::OUTPUT.frame_at(leaf.start);
        let lasts = SampleRate::OUTPUT.frame_at(leaf.end).since(start);
        let at = frame(start);
        // Its place in the order of playing, then in the one chunk of samples there is.
        points.extend([&id[..], &at, b"data", &[0; 8], &at].concat());
        labels.extend(chunk(b"labl", &[&id[..], &text(&leaf.title)].concat()));
        let lasts = frame(FrameAt::START + lasts);
        // Country, language, dialect and code page are left open: it has no text of its own.
        let region = [&id[..], &lasts, b"rgn ", &[0; 8]].concat();
        regions.extend(chunk(b"ltxt", &region));
    }
    labels.append(&mut regions);
    [chunk(b"cue ", &points), list(b"adtl", &labels)].concat()
}

fn list(kind: &[u8; 4], chunks: &[u8]) -> Vec<u8> {
    chunk(b"LIST", &[&kind[..], chunks].concat())
}

/// Makes a chunk: its name, its size, its bytes, and one more where they are odd, which the size does not count.
fn chunk(name: &[u8; 4], bytes: &[u8]) -> Vec<u8> {
    let size = (bytes.len() as u32).to_le_bytes();
    let even: &[u8] = if bytes.len() % 2 == 1 { &[0] } else { &[] };
    [&name[..], &size, bytes, even].concat()
}

/// Makes a text that ends with a zero.
fn text(text: &str) -> Vec<u8> {
    [text.as_bytes(), &[0]].concat()
}
