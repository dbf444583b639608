//! Who speaks: the voice that is wanted, then another one of the language that is here, at last the
//! compact one, which is always here.

use std::path::PathBuf;
use std::sync::Arc;

use crate::base::diagnostic::Sources;
use crate::sound::speech::Notice;
use crate::sound::speech::Rate;
use crate::sound::speech::Settings;
use crate::sound::speech::System;
use crate::sound::speech::Voice;
use crate::sound::speech::VoiceError;
use crate::sound::speech::child::ChildSettings;
use crate::sound::speech::child::ChildVoice;
use crate::sound::speech::compact::Compact;
use crate::sound::speech::espeak;
use crate::sound::speech::espeak::Espeak;
use crate::sound::speech::espeak::EspeakSettings;
use crate::sound::speech::library::EngineKind;
use crate::sound::speech::library::Shelf;
use crate::sound::speech::library::VoiceInfo;
use crate::sound::speech::library::base;
use crate::sound::speech::library::language_name;
use crate::sound::speech::pronounce::pls::Lexicon;
use crate::sound::speech::system;

/// The language where none is named.
pub const DEFAULT_LANGUAGE: &str = "en";

/// The voices to speak with, in the order in which they are asked.
pub struct Chain {
    /// The system's voice, where it is the first: it speaks lines, and those below the rest.
    pub system: Option<System>,
    /// Never empty: the last one is the compact voice.
    pub voices: Vec<Arc<dyn Voice>>,
    /// The language of the texts.
    pub language: String,
    pub lexicons: Vec<Lexicon>,
}

/// Opens the voices for some settings; `notices` hears why the first is not the wanted one.
pub fn open(settings: &Settings, notices: &mut Vec<Notice>) -> Chain {
    let shelf = settings.shelf.clone().unwrap_or_else(|| {
        let (shelf, _) = Shelf::read(&settings.shelves(), &mut Sources::default());
        Arc::new(shelf)
    });
    let mut reasons = Vec::new();
    let wanted = settings.voice.as_ref().and_then(|name| {
        let found = shelf.find(name);
        if found.is_none() {
            let names = shelf.names();
            reasons.push(format!(
                "there is no voice named {name}; there are: {names}"
            ));
        }
        found
    });
    let language = settings.language.as_deref();
    let own = |voice: &&VoiceInfo| voice.engine != EngineKind::System;
    let language = language.or_else(|| Some(wanted.filter(own)?.language.as_str()));
    let language = language.unwrap_or(DEFAULT_LANGUAGE).to_owned();
    let mut voices: Vec<Arc<dyn Voice>> = Vec::new();
    let mut system = None;
    for info in ordered(&shelf, wanted, &language) {
        let first = voices.is_empty() && system.is_none();
        let opened = match info.engine {
            EngineKind::System if first => check(info, settings)
                .and_then(|_| System::open(info.clone(), &language))
                .map(|opened| system = Some(opened)),
            EngineKind::System => Ok(()),
            _ => open_one(info, settings).map(|voice| voices.push(voice)),
        };
        // What nobody asked for is only told of while nobody better is here.
        if let Err(error) = opened
            && first
            && (info.engine != EngineKind::System || wanted.is_some_and(|w| w.name == info.name))
            && !reasons.contains(&error.to_string())
        {
            reasons.push(error.to_string());
        }
        if voices.last().is_some_and(|v| is_compact(v.info())) {
            break;
        }
    }
    if !voices.last().is_some_and(|v| is_compact(v.info())) {
        voices.push(Arc::new(Compact::new()));
    }
    let first = system.as_ref().map_or(voices[0].info(), System::info);
    notices.extend(told(first, wanted, &language, reasons));
    Chain {
        system,
        voices,
        language,
        lexicons: shelf.lexicons().to_vec(),
    }
}

