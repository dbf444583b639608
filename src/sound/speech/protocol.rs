//! The frames between the program and its speech engine: over a pipe, both ends the same binary.
//!
//! A frame is its length (u32), the version (u8), a kind (u8) and the rest; numbers are little
//! endian. Both directions are bounded, so that a broken peer cannot take all memory.

use std::io;
use std::io::Read;
use std::io::Write;

use crate::base::units::Frames;
use crate::base::units::SampleRate;
use crate::sound::speech::Rate;
use crate::sound::speech::Raw;
use crate::sound::speech::SpokenWord;
use crate::sound::speech::VoiceError;

/// The version of the frames; both ends refuse another one.
pub const VERSION: u8 = 1;

/// The longest request: a piece of text is at most some hundred bytes.
pub const MOST_ASKED: usize = 16 * 1024;

/// The longest answer: two and a half minutes of samples, for a piece of half a minute.
pub const MOST_ANSWERED: usize = 16 * 1024 * 1024;

const SPEAK: u8 = 1;
const SPOKEN: u8 = 2;
const FAILED: u8 = 3;

/// A text to be spoken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request {
    pub id: u32,
    pub rate: Rate,
    pub text: String,
}

/// What became of the request with the same number.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    pub id: u32,
    pub spoken: Result<Raw, VoiceError>,
}

/// Reads one frame's body; `None` at the end of the stream.
///
/// # Errors
///
/// If the stream breaks in mid-frame, the frame is longer than `most`, or of another version.
pub fn read(from: &mut impl Read, most: usize) -> io::Result<Option<Vec<u8>>> {
    let mut length = [0; 4];
    match from.read_exact(&mut length) {
        Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => return Ok(None),
        other => other?,
    }
    let length = u32::from_le_bytes(length) as usize;
    if length > most {
        return Err(broken("a frame that is too long"));
    }
    // Grows as the bytes come: a false length costs nothing.
    let mut body = Vec::new();
    from.take(length as u64).read_to_end(&mut body)?;
    if body.len() < length {
        return Err(broken("a frame that was cut short"));
    }
    if body.first() != Some(&VERSION) {
        return Err(broken("frames of another version"));
    }
    Ok(Some(body))
}

/// Writes one frame.
///
/// # Errors
///
/// If the other end is gone.
pub fn write(to: &mut impl Write, body: &[u8]) -> io::Result<()> {
    let length = u32::try_from(body.len()).map_err(|_| broken("a frame that is too long"))?;
    to.write_all(&length.to_le_bytes())?;
    to.write_all(body)?;
    to.flush()
}

impl Request {
    /// Makes the body of a frame.
    pub fn encode(&self) -> Vec<u8> {
        let mut body = vec![VERSION, SPEAK];
        body.extend(self.id.to_le_bytes());
        body.extend(self.rate.per_mille().to_le_bytes());
        body.extend(self.text.as_bytes());
        body
    }

    /// Reads the body of a frame; `None` if it is no request.
    pub fn decode(body: &[u8]) -> Option<Request> {
        let mut body = Body(body.get(1..)?);
        (body.byte()? == SPEAK).then_some(())?;
        Some(Request {
            id: body.u32()?,
            rate: Rate::from_per_mille(body.u16()?),
            text: String::from_utf8(body.0.to_vec()).ok()?,
        })
    }
}

impl Answer {
    /// Makes the body of a frame.
    pub fn encode(&self) -> Vec<u8> {
        let mut body = vec![VERSION];
        match &self.spoken {
            Ok(raw) => {
                body.reserve(raw.samples.len() * 4 + 1024);
                body.push(SPOKEN);
                body.extend(self.id.to_le_bytes());
                body.extend(raw.rate.hz().to_le_bytes());
                body.extend((raw.words.len() as u32).to_le_bytes());
                for word in &raw.words {
                    body.extend((word.onset.count() as u32).to_le_bytes());
                    body.extend((word.end.count() as u32).to_le_bytes());
                    body.extend((word.text.len() as u32).to_le_bytes());
                    body.extend(word.text.as_bytes());
                }
                for sample in &raw.samples {
                    body.extend(sample.to_le_bytes());
                }
            }
            Err(error) => {
                let (kind, message) = match error {
                    VoiceError::Text(message) => (0, message),
                    VoiceError::Model(message) => (1, message),
                    VoiceError::Engine(message) => (2, message),
                };
                body.push(FAILED);
                body.extend(self.id.to_le_bytes());
                body.push(kind);
                body.extend(message.as_bytes());
            }
        }
        body
    }

