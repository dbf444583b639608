//! What the commands share: loading a session with its faults told, and opening a voice.

use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::is_terminal;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Style;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::nearest;
use crate::base::diagnostic::render;
use crate::folder::Folder;
use crate::live::config;
use crate::live::config::Config;
use crate::planning::session::Session;
use crate::sound::speech::Notice;
use crate::sound::speech::Settings;
use crate::sound::speech::Speaker;
use crate::sound::speech::library::Shelf;
use std::path::Path;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

/// A session that is sound, with what was said about it.
pub struct Ready {
    pub folder: Folder,
    pub file: PathBuf,
    pub session: Session,
    pub sources: Sources,
    pub diagnostics: Vec<Diagnostic>,
}

/// Loads a session; its faults are printed.
pub fn session(options: &Planning) -> Result<Ready, Failure> {
    let (folder, file) = Folder::of_session(&options.session, Path::new(""));
    let loaded = folder.load(&file);
    tell(&loaded.diagnostics, &loaded.sources, options.plain);
    match loaded.session {
        Some(session) if !any_error(&loaded.diagnostics) => Ok(Ready {
            folder,
            file,
            session,
            sources: loaded.sources,
            diagnostics: loaded.diagnostics,
        }),
        _ => Err(Failure::Faults),
    }
}

/// Reads the configuration; its faults are printed, and then the defaults go on.
pub fn config(plain: bool) -> Config {
    let Some(path) = config::path() else {
        return Config::default();
    };
    let loaded = config::load(&path);
    tell(&loaded.diagnostics, &loaded.sources, plain);
    if loaded.is_default_for_faults() {
        complain("sidevoice: the defaults go on until the configuration is put right.\n");
    }
    loaded.config
}

/// The same for a session folder: one that lies there is told of, for nothing reads it.
pub fn config_beside(root: &Path, plain: bool) -> Config {
    tell_misplaced(root, plain);
    config(plain)
}

/// Warns of a configuration that lies in a session folder.
pub fn tell_misplaced(root: &Path, plain: bool) {
    let (beside, Some(path)) = (root.join(config::NAME), config::path()) else {
        return;
    };
    let real = |path: &Path| path.canonicalize().ok();
    if !beside.is_file() || real(&beside) == real(&path) {
        return;
    }
    let mut sources = Sources::default();
    let place = Place::start_of(sources.add(beside.display().to_string(), ""));
    let message = "nothing reads this file: the configuration is the user's, and lies elsewhere";
    let misplaced = Diagnostic::warning(Code::ConfigMisplaced, place, message);
    let help = format!("move it to {}", path.display());
    tell(&[misplaced.help(help)], &sources, plain);
}

/// Prints diagnostics to standard error.
pub fn tell(diagnostics: &[Diagnostic], sources: &Sources, plain: bool) {
    let style = if plain || !is_terminal() {
        if plain {
            Style::Sentences
        } else {
            Style::Marked { colour: false }
        }
    } else {
        Style::Marked { colour: true }
    };
    complain(&render(diagnostics, sources, style));
}

/// Returns a failure if any of the plan's diagnostics is an error.
pub fn sound_plan(diagnostics: &[Diagnostic]) -> Done {
    if any_error(diagnostics) {
        Err(Failure::Faults)
    } else {
        Ok(())
    }
}

/// Returns the folder of a session folder's own voices.
pub fn own_voices(root: &Path) -> PathBuf {
    root.join("voices")
}

/// Returns the settings of speech for a session folder, or for none.
pub fn speech(root: Option<&Path>) -> Settings {
    Settings {
        own: root.map(own_voices).into_iter().collect(),
        ..Settings::standard()
    }
}

/// Returns the settings of speech for the folder that one is in, if it is a session folder.
pub fn speech_here() -> Settings {
    let here = Path::new("");
    speech(here.join("sessions").is_dir().then_some(here))
}

