//! Which voices there are, where their files lie, and whether these are the right ones.
//!
//! Presence and size are looked at each time a voice is chosen. The SHA-256 of a file is compared
//! when it is fetched and each time an engine loads it, on the very bytes that are loaded (12 MB
//! take some ten milliseconds): no stamp that could be stale, no gap between check and use.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: it reads the voices' files"
)]

use std::collections::BTreeMap;
use std::fmt::Display;
use std::io;
use std::path::Path;

use serde::Deserialize;
use sha2::Digest;
use sha2::Sha256;

use crate::sound::speech::VoiceError;

/// The lists of voices, best first: the automatic choice is the first whose files are there.
const EMBEDDED: [&str; 2] = [
    include_str!("../../../voices/en/hibari.toml"),
    include_str!("../../../voices/en/compact.toml"),
];

/// What a voice runs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum EngineKind {
    /// A model in files, in a child process.
    Neural,
    /// Inside the program.
    Compact,
}

/// A voice as its file in `voices/` describes it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VoiceInfo {
    pub name: String,
    pub about: String,
    pub engine: EngineKind,
    pub language: String,
    pub licence: String,
    /// Words that it would get wrong: a respelling, or IPA between slashes.
    #[serde(default)]
    pub pronounce: BTreeMap<String, String>,
    /// Where its files come from; `None` if it has none.
    pub package: Option<Package>,
    #[serde(default)]
    pub files: Vec<VoiceFile>,
}

/// A package of the Python index.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Package {
    pub name: String,
    pub version: String,
    pub file: String,
    pub sha256: String,
}

/// One file of a voice.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VoiceFile {
    pub name: String,
    /// Its path inside the package.
    pub from: String,
    pub bytes: u64,
    pub sha256: String,
}

/// Lists the voices there are, best first.
pub fn voices() -> Vec<VoiceInfo> {
    EMBEDDED
        .iter()
        // Embedded and tested: one that does not parse is left out.
        .filter_map(|text| toml::from_str(text).ok())
        .collect()
}

/// Finds a voice by its name.
pub fn find(name: &str) -> Option<VoiceInfo> {
    voices().into_iter().find(|voice| voice.name == name)
}

/// Returns the voice that is always there.
pub fn compact() -> VoiceInfo {
    find("compact").unwrap_or_else(|| VoiceInfo {
        name: "compact".to_owned(),
        about: String::new(),
        engine: EngineKind::Compact,
        language: "en-US".to_owned(),
        licence: String::new(),
        pronounce: BTreeMap::new(),
        package: None,
        files: Vec::new(),
    })
}

impl VoiceInfo {
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
                Err(error) => return Err(self.missing(&file.name, &error)),
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
        let bytes = std::fs::read(folder.join(name)).map_err(|error| self.missing(name, &error))?;
        if hex(&Sha256::digest(&bytes)) != file.sha256 {
            return Err(self.damaged(name, "its SHA-256 is not the expected one"));
        }
        Ok(bytes)
    }

    /// What the cache knows the voice by: its name and the start of its main file's hash.
    pub fn id(&self) -> String {
        match self.files.first() {
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
            "{file} of the voice {} is damaged ({why}); run: sidevoice voices get {}",
            self.name, self.name
        ))
    }

    fn missing(&self, file: &str, error: &io::Error) -> VoiceError {
        VoiceError::Model(match error.kind() {
            io::ErrorKind::NotFound => format!(
                "{file} of the voice {} is missing; run: sidevoice voices get {}",
                self.name, self.name
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
        assert_eq!(names, ["hibari", "compact"]);
        for voice in voices() {
            assert!(voice.files.iter().all(|file| file.sha256.len() == 64));
            assert_eq!(voice.package.is_some(), !voice.files.is_empty());
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
