//! `buttons learn`: asks for each press of an input device, and writes what it is for.
#![expect(
    clippy::disallowed_methods,
    reason = "waits for presses and writes the configuration"
)]

use super::Done;
use super::Failure;
use super::aloud;
use super::complain;
use super::load;
use super::print;
use crate::live::config;
use crate::live::control::Action;
use crate::live::control::Device;
use crate::live::control::DeviceAt;
use crate::live::control::Verb;
use crate::live::control::devices;
use crate::live::control::devices::Node;
use crate::live::control::written;
use crate::sound::speech::Settings;
use crate::sound::speech::Speaker;
use clap::Args;
use clap::Subcommand;
use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::io::Write;
use std::path::Path;
use std::path::PathBuf;
use std::time::Duration;
use std::time::Instant;

#[derive(Subcommand)]
pub enum Buttons {
    /// Ask for each press of a clicker, a foot pedal or a keypad, and write what it is for.
    Learn(Learn),
}

#[derive(Args)]
pub struct Learn {
    /// The device, by its path.
    #[arg(long, conflicts_with = "name")]
    device: Option<PathBuf>,
    /// The device, by the name that it tells: it stays the same when it is plugged in elsewhere.
    #[arg(long)]
    name: Option<String>,
    /// How many seconds to wait for each press.
    #[arg(long, default_value_t = 10, value_parser = clap::value_parser!(u64).range(1..=120))]
    wait: u64,
    /// Print what is asked and do not speak it.
    #[arg(long)]
    silent: bool,
}

/// What is asked for, in this order, and how it is asked.
const ASKED: [(Verb, &str); 5] = [
    (Verb::PauseOrResume, "pause and go on"),
    (Verb::Skip, "skip"),
    (Verb::Back, "back"),
    (Verb::Where, "where am I"),
    (Verb::Explain, "explain the movement"),
];

pub fn run(Buttons::Learn(options): Buttons) -> Done {
    let at = match (options.device, options.name) {
        (Some(path), _) => DeviceAt::Path(path),
        (None, Some(name)) => DeviceAt::Name(name),
        (None, None) => return Err(Failure::Usage(which())),
    };
    let path = config::path().ok_or_else(|| {
        Failure::File("there is no home folder to keep the configuration in".to_owned())
    })?;
    let text = match fs::read_to_string(&path) {
        Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
        read => read.map_err(|error| file(&path, &error.to_string()))?,
    };
    // A text that cannot be added to is told of before anybody presses anything.
    written(&text, &at, &BTreeMap::new(), true).map_err(|why| file(&path, &why))?;
    let device = Device {
        at: at.clone(),
        buttons: BTreeMap::new(),
        one_button: false,
    };
    let gone = |error: &_| Failure::Device(devices::why_not(&device, error));
    let mut node = devices::open(&at).map_err(|error| gone(&error))?;
    let voice = match options.silent {
        true => None,
        false => load::voice(Settings::standard(), false).ok(),
    };
    let mut ask = Ask {
        voice,
        device: load::config(false).out.room,
    };
    let wait = Duration::from_secs(options.wait);
    let learned = learn(&mut node, &mut ask, wait).map_err(|error| gone(&error))?;
    if learned.is_empty() {
        return Err(Failure::Device(
            "no button was pressed, so nothing was written".to_owned(),
        ));
    }
    let one_button = learned.len() == 1;
    let buttons = if one_button { BTreeMap::new() } else { learned };
    let text = written(&text, &at, &buttons, one_button).map_err(|why| file(&path, &why))?;
    write(&path, &text).map_err(|error| file(&path, &error.to_string()))?;
    ask.say(match one_button {
        true => "There is one button: it pauses, skips when pressed twice, and goes on.",
        false => "The buttons are learned.",
    });
    print(&format!("Written to {}.\n", path.display()))
}

/// Asks for each press in turn; a button that was pressed before ends it.
fn learn(node: &mut Node, ask: &mut Ask, wait: Duration) -> std::io::Result<BTreeMap<u16, Action>> {
    let mut learned = BTreeMap::new();
    ask.say("To finish, press a button again that has its meaning already.");
    for (verb, words) in ASKED {
        // What was pressed before it was asked for is no answer.
        while node.wait(Duration::ZERO)?.is_some() {}
        ask.say(&format!("Press the button for: {words}."));
        let until = Instant::now() + wait;
        let mut pressed = None;
        while pressed.is_none() && Instant::now() < until {
            pressed = node.wait(until.saturating_duration_since(Instant::now()))?;
        }
        match pressed {
            None => ask.say("No button for that."),
            Some(code) if learned.contains_key(&code) => break,
            Some(code) => {
                // By ear, the press itself was heard; this is for the eye.
                complain(&format!("Button {code}: {}.\n", verb.text()));
                learned.insert(code, Action::Tell(verb));
            }
        }
    }
    Ok(learned)
}

/// Asks aloud, if there is a voice, and in print.
struct Ask {
    voice: Option<Speaker>,
    device: Option<String>,
}

impl Ask {
    fn say(&mut self, text: &str) {
        complain(&format!("{text}\n"));
        if let Some(voice) = &self.voice
            && aloud::speak(voice, text, self.device.clone()).is_err()
        {
            complain("sidevoice: it cannot be spoken, so it is printed alone.\n");
            self.voice = None;
        }
    }
}

/// Returns what is told where no device was named.
fn which() -> String {
    let found = devices::list();
    if found.is_empty() {
        return "expected --device PATH, found none, and this machine lists no input devices"
            .to_owned();
    }
    let lines: Vec<_> = found
        .iter()
        .map(|device| format!("\n  {}  {}", device.path.display(), device.name))
        .collect();
    format!(
        "expected --device PATH or --name NAME, found neither. The devices here are:{}\n\
         No other device is ever read, and what is pressed on it reaches no other program",
        lines.concat()
    )
}

fn file(path: &Path, why: &str) -> Failure {
    Failure::File(format!("{}: {why}", path.display()))
}

/// Replaces the file as a whole, so that it is never half written.
fn write(path: &Path, text: &str) -> std::io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut new = tempfile::NamedTempFile::new_in(folder)?;
    new.write_all(text.as_bytes())?;
    new.persist(path)?;
    Ok(())
}
