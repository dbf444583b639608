//! A take as bytes: a header, the words, the samples, and a checksum over all of it.

use std::sync::Arc;

use crate::base::units::Frames;
use crate::sound::speech::SpokenWord;
use crate::sound::speech::Take;
use crate::sound::speech::finish;

const MAGIC: [u8; 8] = *b"svtake01";
/// Magic, onset, end, number of samples, number of words.
const HEADER: usize = 8 + 4 * 4;
const CHECKSUM: usize = 8;

/// Writes a take.
pub fn encode(take: &Take) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(take.samples.len() * 2 + 1024);
    let number = |bytes: &mut Vec<u8>, value: u64| {
        // Four bytes hold a day of frames; a take is at most minutes.
        bytes.extend((value as u32).to_le_bytes());
    };
    bytes.extend(MAGIC);
    number(&mut bytes, take.onset.count());
    number(&mut bytes, take.end.count());
    number(&mut bytes, take.samples.len() as u64);
    number(&mut bytes, take.words.len() as u64);
    for word in &take.words {
        number(&mut bytes, word.onset.count());
        number(&mut bytes, word.end.count());
        number(&mut bytes, word.text.len() as u64);
        bytes.extend(word.text.as_bytes());
    }
    for sample in take.samples.iter() {
        bytes.extend(finish::to_stored(*sample).to_le_bytes());
    }
    let sum = checksum(&bytes);
    bytes.extend(sum.to_le_bytes());
    bytes
}

/// Reads a take; `None` if any byte of it is not as it was written.
pub fn decode(bytes: &[u8]) -> Option<Take> {
    let (body, sum) = bytes.split_at_checked(bytes.len().checked_sub(CHECKSUM)?)?;
    if body.len() < HEADER || body[..8] != MAGIC {
        return None;
    }
    if checksum(body) != u64::from_le_bytes(sum.try_into().ok()?) {
        return None;
    }
    let mut rest = &body[8..];
    let number = |rest: &mut &[u8]| {
        let (value, after) = rest.split_first_chunk::<4>()?;
        *rest = after;
        Some(u32::from_le_bytes(*value))
    };
    let onset = number(&mut rest)?;
    let end = number(&mut rest)?;
    let count = number(&mut rest)?;
    let mut words = Vec::new();
    for _ in 0..number(&mut rest)? {
        let (onset, end, length) = (number(&mut rest)?, number(&mut rest)?, number(&mut rest)?);
        let (text, after) = rest.split_at_checked(length as usize)?;
        rest = after;
        words.push(SpokenWord {
            text: std::str::from_utf8(text).ok()?.to_owned(),
            onset: Frames::new(u64::from(onset)),
            end: Frames::new(u64::from(end)),
        });
    }
    let (samples, odd) = rest.as_chunks::<2>();
    if !odd.is_empty() || samples.len() != count as usize || onset > end || end > count {
        return None;
    }
    let samples: Arc<[f32]> = samples
        .iter()
        .map(|bytes| finish::from_stored(i16::from_le_bytes(*bytes)))
        .collect();
    Some(Take {
        samples,
        onset: Frames::new(u64::from(onset)),
        end: Frames::new(u64::from(end)),
        words,
        aloud: false,
    })
}

/// A checksum against damage, not against malice, at memory speed: four lanes of 64 bits, each
/// step of which is reversible, so that no single changed word goes unnoticed.
fn checksum(bytes: &[u8]) -> u64 {
    const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
    let step = |lane: u64, word: u64| (lane ^ word).wrapping_mul(ODD).rotate_left(29);
    let mut lanes = [1u64, 2, 3, 4];
    let (blocks, rest) = bytes.as_chunks::<32>();
    for block in blocks {
        let (words, _) = block.as_chunks::<8>();
        for (lane, word) in lanes.iter_mut().zip(words) {
            *lane = step(*lane, u64::from_le_bytes(*word));
        }
    }
    let mut sum = bytes.len() as u64;
    for byte in rest {
        sum = step(sum, u64::from(*byte));
    }
    lanes.into_iter().fold(sum, step)
}
