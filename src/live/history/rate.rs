//! The effort felt, told after a run.

use super::Entry;
use super::Happening;
use super::Rate;
use super::live_file::is_live;
use super::read;
use super::run::Run;
use jiff::Timestamp;
use std::fs::OpenOptions;
use std::io;
use std::io::Read;
use std::io::Seek;
use std::io::SeekFrom;
use std::io::Write;
use std::path::Path;
use thiserror::Error;

/// Why an answer was not written.
#[derive(Debug, Error)]
pub enum RateError {
    #[error("the record holds no run that waits for it")]
    NoneWaits,
    #[error("that run still goes on")]
    GoesOn,
    #[error("it cannot be written: {0}")]
    File(#[from] io::Error),
}

/// Writes the effort felt, or that it is left open, to the last run without an answer, if a work was
/// begun in it; returns the run.
///
/// # Errors
///
/// [`RateError`] says why nothing was written.
pub fn rate(folder: &Path, felt: Option<u8>, now: Timestamp) -> Result<Run, RateError> {
    let runs = read(folder).runs;
    let waits = |run: &Run| run.rate().is_none() && run.begun() > 0;
    let mut run = runs.into_iter().rfind(waits).ok_or(RateError::NoneWaits)?;
    let at_ms = run.entries.last().map_or(0, |entry| entry.at_ms);
    let rate = Rate { felt, later: true };
    let entry = Entry::new(now, at_ms, Happening::Rate(rate));
    let mut line = serde_json::to_vec(&entry).map_err(io::Error::other)?;
    line.push(b'\n');
    let mut file = OpenOptions::new().read(true).append(true).open(&run.file)?;
    if is_live(&file) {
        return Err(RateError::GoesOn);
    }
    let mut bytes = Vec::new();
    file.seek(SeekFrom::Start(0))?;
    file.read_to_end(&mut bytes)?;
    let whole = match bytes.iter().rposition(|byte| *byte == b'\n') {
        Some(at) => at + 1,
        None => 0,
    };
    if run.torn {
        // What a power cut left of a line is none: the answer must not be glued to it.
        file.set_len(whole as u64)?;
    } else if whole < bytes.len() {
        line.insert(0, b'\n');
    }
    file.write_all(&line)?;
    file.sync_data()?;
    run.entries.push(entry);
    Ok(run)
}
