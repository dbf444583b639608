//! A file that is whole or not there: written beside its place under another name, then moved.
#![expect(
    clippy::disallowed_methods,
    reason = "this is the part of the shell that writes files"
)]

use std::fs;
use std::fs::File;
use std::io;
use std::path::Path;
use std::path::PathBuf;

use tempfile::Builder;
use tempfile::NamedTempFile;

/// Why a file could not be written; named by what there is to be done.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FileError {
    /// To be overwritten only when asked to.
    #[error("{0} is there already and is kept unless it may be overwritten")]
    Exists(PathBuf),
    /// Another place is needed: a folder or a device has this name.
    #[error("{0} is not a file")]
    NotAFile(PathBuf),
    /// Another place is needed, or this folder made.
    #[error("there is no folder {0}")]
    NoFolder(PathBuf),
    /// Another place is needed, or the permission.
    #[error("{0} cannot be written to: {1}")]
    Denied(PathBuf, io::Error),
    /// Room is needed.
    #[error("the disk that holds {0} is full")]
    DiskFull(PathBuf),
    /// Another format, or a shorter session, is needed.
    #[error("{0} would be larger than 4 GiB, more than a WAV file can hold; a FLAC file can")]
    TooLong(PathBuf),
    /// Another format is needed, or another build of the program.
    #[error("{0} is of a format that this build of the program cannot write")]
    NotBuilt(PathBuf),
    /// Nothing: it was asked for.
    #[error("writing {0} was cancelled")]
    Cancelled(PathBuf),
    /// Unforeseen.
    #[error("{0} could not be written: {1}")]
    Io(PathBuf, io::Error),
}

/// A file in the making. Dropped before [`Target::finish`] it leaves nothing behind.
#[derive(Debug)]
pub struct Target {
    file: NamedTempFile,
    path: PathBuf,
    overwrite: bool,
}

impl Target {
    /// Begins a file that is to stand at `path`.
    ///
    /// # Errors
    ///
    /// [`FileError`] where it is clear now that it could not stand there.
    pub fn begin(path: &Path, overwrite: bool) -> Result<Self, FileError> {
        // A link is followed, so that it stays one.
        let path = &fs::canonicalize(path).unwrap_or_else(|_| path.into());
        match fs::metadata(path) {
            Ok(found) if !found.is_file() => return Err(FileError::NotAFile(path.into())),
            Ok(_) if !overwrite => return Err(FileError::Exists(path.into())),
            Ok(_) | Err(_) => {}
        }
        if path.file_name().is_none() {
            return Err(FileError::NotAFile(path.into()));
        }
        let folder = folder_of(path);
        let mut builder = Builder::new();
        builder.prefix(".sidevoice-").suffix(".part");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // As any new file: what the umask leaves of it.
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        match builder.tempfile_in(folder) {
            Ok(file) => Ok(Target {
                file,
                path: path.into(),
                overwrite,
            }),
            Err(error)
                if matches!(
                    error.kind(),
                    io::ErrorKind::NotFound | io::ErrorKind::NotADirectory
                ) =>
            {
                Err(FileError::NoFolder(folder.into()))
            }
            Err(error) => Err(FileError::of(error, path)),
        }
    }

    /// Returns the open file, to be written to.
    pub fn file(&mut self) -> &mut File {
        self.file.as_file_mut()
    }

    /// Puts the file in its place, after all of it is on the disk.
    ///
    /// # Errors
    ///
    /// [`FileError`], also [`FileError::Exists`] where a file has come there meanwhile.
    pub fn finish(self) -> Result<(), FileError> {
        let path = self.path;
        self.file
            .as_file()
            .sync_all()
            .map_err(|it| FileError::of(it, &path))?;
        let moved = match self.overwrite {
            true => self.file.persist(&path),
            false => self.file.persist_noclobber(&path).or_else(|lost| {
                // Some file systems, those of memory sticks among them, cannot move a file and keep
                // what is there in one step.
                match lost.error.kind() != io::ErrorKind::AlreadyExists && !path.exists() {
                    true => lost.file.persist(&path),
                    false => Err(lost),
                }
            }),
        };
        match moved {
            Ok(_) => {}
            Err(lost) if lost.error.kind() == io::ErrorKind::AlreadyExists => {
                return Err(FileError::Exists(path));
            }
            Err(lost) => return Err(FileError::of(lost.error, &path)),
        }
        // The name too is to survive a power cut; where folders cannot be synced, it is as good as
        // the file system is.
        if let Ok(folder) = File::open(folder_of(&path)) {
            let _ = folder.sync_all();
        }
        Ok(())
    }
}

impl FileError {
    /// Names what went wrong while `path` was written.
    pub fn of(error: io::Error, path: &Path) -> Self {
        match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                FileError::DiskFull(path.into())
            }
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                FileError::Denied(path.into(), error)
            }
            _ => FileError::Io(path.into(), error),
        }
    }
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if folder.as_os_str().is_empty() => Path::new("."),
        Some(folder) => folder,
        None => path,
    }
}
