//! What is kept of a folder that was rendered: for each class a note of what it was made from and of the files
//! that were made, and a claim, by which several processes, on one machine or several, share the work.

use crate::base::units::Millis;
use crate::cli::Failure;
use crate::sound::out::FileError;
use crate::sound::out::Target;
use serde::Deserialize;
use serde::Serialize;
use sha2::Digest;
use sha2::Sha256;
use std::collections::BTreeMap;
use std::fs;
use std::fs::File;
use std::fs::TryLockError;
use std::io;
use std::io::Read;
use std::io::Write;
use std::path::Path;
use std::path::PathBuf;
use std::time::SystemTime;
use std::time::UNIX_EPOCH;

/// The folder of notes and claims, inside the one that is rendered to.
const FOLDER: &str = ".sidevoice";

/// A class that was rendered, in one voice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Note {
    /// The hash of all that it was made from last.
    pub key: String,
    pub title: String,
    /// The tag of its language.
    pub language: String,
    pub voice: String,
    pub length_ms: i64,
    /// By name.
    pub files: BTreeMap<String, Stamp>,
}

/// A file as it was when it was made.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    /// The hash of all that it was made from.
    key: String,
    bytes: u64,
    /// Since 1970; to see without reading it that a file is the same.
    modified_ns: u64,
    sha256: String,
}

/// What stands where a file is to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Found {
    Nothing,
    /// What was made here of the same, untouched.
    Same,
    /// What was made here of something else, untouched.
    Old,
    /// Something else: it is somebody's.
    Other,
}

/// Where notes and claims are.
#[derive(Debug, Clone)]
pub struct Notes(PathBuf);

/// A class that nobody else makes as long as this lives.
#[derive(Debug)]
pub struct Claim {
    /// The lock on it ends with the process too, however that ends.
    _lock: Option<File>,
}

impl Stamp {
    /// Looks at a file that was just made.
    pub fn of(path: &Path, key: &str) -> io::Result<Self> {
        let mut file = File::open(path)?;
        let found = file.metadata()?;
        let mut hash = Sha256::new();
        let mut bytes = vec![0; 1 << 16];
        while let read @ 1.. = file.read(&mut bytes)? {
            hash.update(&bytes[..read]);
        }
        let hash = hash.finalize();
        Ok(Self {
            key: key.to_owned(),
            bytes: found.len(),
            modified_ns: since_1970(found.modified()?),
            sha256: hash.iter().map(|byte| format!("{byte:02x}")).collect(),
        })
    }

    /// Whether a file is the one that was looked at. It is read only where its time is another: a folder may
    /// have been copied.
    fn is(&self, path: &Path) -> io::Result<bool> {
        let found = fs::metadata(path)?;
        if !found.is_file() || found.len() != self.bytes {
            return Ok(false);
        }
        Ok(since_1970(found.modified()?) == self.modified_ns
            || Stamp::of(path, &self.key)?.sha256 == self.sha256)
    }
}

impl Note {
    /// Says what stands where a file of this class is to be.
    pub fn found(note: Option<&Note>, path: &Path, key: &str) -> Found {
        if fs::symlink_metadata(path).is_err() {
            return Found::Nothing;
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let stamp = note.and_then(|note| note.files.get(&*name));
        match stamp {
            Some(stamp) if !stamp.is(path).unwrap_or(false) => Found::Other,
            Some(stamp) if stamp.key == key => Found::Same,
            Some(_) => Found::Old,
            None => Found::Other,
        }
    }

    /// Returns the names of the files that were made of the same as the last ones.
    pub fn current(&self) -> impl Iterator<Item = &String> {
        let files = self.files.iter();
        files.filter_map(|(name, stamp)| (stamp.key == self.key).then_some(name))
    }
}

impl Notes {
    /// Makes the folder of notes inside `out`, and that itself.
    pub fn in_folder(out: &Path) -> Result<Self, Failure> {
        let folder = out.join(FOLDER);
        fs::create_dir_all(&folder).map_err(|error| {
            Failure::File(format!("{} cannot be made: {error}", folder.display()))
        })?;
        Ok(Self(folder))
    }

    /// Those of a folder, if there are any there.
    pub fn beside(out: &Path) -> Self {
        Self(out.join(FOLDER))
    }

    /// Returns how long a file of a class is, where it is the one that was noted.
    pub fn length(&self, name: &str, file: &str) -> Option<Millis> {
        let note = self.read(name)?;
        let current = note.current().any(|known| known == file);
        current.then(|| Millis::from_ms(note.length_ms))
    }

    /// Reads the note of a class; one that cannot be read is none.
    pub fn read(&self, name: &str) -> Option<Note> {
        let text = fs::read_to_string(self.path(name, "json")).ok()?;
        serde_json::from_str(&text).ok()
    }

    /// Writes the note of a class, whole or not at all.
    pub fn write(&self, name: &str, note: &Note) -> Result<(), FileError> {
        let path = self.path(name, "json");
        let io = |error: io::Error| FileError::of(error, &path);
        let text = serde_json::to_vec_pretty(note).map_err(|error| io(error.into()))?;
        let mut target = Target::begin(&path, true)?;
        target.file().write_all(&text).map_err(io)?;
        target.finish()
    }

    /// Claims a class; `None` while somebody else has it.
    pub fn claim(&self, name: &str) -> Result<Option<Claim>, Failure> {
        let path = self.path(name, "claim");
        let failed = |error: io::Error| Failure::File(format!("{}: {error}", path.display()));
        let opened = File::options().create(true).append(true).open(&path);
        let file = opened.map_err(failed)?;
        match file.try_lock() {
            Ok(()) => Ok(Some(Claim { _lock: Some(file) })),
            Err(TryLockError::WouldBlock) => Ok(None),
            // Some file systems know no locks: whoever is alone there needs none.
            Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => {
                Ok(Some(Claim { _lock: None }))
            }
            Err(TryLockError::Error(error)) => Err(failed(error)),
        }
    }

    fn path(&self, name: &str, ending: &str) -> PathBuf {
        self.0.join(format!("{name}.{ending}"))
    }
}

fn since_1970(time: SystemTime) -> u64 {
    let since = time.duration_since(UNIX_EPOCH).unwrap_or_default();
    u64::try_from(since.as_nanos()).unwrap_or(u64::MAX)
}
