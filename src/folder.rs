//! Reads a session folder: files -> texts -> a session with its movements, all faults told.
//!
//! The shell's part of reading: `planning::session` does the understanding.
#![expect(
    clippy::disallowed_methods,
    reason = "reading files is this room's job"
)]

mod files;
mod music;
mod zone;

pub use music::music_missing;

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::in_order;
use crate::base::diagnostic::nearest;
use crate::base::wording::Language;
use crate::planning::session::Library;
use crate::planning::session::Movement;
use crate::planning::session::Session;
use crate::planning::session::SessionText;
use crate::planning::session::faults_of_uses;
use crate::planning::session::is_id;
use crate::planning::session::language_found;
use crate::planning::session::read_movement;
use crate::planning::session::read_session;
use crate::planning::session::read_translation;
use crate::planning::session::resolve;
use crate::planning::session::uses_found;
use files::display;
use files::hidden;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;

/// A session folder on disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Folder {
    root: PathBuf,
}

/// What reading gave: the session if it is sound, and everything there is to say.
pub struct Loaded {
    pub sources: Sources,
    pub session: Option<Session>,
    pub diagnostics: Vec<Diagnostic>,
}

/// All sessions of a folder with what there is to say of them.
pub struct LoadedFolder {
    pub sources: Sources,
    /// By id; `None` for a session at fault.
    pub sessions: BTreeMap<String, Option<Session>>,
    /// All movements, whether a session uses them or not.
    pub movements: Library,
    pub diagnostics: Vec<Diagnostic>,
}

/// The sessions of a folder by their ids, in order, and what there is to say of their names.
pub struct Listed {
    pub ids: Vec<String>,
    pub sources: Sources,
    pub diagnostics: Vec<Diagnostic>,
}

/// One session file read by itself, not yet joined with its movements.
pub struct LoneSession {
    pub sources: Sources,
    /// `None` for one at fault.
    pub text: Option<SessionText>,
    /// The ids of the movements it uses, each once, as far as they can be read.
    pub uses: Vec<String>,
    pub diagnostics: Vec<Diagnostic>,
}

/// One movement file read by itself.
pub struct LoneMovement {
    pub sources: Sources,
    /// `None` for one at fault.
    pub movement: Option<Arc<Movement>>,
    pub diagnostics: Vec<Diagnostic>,
    /// What there is to say of its texts in other languages: it concerns sessions in these.
    pub of_translations: Vec<(Language, Vec<Diagnostic>)>,
}

impl LoneSession {
    /// Reads a session file and nothing else.
    pub fn read(file: &Path) -> Self {
        let mut reader = Reader::default();
        let mut uses = Vec::new();
        let text = reader.text(file).and_then(|source| {
            let (text, found) = read_session(&reader.sources, source);
            let lost = match &text {
                Some(_) => Vec::new(),
                None => uses_found(&reader.sources, source, &found),
            };
            let blocks = text.iter().flat_map(|text| &text.blocks);
            for of in blocks.flat_map(|block| &block.uses).chain(&lost) {
                if !uses.contains(&of.movement.value) {
                    uses.push(of.movement.value.clone());
                }
            }
            reader.diagnostics.extend(found);
            let root = file.parent().and_then(Path::parent);
            if let (Some(text), Some(root)) = (&text, root) {
                reader.diagnostics.extend(music::look(text, root));
                reader.diagnostics.extend(zone::look(text));
            }
            text
        });
        Self {
            text,
            uses,
            diagnostics: in_order(reader.diagnostics),
            sources: reader.sources,
        }
    }
}

