//! Which voices there are, where their files lie, and whether these are the right ones.
//!
//! Some are embedded; more are read from TOML files of the data folder and of a session folder.
//!
//! Presence and size are looked at each time a voice is chosen. The SHA-256 of a file is compared
//! when it is fetched and each time an engine loads it, on the very bytes that are loaded (12 MB
//! take some ten milliseconds): no stamp that could be stale, no gap between check and use.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: it reads the voices' files"
)]

mod read;
mod shelf;

pub use shelf::Shelf;

use std::fmt::Display;
use std::io;
use std::path::Path;
use std::path::PathBuf;

use sha2::Digest;
use sha2::Sha256;

use crate::sound::speech::VoiceError;
use crate::sound::speech::espeak;
use crate::sound::speech::pronounce::Said;
use crate::sound::speech::system;

/// The name of the voice of the operating system.
pub const SYSTEM: &str = "system";

/// What a voice runs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EngineKind {
    /// A model in files, in a child process.
    Neural,
    /// Inside the program.
    Compact,
    /// The program espeak-ng, run as a process.
    Espeak,
    /// Whatever the operating system has; it gives no samples.
    System,
}

impl EngineKind {
    /// Returns the word for it in files and lists.
    pub const fn word(self) -> &'static str {
        match self {
            EngineKind::Neural => "neural",
            EngineKind::Compact => "compact",
            EngineKind::Espeak => "espeak",
            EngineKind::System => "system",
        }
    }

    /// Returns how long ten words take on one core in ms, as `scripts/bench` measured it for the table
    /// of the README; `None` where no samples are made.
    pub const fn ten_words_ms(self) -> Option<u32> {
        match self {
            EngineKind::Neural => Some(27),
            EngineKind::Compact => Some(1),
            EngineKind::Espeak => Some(8),
            EngineKind::System => None,
        }
    }
}

/// A voice as its file in `voices/` describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VoiceInfo {
    pub name: String,
    pub about: String,
    pub engine: EngineKind,
    /// A tag of BCP 47; "mul" for the system's, which speaks what is set up there.
    pub language: String,
    pub licence: String,
    /// Words that it would get wrong, and how they are said.
    pub pronounce: Vec<(String, Said)>,
    /// Where its files come from; `None` if it has none, or they are the owner's.
    pub package: Option<Package>,
    pub files: Vec<VoiceFile>,
    /// Where the files lie, if not in a folder of the voice's name among the program's voices.
    pub folder: Option<PathBuf>,
    /// What the engine calls it.
    pub speaks: Option<String>,
    /// The file that describes it; `None` if it is embedded.
    pub source: Option<PathBuf>,
}

/// A package of the Python index.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Package {
    pub name: String,
    pub version: String,
    pub file: String,
    pub sha256: String,
}

/// One file of a voice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VoiceFile {
    pub name: String,
    /// Its path inside the package.
    pub from: String,
    pub bytes: u64,
    pub sha256: String,
}

impl VoiceFile {
    /// Returns whether it is the model itself; beside it there is one that spells unknown words.
    pub fn is_model(&self) -> bool {
        self.name.ends_with(".onnx") && self.name != "oov.onnx"
    }
}

/// Lists the embedded voices, best first.
pub fn voices() -> Vec<VoiceInfo> {
    Shelf::embedded().voices().to_vec()
}

/// Finds an embedded voice by its name.
pub fn find(name: &str) -> Option<VoiceInfo> {
    Shelf::embedded().find(name).cloned()
}

/// Returns the voice that is always there.
pub fn compact() -> VoiceInfo {
    find("compact").unwrap_or_else(|| VoiceInfo {
        name: "compact".to_owned(),
        about: String::new(),
        engine: EngineKind::Compact,
        language: "en-US".to_owned(),
        licence: String::new(),
        pronounce: Vec::new(),
        package: None,
        files: Vec::new(),
        folder: None,
        speaks: None,
        source: None,
    })
}

/// Returns the language of a tag without its region: "pt" of "pt-BR".
pub fn base(tag: &str) -> &str {
    tag.split('-').next().unwrap_or_default()
}

/// Returns the English name of a language that voices are known for, else its tag.
pub fn language_name(tag: &str) -> &str {
    match base(tag) {
        "en" => "English",
        "es" => "Spanish",
        "de" => "German",
        "fr" => "French",
        "pt" => "Portuguese",
        _ => tag,
    }
}

impl VoiceInfo {
    /// Returns where its files lie, `voices` being the folder of the program's voices.
    pub fn files_in(&self, voices: &Path) -> PathBuf {
        match &self.folder {
            Some(folder) => folder.clone(),
            None => voices.join(&self.name),
        }
    }

    /// Returns whether it speaks the language of a tag, of whatever region.
    pub fn speaks_language(&self, tag: &str) -> bool {
        base(&self.language) == base(tag) || self.language == "mul"
    }

    /// Returns the name of the model among its files.
    pub fn model(&self) -> &str {
        let model = self.files.iter().find(|file| file.is_model());
        model.map_or("model.onnx", |file| &file.name)
    }

