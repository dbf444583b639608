//! What a file holds, told by its first bytes and never by its name.
//!
//! A decoder that looks for a beginning anywhere finds one in any file: what sounds like an MP3 in the middle of
//! a protected file is noise. So a file begins as its format says, or is none.

/// A format that can be played.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Wav,
    Flac,
    Mp3,
    Ogg,
}

impl Kind {
    /// Returns the ending that such a file should have.
    pub(super) fn ending(self) -> &'static str {
        match self {
            Kind::Wav => "wav",
            Kind::Flac => "flac",
            Kind::Mp3 => "mp3",
            Kind::Ogg => "ogg",
        }
    }
}

/// How much of a file's beginning is looked at.
pub(super) const HEAD: usize = 64 * 1024;

/// Returns how many bytes of tags (ID3v2.4, section 3.1) stand before the sound; none where none begins here.
pub(super) fn tag(head: &[u8]) -> Option<u64> {
    let [b'I', b'D', b'3', _, _, flags, a, b, c, d, ..] = *head else {
        return None;
    };
    let size = [a, b, c, d]
        .iter()
        .fold(0u64, |size, byte| size << 7 | u64::from(byte & 0x7f));
    let footer = if flags & 0x10 != 0 { 10 } else { 0 };
    Some(10 + size + footer)
}

/// Tells the format from what a file begins with, behind its tags; else says what it is instead.
pub(super) fn kind(head: &[u8]) -> Result<Kind, &'static str> {
    let at = |from: usize, bytes: &[u8]| head.get(from..from + bytes.len()) == Some(bytes);
    if head.is_empty() {
        return Err("it is empty");
    }
    if at(0, b"RIFF") && at(8, b"WAVE") {
        return Ok(Kind::Wav);
    }
    if at(0, b"fLaC") {
        return Ok(Kind::Flac);
    }
    if at(0, b"OggS") {
        let page = &head[..head.len().min(512)];
        let holds = |bytes: &[u8]| page.windows(bytes.len()).any(|w| w == bytes);
        return match () {
            () if holds(b"\x01vorbis") || holds(b"\x7fFLAC") => Ok(Kind::Ogg),
            () if holds(b"OpusHead") => Err("it is Opus, which is not read"),
            () => Err("it is Ogg without Vorbis, which is not read"),
        };
    }
    if at(4, b"ftyp") {
        return Err("it is MP4 (M4A, AAC), perhaps a protected one, which is not read");
    }
    if at(0, b"\x30\x26\xb2\x75\x8e\x66\xcf\x11") {
        return Err("it is Windows Media, perhaps a protected one, which is not read");
    }
    if at(0, b"FORM") {
        return Err("it is AIFF, which is not read");
    }
    if at(0, b"RF64") || at(0, b"BW64") {
        return Err("it is a WAV file of more than 4 GB, which is not read");
    }
    match (0..head.len()).any(|from| three_frames(&head[from..])) {
        true => Ok(Kind::Mp3),
        false => Err("it holds no sound that is known"),
    }
}

/// Whether three frames of MPEG layer III stand one behind the other: of any bytes, four in some two thousand
/// begin like one.
fn three_frames(mut from: &[u8]) -> bool {
    let mut first = None;
    for _ in 0..3 {
        let Some((length, like)) = frame(from) else {
            return false;
        };
        if *first.get_or_insert(like) != like {
            return false;
        }
        let Some(next) = from.get(length..) else {
            return false;
        };
        from = next;
    }
    true
}

/// Kilobits a second of layer III by index, for MPEG-1 and for the lower rates (ISO/IEC 11172-3, 13818-3).
const BIT_RATES: [[usize; 15]; 2] = [
    [
        0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320,
    ],
    [0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160],
];

/// Reads the header of a frame: its length, and what all frames of a file have in common.
fn frame(bytes: &[u8]) -> Option<(usize, [u8; 2])> {
    let [0xff, second, third, ..] = *bytes else {
        return None;
    };
    let (version, layer) = (second >> 3 & 3, second >> 1 & 3);
    let (bits, hz) = (usize::from(third >> 4), third >> 2 & 3);
    if second >> 5 != 7 || version == 1 || layer != 1 || bits == 0 || bits == 15 || hz == 3 {
        return None;
    }
    let lower = version != 3;
    let rate = [44_100, 48_000, 32_000][usize::from(hz)];
    let rate = match version {
        3 => rate,
        2 => rate / 2,
        _ => rate / 4,
    };
    let bits = BIT_RATES[usize::from(lower)][bits] * 1000;
    let padding = usize::from(third >> 1 & 1);
    let length = if lower { 72 } else { 144 } * bits / rate + padding;
    Some((length, [second & 0xfe, third & 0x0c]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_are_told_by_their_beginning() {
        assert_eq!(kind(b"RIFF\0\0\0\0WAVEfmt "), Ok(Kind::Wav));
        assert_eq!(kind(b"fLaC\0\0\0\x22"), Ok(Kind::Flac));
        assert_eq!(
            kind(b"OggS....................\x01vorbis..."),
            Ok(Kind::Ogg)
        );
        for (head, word) in [
            (&b""[..], "empty"),
            (b"OggS....................OpusHead...", "Opus"),
            (b"\0\0\0\x20ftypM4P ", "protected"),
            (b"\x30\x26\xb2\x75\x8e\x66\xcf\x11", "Windows"),
            (b"FORM\0\0\0\0AIFF", "AIFF"),
            (b"RF64\xff\xff\xff\xffWAVE", "4 GB"),
            (b"a list of what to buy", "no sound"),
        ] {
            assert!(kind(head).unwrap_err().contains(word), "{word}");
        }
    }

    #[test]
    fn three_frames_make_an_mp3_and_noise_makes_none() {
        // MPEG-1 layer III, 128 kbit/s, 44.1 kHz: 417 bytes a frame (ISO/IEC 11172-3, 2.4.2.3).
        let mut frames = vec![0; 700];
        for _ in 0..3 {
            frames.extend([0xff, 0xfb, 0x90, 0x00]);
            frames.extend([0x55; 413]);
        }
        assert_eq!(kind(&frames), Ok(Kind::Mp3));
        assert!(kind(&frames[..frames.len() - 417]).is_err());
        let mut state = 1u64;
        let mut noise = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) as u8
        };
        for _ in 0..20 {
            let noise: Vec<u8> = (0..HEAD).map(|_| noise()).collect();
            assert!(kind(&noise).is_err());
        }
    }

    #[test]
    fn tags_are_as_long_as_they_say() {
        assert_eq!(tag(b"ID3\x04\0\0\0\0\x02\x01rest"), Some(10 + 257));
        assert_eq!(tag(b"ID3\x04\0\x10\0\0\0\x05"), Some(10 + 5 + 10));
        assert_eq!(tag(b"fLaC"), None);
    }
}
