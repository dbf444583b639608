//! All voices that are known: the embedded ones, then those of TOML files; and the lexicons beside them.

use std::fs;
use std::io;
use std::io::Read;
use std::path::Path;
use std::path::PathBuf;
use std::sync::LazyLock;

use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::in_order;
use crate::sound::speech::library::EngineKind;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::library::read::read_voice;
use crate::sound::speech::pronounce::pls;
use crate::sound::speech::pronounce::pls::Lexicon;

/// The files of the embedded voices, best first.
const EMBEDDED: [&str; 8] = [
    include_str!("../../../../voices/en/hibari.toml"),
    include_str!("../../../../voices/en/compact.toml"),
    include_str!("../../../../voices/en/espeak.toml"),
    include_str!("../../../../voices/es/espeak.toml"),
    include_str!("../../../../voices/de/espeak.toml"),
    include_str!("../../../../voices/fr/espeak.toml"),
    include_str!("../../../../voices/pt/espeak.toml"),
    include_str!("../../../../voices/system.toml"),
];

/// No file of a voice is larger: the largest embedded one has 1.5 kB.
const LARGEST: u64 = 1 << 20;

/// No lexicon is larger: a hundred thousand words take some ten megabytes.
const LARGEST_LEXICON: u64 = 64 << 20;

/// The voices that are known, best first, and how words are said, whatever the voice.
#[derive(Debug, Clone, PartialEq)]
pub struct Shelf {
    voices: Vec<VoiceInfo>,
    lexicons: Vec<Lexicon>,
}

static EMBEDDED_SHELF: LazyLock<Shelf> = LazyLock::new(|| {
    let mut sources = Sources::default();
    let read = |text: &&str| {
        let source = sources.add("voices", *text);
        // Embedded and tested: one that is not sound is left out.
        read_voice(&sources, source).0.map(|voice| voice.value)
    };
    Shelf {
        voices: EMBEDDED.iter().filter_map(read).collect(),
        lexicons: Vec::new(),
    }
});

impl Shelf {
    /// Returns the embedded voices.
    pub fn embedded() -> &'static Shelf {
        &EMBEDDED_SHELF
    }

    /// Reads the files `*.toml` of some folders, in order of their names, after the embedded ones, and
    /// the lexicons `*.pls`.
    ///
    /// A voice with faults is not there; a folder that is not there has none. Of a lexicon all that is
    /// sound is read.
    pub fn read(folders: &[PathBuf], sources: &mut Sources) -> (Shelf, Vec<Diagnostic>) {
        let mut shelf = Shelf::embedded().clone();
        let mut told = Vec::new();
        let mut seen: Vec<&PathBuf> = Vec::new();
        for folder in folders {
            if seen.contains(&folder) {
                continue;
            }
            seen.push(folder);
            for file in files(folder, "pls") {
                let mut found = Vec::new();
                if let Some(source) = source_of(&file, LARGEST_LEXICON, sources, &mut found) {
                    let (lexicon, faults) = pls::read(sources, source);
                    found.extend(faults);
                    shelf.lexicons.push(lexicon);
                }
                told.extend(in_order(found));
            }
            for file in files(folder, "toml") {
                let mut found = Vec::new();
                if let Some(voice) = shelf.read_file(&file, sources, &mut found) {
                    shelf.voices.push(voice);
                }
                told.extend(in_order(found));
            }
        }
        (shelf, told)
    }

    /// Reads one file; its faults are not told again.
    pub fn load(file: &Path) -> Option<VoiceInfo> {
        Shelf::embedded().read_file(file, &mut Sources::default(), &mut Vec::new())
    }

    fn read_file(
        &self,
        file: &Path,
        sources: &mut Sources,
        told: &mut Vec<Diagnostic>,
    ) -> Option<VoiceInfo> {
        let source = source_of(file, LARGEST, sources, told)?;
        let (voice, faults) = read_voice(sources, source);
        told.extend(faults);
        let voice = voice?;
        let (place, mut voice) = (voice.place, voice.value);
        if let Some(taken) = self.find(&voice.name) {
            let whose = match &taken.source {
                None => "one that is part of the program".to_owned(),
                Some(other) => format!("that of {}", other.display()),
            };
            let message = format!(
                "expected a name of its own for this voice, found \"{}\", {whose}",
                voice.name
            );
            let fault = Diagnostic::error(Code::VoiceTaken, place, message);
            told.push(fault.help("give this voice another name"));
            return None;
        }
        if matches!(voice.engine, EngineKind::Compact | EngineKind::System) {
            let message = format!(
                "expected \"neural\" or \"espeak\" for `engine`, found \"{}\"",
                voice.engine.word()
            );
            let fault = Diagnostic::error(Code::ValueUnknown, place, message);
            told.push(fault.help("there is one voice of this engine, and it has its name"));
            return None;
        }
        let beside = file.parent().unwrap_or(Path::new(""));
        let own = beside.join(voice.folder.as_deref().unwrap_or(Path::new(&voice.name)));
        // Fetched files lie among the program's voices, unless they are here.
        if voice.folder.is_some() || voice.package.is_none() || own.is_dir() {
            voice.folder = Some(own);
        }
        voice.source = Some(file.to_owned());
        Some(voice)
    }

    /// Returns the voices, best first.
    pub fn voices(&self) -> &[VoiceInfo] {
        &self.voices
    }

    /// Returns the lexicons, the later ones of more weight.
    pub fn lexicons(&self) -> &[Lexicon] {
        &self.lexicons
    }

    /// Finds a voice by its name.
    pub fn find(&self, name: &str) -> Option<&VoiceInfo> {
        self.voices.iter().find(|voice| voice.name == name)
    }

    /// Returns all names, for a sentence.
    pub fn names(&self) -> String {
        let names: Vec<&str> = self.voices.iter().map(|v| v.name.as_str()).collect();
        names.join(", ")
    }
}

/// Reads a file as a source; that it cannot be read is told.
fn source_of(
    file: &Path,
    largest: u64,
    sources: &mut Sources,
    told: &mut Vec<Diagnostic>,
) -> Option<SourceId> {
    let shown = file.display().to_string();
    match read_text(file, largest) {
        Ok(text) => Some(sources.add(shown, text)),
        Err(error) => {
            let place = Place::start_of(sources.add(shown, ""));
            let (code, help) = match error.kind() {
                io::ErrorKind::InvalidData => (Code::NotUtf8, "save it as UTF-8 text"),
                io::ErrorKind::FileTooLarge => (Code::FileTooLarge, "split it, or remove it"),
                _ => (Code::FileMissing, "make the file readable, or remove it"),
            };
            let message = format!("expected a file that can be read, found {error}");
            told.push(Diagnostic::error(code, place, message).help(help));
            None
        }
    }
}

fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut files: Vec<_> = entries
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|end| end == ending) && path.is_file())
        .collect();
    files.sort();
    files
}

fn read_text(file: &Path, largest: u64) -> io::Result<String> {
    let mut text = String::new();
    let mut file = fs::File::open(file)?.take(largest + 1);
    file.read_to_string(&mut text)?;
    if file.limit() == 0 {
        return Err(io::Error::new(
            io::ErrorKind::FileTooLarge,
            format!("more than {largest} bytes"),
        ));
    }
    Ok(text)
}