    /// Reads the body of a frame; `None` if it is no answer.
    pub fn decode(body: &[u8]) -> Option<Answer> {
        let mut body = Body(body.get(1..)?);
        let kind = body.byte()?;
        let id = body.u32()?;
        let spoken = match kind {
            SPOKEN => Ok(body.raw()?),
            FAILED => {
                let kind = body.byte()?;
                let message = String::from_utf8_lossy(body.0).into_owned();
                Err(match kind {
                    0 => VoiceError::Text(message),
                    1 => VoiceError::Model(message),
                    _ => VoiceError::Engine(message),
                })
            }
            _ => return None,
        };
        Some(Answer { id, spoken })
    }
}

/// What is left of a body.
struct Body<'a>(&'a [u8]);

impl Body<'_> {
    fn take(&mut self, count: usize) -> Option<&[u8]> {
        let (taken, rest) = self.0.split_at_checked(count)?;
        self.0 = rest;
        Some(taken)
    }

    fn byte(&mut self) -> Option<u8> {
        self.take(1).map(|bytes| bytes[0])
    }

    fn u16(&mut self) -> Option<u16> {
        let bytes = self.take(2)?;
        Some(u16::from_le_bytes(bytes.try_into().ok()?))
    }

    fn u32(&mut self) -> Option<u32> {
        let bytes = self.take(4)?;
        Some(u32::from_le_bytes(bytes.try_into().ok()?))
    }

    fn raw(&mut self) -> Option<Raw> {
        let hz = self.u32().filter(|hz| *hz > 0)?;
        let mut words = Vec::new();
        for _ in 0..self.u32()? {
            let (onset, end, length) = (self.u32()?, self.u32()?, self.u32()?);
            words.push(SpokenWord {
                text: String::from_utf8(self.take(length as usize)?.to_vec()).ok()?,
                onset: Frames::new(u64::from(onset)),
                end: Frames::new(u64::from(end)),
            });
        }
        let (samples, rest) = self.0.as_chunks::<4>();
        rest.is_empty().then(|| Raw {
            samples: samples
                .iter()
                .map(|bytes| f32::from_le_bytes(*bytes))
                .collect(),
            rate: SampleRate::from_hz(hz),
            words,
        })
    }
}

fn broken(what: &str) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, what)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn frames_come_out_as_they_went_in() {
        let request = Request {
            id: 7,
            rate: Rate::from_per_mille(1120),
            text: "Hips back.".to_owned(),
        };
        let raw = Raw {
            samples: vec![0.5, -0.25],
            rate: SampleRate::from_hz(24_000),
            words: vec![SpokenWord {
                text: "Hips".to_owned(),
                onset: Frames::new(1),
                end: Frames::new(2),
            }],
        };
        let answers = [
            Answer {
                id: 7,
                spoken: Ok(raw),
            },
            Answer {
                id: 8,
                spoken: Err(VoiceError::Model("hibari.onnx is damaged".to_owned())),
            },
        ];
        let mut pipe = Vec::new();
        write(&mut pipe, &request.encode()).unwrap();
        for answer in &answers {
            write(&mut pipe, &answer.encode()).unwrap();
        }
        let mut pipe = pipe.as_slice();
        let mut next = || read(&mut pipe, MOST_ANSWERED).unwrap();
        assert_eq!(Request::decode(&next().unwrap()), Some(request));
        for answer in answers {
            assert_eq!(Answer::decode(&next().unwrap()), Some(answer));
        }
        assert_eq!(next(), None);
    }

    #[test]
    fn frames_too_long_cut_short_or_of_another_version_are_refused() {
        let long = 5000u32.to_le_bytes();
        assert!(read(&mut long.as_slice(), 4999).is_err());
        assert!(read(&mut [9, 0, 0, 0, VERSION, 1].as_slice(), 100).is_err());
        assert!(read(&mut [1, 0, 0, 0, VERSION + 1].as_slice(), 100).is_err());
    }

    proptest! {
        #[test]
        fn any_bytes_are_read_without_harm(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
            let _ = read(&mut bytes.as_slice(), 100);
            let _ = Request::decode(&bytes);
            let _ = Answer::decode(&bytes);
        }
    }
}
