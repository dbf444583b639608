//! Looks at the folders of music that a session names: whether they are there, and hold anything.

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Located;
use crate::base::diagnostic::nearest;
use crate::base::diagnostic::short;
use crate::base::music::Wish;
use crate::base::music::in_folder;
use crate::base::music::may_be_music;
use crate::planning::session::SessionText;
use std::fs;
use std::path::Path;
use std::path::PathBuf;

/// Returns what there is to say of the folders of music that a session names. A class is never kept by it:
/// these are warnings.
pub(super) fn look(text: &SessionText, root: &Path) -> Vec<Diagnostic> {
    let blocks = text.blocks.iter().map(|block| block.music.as_ref());
    let said = std::iter::once(text.music.as_ref()).chain(blocks).flatten();
    let folders = said.filter_map(|wish| match wish {
        Wish::On(wishes) => wishes.folder.as_ref(),
        Wish::Off => None,
    });
    folders.filter_map(|folder| fault(folder, root)).collect()
}

/// The same of what the configuration says of music for all sessions.
pub fn music_missing(wish: &Wish, root: &Path) -> Option<Diagnostic> {
    match wish {
        Wish::On(wishes) => fault(wishes.folder.as_ref()?, root),
        Wish::Off => None,
    }
}

fn fault(folder: &Located<String>, root: &Path) -> Option<Diagnostic> {
    let path = in_folder(&folder.value, root, home().as_deref());
    let warning = |message: String| Diagnostic::warning(Code::MusicMissing, folder.place, message);
    let shown = short(&folder.value);
    match fs::read_dir(&path) {
        Ok(entries) => {
            let mut names = entries.flatten().map(|e| e.file_name());
            if names.any(|name| may_be_music(&name.to_string_lossy())) {
                return None;
            }
            let message = format!("expected music in the folder \"{shown}\", found none");
            Some(
                warning(message).help(
                    "put WAV, FLAC, MP3 or Ogg Vorbis files there: until then no music is heard",
                ),
            )
        }
        Err(_) => {
            let is_file = path.is_file();
            let found = if is_file { "a file" } else { "none" };
            let message = format!("expected a folder with music, found {found} at \"{shown}\"");
            let help = match beside(&path).filter(|_| !is_file) {
                None if is_file => "name the folder that the files are in".to_owned(),
                Some(near) => format!("did you mean \"{near}\"?"),
                None => {
                    "it is looked for in the session folder; until it is there no music is heard"
                        .to_owned()
                }
            };
            Some(warning(message).help(help))
        }
    }
}

/// Returns the name of the folder beside a missing one that is nearest to it.
fn beside(path: &Path) -> Option<String> {
    // Of a name alone the folder is nothing: the one that we are in.
    let folder = match path.parent()? {
        here if here.as_os_str().is_empty() => Path::new("."),
        folder => folder,
    };
    let entries = fs::read_dir(folder).ok()?.flatten();
    let folders = entries.map(|e| e.path()).filter(|p| p.is_dir());
    let names: Vec<_> = folders
        .filter_map(|p| Some(p.file_name()?.to_string_lossy().into_owned()))
        .collect();
    let wanted = path.file_name()?.to_string_lossy();
    nearest(&wanted, names.iter().map(String::as_str)).map(str::to_owned)
}

fn home() -> Option<PathBuf> {
    Some(directories::BaseDirs::new()?.home_dir().to_owned())
}
