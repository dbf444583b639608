//! What the listener wishes, kept from class to class in `wishes.toml` of the state folder.
#![expect(
    clippy::disallowed_methods,
    reason = "reads and writes the one file of wishes"
)]

use super::core::Wishes;
use serde::Deserialize;
use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;

/// As they are written. What is left out, or makes no sense, is as without a wish.
#[derive(Debug, Deserialize)]
#[serde(default)]
struct Kept {
    volume_db: f32,
    speech_per_mille: u16,
    talk: i8,
}

impl Default for Kept {
    fn default() -> Self {
        Self::from(Wishes::default())
    }
}

impl From<Wishes> for Kept {
    fn from(wishes: Wishes) -> Self {
        Self {
            volume_db: wishes.volume_db,
            speech_per_mille: wishes.speed,
            talk: wishes.talk,
        }
    }
}

/// Returns where they are kept.
pub fn path() -> Option<PathBuf> {
    let project = directories::ProjectDirs::from("", "", "sidevoice")?;
    Some(project.state_dir()?.join("wishes.toml"))
}

/// Reads them.
pub fn load(path: &Path) -> Wishes {
    let text = fs::read_to_string(path).unwrap_or_default();
    let kept: Kept = toml::from_str(&text).unwrap_or_else(|error| {
        tracing::warn!(path = %path.display(), %error, "the wishes are not read");
        Kept::default()
    });
    Wishes::within_bounds(kept.volume_db, kept.speech_per_mille, kept.talk)
}

/// Keeps them.
///
/// # Errors
///
/// Where the file cannot be written.
pub fn save(path: &Path, wishes: Wishes) -> io::Result<()> {
    let Wishes {
        volume_db,
        speed,
        talk,
    } = wishes;
    let text = format!("volume_db = {volume_db:?}\nspeech_per_mille = {speed}\ntalk = {talk}\n");
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    // Whole or not at all.
    let half = path.with_extension("toml.part");
    fs::write(&half, text)?;
    fs::rename(half, path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wishes_are_read_as_they_were_kept_and_nonsense_is_as_without() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("state/wishes.toml");
        assert_eq!(load(&path), Wishes::default());
        let wishes = Wishes {
            volume_db: -6.0,
            speed: 900,
            talk: -1,
        };
        save(&path, wishes).unwrap();
        assert_eq!(load(&path), wishes);
        for text in [
            "volume_db = ",
            "volume_db = nan\nspeech_per_mille = 65000\ntalk = 100",
        ] {
            fs::write(&path, text).unwrap();
            let read = load(&path);
            let bounds = (-24.0..=6.0).contains(&read.volume_db);
            assert!(bounds && read.speed <= 2000 && read.talk <= 2, "{read:?}");
        }
    }
}
