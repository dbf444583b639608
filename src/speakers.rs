//! The people whose pace is kept: `speakers/NAME.toml` in the program's data folder.
#![expect(
    clippy::disallowed_methods,
    reason = "reads and writes the files of speakers"
)]

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::Sources;
use crate::base::units::SampleRate;
use crate::planning::session::is_id;
use crate::rehearse::pace::Person;
use crate::rehearse::pace::kept;
use std::fs;
use std::io;
use std::io::ErrorKind;
use std::io::Read;
use std::path::Path;
use std::path::PathBuf;

/// The speaker that is learnt from rehearsals.
pub const ME: &str = "me";

/// What no file of a speaker is larger than.
const LARGEST: u64 = 1 << 16;

/// The folder of speakers.
#[derive(Debug, Clone)]
pub struct Speakers {
    folder: PathBuf,
}

/// What reading a speaker gave.
pub struct Loaded {
    /// `None` where nobody of this name is kept, or the file is at fault.
    pub person: Option<Person>,
    pub sources: Sources,
    pub diagnostics: Vec<Diagnostic>,
}

impl Speakers {
    /// Returns the user's own; `None` where there is no home folder.
    pub fn standard() -> Option<Speakers> {
        let project = directories::ProjectDirs::from("", "", "sidevoice")?;
        Some(Speakers::at(project.data_dir().join("speakers")))
    }

    /// Returns those of a folder, which need not be there.
    pub fn at(folder: impl Into<PathBuf>) -> Speakers {
        let folder = folder.into();
        Speakers { folder }
    }

    /// Returns the names of those that are kept, in order.
    pub fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        let name = |path: PathBuf| {
            let is_toml = path.extension().is_some_and(|ending| ending == "toml");
            let name = path.file_stem()?.to_str()?.to_owned();
            (is_toml && is_id(&name)).then_some(name)
        };
        let mut names: Vec<_> = entries.filter_map(|entry| name(entry.path())).collect();
        names.sort_unstable();
        names
    }

    /// Returns the file of a speaker; `None` for what can be no name.
    pub fn file(&self, name: &str) -> Option<PathBuf> {
        is_id(name).then(|| self.folder.join(format!("{name}.toml")))
    }

    /// Reads a speaker, with all faults of the file.
    pub fn load(&self, name: &str) -> Loaded {
        let mut loaded = Loaded {
            person: None,
            sources: Sources::default(),
            diagnostics: Vec::new(),
        };
        let Some(path) = self.file(name) else {
            return loaded;
        };
        let shown = path.display().to_string();
        match text(&path) {
            Ok(text) => {
                let source = loaded.sources.add(shown, text);
                (loaded.person, loaded.diagnostics) = kept::read(&loaded.sources, source);
            }
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => {
                let source = loaded.sources.add(shown, "");
                loaded
                    .diagnostics
                    .push(unreadable(&error, Place::start_of(source)));
            }
        }
        loaded
    }

    /// Keeps a speaker, whole or not at all.
    ///
    /// # Errors
    ///
    /// What the system says; `InvalidInput` for what can be no name.
    pub fn save(&self, name: &str, person: &Person) -> io::Result<()> {
        let path = self.file(name).ok_or(ErrorKind::InvalidInput)?;
        fs::create_dir_all(&self.folder)?;
        // With a name of its own: two programs that write at once leave one of both.
        let mut half = tempfile::NamedTempFile::new_in(&self.folder)?;
        io::Write::write_all(&mut half, kept::write(person).as_bytes())?;
        half.as_file().sync_all()?;
        half.persist(path).map_err(|error| error.error)?;
        Ok(())
    }

    /// Returns where a recording of a speaker stands; `None` for what can be no name.
    pub fn recording(&self, name: &str) -> Option<PathBuf> {
        is_id(name).then(|| self.folder.join(format!("{name}.wav")))
    }

    /// Keeps what a speaker was heard to say: mono, 16 bits, whole or not at all.
    ///
    /// # Errors
    ///
    /// What the system says; `InvalidInput` for what can be no name.
    pub fn keep_recording(
        &self,
        name: &str,
        rate: SampleRate,
        samples: &[i16],
    ) -> io::Result<PathBuf> {
        let path = self.recording(name).ok_or(ErrorKind::InvalidInput)?;
        fs::create_dir_all(&self.folder)?;
        let mut half = tempfile::NamedTempFile::new_in(&self.folder)?;
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: rate.hz(),
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let written = hound::WavWriter::new(io::BufWriter::new(half.as_file_mut()), spec);
        let written = written.and_then(|mut writer| {
            for sample in samples {
                writer.write_sample(*sample)?;
            }
            writer.finalize()
        });
        written.map_err(|error| match error {
            hound::Error::IoError(error) => error,
            other => io::Error::other(other),
        })?;
        half.as_file().sync_all()?;
        half.persist(&path).map_err(|error| error.error)?;
        Ok(path)
    }

    /// Removes the recording of a speaker; returns whether there was one.
    ///
    /// # Errors
    ///
    /// What the system says.
    pub fn drop_recording(&self, name: &str) -> io::Result<bool> {
        self.recording(name).map_or(Ok(false), |path| remove(&path))
    }

    /// Forgets a speaker, with the recording if there is one; returns whether there was one.
    ///
    /// # Errors
    ///
    /// What the system says.
    pub fn forget(&self, name: &str) -> io::Result<bool> {
        let Some(path) = self.file(name) else {
            return Ok(false);
        };
        let recorded = self.drop_recording(name)?;
        Ok(remove(&path)? || recorded)
    }
}