/// Reads all voices that are known; the faults of their files are printed.
pub fn shelf(settings: &Settings, plain: bool) -> Shelf {
    shelf_and_faults(settings, plain).0
}

/// Reads all voices that are known; the faults of their files are printed. Returns whether there was an
/// error among them.
pub fn shelf_and_faults(settings: &Settings, plain: bool) -> (Shelf, bool) {
    let mut sources = Sources::default();
    let (shelf, faults) = Shelf::read(&settings.shelves(), &mut sources);
    tell(&faults, &sources, plain);
    (shelf, any_error(&faults))
}

/// Reports the voice of a session, if there is none of this name.
pub fn unknown_voice(session: &Session, shelf: &Shelf) -> Option<Diagnostic> {
    let wanted = session.text.voice.as_ref()?;
    if shelf.find(&wanted.value).is_some() {
        return None;
    }
    let known: Vec<_> = shelf.voices().iter().map(|v| v.name.as_str()).collect();
    let fault = Diagnostic::error(
        Code::VoiceUnknown,
        wanted.place,
        format!("expected the name of a voice, found \"{}\"", wanted.value),
    );
    Some(match nearest(&wanted.value, known.iter().copied()) {
        Some(near) => fault.help(format!("did you mean \"{near}\"?")),
        None => fault.help(format!("the voices are: {}", known.join(", "))),
    })
}

/// So long an engine may take for a line that nobody waits for: another voice in its place would make the file
/// another one on a slow machine.
pub const PATIENCE_FOR_FILES: Duration = Duration::from_secs(120);

/// Opens the voice that the options or the session ask for, to write files with it.
pub fn speaker_for_files(
    options: &Planning,
    ready: &Ready,
    config: &Config,
) -> Result<Speaker, Failure> {
    speaker_of(options, ready, config, Some(PATIENCE_FOR_FILES))
}

/// Opens the voice that the options or the session ask for; says what a listener should know.
pub fn speaker(options: &Planning, ready: &Ready, config: &Config) -> Result<Speaker, Failure> {
    speaker_of(options, ready, config, None)
}

fn speaker_of(
    options: &Planning,
    ready: &Ready,
    config: &Config,
    patience: Option<Duration>,
) -> Result<Speaker, Failure> {
    let text = &ready.session.text;
    let written = text.voice.as_ref().map(|v| v.value.clone());
    let clarity = options.clarity.or(text.clarity).or(config.clarity);
    let usual = speech(Some(ready.folder.root()));
    let settings = Settings {
        voice: options.voice.clone().or(written),
        language: Some(text.language.tag().to_owned()),
        clarity: clarity.unwrap_or_default(),
        patience: patience.unwrap_or(usual.patience),
        ..usual
    };
    voice(settings, options.plain)
}

/// Opens the voice of some settings, or the best one here; says what a listener should know.
pub fn voice(settings: Settings, plain: bool) -> Result<Speaker, Failure> {
    let shelf = shelf(&settings, plain);
    if let Some(name) = &settings.voice {
        known_voice(name, &shelf)?;
    }
    Ok(opened(settings, shelf))
}

/// Opens the voice of some settings from a shelf that was read; says what a listener should know.
pub fn opened(settings: Settings, shelf: Shelf) -> Speaker {
    let settings = Settings {
        shelf: Some(Arc::new(shelf)),
        ..settings
    };
    let (speaker, notices) = Speaker::open(settings);
    say(&notices);
    speaker
}

/// Returns a failure if there is no voice of this name.
pub fn known_voice(name: &str, shelf: &Shelf) -> Done {
    if shelf.find(name).is_some() {
        return Ok(());
    }
    Err(Failure::Voice(format!(
        "there is no voice called \"{name}\". The voices are: {}",
        shelf.names()
    )))
}

/// Prints notices to standard error.
pub fn say(notices: &[Notice]) {
    for notice in notices {
        complain(&format!("sidevoice: {}\n", notice.message));
    }
}
