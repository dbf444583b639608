//! One file of the record as it is written: each line whole and on the disk, or still waiting.

use super::Entry;
use std::fs::File;
use std::fs::OpenOptions;
use std::io;
use std::io::ErrorKind;
use std::io::Write;
use std::path::Path;
use std::path::PathBuf;

/// So many runs of a session may begin in one second.
const MOST_IN_A_SECOND: u32 = 1000;
/// File names stay this short, whatever the session is called.
const LONGEST_ID: usize = 80;
/// What waits for a disk that takes nothing; an hour's class is about 300 kB.
const MOST_WAITING: usize = 1 << 20;

/// A file that lines are added to, locked against others while it is open.
#[derive(Debug)]
pub struct LiveFile {
    log: PathBuf,
    /// The name without its ending.
    stem: String,
    file: Option<File>,
    /// How much of the file is whole lines.
    whole: u64,
    waiting: Vec<u8>,
    lines_waiting: u64,
}

impl LiveFile {
    /// Makes the file of a run that begins now; nothing touches the disk yet.
    pub fn new(log: &Path, began: jiff::Timestamp, session: &str) -> Self {
        let id = session.chars().map(|c| match c {
            c if c.is_ascii_alphanumeric() || c == '-' => c,
            _ => '_',
        });
        let id: String = id.take(LONGEST_ID).collect();
        Self {
            log: log.to_owned(),
            // Colons are no part of a name on some disks.
            stem: began
                .strftime(&format!("%Y-%m-%dT%H-%M-%SZ-{id}"))
                .to_string(),
            file: None,
            whole: 0,
            waiting: Vec::new(),
            lines_waiting: 0,
        }
    }

    /// Adds a line and brings it, with all that waits, to the disk; returns how many lines got
    /// there. What does not get there waits for the next call.
    ///
    /// # Errors
    ///
    /// As the disk says. `StorageFull` too where more waits than is kept; then the line is gone.
    pub fn add(&mut self, entry: &Entry) -> io::Result<u64> {
        let line = serde_json::to_vec(entry).map_err(io::Error::other)?;
        if self.waiting.len() + line.len() > MOST_WAITING {
            return Err(ErrorKind::StorageFull.into());
        }
        self.waiting.extend(line);
        self.waiting.push(b'\n');
        self.lines_waiting += 1;
        self.bring()
    }

    fn bring(&mut self) -> io::Result<u64> {
        let file = match &mut self.file {
            Some(file) => file,
            None => {
                let made = make(&self.log, &self.stem)?;
                self.file.insert(made)
            }
        };
        // A line that the disk took in part before is written again whole.
        if file.metadata()?.len() > self.whole {
            file.set_len(self.whole)?;
        }
        file.write_all(&self.waiting)?;
        file.sync_data()?;
        self.whole += self.waiting.len() as u64;
        self.waiting.clear();
        Ok(std::mem::take(&mut self.lines_waiting))
    }
}

impl Drop for LiveFile {
    fn drop(&mut self) {
        // Closing alone would not do: a program that is being started holds the file for a moment too.
        if let Some(file) = &self.file {
            let _ = file.unlock();
        }
    }
}

/// Makes a file of its own in the folder, which is made too.
fn make(log: &Path, stem: &str) -> io::Result<File> {
    std::fs::create_dir_all(log)?;
    for count in 1..=MOST_IN_A_SECOND {
        let name = match count {
            1 => format!("{stem}.jsonl"),
            _ => format!("{stem}-{count}.jsonl"),
        };
        let mut options = OpenOptions::new();
        match options.append(true).create_new(true).open(log.join(name)) {
            Ok(file) => {
                // Tells whoever reads that the run goes on; a disk that knows no locks does not.
                let _ = file.try_lock();
                // So that the name outlives a power cut; not every system lets a folder be synced.
                let _ = File::open(log).and_then(|folder| folder.sync_all());
                return Ok(file);
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(ErrorKind::AlreadyExists.into())
}

/// Returns whether somebody still writes to a file.
pub fn is_live(file: &File) -> bool {
    matches!(
        file.try_lock_shared(),
        Err(std::fs::TryLockError::WouldBlock)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::live::history::Happening;
    use jiff::Timestamp;

    #[test]
    fn a_file_that_is_done_is_not_live_even_where_another_program_was_just_started() {
        let folder = tempfile::tempdir().unwrap();
        let mut live = LiveFile::new(folder.path(), Timestamp::UNIX_EPOCH, "short");
        let entry = Entry::new(Timestamp::UNIX_EPOCH, 0, Happening::GoneBack { to_ms: 0 });
        assert_eq!(live.add(&entry).unwrap(), 1);
        let path = folder.path().join("1970-01-01T00-00-00Z-short.jsonl");
        assert!(is_live(&File::open(&path).unwrap()));
        // As a program has it between its beginning and its own first step.
        let held = live.file.as_ref().unwrap().try_clone().unwrap();
        drop(live);
        assert!(!is_live(&File::open(&path).unwrap()));
        drop(held);
    }
}