/// Removes a file; returns whether there was one.
fn remove(path: &Path) -> io::Result<bool> {
    match fs::remove_file(path) {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(false),
        Err(error) => Err(error),
    }
}

fn text(path: &Path) -> io::Result<String> {
    let mut text = String::new();
    fs::File::open(path)?
        .take(LARGEST)
        .read_to_string(&mut text)?;
    Ok(text)
}

fn unreadable(error: &io::Error, place: Place) -> Diagnostic {
    let (code, help) = match error.kind() {
        ErrorKind::InvalidData => (Code::NotUtf8, "`sidevoice speaker forget` removes it"),
        _ => (Code::FileMissing, "make the file readable, or remove it"),
    };
    let message = format!("expected a speaker's file that can be read: {error}");
    Diagnostic::error(code, place, message).help(help)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_speaker_is_kept_listed_and_forgotten() {
        let folder = tempfile::tempdir().unwrap();
        let speakers = Speakers::at(folder.path().join("data/speakers"));
        assert!(speakers.names().is_empty());
        assert!(speakers.load(ME).person.is_none());
        assert!(speakers.load(ME).diagnostics.is_empty());
        assert!(!speakers.forget(ME).unwrap());
        let person = Person::usual();
        speakers.save(ME, &person).unwrap();
        speakers.save("anna", &person).unwrap();
        assert_eq!(speakers.names(), ["anna", ME]);
        assert_eq!(speakers.load(ME).person, Some(person));
        assert!(speakers.forget(ME).unwrap());
        assert_eq!(speakers.names(), ["anna"]);
    }

    #[test]
    fn a_recording_stands_beside_its_speaker_and_is_forgotten_with_it() {
        let folder = tempfile::tempdir().unwrap();
        let speakers = Speakers::at(folder.path().join("speakers"));
        speakers.save("anna", &Person::usual()).unwrap();
        let rate = SampleRate::from_hz(16_000);
        let kept = speakers.keep_recording("anna", rate, &[0, 7, -7]).unwrap();
        assert_eq!(speakers.recording("anna"), Some(kept.clone()));
        let mut wav = hound::WavReader::open(&kept).unwrap();
        assert_eq!((wav.spec().sample_rate, wav.spec().channels), (16_000, 1));
        let samples: Vec<i16> = wav.samples().map(Result::unwrap).collect();
        assert_eq!(samples, [0, 7, -7]);
        assert_eq!(speakers.names(), ["anna"]);
        assert!(speakers.forget("anna").unwrap());
        assert!(!kept.exists());
        assert!(!speakers.drop_recording("anna").unwrap());
        assert!(speakers.keep_recording("../anna", rate, &[]).is_err());
    }

    #[test]
    fn no_name_leads_out_of_the_folder() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("config.toml"), "").unwrap();
        let speakers = Speakers::at(folder.path().join("speakers"));
        for name in ["../config", "", "a/b", ".", "a b"] {
            let refused = speakers.save(name, &Person::usual()).unwrap_err();
            assert_eq!(refused.kind(), ErrorKind::InvalidInput, "{name}");
            assert!(!speakers.forget(name).unwrap(), "{name}");
        }
        assert!(folder.path().join("config.toml").exists());
    }

    #[test]
    fn a_file_that_is_no_text_is_told() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("me.toml"), b"\xff\xfe").unwrap();
        fs::create_dir(folder.path().join("shed.toml")).unwrap();
        let speakers = Speakers::at(folder.path());
        for (name, code) in [(ME, Code::NotUtf8), ("shed", Code::FileMissing)] {
            let loaded = speakers.load(name);
            assert_eq!(loaded.person, None);
            assert_eq!(loaded.diagnostics[0].code, code);
        }
    }
}
