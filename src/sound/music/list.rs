//! What is in a folder of music, and in which order names stand.

use std::cmp::Ordering;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::time::SystemTime;

use crate::base::music::may_be_music;

/// Albums within artists within the folder; deeper is another tree, or a circle of links.
const DEEPEST: usize = 4;
/// Beyond any collection that is played in a class; it bounds what is kept in memory.
const MOST: usize = 20_000;

/// Lists the files of a folder and of those within it that may be music, by name. None is opened.
pub(super) fn files(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    look(fs::read_dir(folder)?, 1, &mut found);
    found
        .sort_by(|a, b| by_name(&a.to_string_lossy(), &b.to_string_lossy()).then_with(|| a.cmp(b)));
    Ok(found)
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
    let files = files(folder).unwrap_or_default();
    files.into_iter().map(look).collect()
}

fn look(entries: fs::ReadDir, depth: usize, found: &mut Vec<PathBuf>) {
    for entry in entries.flatten() {
        if found.len() >= MOST {
            return;
        }
        let path = entry.path();
        if !may_be_music(&entry.file_name().to_string_lossy()) {
            continue;
        }
        // Followed where it is a link: music lies on other disks.
        let Ok(meta) = fs::metadata(&path) else {
            continue;
        };
        if meta.is_file() {
            found.push(path);
        } else if meta.is_dir()
            && depth < DEEPEST
            && let Ok(within) = fs::read_dir(&path)
        {
            look(within, depth + 1, found);
        }
    }
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
        std::os::unix::fs::symlink(folder.path(), at("album/circle")).unwrap();
        let found = files(folder.path()).unwrap();
        let names: Vec<_> = found
            .iter()
            .map(|p| p.strip_prefix(folder.path()).unwrap().display().to_string())
            .filter(|name| !name.contains("circle"))
            .collect();
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
        assert!(found.len() < 40, "a circle of links ends: {}", found.len());
        assert!(files(&at("none")).is_err());
    }
}
