//! The files of a session folder: which there are, their texts, and why one cannot be read.

use super::Folder;
use super::Reader;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::nearest;
use crate::planning::session::is_id;
use std::collections::BTreeMap;
use std::fs;
use std::io::Read;
use std::path::Path;
use std::path::PathBuf;

/// No session or movement is larger: the starter's largest is under 3 kB.
const LARGEST: u64 = 1 << 20;
/// What some editors put before the text.
const BYTE_ORDER_MARK: &[u8] = "\u{feff}".as_bytes();

impl Reader {
    /// Lists the TOML files of a part of the folder by id.
    pub(super) fn files(&mut self, folder: &Folder, part: &str) -> BTreeMap<String, PathBuf> {
        let path = folder.root.join(part);
        let mut files = BTreeMap::new();
        let entries = match fs::read_dir(&path) {
            Ok(entries) => entries,
            Err(error) => {
                self.at_path(
                    &path,
                    Code::FolderMissing,
                    format!(
                        "expected a session folder with `{part}` in it: {}",
                        said(&error)
                    ),
                    "make one with `sidevoice new FOLDER`",
                );
                return files;
            }
        };
        let mut paths: Vec<_> = entries
            .flatten()
            .map(|e| e.path())
            .filter(|p| p.extension().is_some_and(|e| e == "toml"))
            .filter(|p| !hidden(p))
            .collect();
        paths.sort();
        for file in paths {
            let id = file.file_stem().map(|s| s.to_string_lossy().into_owned());
            let id = id.unwrap_or_default();
            if !is_id(&id) {
                self.at_path(
                    &file,
                    Code::IdInvalid,
                    "expected a file name of letters, digits, `-` and `_`".to_owned(),
                    "the name without its ending is the id by which sessions call it",
                );
                continue;
            }
            let lower = id.to_lowercase();
            let twin = files
                .keys()
                .find(|k: &&String| k.to_lowercase() == lower)
                .cloned();
            if let Some(twin) = twin {
                self.at_path(
                    &file,
                    Code::IdTwice,
                    format!("expected an id of its own, found one like {twin}.toml beside it"),
                    "rename one: some disks cannot tell upper from lower case",
                );
            }
            files.insert(id, file);
        }
        files
    }

    /// Reads the text of a file among the sources, or reports why not.
    pub(super) fn text(&mut self, file: &Path) -> Option<SourceId> {
        let mut bytes = Vec::new();
        // Looked at before it is opened: a pipe that nobody writes to would hold the program.
        let read = fs::metadata(file).and_then(|found| {
            if !found.is_file() {
                return Err(std::io::Error::other("it is not a file"));
            }
            let opened = fs::File::open(file)?;
            // One more than it holds: its end is found without another read into more room.
            bytes.reserve_exact(found.len().min(LARGEST) as usize + 1);
            opened.take(LARGEST + 1).read_to_end(&mut bytes)
        });
        if let Err(error) = read {
            let help = match nearest_beside(file) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => "look at its name and its rights".to_owned(),
            };
            let message = format!("expected a readable file: {}", said(&error));
            self.at_path(file, Code::FileMissing, message, &help);
            return None;
        }
        if bytes.len() as u64 > LARGEST {
            self.at_path(
                file,
                Code::FileTooLarge,
                "expected a file of at most 1 MB".to_owned(),
                "a session is a page of text; is this the right file?",
            );
            return None;
        }
        if bytes.starts_with(BYTE_ORDER_MARK) {
            bytes.drain(..BYTE_ORDER_MARK.len());
        }
        let text = match String::from_utf8(bytes) {
            Ok(text) => text,
            Err(error) => {
                let at = error.utf8_error().valid_up_to();
                let good = String::from_utf8_lossy(&error.as_bytes()[..at]).into_owned();
                let source = self.sources.add(display(file), good);
                self.diagnostics.push(
                    Diagnostic::error(
                        Code::NotUtf8,
                        Place::new(source, at..at),
                        "expected UTF-8 text, found bytes that are none",
                    )
                    .help("save the file as UTF-8"),
                );
                return None;
            }
        };
        if text.trim().is_empty() {
            self.at_path(
                file,
                Code::FileEmpty,
                "expected a session or a movement, found an empty file".to_owned(),
                "the files made by `sidevoice new FOLDER` show what goes in",
            );
            return None;
        }
        Some(self.sources.add(display(file), text))
    }

    pub(super) fn at_path(&mut self, path: &Path, code: Code, message: String, help: &str) {
        let source = self.sources.add(display(path), "");
        let place = Place::start_of(source);
        let fault = Diagnostic::error(code, place, message);
        self.diagnostics.push(fault.help(help));
    }
}

/// Returns the id of the file beside a missing one whose name is nearest to it.
fn nearest_beside(file: &Path) -> Option<String> {
    let entries = fs::read_dir(file.parent()?).ok()?.flatten();
    let files = entries.map(|e| e.path()).filter(|p| p.is_file());
    let stem = |p: &Path| p.file_stem().map(|s| s.to_string_lossy().into_owned());
    let ids: Vec<_> = files.filter_map(|p| stem(&p)).collect();
    nearest(&stem(file)?, ids.iter().map(String::as_str)).map(str::to_owned)
}

pub(super) fn hidden(path: &Path) -> bool {
    path.file_name()
        .is_some_and(|n| n.to_string_lossy().starts_with('.'))
}

pub(super) fn display(path: &Path) -> String {
    let shown = path.display().to_string();
    let shown = shown.strip_prefix("./").unwrap_or(&shown);
    // A screen would take them for commands.
    shown.replace(char::is_control, "?")
}

/// Says an error of the system in a few words, without its number.
fn said(error: &std::io::Error) -> String {
    let text = error.to_string();
    match text.find(" (os error") {
        Some(at) => text[..at].to_lowercase(),
        None => text,
    }
}
