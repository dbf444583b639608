//! What is in a folder of music, and in which order names stand.

use std::cmp::Ordering;
use std::collections::HashSet;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::time::SystemTime;

use sha2::Digest;
use sha2::Sha256;

use super::kept;
use crate::base::music::may_be_music;

/// Albums within artists within the folder; deeper is another tree.
const DEEPEST: usize = 4;
/// Beyond any collection that is played in a class; it bounds what is kept in memory.
const MOST: usize = 20_000;

/// What is in a folder of music.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The files that may be music, by name.
    pub files: Vec<PathBuf>,
    /// What is passed over although its name could be that of music, and why.
    pub passed: Vec<(PathBuf, String)>,
}

/// A walk through a folder and those within it.
#[derive(Default)]
struct Walk {
    found: Found,
    /// Files and folders as they are without links: each is taken once, however many names it has.
    seen: HashSet<PathBuf>,
}

/// Lists the files of a folder and of those within it that may be music, by name. None is opened.
pub(super) fn files(folder: &Path) -> std::io::Result<Found> {
    let entries = fs::read_dir(folder)?;
    let mut walk = Walk::default();
    walk.is_new(folder);
    walk.look(entries, 1);
    let mut found = walk.found;
    found.files.sort_by(|a, b| by_path(a, b));
    Ok(found)
}

/// Says why something cannot be read, without the number of the error.
pub(super) fn why(error: &std::io::Error) -> String {
    let text = error.to_string();
    let text = text.split(" (os error").next().unwrap_or_default();
    text.to_lowercase()
}

/// Lists the same by name, with sizes and when they were changed, to tell whether anything is another than it was.
pub fn listing(folder: &Path) -> Vec<(PathBuf, u64, Option<SystemTime>)> {
    let look = |path: PathBuf| {
        let found = fs::metadata(&path).ok();
        let size = found.as_ref().map_or(0, fs::Metadata::len);
        let changed = found.and_then(|found| found.modified().ok());
        let name = path.strip_prefix(folder).unwrap_or(&path).to_owned();
        (name, size, changed)
    };
    let found = files(folder).unwrap_or_default();
    found.files.into_iter().map(look).collect()
}

/// Returns what tells whether files are the same as they were, by their names and sizes: SHA-256, in hexadecimal.
pub(super) fn fingerprint(folder: &Path, files: &[PathBuf]) -> String {
    let mut hash = Sha256::new();
    for path in files {
        let name = path.strip_prefix(folder).unwrap_or(path);
        let name = name.to_string_lossy();
        let size = fs::metadata(path).map_or(0, |meta| meta.len());
        hash.update(format!("{} {name} {size}\n", name.len()));
    }
    kept::hex(&hash.finalize())
}

impl Walk {
    /// Takes the entries of a folder in the order of their names, so that the same name of a file counts each time.
    fn look(&mut self, entries: fs::ReadDir, depth: usize) {
        let mut paths: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
        paths.sort_by(|a, b| by_path(a, b));
        for path in paths {
            if self.found.files.len() >= MOST {
                return;
            }
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            if may_be_music(&name)
                && let Err(why) = self.take(&path, depth)
            {
                self.found.passed.push((path, why));
            }
        }
    }

    /// Takes a file, or what is in a folder; else says why it is passed over.
    fn take(&mut self, path: &Path, depth: usize) -> Result<(), String> {
        // Followed where it is a link: music lies on other disks.
        let meta = fs::metadata(path).map_err(|error| match path.is_symlink() {
            true => format!("it is a link that leads nowhere: {}", why(&error)),
            false => format!("it cannot be read: {}", why(&error)),
        })?;
        if meta.is_file() {
            if self.is_new(path) {
                self.found.files.push(path.to_owned());
            }
            return Ok(());
        }
        if !meta.is_dir() {
            return Err("it is not a file".to_owned());
        }
        if depth < DEEPEST && self.is_new(path) {
            let within = fs::read_dir(path);
            self.look(
                within.map_err(|error| format!("it cannot be read: {}", why(&error)))?,
                depth + 1,
            );
        }
        Ok(())
    }

