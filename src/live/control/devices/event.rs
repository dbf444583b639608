//! Reading what an input device sends: `struct input_event` of linux/input.h, 24 bytes on 64-bit
//! machines: a time of two words, type, code, value.

use std::io;
use std::io::Read;

/// Bytes of an event, and where its type begins: after the time.
const TIME: usize = 2 * size_of::<usize>();
pub const SIZE: usize = TIME + 8;

/// `EV_KEY`, and the value of a press; 0 is a release, 2 the repeat of a key held down.
const KEY: u16 = 1;
const DOWN: i32 = 1;

/// Something with buttons, of which each press is read: a device, or what stands in for one.
pub trait Buttons {
    /// Returns the code of the next press, `None` where there is none to read yet.
    ///
    /// # Errors
    ///
    /// Where the device is gone.
    fn pressed(&mut self) -> io::Result<Option<u16>>;
}

/// Reads events from bytes.
pub struct Events<R> {
    from: R,
    held: [u8; SIZE],
    filled: usize,
}

impl<R: Read> Events<R> {
    /// Makes the reader.
    pub fn new(from: R) -> Self {
        Self {
            from,
            held: [0; SIZE],
            filled: 0,
        }
    }

    /// Returns what is read from.
    pub fn from(&self) -> &R {
        &self.from
    }
}

impl<R: Read> Buttons for Events<R> {
    fn pressed(&mut self) -> io::Result<Option<u16>> {
        loop {
            match self.from.read(&mut self.held[self.filled..]) {
                Ok(0) => return Err(io::ErrorKind::UnexpectedEof.into()),
                Ok(read) => self.filled += read,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => return Ok(None),
                Err(error) => return Err(error),
            }
            if self.filled < SIZE {
                continue;
            }
            self.filled = 0;
            let half = |at: usize| u16::from_ne_bytes([self.held[at], self.held[at + 1]]);
            let value = [4, 5, 6, 7].map(|at| self.held[TIME + at]);
            if half(TIME) == KEY && i32::from_ne_bytes(value) == DOWN {
                return Ok(Some(half(TIME + 2)));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn event(kind: u16, code: u16, value: i32) -> Vec<u8> {
        let mut bytes = vec![7; TIME];
        bytes.extend(kind.to_ne_bytes());
        bytes.extend(code.to_ne_bytes());
        bytes.extend(value.to_ne_bytes());
        bytes
    }

    /// Gives a few bytes at a time.
    struct Slow<'a>(&'a [u8]);

    impl Read for Slow<'_> {
        fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
            let some = into.len().min(5).min(self.0.len());
            self.0.read(&mut into[..some])
        }
    }

    #[test]
    fn a_press_is_read_once_however_long_the_button_is_held() {
        // 164 is KEY_PLAYPAUSE, 163 KEY_NEXTSONG (linux/input-event-codes.h).
        let bytes = [
            event(4, 4, 458_792),
            event(1, 164, 1),
            event(0, 0, 0),
            event(1, 164, 2),
            event(1, 164, 2),
            event(1, 164, 0),
            event(1, 163, 1),
        ]
        .concat();
        assert!(cfg!(target_pointer_width = "32") || bytes.len() == 7 * 24);
        let mut events = Events::new(Slow(&bytes));
        assert_eq!(events.pressed().unwrap(), Some(164));
        assert_eq!(events.pressed().unwrap(), Some(163));
        assert!(events.pressed().is_err());
    }
}
