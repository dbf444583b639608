//! What a rehearsal leaves in the `log` of its folder, and the edit of a session that it proposes.

use crate::base::diagnostic::Level;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::any_error;
use crate::base::wording::Language;
use crate::planning::session::read_session;
use crate::rehearse::pace::Heard;
use crate::rehearse::pace::Person;
use crate::rehearse::report::Edit;
use crate::rehearse::report::Kept;
use crate::rehearse::report::apply;
use crate::rehearse::report::read;
use crate::sound::speech::library::language_name;
use crate::speakers::ME;
use crate::speakers::Speakers;
use jiff::Timestamp;
use std::fs;
use std::io;
use std::io::Write;
use std::path::Path;
use std::path::PathBuf;

/// Some editors begin a file so.
const MARK: &str = "\u{feff}";

const LOG: &str = "log";
const ENDING: &str = ".rehearsal.json";
/// A person is known by so many lines, the last ones: people get quicker as they practise.
const MOST_LINES: usize = 300;
/// Fewer lines than these say little of a person.
const LEAST_LINES: usize = 10;

/// The rehearsals that are kept in a folder.
pub struct Kepts {
    log: PathBuf,
}

impl Kepts {
    /// Returns those of a session folder.
    pub fn of(root: &Path) -> Kepts {
        Kepts {
            log: root.join(LOG),
        }
    }

    /// Returns the path of a file of a rehearsal that began at an instant.
    pub fn path(&self, began: Timestamp, session: &str, ending: &str) -> PathBuf {
        let stamp = began.strftime("%Y-%m-%dT%H-%M-%SZ");
        self.log.join(format!("{stamp}-{session}{ending}"))
    }

    /// Returns all of them, the oldest first; what cannot be read is none.
    fn all(&self) -> Vec<Kept> {
        let entries = fs::read_dir(&self.log).into_iter().flatten().flatten();
        let mut paths: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
        paths.retain(|path| path.to_string_lossy().ends_with(ENDING));
        paths.sort();
        let texts = paths
            .iter()
            .filter_map(|path| fs::read_to_string(path).ok());
        texts.filter_map(|text| read(&text)).collect()
    }

    /// Returns the last one of a session that went as fast, in per cent.
    pub fn last(&self, session: &str, pace: u32) -> Option<Kept> {
        let all = self.all().into_iter();
        let mut same = all.filter(|kept| (kept.session.as_str(), kept.pace) == (session, pace));
        same.next_back()
    }

    /// Keeps one; returns where.
    ///
    /// # Errors
    ///
    /// Where the folder cannot be written to.
    pub fn keep(&self, kept: &Kept, began: Timestamp) -> io::Result<PathBuf> {
        fs::create_dir_all(&self.log)?;
        let path = self.path(began, &kept.session, ENDING);
        let text = serde_json::to_string_pretty(kept).map_err(io::Error::other)?;
        write(&path, &format!("{text}\n"))?;
        Ok(path)
    }

    /// Learns the pace of whoever rehearses here, and keeps it as the speaker `me`; `None` where too little
    /// was heard line by line.
    ///
    /// # Errors
    ///
    /// Where the speaker cannot be kept.
    pub fn learn(&self, language: Language) -> io::Result<Option<Person>> {
        let all = self.all().into_iter();
        let same = all.filter(|kept| kept.language == language.tag());
        let lines = same.flat_map(|kept| kept.lines);
        let mut heard: Vec<Heard> = lines
            .map(|line| Heard {
                length: crate::base::units::Millis::from_ms(line.ms),
                text: line.text,
            })
            .collect();
        heard.drain(..heard.len().saturating_sub(MOST_LINES));
        if heard.len() < LEAST_LINES {
            return Ok(None);
        }
        let speakers = Speakers::standard().ok_or_else(|| io::Error::other("no home folder"))?;
        let loaded = speakers.load(ME);
        if any_error(&loaded.diagnostics) {
            return Err(io::Error::other(format!(
                "the file of the speaker {ME} has faults: `sidevoice speaker` tells them"
            )));
        }
        let before = loaded.person;
        if let Some(other) = before.as_ref().filter(|me| me.language != language) {
            return Err(io::Error::other(format!(
                "{ME} speaks {} and is kept: `sidevoice speaker forget {ME}` begins anew",
                language_name(other.language.tag())
            )));
        }
        if before.as_ref().is_some_and(|me| me.lines > heard.len()) {
            return Ok(None);
        }
        let person = Person {
            // Heard out of breath once, and in no rehearsal.
            breathless: before.and_then(|me| me.breathless),
            ..Person::learnt(&heard, language)
        };
        speakers.save(ME, &person)?;
        Ok(Some(person))
    }
}

/// Makes edits in a session's file, if it still holds the text that they were made for.
///
/// # Errors
///
/// Says why nothing was changed.
pub fn edit(file: &Path, was: &str, edits: &[Edit]) -> Result<(), String> {
    let name = file.display();
    let unread = |error: io::Error| format!("{name} cannot be read: {error}. Nothing was changed");
    // A link stays one.
    let file = &fs::canonicalize(file).map_err(unread)?;
    let all = fs::read_to_string(file).map_err(unread)?;
    let (mark, now) = match all.strip_prefix(MARK) {
        Some(rest) => (MARK, rest),
        None => ("", all.as_str()),
    };
    if now != was {
        return Err(format!(
            "{name} was changed while you rehearsed: nothing was changed in it"
        ));
    }
    let text = apply(now, edits).map_err(|why| format!("{name}: {why}. Nothing was changed"))?;
    let mut sources = Sources::default();
    let source = sources.add("the session", text.as_str());
    if let Some(fault) = read_session(&sources, source)
        .1
        .iter()
        .find(|d| d.level == Level::Error)
    {
        let why = &fault.message;
        return Err(format!(
            "{name} would have a fault: {why}. Nothing was changed"
        ));
    }
    write(file, &format!("{mark}{text}"))
        .map_err(|error| format!("{name} cannot be written: {error}"))
}

/// Writes a file whole or not at all, with the rights that it had.
fn write(path: &Path, text: &str) -> io::Result<()> {
    let folder = path.parent().filter(|folder| *folder != Path::new(""));
    let mut file = tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new(".")))?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    if let Ok(before) = fs::metadata(path) {
        fs::set_permissions(file.path(), before.permissions())?;
    }
    file.persist(path)?;
    Ok(())
}
