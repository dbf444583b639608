//! Takes on disk, found by what was said, at which rate, by which voice.
//!
//! Each is one file, named by the hash of all that made it, written under another name and then
//! renamed: two processes can share the folder. Samples are stored as the 16-bit values that a
//! fresh take is made of, so a stored one is the same to the bit. A damaged file is removed and
//! made again; a folder that cannot be written is reported once and the work goes on.

#![expect(
    clippy::disallowed_methods,
    reason = "the shell of this room: it reads and writes the cache"
)]

mod format;

use std::fs;
use std::io;
use std::path::Path;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;
use std::time::Duration;
use std::time::SystemTime;

use sha2::Digest;
use sha2::Sha256;

use crate::sound::speech::Rate;
use crate::sound::speech::Take;
use crate::sound::speech::finish;
use crate::sound::speech::library;

/// The most that the folder holds, in bytes: about an hour and a half of speech.
pub const DEFAULT_LIMIT: u64 = 512 * 1024 * 1024;

/// Files are removed until this part of the limit is left, so that it is not done at each write.
const LEFT_PERCENT: u64 = 90;

/// The time of use is written no oftener than this: it costs as much as the reading.
const TOUCH_AFTER: Duration = Duration::from_secs(3600);

/// Half-written files have names that no other thread or process uses.
static NAMES: AtomicU64 = AtomicU64::new(0);

/// What a take is found by.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key(String);

impl Key {
    /// Makes the key of a normalised text, spoken at a rate by the voice with this id.
    pub fn new(voice_id: &str, text: &str, rate: Rate) -> Key {
        let mut hash = Sha256::new();
        hash.update(finish::VERSION.to_le_bytes());
        hash.update((voice_id.len() as u64).to_le_bytes());
        hash.update(voice_id);
        hash.update(rate.per_mille().to_le_bytes());
        hash.update(text);
        Key(library::hex(&hash.finalize()))
    }

    /// Returns the name of its file.
    pub fn file_name(&self) -> String {
        format!("{}.take", self.0)
    }
}

/// The folder of takes.
pub struct Cache {
    folder: Option<PathBuf>,
    limit: u64,
    /// Bytes in the folder as far as this process knows; `u64::MAX` until it has looked.
    used: AtomicU64,
    unwritable: AtomicBool,
}

impl Cache {
    /// Opens a folder, which is made at the first write; without one nothing is kept.
    pub fn new(folder: Option<PathBuf>, limit: u64) -> Cache {
        Cache {
            folder,
            limit,
            used: AtomicU64::new(u64::MAX),
            unwritable: AtomicBool::new(false),
        }
    }

    /// Tells whether takes are kept, as far as is known.
    pub fn keeps(&self) -> bool {
        self.folder.is_some() && !self.unwritable.load(Ordering::Relaxed)
    }

    /// Finds a take; a damaged one is removed and not found.
    pub fn get(&self, key: &Key) -> Option<Take> {
        let path = self.folder.as_ref()?.join(key.file_name());
        let bytes = fs::read(&path).ok()?;
        let take = format::decode(&bytes);
        match take {
            Some(_) => touch(&path),
            None => drop(fs::remove_file(&path)),
        }
        take
    }

    /// Tells whether a take is there, without reading it.
    pub fn has(&self, key: &Key) -> bool {
        let folder = self.folder.as_ref();
        folder.is_some_and(|folder| folder.join(key.file_name()).is_file())
    }

    /// Keeps a take; returns a message the first time that this fails.
    pub fn put(&self, key: &Key, take: &Take) -> Option<String> {
        let folder = self.folder.as_ref()?;
        if self.unwritable.load(Ordering::Relaxed) {
            return None;
        }
        let error = self.write(folder, key, take).err()?;
        let first = !self.unwritable.swap(true, Ordering::Relaxed);
        first.then(|| {
            format!(
                "spoken lines cannot be kept in {}: {error}; each is made anew",
                folder.display()
            )
        })
    }

    fn write(&self, folder: &Path, key: &Key, take: &Take) -> io::Result<()> {
        fs::create_dir_all(folder)?;
        let bytes = format::encode(take);
        let number = NAMES.fetch_add(1, Ordering::Relaxed);
        let temporary = folder.join(format!("{}-{number}.part", std::process::id()));
        let written = fs::write(&temporary, &bytes)
            .and_then(|()| fs::rename(&temporary, folder.join(key.file_name())));
        if written.is_err() {
            drop(fs::remove_file(&temporary));
            return written;
        }
        let known = self.used.load(Ordering::Relaxed);
        let used = match known {
            u64::MAX => list(folder).iter().map(|entry| entry.bytes).sum(),
            known => known + bytes.len() as u64,
        };
        self.used.store(used, Ordering::Relaxed);
        if used > self.limit {
            self.used.store(self.shrink(folder), Ordering::Relaxed);
        }
        Ok(())
    }

    /// Removes the files that were not used for longest; returns the bytes that are left.
    fn shrink(&self, folder: &Path) -> u64 {
        let mut entries = list(folder);
        entries.sort_by_key(|entry| entry.used);
        let mut used: u64 = entries.iter().map(|entry| entry.bytes).sum();
        for entry in entries {
            if used <= self.limit / 100 * LEFT_PERCENT {
                break;
            }
            // Gone already is as good: another process shrinks the same folder.
            drop(fs::remove_file(&entry.path));
            used = used.saturating_sub(entry.bytes);
        }
        used
    }
}