impl LoneMovement {
    /// Reads the file of the movement with this id, and those with its texts in other languages.
    pub fn read(id: &str, file: &Path) -> Self {
        let mut reader = Reader::default();
        reader.movement(id, file, &[]);
        let mut movement = reader.library.remove(id).flatten();
        let mut of_translations = Vec::new();
        if let Some(movement) = &mut movement {
            let own = std::mem::take(&mut reader.diagnostics);
            for language in Language::ALL {
                reader.translation(movement, file, language);
                let found = std::mem::take(&mut reader.diagnostics);
                if !found.is_empty() {
                    of_translations.push((language, in_order(found)));
                }
            }
            reader.diagnostics = own;
        }
        Self {
            movement,
            of_translations,
            diagnostics: in_order(reader.diagnostics),
            sources: reader.sources,
        }
    }
}

impl Folder {
    /// Makes a folder from its path.
    pub fn at(root: impl Into<PathBuf>) -> Self {
        Self { root: root.into() }
    }

    /// Returns its path; empty for the folder that the program was started in.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Finds the folder and the file of a session named by its path, or by its id inside the
    /// folder `here`.
    pub fn of_session(name: &str, here: &Path) -> (Self, PathBuf) {
        let path = Path::new(name);
        // What cannot be an id is a path, so that no id leads out of the folder.
        let is_path =
            !is_id(name) || path.extension().is_some_and(|e| e == "toml") || path.exists();
        if is_path {
            let parent = path.parent().unwrap_or(Path::new(""));
            let root = match parent.parent() {
                // `sessions/a.toml` lies in the folder it is called from.
                Some(root) => root.to_owned(),
                None => parent.join(".."),
            };
            return (Self::at(root), path.to_owned());
        }
        let file = here.join("sessions").join(format!("{name}.toml"));
        (Self::at(here), file)
    }

    /// Reads one session and the movements it uses.
    pub fn load(&self, file: &Path) -> Loaded {
        self.load_in(file, None)
    }

    /// Reads one session as if its file asked for a language.
    pub fn load_in(&self, file: &Path, language: Option<Language>) -> Loaded {
        let mut reader = Reader {
            language,
            ..Reader::default()
        };
        let session = reader.session(file, self);
        Loaded {
            session,
            diagnostics: in_order(reader.diagnostics),
            sources: reader.sources,
        }
    }

    /// Reads every session and every movement.
    pub fn load_all(&self) -> LoadedFolder {
        let mut reader = Reader::default();
        let files = reader.files(self, "sessions");
        let movements = reader.files(self, "movements");
        for (id, file) in &movements {
            reader.movement(id, file, &Language::ALL);
        }
        reader.without_movement(self, &movements);
        reader.all_movements = Some(movements);
        let sessions = files
            .iter()
            .map(|(id, file)| (id.clone(), reader.session(file, self)))
            .collect();
        LoadedFolder {
            sessions,
            movements: reader.library,
            diagnostics: in_order(reader.diagnostics),
            sources: reader.sources,
        }
    }

    /// Returns the ids of the sessions, in order.
    pub fn session_ids(&self) -> Vec<String> {
        self.listed().ids
    }

    /// Lists the sessions without reading them.
    pub fn listed(&self) -> Listed {
        let mut reader = Reader::default();
        let ids = reader.files(self, "sessions").into_keys().collect();
        Listed {
            ids,
            diagnostics: in_order(reader.diagnostics),
            sources: reader.sources,
        }
    }
}

#[derive(Default)]
struct Reader {
    sources: Sources,
    diagnostics: Vec<Diagnostic>,
    /// The language that sessions are to be in, whatever they say.
    language: Option<Language>,
    library: Library,
    all_movements: Option<BTreeMap<String, PathBuf>>,
}

