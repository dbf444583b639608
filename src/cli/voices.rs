//! `voices`: lists the voices, speaks with one, gets one.

use super::Done;
use super::Failure;
use super::load;
use super::print;
use crate::base::units::FrameAt;
use crate::base::units::SampleRate;
use crate::publish::json::pretty;
use crate::sound::mix::Clip;
use crate::sound::mix::Command;
use crate::sound::mix::desk_and_mixer;
use crate::sound::out::Loudspeaker;
use crate::sound::out::Options;
use crate::sound::speech::Settings;
use crate::sound::speech::Utterance;
use crate::sound::speech::fetch;
use crate::sound::speech::fetch::Fetched;
use crate::sound::speech::library;
use crate::sound::speech::library::VoiceInfo;
use clap::Subcommand;
use serde::Serialize;
use std::time::Duration;

#[derive(Subcommand)]
pub enum Action {
    /// Speak a text with a voice through the loudspeaker.
    Try {
        name: String,
        /// What to say.
        #[arg(default_value = "Hips back, shoulders square. Three, two, one.")]
        text: Vec<String>,
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
        Some(Action::Try { name, text }) => speak(name, &text.join(" ")),
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

fn speak(name: String, text: &str) -> Done {
    let speaker = load::voice(Some(name))?;
    let take = speaker
        .take(&Utterance::new(text))
        .map_err(|e| Failure::Voice(e.to_string()))?;
    load::say(&speaker.notices());
    let (mut desk, mixer) = desk_and_mixer(SampleRate::OUTPUT, 2, 1);
    // A desk just made has room for one clip.
    let _ = desk.feed(Clip {
        id: 0,
        at: FrameAt::START,
        samples: take.samples,
    });
    let loudspeaker = Loudspeaker::open(mixer, Options::default())?;
    let _ = desk.tell(Command::Play);
    while desk.finished().is_none() {
        if let Ok(crate::sound::out::Event::Lost { reason, .. }) =
            loudspeaker.events().recv_timeout(Duration::from_millis(20))
        {
            return Err(Failure::Device(reason));
        }
    }
    // What was rendered last is still on its way to the loudspeaker.
    let _ = loudspeaker
        .events()
        .recv_timeout(Duration::from_millis(150));
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
