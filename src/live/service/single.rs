//! One background process a user: a lock on a file in the runtime folder, let go by the system
//! however the process ends.

use std::fs;
use std::fs::File;
use std::fs::OpenOptions;
use std::fs::TryLockError;
use std::io;
use std::io::Read;
use std::io::Seek;
use std::io::Write;
use std::path::Path;
use std::path::PathBuf;

/// The right to be the one that runs, until this is dropped.
#[derive(Debug)]
pub struct Single {
    _file: File,
    folder: PathBuf,
}

/// Why it is not given.
#[derive(Debug, thiserror::Error)]
pub enum SingleError {
    /// End that one, or leave it.
    #[error("sidevoice is running in the background already{0}")]
    Running(String),
    /// Make the folder writable.
    #[error("{0} cannot be locked: {1}")]
    Io(PathBuf, io::Error),
    /// Set HOME or XDG_RUNTIME_DIR.
    #[error("there is no folder for what runs: neither XDG_RUNTIME_DIR nor HOME is set")]
    NoFolder,
}

impl Single {
    /// Takes the right, and writes down which folder is watched.
    ///
    /// # Errors
    ///
    /// [`SingleError`].
    pub fn take(watched: &Path) -> Result<Self, SingleError> {
        let folder = runtime_folder().ok_or(SingleError::NoFolder)?;
        let path = folder.join("lock");
        let failed = |error| SingleError::Io(path.clone(), error);
        private(&folder).map_err(failed)?;
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false);
        let mut file = options.open(&path).map_err(failed)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let mut about = String::new();
                // Only for the message.
                let _ = file.read_to_string(&mut about);
                return Err(SingleError::Running(about.trim_end().to_owned()));
            }
            Err(TryLockError::Error(error)) => return Err(failed(error)),
        }
        let about = format!(
            " (process {}, it watches {})\n",
            std::process::id(),
            watched.display()
        );
        let written = file
            .set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| file.write_all(about.as_bytes()));
        written.map_err(failed)?;
        Ok(Self {
            _file: file,
            folder,
        })
    }

    /// Returns the folder for what belongs to the running process: its socket too.
    pub fn folder(&self) -> &Path {
        &self.folder
    }
}

/// Returns the folder for what runs: that of the login, else one that stays.
fn runtime_folder() -> Option<PathBuf> {
    let project = directories::ProjectDirs::from("", "", "sidevoice")?;
    let stays = project.state_dir().unwrap_or_else(|| project.cache_dir());
    Some(project.runtime_dir().unwrap_or(stays).to_owned())
}

/// Makes a folder that only its user can look into.
fn private(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}
