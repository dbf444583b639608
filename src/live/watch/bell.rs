//! A mark of our own in what the system tells: whoever rings and then hears the bell has been told
//! all that happened before. What the system tells is in the order in which it happened
//! (inotify(7): "the events ... are ordered"), but it comes through a queue and by another thread.

use std::fs;
use std::fs::File;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use tempfile::TempDir;

/// A folder of our own in which each ring makes a file of a new name and takes it away.
pub struct Bell {
    folder: PathBuf,
    rung: u64,
    /// Takes the folder away at the end.
    _owned: TempDir,
}

impl Bell {
    pub fn hang() -> io::Result<Self> {
        let owned = TempDir::with_prefix("sidevoice-")?;
        Ok(Self {
            folder: std::path::absolute(owned.path())?,
            rung: 0,
            _owned: owned,
        })
    }

    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Returns the folder, made again where somebody has tidied it away.
    pub fn is_hung(&self) -> &Path {
        // What cannot be made cannot be rung either, and nobody waits for it.
        let _ = fs::create_dir(&self.folder);
        &self.folder
    }

    /// Rings; returns the number that will be heard. No number comes twice.
    pub fn ring(&mut self) -> io::Result<u64> {
        self.rung += 1;
        let mark = self.folder.join(self.rung.to_string());
        File::create_new(&mark)?;
        fs::remove_file(mark)?;
        Ok(self.rung)
    }
}

/// Returns the number of a ring, from its file.
pub fn number(mark: &Path) -> Option<u64> {
    mark.file_name()?.to_str()?.parse().ok()
}