    fn is_new(&mut self, path: &Path) -> bool {
        let real = fs::canonicalize(path);
        self.seen.insert(real.unwrap_or_else(|_| path.to_owned()))
    }
}

fn by_path(a: &Path, b: &Path) -> Ordering {
    by_name(&a.to_string_lossy(), &b.to_string_lossy()).then_with(|| a.cmp(b))
}

/// Compares names as people sort them: small and large letters alike, numbers by their value.
pub(super) fn by_name(a: &str, b: &str) -> Ordering {
    let (mut a, mut b) = (a, b);
    loop {
        let (digits_a, digits_b) = (leading_digits(a), leading_digits(b));
        if !digits_a.is_empty() && !digits_b.is_empty() {
            let value = |digits: &str| digits.trim_start_matches('0').to_owned();
            let (x, y) = (value(digits_a), value(digits_b));
            let order = x.len().cmp(&y.len()).then_with(|| x.cmp(&y));
            if order != Ordering::Equal {
                return order;
            }
            (a, b) = (&a[digits_a.len()..], &b[digits_b.len()..]);
            continue;
        }
        let (mut rest_a, mut rest_b) = (a.chars(), b.chars());
        match (rest_a.next(), rest_b.next()) {
            (None, None) => return Ordering::Equal,
            (x, y) => {
                let lower = |c: Option<char>| c.map(|c| c.to_lowercase().collect::<String>());
                let order = lower(x).cmp(&lower(y));
                if order != Ordering::Equal {
                    return order;
                }
            }
        }
        (a, b) = (rest_a.as_str(), rest_b.as_str());
    }
}

fn leading_digits(text: &str) -> &str {
    &text[..text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stand_as_people_sort_them() {
        let mut names = vec![
            "10 late", "2 Row", "2 oar", "a/1", "B", "01 first", "1 first", "", "a",
        ];
        names.sort_by(|a, b| by_name(a, b).then_with(|| a.cmp(b)));
        assert_eq!(
            names,
            [
                "", "01 first", "1 first", "2 oar", "2 Row", "10 late", "a", "a/1", "B"
            ]
        );
    }

    #[test]
    fn a_folder_is_listed_with_those_in_it_and_without_what_lies_beside_music() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir_all(at("album/2/3/4/5")).unwrap();
        for name in [
            "b.mp3",
            "cover.jpg",
            ".hidden.mp3",
            "odd.xyz",
            "bare",
            "album/1.flac",
        ] {
            fs::write(at(name), "?").unwrap();
        }
        fs::write(at("album/2/3/in.mp3"), "?").unwrap();
        fs::write(at("album/2/3/4/too-deep.mp3"), "?").unwrap();
        #[cfg(unix)]
        {
            use std::os::unix::fs::symlink;
            symlink(folder.path(), at("album/circle")).unwrap();
            symlink("b.mp3", at("c.mp3")).unwrap();
            symlink("nowhere", at("lost.mp3")).unwrap();
            symlink("itself.mp3", at("itself.mp3")).unwrap();
        }
        let found = files(folder.path()).unwrap();
        let shown = |path: &Path| {
            path.strip_prefix(folder.path())
                .unwrap()
                .display()
                .to_string()
        };
        let names: Vec<_> = found.files.iter().map(|path| shown(path)).collect();
        assert_eq!(
            names,
            [
                "album/1.flac",
                "album/2/3/in.mp3",
                "b.mp3",
                "bare",
                "odd.xyz"
            ]
        );
        #[cfg(unix)]
        {
            let passed: Vec<_> = found.passed.iter().map(|(path, _)| shown(path)).collect();
            assert_eq!(passed, ["itself.mp3", "lost.mp3"]);
            assert!(found.passed[1].1.contains("leads nowhere"), "{found:?}");
        }
        assert!(files(&at("none")).is_err());
    }
}
