//! The other end of the socket: what `tell` and `status` use.

use super::super::Status;
use super::super::Verb;
use super::Answer;
use super::Request;
use super::SOCKET;
use std::io;
use std::io::BufRead;
use std::io::BufReader;
use std::io::Write;
use std::os::unix::net::UnixStream;
use std::path::Path;
use std::time::Duration;

/// The program answers at once; who waits longer waits in vain.
const ANSWERS_WITHIN: Duration = Duration::from_secs(5);

/// A connection to the program that runs.
pub struct Client {
    to: UnixStream,
    from: BufReader<UnixStream>,
}

/// Why nothing came of it.
#[derive(Debug, thiserror::Error)]
pub enum NotReached {
    #[error(
        "nothing is running that could be told or asked. Start a class with `sidevoice run SESSION`"
    )]
    NothingRuns,
    #[error("{0}")]
    Refused(String),
    #[error("the running sidevoice does not answer: {0}")]
    Broken(String),
}

impl Client {
    /// Connects to the program that runs.
    ///
    /// # Errors
    ///
    /// [`NotReached::NothingRuns`] where nobody listens.
    pub fn connect(folder: &Path) -> Result<Self, NotReached> {
        let to = UnixStream::connect(folder.join(SOCKET)).map_err(|error| match error.kind() {
            io::ErrorKind::NotFound | io::ErrorKind::ConnectionRefused => NotReached::NothingRuns,
            _ => broken(error),
        })?;
        to.set_read_timeout(Some(ANSWERS_WITHIN)).map_err(broken)?;
        to.set_write_timeout(Some(ANSWERS_WITHIN)).map_err(broken)?;
        let from = BufReader::new(to.try_clone().map_err(broken)?);
        Ok(Self { to, from })
    }

    /// Tells a verb and waits until it is taken.
    ///
    /// # Errors
    ///
    /// [`NotReached`] says why it was not.
    pub fn tell(&mut self, verb: Verb) -> Result<(), NotReached> {
        self.ask(&Request::Tell(verb))?;
        let line = self.line()?.ok_or_else(ended)?;
        taken(&line)
    }

    /// Returns what runs.
    ///
    /// # Errors
    ///
    /// [`NotReached`] where there is no answer.
    pub fn status(&mut self) -> Result<Status, NotReached> {
        self.ask(&Request::Status { follow: false })?;
        let line = self.line()?.ok_or_else(ended)?;
        status(&line)
    }

    /// Hands each status to `see`, until the class ends or `see` has had enough.
    ///
    /// # Errors
    ///
    /// [`NotReached`] where there is no answer.
    pub fn follow(&mut self, mut see: impl FnMut(Status) -> bool) -> Result<(), NotReached> {
        self.ask(&Request::Status { follow: true })?;
        // A class that is paused has no news for as long as it is.
        self.to.set_read_timeout(None).map_err(broken)?;
        while let Some(line) = self.line()? {
            if !see(status(&line)?) {
                break;
            }
        }
        Ok(())
    }

    fn ask(&mut self, request: &Request) -> Result<(), NotReached> {
        match writeln!(self.to, "{}", request.line()) {
            // Refused before it asked: the answer that says why is there to be read.
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            asked => asked.map_err(broken),
        }
    }

    fn line(&mut self) -> Result<Option<String>, NotReached> {
        let mut line = String::new();
        let read = self.from.read_line(&mut line).map_err(broken)?;
        Ok((read > 0).then_some(line))
    }
}

/// Reads a status, or why there is none.
fn status(line: &str) -> Result<Status, NotReached> {
    if let Ok(status) = serde_json::from_str(line) {
        return Ok(status);
    }
    taken(line)?;
    Err(NotReached::Broken("it tells no status".to_owned()))
}

fn taken(line: &str) -> Result<(), NotReached> {
    let answer: Answer = serde_json::from_str(line)
        .map_err(|error| NotReached::Broken(format!("its answer cannot be read: {error}")))?;
    match answer.ok {
        true => Ok(()),
        false => Err(NotReached::Refused(answer.error.unwrap_or_default())),
    }
}

fn broken(error: io::Error) -> NotReached {
    NotReached::Broken(error.to_string())
}

fn ended() -> NotReached {
    NotReached::Broken("it closed the connection".to_owned())
}
