//! What was measured, on disk, found by what a file holds: a file that moves is not measured again.
//!
//! Each is a line in a file of its own, written under another name and then renamed. What is damaged counts as not
//! there; a folder that cannot be written costs time, and nothing else.

use std::fs;
use std::path::PathBuf;
use std::sync::atomic::AtomicU64;
use std::sync::atomic::Ordering;

use super::measure::Measured;

/// Raised whenever the same file would be measured otherwise.
pub(super) const VERSION: u32 = 2;
const FORMAT: &str = "sidevoice-music/1";
/// Half-written files have names that no other thread or process uses.
static NAMES: AtomicU64 = AtomicU64::new(0);

/// Where measures are kept; nowhere without a folder.
#[derive(Debug, Clone, Default)]
pub(super) struct Kept(pub(super) Option<PathBuf>);

/// Returns the folder of measures: in the user's cache.
pub fn standard() -> Option<PathBuf> {
    let project = directories::ProjectDirs::from("", "", "sidevoice")?;
    Some(project.cache_dir().join("music"))
}

/// Returns the user's home, where folders of music may be.
pub fn home() -> Option<PathBuf> {
    Some(directories::BaseDirs::new()?.home_dir().to_owned())
}

impl Kept {
    /// Finds what was measured.
    pub(super) fn get(&self, key: &str) -> Option<Measured> {
        let text = fs::read_to_string(self.0.as_ref()?.join(key)).ok()?;
        let mut words = text.strip_suffix('\n')?.split(' ');
        let (format, loudness) = (words.next()?, words.next()?);
        let (frames, cut) = (words.next()?, words.next()?);
        if format != FORMAT || words.next().is_some() {
            return None;
        }
        Some(Measured {
            loudness: loudness.parse().ok().filter(|l: &f32| !l.is_nan())?,
            frames: frames.parse().ok()?,
            cut: cut.parse().ok()?,
        })
    }

    /// Keeps what was measured, if it can be kept.
    pub(super) fn put(&self, key: &str, measured: Measured) {
        let Some(folder) = &self.0 else { return };
        let Measured {
            loudness,
            frames,
            cut,
        } = measured;
        let number = NAMES.fetch_add(1, Ordering::Relaxed);
        let temporary = folder.join(format!("{}-{number}.part", std::process::id()));
        let written = fs::create_dir_all(folder)
            .and_then(|()| fs::write(&temporary, format!("{FORMAT} {loudness} {frames} {cut}\n")))
            .and_then(|()| fs::rename(&temporary, folder.join(key)));
        if let Err(error) = written {
            tracing::debug!("what was measured of music is not kept: {error}");
            drop(fs::remove_file(&temporary));
        }
    }
}

/// Writes bytes as digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_measured_comes_back_and_what_is_damaged_does_not() {
        let folder = tempfile::tempdir().unwrap();
        let kept = Kept(Some(folder.path().join("music")));
        for loudness in [-14.35, f32::NEG_INFINITY] {
            let measured = Measured {
                loudness,
                frames: 10_000_000_000,
                cut: true,
            };
            assert_eq!(kept.get("a1"), None);
            kept.put("a1", measured);
            assert_eq!(kept.get("a1"), Some(measured));
            let path = folder.path().join("music/a1");
            let whole = fs::read_to_string(&path).unwrap();
            for damaged in [
                "",
                "\n",
                &whole[..whole.len() - 1],
                &whole.replace("/1", "/2"),
                &format!("{whole}\n"),
            ] {
                fs::write(&path, damaged).unwrap();
                assert_eq!(kept.get("a1"), None, "{damaged:?}");
            }
            fs::remove_file(path).unwrap();
        }
        fs::write(folder.path().join("file"), "").unwrap();
        let nowhere = Kept(Some(folder.path().join("file/music")));
        let measured = Measured {
            loudness: -20.0,
            frames: 1,
            cut: false,
        };
        nowhere.put("a1", measured);
        assert_eq!(nowhere.get("a1"), None);
    }
}
