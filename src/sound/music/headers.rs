//! What headers say that a decoder would stumble over, or would believe: rates of nothing, lengths that nobody
//! knew when they were written, ends that are not there.

use std::fs::File;
use std::io::Read;
use std::io::Result;
use std::io::Seek;
use std::io::SeekFrom;

/// Who writes a WAV file down a pipe does not know its length, and writes the largest: all of 32 bits (ffmpeg), or
/// of 31 (SoX, a little less).
const UNKNOWN: u32 = 0x7fff_0000;
/// No page of an Ogg file is longer: 27 bytes, 255 lengths, and 255 times 255 bytes (RFC 3533, section 6).
const LONGEST_PAGE: u64 = 27 + 255 + 255 * 255;

/// A file whose header may say something else than it does.
#[derive(Debug)]
pub(super) struct Mended {
    file: File,
    at: u64,
    /// Four bytes each, and where.
    mended: Vec<(u64, [u8; 4])>,
}

impl Mended {
    /// Takes a file as it is.
    pub(super) fn as_it_is(file: File) -> Self {
        Self {
            file,
            at: 0,
            mended: Vec::new(),
        }
    }

    /// Takes a WAV file that begins `from` bytes into a file of so many, with `head`.
    pub(super) fn wav(file: File, head: &[u8], from: u64, bytes: u64) -> Self {
        let mut mended = Vec::new();
        if let Some((at, said)) = data(head)
            && said >= UNKNOWN
            && let Some(there) = bytes.checked_sub(from + at as u64 + 8)
            && there < u64::from(said)
            && let (Ok(all), Ok(there)) = (u32::try_from(bytes - from - 8), u32::try_from(there))
        {
            mended.push((from + 4, all.to_le_bytes()));
            mended.push((from + at as u64 + 4, there.to_le_bytes()));
        }
        Self {
            mended,
            ..Self::as_it_is(file)
        }
    }
}

impl Read for Mended {
    fn read(&mut self, out: &mut [u8]) -> Result<usize> {
        let read = self.file.read(out)?;
        let from = self.at;
        self.at += read as u64;
        for (at, bytes) in &self.mended {
            for (place, byte) in (*at..).zip(bytes) {
                if (from..self.at).contains(&place) {
                    out[(place - from) as usize] = *byte;
                }
            }
        }
        Ok(read)
    }
}

impl Seek for Mended {
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.at = self.file.seek(to)?;
        Ok(self.at)
    }
}

/// The chunks of a WAV file: their names, where they begin, and how long they say that they are.
fn chunks(head: &[u8]) -> impl Iterator<Item = (&[u8], usize, u32)> {
    let mut at = 12;
    std::iter::from_fn(move || {
        let header = head.get(at..at + 8)?;
        let (name, length) = header.split_at(4);
        let length = u32::from_le_bytes(length.try_into().ok()?);
        let begins = at;
        at = at.checked_add(8 + length as usize + (length % 2) as usize)?;
        Some((name, begins, length))
    })
}

/// Where the samples of a WAV file begin, and how long they are said to be.
fn data(head: &[u8]) -> Option<(usize, u32)> {
    let (_, at, length) = chunks(head).find(|(name, ..)| *name == b"data")?;
    Some((at, length))
}

/// The rate that a WAV file says it has.
pub(super) fn wav_rate(head: &[u8]) -> Option<u32> {
    let (_, at, _) = chunks(head).find(|(name, ..)| *name == b"fmt ")?;
    let rate = head.get(at + 12..at + 16)?;
    Some(u32::from_le_bytes(rate.try_into().ok()?))
}

/// Whether an Ogg file ends within a page, or with one that is not the last of its stream: it says nowhere how
/// long it should be.
pub(super) fn ogg_is_cut(file: &mut File, bytes: u64) -> Result<bool> {
    file.seek(SeekFrom::Start(bytes.saturating_sub(LONGEST_PAGE)))?;
    let mut end = Vec::new();
    file.take(LONGEST_PAGE).read_to_end(&mut end)?;
    Ok(ends_early(&end))
}

fn ends_early(end: &[u8]) -> bool {
    let Some(last) = end.windows(4).rposition(|it| it == b"OggS") else {
        return false;
    };
    let page = &end[last..];
    let (Some(flags), Some(count)) = (page.get(5), page.get(26)) else {
        return true;
    };
    let Some(lengths) = page.get(27..27 + usize::from(*count)) else {
        return true;
    };
    let body: usize = lengths.iter().map(|it| usize::from(*it)).sum();
    let last_of_stream = flags & 4 != 0;
    !last_of_stream || page.len() < 27 + lengths.len() + body
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wav(rate: u32, said: u32, samples: usize) -> Vec<u8> {
        let mut bytes = b"RIFF\xff\xff\xff\xffWAVEfmt \x10\0\0\0\x01\0\x01\0".to_vec();
        bytes.extend(rate.to_le_bytes());
        bytes.extend((rate * 2).to_le_bytes());
        bytes.extend(b"\x02\0\x10\0LIST\x03\0\0\0odd\0data");
        bytes.extend(said.to_le_bytes());
        bytes.extend(vec![7; samples]);
        bytes
    }

    fn read(bytes: &[u8]) -> Vec<u8> {
        let mut file = tempfile::tempfile().unwrap();
        std::io::Write::write_all(&mut file, bytes).unwrap();
        let mut mended = Mended::wav(file, bytes, 0, bytes.len() as u64);
        mended.rewind().unwrap();
        let mut out = Vec::new();
        // In pieces that end within what is mended.
        while mended.by_ref().take(7).read_to_end(&mut out).unwrap() > 0 {}
        out
    }

    #[test]
    fn a_length_that_nobody_knew_is_that_of_the_file() {
        for said in [u32::MAX, 0x7fff_ffff - 36] {
            let written = wav(44_100, said, 100);
            let mended = read(&written);
            assert_eq!(data(&mended), Some((48, 100)));
            assert_eq!(mended[4..8], (written.len() as u32 - 8).to_le_bytes());
            assert_eq!(mended[56..], written[56..]);
        }
        // A file that was cut off says how long it was.
        let cut = wav(44_100, 1000, 100);
        assert_eq!(read(&cut), cut);
    }

    #[test]
    fn rates_are_read_and_nonsense_has_none() {
        assert_eq!(wav_rate(&wav(0, 4, 4)), Some(0));
        assert_eq!(wav_rate(&wav(44_100, 4, 4)), Some(44_100));
        assert_eq!(wav_rate(b"RIFF\0\0\0\0WAVEfmt \xff\xff\xff\xff"), None);
        assert_eq!(data(b"RIFF\0\0\0\0WAVEjunk\xff\xff\xff\xff"), None);
    }

    #[test]
    fn an_ogg_file_ends_with_the_last_page_of_its_stream() {
        // RFC 3533, section 6: flags at 5, lengths from 27 on.
        let page = |flags: u8| {
            let mut page = b"OggS\0".to_vec();
            page.push(flags);
            page.extend([0; 20]);
            page.extend([2, 255, 5]);
            page.extend([1; 260]);
            page
        };
        assert!(!ends_early(&[page(0), page(4)].concat()));
        assert!(ends_early(&[page(4), page(0)].concat()));
        let whole = page(4);
        for end in [10, 28, whole.len() - 1] {
            assert!(ends_early(&whole[..end]), "{end}");
        }
        assert!(!ends_early(b"no page"));
    }
}
