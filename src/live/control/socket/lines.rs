//! Reading lines of bounded length: what is longer is refused, not kept.

use std::io;
use std::io::Read;

/// The longest line that is read; a verb with a session's name takes a tenth of it.
pub const LONGEST: usize = 4096;

/// What reading gave.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Line {
    /// A line without its line feed; bytes that are no UTF-8 are replaced.
    Text(String),
    TooLong,
    End,
}

/// Reads lines.
pub(super) struct Lines<R> {
    from: R,
    held: Vec<u8>,
    /// How many of the held bytes were looked through.
    seen: usize,
    ended: bool,
}

impl<R: Read> Lines<R> {
    pub(super) fn new(from: R) -> Self {
        Self {
            from,
            held: Vec::new(),
            seen: 0,
            ended: false,
        }
    }

    /// Returns the next line; after one that is too long nothing more should be read.
    pub(super) fn next(&mut self) -> io::Result<Line> {
        loop {
            if let Some(end) = self.held[self.seen..].iter().position(|b| *b == b'\n') {
                let end = self.seen + end;
                let line = String::from_utf8_lossy(&self.held[..end]).into_owned();
                self.held.drain(..=end);
                self.seen = 0;
                return Ok(Line::Text(line));
            }
            self.seen = self.held.len();
            if self.held.len() > LONGEST {
                return Ok(Line::TooLong);
            }
            if self.ended {
                // A last line without its line feed is one, too.
                let last = std::mem::take(&mut self.held);
                self.seen = 0;
                return Ok(match last.is_empty() {
                    true => Line::End,
                    false => Line::Text(String::from_utf8_lossy(&last).into_owned()),
                });
            }
            let mut some = [0; 1024];
            match self.from.read(&mut some) {
                Ok(0) => self.ended = true,
                Ok(read) => self.held.extend_from_slice(&some[..read]),
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_read_one_by_one_and_a_long_one_is_refused() {
        let mut lines = Lines::new(&b"pause\n\nr\xffte 7\r\nskip"[..]);
        let mut text = || match lines.next().unwrap() {
            Line::Text(text) => text,
            other => format!("{other:?}"),
        };
        assert_eq!(
            [text(), text(), text(), text()],
            ["pause", "", "r\u{fffd}te 7\r", "skip"]
        );
        assert_eq!(text(), "End");

        let long = vec![b'x'; 1 << 20];
        let mut lines = Lines::new(&long[..]);
        assert_eq!(lines.next().unwrap(), Line::TooLong);
        assert!(lines.held.len() <= LONGEST + 1024);
    }
}
