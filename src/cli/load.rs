//! What the commands share: loading a session with its faults told, and opening a voice.

use super::Done;
use super::Failure;
use super::Planning;
use super::complain;
use super::is_terminal;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Style;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::nearest;
use crate::base::diagnostic::render;
use crate::base::utterance::Clarity;
use crate::folder::Folder;
use crate::live::config;
use crate::live::config::Config;
use crate::planning::session::Session;
use crate::sound::speech::Notice;
use crate::sound::speech::Settings;
use crate::sound::speech::Speaker;
use crate::sound::speech::library;
use std::path::Path;
use std::path::PathBuf;

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

/// Reports the voice of a session, if there is none of this name.
pub fn unknown_voice(session: &Session) -> Option<Diagnostic> {
    let wanted = session.text.voice.as_ref()?;
    let known: Vec<_> = library::voices().into_iter().map(|v| v.name).collect();
    if known.contains(&wanted.value) {
        return None;
    }
    let fault = Diagnostic::error(
        Code::VoiceUnknown,
        wanted.place,
        format!("expected the name of a voice, found \"{}\"", wanted.value),
    );
    Some(
        match nearest(&wanted.value, known.iter().map(String::as_str)) {
            Some(near) => fault.help(format!("did you mean \"{near}\"?")),
            None => fault.help(format!("the voices are: {}", known.join(", "))),
        },
    )
}

/// Opens the voice that the options or the session ask for; says what a listener should know.
pub fn speaker(options: &Planning, session: &Session, config: &Config) -> Result<Speaker, Failure> {
    let wanted = options.voice.clone();
    let written = session.text.voice.as_ref().map(|v| v.value.clone());
    let clarity = options.clarity.or(session.text.clarity);
    voice(wanted.or(written), clarity.or(config.clarity))
}

/// Opens a voice by name, or the best one here.
pub fn voice(name: Option<String>, clarity: Option<Clarity>) -> Result<Speaker, Failure> {
    if let Some(name) = &name {
        known_voice(name)?;
    }
    let settings = Settings {
        voice: name,
        clarity: clarity.unwrap_or_default(),
        ..Settings::standard()
    };
    let (speaker, notices) = Speaker::open(settings);
    say(&notices);
    Ok(speaker)
}

/// Returns a failure if there is no voice of this name.
pub fn known_voice(name: &str) -> Done {
    if library::find(name).is_some() {
        return Ok(());
    }
    let known: Vec<_> = library::voices().into_iter().map(|v| v.name).collect();
    Err(Failure::Voice(format!(
        "there is no voice called \"{name}\". The voices are: {}",
        known.join(", ")
    )))
}

/// Prints notices to standard error.
pub fn say(notices: &[Notice]) {
    for notice in notices {
        complain(&format!("sidevoice: {}\n", notice.message));
    }
}