/// What a listener should know of the choice, in one notice.
fn told(
    first: &VoiceInfo,
    wanted: Option<&VoiceInfo>,
    language: &str,
    mut reasons: Vec<String>,
) -> Option<Notice> {
    let name = &first.name;
    let speaks = language_name(&first.language);
    match (first.speaks_language(language), wanted) {
        (false, Some(wanted)) if wanted.name == *name => reasons.push(format!(
            "the voice {name} is one for {speaks} and speaks {} now",
            language_name(language)
        )),
        // What it means comes first, then what helps.
        (false, _) => reasons.insert(
            0,
            format!(
                "no voice for {} is here: the {name} voice reads it, which is one for {speaks}",
                language_name(language)
            ),
        ),
        (true, _) if reasons.is_empty() => {}
        (true, _) => reasons.push(format!("The {name} voice speaks")),
    }
    (!reasons.is_empty()).then(|| Notice::new(reasons.join(". ")))
}

/// The voices for a language, best first, the wanted one before all.
pub fn ordered<'a>(
    shelf: &'a Shelf,
    wanted: Option<&'a VoiceInfo>,
    language: &str,
) -> Vec<&'a VoiceInfo> {
    let english = base(language) == DEFAULT_LANGUAGE;
    let worth = |voice: &VoiceInfo| {
        let rank = match (voice.engine, english) {
            (EngineKind::Neural, _) => 0,
            (EngineKind::Compact, true) => 1,
            (EngineKind::Espeak, _) => 2,
            (EngineKind::System, _) => 3,
            (EngineKind::Compact, false) => 4,
        };
        (rank, voice.language != language)
    };
    let suits = |voice: &&VoiceInfo| {
        (voice.speaks_language(language) || is_compact(voice))
            && wanted.is_none_or(|wanted| wanted.name != voice.name)
    };
    let mut others: Vec<_> = shelf.voices().iter().filter(suits).collect();
    // Stable: what is worth the same stays as on the shelf.
    others.sort_by_key(|voice| worth(voice));
    wanted.into_iter().chain(others).collect()
}

/// Gets one voice ready, if all that it needs is here; nothing is loaded before its first text.
fn open_one(info: &VoiceInfo, settings: &Settings) -> Result<Arc<dyn Voice>, VoiceError> {
    let ready = check(info, settings)?;
    Ok(match info.engine {
        EngineKind::Compact => Arc::new(Compact::new()),
        EngineKind::Neural => Arc::new(ChildVoice::new(
            info.clone(),
            ChildSettings {
                program: settings.engine.clone().unwrap_or_else(this_program),
                folder: ready,
                idle: settings.idle,
                patience: settings.patience,
            },
        )),
        EngineKind::Espeak => Arc::new(Espeak::new(
            info.clone(),
            EspeakSettings {
                program: ready,
                idle: settings.idle,
                patience: settings.patience,
            },
        )),
        EngineKind::System => return Err(VoiceError::Model("it gives no samples".to_owned())),
    })
}

/// Checks that all that a voice needs is here; returns the folder of its files or its program.
///
/// # Errors
///
/// [`VoiceError::Model`], saying what is missing and how to get it.
pub fn check(info: &VoiceInfo, settings: &Settings) -> Result<PathBuf, VoiceError> {
    match info.engine {
        EngineKind::Compact => Ok(PathBuf::new()),
        EngineKind::Neural => {
            let no_folder = || VoiceError::Model("there is no folder for voices".to_owned());
            let folder = match (&info.folder, &settings.voices) {
                (Some(folder), _) => folder.clone(),
                (None, voices) => info.files_in(voices.as_ref().ok_or_else(no_folder)?),
            };
            info.check(&folder)?;
            Ok(folder)
        }
        EngineKind::Espeak => espeak::find(settings.espeak.as_deref()),
        EngineKind::System => system::find(settings.system).map(|()| PathBuf::new()),
    }
}

/// As [`check`], and has a voice of espeak-ng say a word: whether that knows the voice, only it can tell.
///
/// # Errors
///
/// As [`check`], and [`VoiceError::Engine`] where it gives no sound.
pub fn check_by_ear(info: &VoiceInfo, settings: &Settings) -> Result<PathBuf, VoiceError> {
    let ready = check(info, settings)?;
    if info.engine == EngineKind::Espeak {
        open_one(info, settings)?.speak("one", Rate::NORMAL)?;
    }
    Ok(ready)
}

fn is_compact(voice: &VoiceInfo) -> bool {
    voice.engine == EngineKind::Compact
}

fn this_program() -> PathBuf {
    std::env::current_exe().unwrap_or_else(|_| PathBuf::from("sidevoice"))
}