impl Reader {
    fn session(&mut self, file: &Path, folder: &Folder) -> Option<Session> {
        let source = self.text(file)?;
        let (mut text, found) = read_session(&self.sources, source);
        self.diagnostics.extend(found);
        if let (Some(text), Some(language)) = (&mut text, self.language) {
            text.language = language;
        }
        let movements = match self.all_movements.take() {
            Some(movements) => movements,
            None => self.files(folder, "movements"),
        };
        // Of a session at fault too, all faults are told in one pass.
        let found = match &text {
            Some(_) => Vec::new(),
            None => uses_found(&self.sources, source, &self.diagnostics),
        };
        let language = match &text {
            Some(text) => text.language,
            None => language_found(&self.sources, source),
        };
        let uses = || {
            let blocks = text.iter().flat_map(|text| &text.blocks);
            blocks.flat_map(|block| &block.uses).chain(&found)
        };
        for id in uses().map(|of| &of.movement.value) {
            if let (false, Some(file)) = (self.library.contains_key(id), movements.get(id)) {
                self.movement(id, file, &[language]);
            }
        }
        // The ids that were not read still count for "did you mean"; of a whole folder, all are
        // read before its sessions.
        for id in movements.keys() {
            if !self.library.contains_key(id) {
                self.library.insert(id.clone(), None);
            }
        }
        self.all_movements = Some(movements);
        let Some(text) = text else {
            let faults = faults_of_uses(uses(), &self.library);
            self.diagnostics.extend(faults);
            return None;
        };
        self.diagnostics.extend(music::look(&text, &folder.root));
        self.diagnostics.extend(zone::look(&text));
        let (session, found) = resolve(text, &self.library);
        self.diagnostics.extend(found);
        session
    }

    fn movement(&mut self, id: &str, file: &Path, languages: &[Language]) {
        let movement = self.text(file).and_then(|source| {
            let (movement, found) = read_movement(id, &self.sources, source);
            self.diagnostics.extend(found);
            movement.map(Arc::new)
        });
        let movement = movement.map(|mut movement| {
            for language in languages {
                self.translation(&mut movement, file, *language);
            }
            movement
        });
        self.library.insert(id.to_owned(), movement);
    }

    /// Reads the texts of a movement in a language, if there is a file with them.
    fn translation(&mut self, movement: &mut Arc<Movement>, file: &Path, language: Language) {
        let (Some(folder), Some(name)) = (file.parent(), file.file_name()) else {
            return;
        };
        let file = folder.join(language.tag()).join(name);
        if fs::symlink_metadata(&file).is_err() {
            return;
        }
        let translated = self.text(&file).and_then(|source| {
            let (translated, found) = read_translation(movement, language, &self.sources, source);
            self.diagnostics.extend(found);
            translated.map(Arc::new)
        });
        let translations = &mut Arc::make_mut(movement).translations;
        translations.insert(language, translated);
    }

    /// Tells of texts in other languages that belong to no movement, and of folders for no language.
    fn without_movement(&mut self, folder: &Folder, movements: &BTreeMap<String, PathBuf>) {
        let entries = fs::read_dir(folder.root.join("movements")).into_iter();
        let mut folders: Vec<_> = entries.flatten().flatten().map(|e| e.path()).collect();
        folders.retain(|path| path.is_dir() && !hidden(path));
        folders.sort();
        for path in folders {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            if Language::of(&name).is_none() {
                let tags = Language::ALL.map(|language| language.tag());
                let source = self.sources.add(display(&path), "");
                let message = "nothing reads this folder: it has not the name of a language";
                let unread =
                    Diagnostic::warning(Code::LanguageUnknown, Place::start_of(source), message);
                let help = format!("texts in a language lie in one of: {}", tags.join(", "));
                self.diagnostics.push(unread.help(help));
            }
        }
        for language in Language::ALL {
            let part = format!("movements/{}", language.tag());
            if !folder.root.join(&part).is_dir() {
                continue;
            }
            for (id, file) in self.files(folder, &part) {
                if movements.contains_key(&id) {
                    continue;
                }
                let help = match nearest(&id, movements.keys().map(String::as_str)) {
                    Some(near) => format!("did you mean {near}.toml?"),
                    None => format!("add the file movements/{id}.toml"),
                };
                let message = "expected the name of a file in `movements`, found another";
                self.at_path(&file, Code::MovementUnknown, message.to_owned(), &help);
            }
        }
    }
}
