//! How the program ends: one code for each kind of ending, in one place.

use crate::live::service::SingleError;
use crate::sound::out::DeviceError;
use crate::sound::out::FileError;
use std::process::ExitCode;

/// An ending that is no success. Its message was or will be printed to standard error.
#[derive(Debug)]
pub enum Failure {
    /// Advice was given, and `--strict` asked for none.
    Advice,
    /// The session files have faults; they were printed.
    Faults,
    /// A file could not be read or written.
    File(String),
    /// There is no way to make the sound heard.
    Device(String),
    /// A voice, or a speaker, is not to be had.
    Voice(String),
    /// Another one runs in the background already.
    Busy(String),
    /// Nothing runs that could be told or asked, or it refused.
    NotReached(String),
    /// Some of many could not be done; the others were.
    Some(String),
    /// The command line makes no sense.
    Usage(String),
    /// The user ended it before it was done.
    Interrupted,
}

impl Failure {
    /// Returns the exit code: the README lists them.
    pub fn code(&self) -> u8 {
        match self {
            Failure::Advice => 1,
            Failure::Faults => 2,
            Failure::File(_) => 3,
            Failure::Device(_) => 4,
            Failure::Voice(_) => 5,
            Failure::Busy(_) => 7,
            Failure::NotReached(_) => 6,
            Failure::Some(_) => 8,
            Failure::Usage(_) => USAGE,
            Failure::Interrupted => 130,
        }
    }

    /// Returns what is printed at the end, if not everything was said already.
    pub fn message(&self) -> Option<&str> {
        match self {
            Failure::File(message)
            | Failure::Device(message)
            | Failure::Voice(message)
            | Failure::Busy(message)
            | Failure::NotReached(message)
            | Failure::Some(message)
            | Failure::Usage(message) => Some(message),
            Failure::Advice | Failure::Faults | Failure::Interrupted => None,
        }
    }
}

/// The code for a command line that makes no sense (`EX_USAGE` of sysexits.h, BSD).
pub const USAGE: u8 = 64;

impl From<FileError> for Failure {
    fn from(error: FileError) -> Self {
        match error {
            FileError::Cancelled(_) => Failure::Interrupted,
            FileError::Exists(path) => Failure::File(format!(
                "{} is there already. Add --overwrite to replace it, or name another file",
                path.display()
            )),
            other => Failure::File(other.to_string()),
        }
    }
}

impl From<SingleError> for Failure {
    fn from(error: SingleError) -> Self {
        match error {
            SingleError::Running(_) => Failure::Busy(format!(
                "{error}. End it first: one that systemd started with \
                 `systemctl --user stop sidevoice`, any other with `kill` and its number"
            )),
            other => Failure::File(other.to_string()),
        }
    }
}

impl From<DeviceError> for Failure {
    fn from(error: DeviceError) -> Self {
        Failure::Device(format!(
            "{error}. `sidevoice render SESSION -o class.wav` writes the class to a file instead"
        ))
    }
}

impl From<Failure> for ExitCode {
    fn from(failure: Failure) -> Self {
        ExitCode::from(failure.code())
    }
}