    /// Checks that the files are there and as long as they should be, in `folder`, that of this
    /// voice.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`], naming the file and how to get it.
    pub fn check(&self, folder: &Path) -> Result<(), VoiceError> {
        for file in &self.files {
            let path = folder.join(&file.name);
            match std::fs::metadata(&path) {
                Ok(found) if found.len() == file.bytes => {}
                Ok(found) => {
                    let lengths = format!("{} bytes expected, {} found", file.bytes, found.len());
                    return Err(self.damaged(&file.name, lengths));
                }
                Err(error) => return Err(self.missing(folder, &file.name, &error)),
            }
        }
        Ok(())
    }

    /// Checks the SHA-256 of every file in `folder`.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`], naming the file and how to get it.
    pub fn verify(&self, folder: &Path) -> Result<(), VoiceError> {
        for file in &self.files {
            self.read(folder, &file.name)?;
        }
        Ok(())
    }

    /// Reads one of the files and compares its SHA-256.
    ///
    /// # Errors
    ///
    /// [`VoiceError::Model`], naming the file and how to get it.
    pub fn read(&self, folder: &Path, name: &str) -> Result<Vec<u8>, VoiceError> {
        let file = self.files.iter().find(|file| file.name == name);
        let file = file.ok_or_else(|| self.damaged(name, "it is not one of this voice's files"))?;
        let bytes =
            std::fs::read(folder.join(name)).map_err(|error| self.missing(folder, name, &error))?;
        if hex(&Sha256::digest(&bytes)) != file.sha256 {
            return Err(self.damaged(name, "its SHA-256 is not the expected one"));
        }
        Ok(bytes)
    }

    /// What the cache knows the voice by: its name and the start of its main file's hash.
    pub fn id(&self) -> String {
        let model = self.files.iter().find(|file| file.is_model());
        match model.or(self.files.first()) {
            Some(file) => format!(
                "{}/{}",
                self.name,
                &file.sha256[..16.min(file.sha256.len())]
            ),
            None => self.name.clone(),
        }
    }

    /// The error for a file that is not what it should be.
    pub fn damaged(&self, file: &str, why: impl Display) -> VoiceError {
        VoiceError::Model(format!(
            "{file} of the voice {} is damaged ({why}); {}",
            self.name,
            self.advice(None)
        ))
    }

    /// Returns the command that gets what the voice lacks, if there is one.
    pub fn to_get(&self) -> Option<String> {
        match self.engine {
            EngineKind::Espeak => Some(espeak::TO_GET.to_owned()),
            EngineKind::System => Some(system::TO_GET.to_owned()),
            EngineKind::Neural | EngineKind::Compact => {
                let package = self.package.as_ref();
                package.map(|_| format!("sidevoice voices get {}", self.name))
            }
        }
    }

    /// Says what to do for files that are missing in a folder, or damaged.
    fn advice(&self, folder: Option<&Path>) -> String {
        match (self.to_get(), folder) {
            (Some(command), _) => format!("run: {command}"),
            (None, Some(folder)) => format!("put it into {}", folder.display()),
            (None, None) => "put the right file in its place".to_owned(),
        }
    }

    fn missing(&self, folder: &Path, file: &str, error: &io::Error) -> VoiceError {
        VoiceError::Model(match error.kind() {
            io::ErrorKind::NotFound => format!(
                "{file} of the voice {} is missing; {}",
                self.name,
                self.advice(Some(folder))
            ),
            _ => format!("{file} of the voice {} cannot be read: {error}", self.name),
        })
    }
}

/// Writes bytes as hexadecimal digits.
pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_embedded_voice_is_read() {
        let names: Vec<String> = voices().into_iter().map(|voice| voice.name).collect();
        let espeak = ["en", "es", "de", "fr", "pt"].map(|language| format!("espeak-{language}"));
        assert_eq!(names[..2], ["hibari", "compact"]);
        assert_eq!(names[2..7], espeak);
        assert_eq!(names[7..], [SYSTEM]);
        for voice in voices() {
            assert!(voice.files.iter().all(|file| file.sha256.len() == 64));
            assert_eq!(voice.package.is_some(), !voice.files.is_empty());
            let espeak = voice.engine == EngineKind::Espeak;
            assert_eq!(voice.speaks.is_some(), espeak, "{}", voice.name);
        }
    }

    #[test]
    fn a_missing_cut_or_swapped_file_is_named_with_what_to_do() {
        let mut voice = find("hibari").unwrap();
        voice.files.truncate(1);
        voice.files[0].bytes = 5;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("hibari.onnx");
        let check = |expected: &str| {
            let error = voice
                .check(folder.path())
                .and_then(|()| voice.verify(folder.path()));
            let message = error.unwrap_err().to_string();
            assert!(message.contains("hibari.onnx"), "{message}");
            assert!(message.contains(expected), "{message}");
            assert!(message.contains("sidevoice voices get hibari"), "{message}");
        };
        check("missing");
        std::fs::write(&path, "abc").unwrap();
        check("5 bytes expected, 3 found");
        std::fs::write(&path, "abcde").unwrap();
        check("SHA-256");
    }
}
