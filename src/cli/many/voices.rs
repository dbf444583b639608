//! In which voices, and languages, a folder is rendered.

use super::job::Order;
use crate::base::wording::Language;
use crate::cli::Failure;
use crate::cli::load;
use crate::planning::session::Session;
use crate::sound::speech::Settings;
use crate::sound::speech::Speaker;
use crate::sound::speech::library::Shelf;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::PoisonError;

/// How a class is spoken.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Spoken {
    /// What tells its files from those in other voices; none where there is only the session's own.
    pub label: Option<String>,
    /// The session's own where none is named.
    pub language: Option<Language>,
    voice: Option<String>,
}

/// The voices that speak, opened when they are needed, each once.
pub struct Voices {
    settings: Settings,
    open: Mutex<BTreeMap<String, Arc<Speaker>>>,
}

impl Spoken {
    /// Reads languages and names of voices; without any each class is spoken as its file says.
    ///
    /// # Errors
    ///
    /// [`Failure::Voice`] with all that is not known.
    pub fn all(names: &[String], shelf: &Shelf) -> Result<Vec<Self>, Failure> {
        if names.is_empty() {
            return Ok(vec![Self::default()]);
        }
        let mut all: Vec<Self> = Vec::new();
        let mut unknown = Vec::new();
        for name in names.iter().map(|name| name.trim()) {
            match Self::of(name, shelf) {
                Some(spoken) if !all.contains(&spoken) => all.push(spoken),
                Some(_) => {}
                None => unknown.push(format!("\"{name}\"")),
            }
        }
        match unknown.is_empty() {
            true => Ok(all),
            false => Err(Failure::Voice(format!(
                "expected languages or voices, found {}. The languages are: {}; the voices are: {}",
                unknown.join(", "),
                Language::ALL.map(|language| language.tag()).join(", "),
                shelf.names()
            ))),
        }
    }

    fn of(name: &str, shelf: &Shelf) -> Option<Self> {
        let label = Some(name.to_owned());
        if let Some(language) = Language::of(name) {
            return Some(Self {
                label,
                language: Some(language),
                voice: None,
            });
        }
        let voice = shelf.find(name)?;
        let base = voice.language.split('-').next().unwrap_or_default();
        Some(Self {
            label,
            language: Language::of(&base.to_lowercase()),
            voice: Some(name.to_owned()),
        })
    }
}

impl Voices {
    /// Makes ready to open voices.
    pub fn new(settings: Settings) -> Self {
        Self {
            settings,
            open: Mutex::default(),
        }
    }

    /// Opens the voice of a class, or hands out the one that is open.
    ///
    /// # Errors
    ///
    /// [`Failure::Voice`].
    pub fn speaker(
        &self,
        spoken: &Spoken,
        session: &Session,
        order: &Order,
    ) -> Result<Arc<Speaker>, Failure> {
        let text = &session.text;
        let own = text.voice.as_ref().map(|voice| voice.value.clone());
        let own = own.filter(|_| spoken.label.is_none());
        let voice = spoken.voice.clone().or(own);
        let clarity = order
            .manner
            .clarity
            .or(text.clarity)
            .or(order.config.clarity);
        let clarity = clarity.unwrap_or_default();
        let name = format!("{voice:?} {} {clarity:?}", text.language.tag());
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(speaker) = open.get(&name) {
            return Ok(Arc::clone(speaker));
        }
        let settings = Settings {
            voice,
            language: Some(text.language.tag().to_owned()),
            clarity,
            ..self.settings.clone()
        };
        let (speaker, notices) = Speaker::open(settings);
        load::say(&notices);
        if speaker.system().is_some() {
            return Err(Failure::Voice(format!(
                "the voice {} speaks by itself and gives no sound that could be written to a file",
                speaker.name()
            )));
        }
        let speaker = Arc::new(speaker);
        open.insert(name, Arc::clone(&speaker));
        Ok(speaker)
    }

    /// Returns the texts of all files that say how words are said.
    pub fn lexicons(&self, root: &Path) -> Vec<String> {
        let folders = self.settings.voices.iter().cloned();
        let mut files: Vec<PathBuf> = folders
            .chain([load::own_voices(root)])
            .filter_map(|folder| fs::read_dir(folder).ok())
            .flat_map(|entries| entries.flatten().map(|entry| entry.path()))
            .filter(|path| path.extension().is_some_and(|e| e == "toml" || e == "pls"))
            .collect();
        files.sort();
        let texts = files.iter().filter_map(|path| fs::read(path).ok());
        texts
            .map(|text| String::from_utf8_lossy(&text).into_owned())
            .collect()
    }

    /// Hands out what listeners of all voices should know.
    pub fn notices(&self) {
        let open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        for speaker in open.values() {
            load::say(&speaker.notices());
        }
    }
}