struct Entry {
    path: PathBuf,
    bytes: u64,
    used: SystemTime,
}

/// The takes of a folder, and what a killed process left half-written long ago.
fn list(folder: &Path) -> Vec<Entry> {
    let now = SystemTime::now();
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries
        .filter_map(|entry| {
            let path = entry.path();
            let found = entry.metadata().ok().filter(fs::Metadata::is_file)?;
            let used = found.modified().unwrap_or(SystemTime::UNIX_EPOCH);
            let old = now.duration_since(used).unwrap_or_default() > TOUCH_AFTER;
            let end = path.extension()?;
            (end == "take" || (end == "part" && old)).then(|| Entry {
                bytes: found.len(),
                path: path.clone(),
                used,
            })
        })
        .collect()
}

/// Notes that a file was used.
fn touch(path: &Path) {
    let now = SystemTime::now();
    let before = fs::metadata(path).and_then(|found| found.modified());
    let fresh = |before| now.duration_since(before).unwrap_or_default() < TOUCH_AFTER;
    if before.is_ok_and(|before| !fresh(before))
        && let Ok(file) = fs::File::options().write(true).open(path)
    {
        drop(file.set_modified(now));
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::base::units::Frames;
    use crate::sound::speech::SpokenWord;

    fn take(frames: usize) -> Take {
        let samples = (0..frames).map(|n| finish::from_stored((n * 7 % 20_000) as i16));
        Take {
            samples: samples.collect(),
            onset: Frames::new(3),
            end: Frames::new(frames as u64 - 2),
            words: vec![SpokenWord {
                text: "back".to_owned(),
                onset: Frames::new(3),
                end: Frames::new(9),
            }],
            aloud: false,
        }
    }

    fn key(text: &str) -> Key {
        Key::new("voice", text, Rate::NORMAL)
    }

    #[test]
    fn a_take_comes_back_to_the_bit() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::new(Some(folder.path().join("voices")), DEFAULT_LIMIT);
        assert_eq!(cache.get(&key("a")), None);
        assert_eq!(cache.put(&key("a"), &take(10_001)), None);
        assert_eq!(cache.get(&key("a")), Some(take(10_001)));
        assert!(cache.has(&key("a")) && !cache.has(&key("b")));
    }

    #[test]
    fn keys_differ_by_voice_text_and_rate() {
        let keys = [
            Key::new("a", "bc", Rate::NORMAL),
            Key::new("ab", "c", Rate::NORMAL),
            Key::new("a", "bd", Rate::NORMAL),
            Key::new("a", "bc", Rate::from_per_mille(1120)),
        ];
        let unique: std::collections::BTreeSet<_> = keys.iter().collect();
        assert_eq!(unique.len(), keys.len());
    }

    #[test]
    fn any_damaged_byte_is_noticed_and_the_file_removed() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::new(Some(folder.path().to_owned()), DEFAULT_LIMIT);
        let path = folder.path().join(key("a").file_name());
        let whole = format::encode(&take(300));
        for at in 0..whole.len() {
            let mut damaged = whole.clone();
            damaged[at] ^= 0x10;
            fs::write(&path, &damaged).unwrap();
            assert_eq!(cache.get(&key("a")), None, "byte {at}");
            assert!(!path.exists());
        }
        for length in [0, 1, 20, whole.len() - 1] {
            fs::write(&path, &whole[..length]).unwrap();
            assert_eq!(cache.get(&key("a")), None, "cut to {length}");
        }
    }

    #[test]
    fn the_folder_stays_below_its_limit_and_the_oldest_used_go_first() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::new(Some(folder.path().to_owned()), 100_000);
        let old = SystemTime::now() - Duration::from_secs(9000);
        for n in 0..20 {
            cache.put(&key(&n.to_string()), &take(5000));
            let path = folder.path().join(key(&n.to_string()).file_name());
            if let Ok(file) = fs::File::options().write(true).open(path) {
                file.set_modified(old + Duration::from_secs(n)).unwrap();
            }
            if n > 2 {
                // Used again and again: it stays.
                assert!(cache.get(&key("2")).is_some(), "after {n}");
            }
        }
        let used: u64 = list(folder.path()).iter().map(|entry| entry.bytes).sum();
        assert!(used <= 100_000, "{used}");
        assert!(!cache.has(&key("0")) && cache.has(&key("19")));
    }

    #[test]
    fn an_unwritable_folder_is_reported_once() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "").unwrap();
        let cache = Cache::new(Some(file.join("voices")), DEFAULT_LIMIT);
        let message = cache.put(&key("a"), &take(10)).unwrap();
        assert!(message.contains("cannot be kept"), "{message}");
        assert_eq!(cache.put(&key("b"), &take(10)), None);
        assert_eq!(cache.get(&key("a")), None);
    }

    #[test]
    fn threads_that_share_a_folder_never_see_half_a_take() {
        let folder = tempfile::tempdir().unwrap();
        let caches: Vec<Arc<Cache>> = (0..4)
            .map(|_| Arc::new(Cache::new(Some(folder.path().to_owned()), 150_000)))
            .collect();
        std::thread::scope(|scope| {
            for cache in &caches {
                scope.spawn(move || {
                    for n in 0..60 {
                        let key = key(&(n % 7).to_string());
                        let found = cache.get(&key);
                        assert!(found.is_none() || found == Some(take(4000 + n % 7)));
                        assert_eq!(cache.put(&key, &take(4000 + n % 7)), None);
                    }
                });
            }
        });
    }
}
