//! The configuration, `config.toml`: what keys and buttons do, what is heard and where. All faults are told at once; with
//! faults the defaults go on.
#![expect(
    clippy::disallowed_methods,
    reason = "reads the one file of configuration"
)]

mod out;

use super::control::Action;
use super::control::Device;
use super::control::DeviceAt;
use super::control::FIGURE;
use super::control::Hotkey;
use super::control::Key;
use super::control::Mapping;
use super::control::Media;
use super::control::ONE_BUTTON;
use super::control::Verb;
use crate::base::diagnostic::Code;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::Item;
use crate::base::diagnostic::Place;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::in_order;
use crate::base::diagnostic::nearest;
use crate::base::diagnostic::parse_toml;
use crate::base::diagnostic::short;
use crate::base::music;
use crate::base::music::Wish;
use crate::base::tones::Tones;
use crate::base::units::Millis;
use crate::base::utterance::Clarity;
use crate::base::wording::Language;
pub use out::EarAt;
pub use out::EarOutput;
pub use out::Outputs;
use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::io::Read;
use std::path::Path;
use std::path::PathBuf;

/// What takes a key's action away.
const NOTHING: &str = "none";
/// The kernel's codes of keys and buttons end here (`KEY_MAX`, linux/input-event-codes.h).
const LAST_CODE: u16 = 0x2ff;
/// The slowest loudspeakers that were heard of take 1.5 s.
const LONGEST_WAKE: Millis = Millis::from_secs(5);
/// No configuration is larger.
const LARGEST: u64 = 1 << 20;

/// How the program is set up.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Config {
    pub mapping: Mapping,
    /// Where a class is heard.
    pub out: Outputs,
    /// Silence before the first sound, for loudspeakers that wake slowly.
    pub wake: Millis,
    /// How clearly sessions are spoken that do not say it.
    pub clarity: Option<Clarity>,
    /// The music of sessions that do not speak of it.
    pub music: Option<Wish>,
    /// How the tones sound, where a session does not say so.
    pub tones: Tones,
    /// What the program speaks between classes.
    pub language: Language,
}

/// What reading gave: the configuration to go on with, and everything there is to say.
pub struct Loaded {
    pub config: Config,
    pub sources: Sources,
    pub diagnostics: Vec<Diagnostic>,
}

impl Loaded {
    /// Returns whether the defaults go on in place of what is written.
    pub fn is_default_for_faults(&self) -> bool {
        any_error(&self.diagnostics)
    }
}

/// The name of its file.
pub const NAME: &str = "config.toml";

/// Returns where the configuration is, in the user's configuration folder.
pub fn path() -> Option<PathBuf> {
    let project = directories::ProjectDirs::from("", "", "sidevoice")?;
    Some(project.config_dir().join(NAME))
}

/// Reads the configuration; where there is no file, the defaults are what is wanted.
pub fn load(path: &Path) -> Loaded {
    let mut text = String::new();
    let read = fs::File::open(path).and_then(|file| file.take(LARGEST).read_to_string(&mut text));
    let shown = path.display().to_string();
    match read {
        Ok(_) => read_text(&shown, &text),
        Err(error) if error.kind() == ErrorKind::NotFound => read_text(&shown, ""),
        Err(error) => {
            let mut sources = Sources::default();
            let source = sources.add(shown, "");
            let (code, help) = match error.kind() {
                ErrorKind::InvalidData => (Code::NotUtf8, "save it as UTF-8 text"),
                _ => (Code::FileMissing, "make the file readable, or remove it"),
            };
            let message = format!("expected a configuration that can be read: {error}");
            let fault = Diagnostic::error(code, Place::start_of(source), message).help(help);
            Loaded {
                config: Config::default(),
                sources,
                diagnostics: vec![fault],
            }
        }
    }
}

/// Reads the text of a configuration.
pub fn read_text(path: &str, text: &str) -> Loaded {
    let mut sources = Sources::default();
    let source = sources.add(path, text);
    let (config, faults) = parse_toml(&sources, source, |top| Config {
        wake: read_wake(top),
        clarity: top.word("clarity", &Clarity::WORDS).map(|c| c.value),
        music: music::read(top),
        tones: top
            .word("tones", &Tones::WORDS)
            .map_or(Tones::default(), |t| t.value),
        language: read_language(top),
        mapping: read_mapping(top),
        out: out::read(top),
    });
    let diagnostics = in_order(faults);
    let config = if any_error(&diagnostics) {
        Config::default()
    } else {
        config
    };
    Loaded {
        config,
        sources,
        diagnostics,
    }
}

fn read_language(top: &mut Table) -> Language {
    let words = Language::ALL.map(|language| (language.tag(), language));
    let read = top.word("language", &words);
    read.map_or(Language::default(), |language| language.value)
}

/// Reads how long the loudspeaker takes to wake.
fn read_wake(top: &mut Table) -> Millis {
    let item = top.get("wake");
    let what = "how long the loudspeaker takes to wake";
    let wake = item.and_then(|item| item.lasts(what, LONGEST_WAKE, "800ms"));
    wake.unwrap_or(Millis::ZERO)
}

fn read_mapping(top: &mut Table) -> Mapping {
    let mut mapping = Mapping::default();
    if let Some(table) = top.get("keys").and_then(|item| item.table("table of keys")) {
        read_keys(table, &mut mapping.keys, "key", Key::parse, || {
            let names: Vec<_> = Key::names().collect();
            format!(
                "write one character, f1 to f24, or one of: {}",
                names.join(", ")
            )
        });
    }
    if let Some(mut table) = top
        .get("media")
        .and_then(|item| item.table("table of media keys"))
    {
        for (word, key) in Media::WORDS {
            if let Some(item) = table.get(word) {
                set(&mut mapping.media, key, &item);
            }
        }
        table.finish();
    }
    if let Some(table) = top
        .get("x11")
        .and_then(|item| item.table("table of hotkeys"))
    {
        read_keys(table, &mut mapping.hotkeys, "hotkey", Hotkey::parse, || {
            "write modifiers and a key, such as \"ctrl+alt+space\"; the modifiers are \
             ctrl, alt, shift, super"
                .to_owned()
        });
    }
    for table in top.tables("device", "device") {
        mapping.devices.extend(read_device(table));
    }
    mapping
}

/// Reads a table whose keys are the writer's own, each with an action.
fn read_keys<K: Ord>(
    table: Table,
    into: &mut BTreeMap<K, Action>,
    what: &str,
    parse: impl Fn(&str) -> Option<K>,
    help: impl Fn() -> String,
) {
    for (name, item) in table.entries() {
        match parse(name.value) {
            Some(key) => set(into, key, &item),
            None => {
                let message = format!("expected a {what}, found `{}`", short(name.value));
                let near = nearest(name.value, Key::names());
                let help = near.map_or_else(&help, |near| format!("did you mean \"{near}\"?"));
                item.push(Diagnostic::error(Code::ButtonUnknown, name.place, message).help(help));
            }
        }
    }
}

/// Maps a key, or takes its action away.
fn set<K: Ord>(into: &mut BTreeMap<K, Action>, key: K, item: &Item) {
    let Some(text) = item.text() else {
        return;
    };
    if text.value == NOTHING {
        into.remove(&key);
        return;
    }
    match Action::parse(&text.value) {
        Ok(action) => {
            into.insert(key, action);
        }
        Err(unknown) => {
            let words = Verb::words().chain([ONE_BUTTON, FIGURE, NOTHING]);
            let is_figure = text.value.split_whitespace().next() == Some(FIGURE);
            let help = match nearest(&text.value, words) {
                _ if is_figure => format!("write \"{FIGURE} 7\"; \"rate 10\" is a ten"),
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("write a verb, \"{ONE_BUTTON}\" or \"{NOTHING}\""),
            };
            // The nearest word stands in the help.
            let said = unknown.0.split([':', ';']).next().unwrap_or("");
            item.fault(Code::VerbUnknown, said.to_owned(), help);
        }
    }
}

fn read_device(mut table: Table) -> Option<Device> {
    let path = table.text("path");
    let name = table.text("name");
    let one_button = table.flag("one_button", false);
    let mut buttons = BTreeMap::new();
    if let Some(table) = table
        .get("buttons")
        .and_then(|item| item.table("table of buttons"))
    {
        let code = |text: &str| text.parse().ok().filter(|code| *code <= LAST_CODE);
        read_keys(table, &mut buttons, "button's code", code, || {
            format!("write the number that `sidevoice buttons learn` tells, from 0 to {LAST_CODE}")
        });
    }
    let at = match (&path, &name) {
        (Some(path), None) => Some(DeviceAt::Path(PathBuf::from(&path.value))),
        (None, Some(name)) => Some(DeviceAt::Name(name.value.clone())),
        (Some(_), Some(name)) => {
            let message = "expected `path` or `name` of the device, found both";
            table.fault(
                Diagnostic::error(Code::KeyUnknown, name.place, message)
                    .help("keep one of the two"),
            );
            None
        }
        (None, None) => {
            table.need("name", "\"the name that the device tells\"");
            None
        }
    };
    if buttons.is_empty() && !one_button && !table.has("buttons") {
        table.need("buttons", "{ 164 = \"pause-or-resume\" }");
    }
    table.finish();
    Some(Device {
        at: at?,
        buttons,
        one_button,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> Vec<String> {
        let loaded = read_text("config.toml", text);
        let line = |d: &Diagnostic| {
            let at = loaded.sources.position(d.place);
            format!(
                "{}:{} {}: {} ({})",
                at.line,
                at.column,
                d.code.text(),
                d.message,
                d.help
            )
        };
        loaded.diagnostics.iter().map(line).collect()
    }

    #[test]
    fn the_language_between_classes_is_one_that_is_spoken() {
        let read = |text| read_text("config.toml", text);
        let german = read("language = \"de\"\n");
        assert_eq!(german.config.language, Language::German);
        let fault = read("language = \"da\"\n");
        assert_eq!(fault.diagnostics[0].code, Code::ValueUnknown);
        assert_eq!(fault.config.language, Language::English);
    }

    #[test]
    fn keys_and_buttons_can_be_changed_and_removed() {
        let loaded = read_text(
            "config.toml",
            "[keys]\ns = \"none\"\nG = \"skip\"\nf5 = \"rate 7\"\n4 = \"figure 5\"\n\
             [media]\nplay-pause = \"one-button\"\n\
             [x11]\n\"ctrl+alt+space\" = \"pause-or-resume\"\n\
             [[device]]\nname = \"Foot pedal\"\none_button = true\n\
             [[device]]\npath = \"/dev/input/event7\"\nbuttons = { 104 = \"back\", 109 = \"skip\" }\n",
        );
        assert_eq!(loaded.diagnostics, []);
        let mapping = loaded.config.mapping;
        assert_eq!(mapping.keys.get(&Key::Char('s')), None);
        assert_eq!(mapping.keys[&Key::Char('g')], Action::Tell(Verb::Skip));
        assert_eq!(
            mapping.keys[&Key::Function(5)],
            Action::Tell(Verb::Rate(Some(7)))
        );
        assert_eq!(mapping.keys[&Key::Char('4')], Action::Figure(5));
        assert_eq!(mapping.keys[&Key::Char('0')], Action::Figure(0));
        assert_eq!(
            mapping.keys[&Key::Char(' ')],
            Action::Tell(Verb::PauseOrResume)
        );
        assert_eq!(mapping.media[&Media::PlayPause], Action::OneButton);
        assert_eq!(mapping.hotkeys.len(), 1);
        assert_eq!(mapping.devices[0].action(30), Some(Action::OneButton));
        assert_eq!(
            mapping.devices[1].action(109),
            Some(Action::Tell(Verb::Skip))
        );
        assert_eq!(mapping.devices[1].action(30), None);
    }

    #[test]
    fn what_is_heard_can_be_set_and_its_faults_are_told() {
        let loaded = read_text(
            "config.toml",
            "wake = \"800ms\"\nclarity = \"gym\"\nmusic = true\n",
        );
        assert_eq!(loaded.diagnostics, []);
        assert_eq!(
            loaded.config.music,
            Some(Wish::On(music::Wishes::default()))
        );
        assert_eq!(loaded.config.wake, Millis::from_ms(800));
        assert_eq!(loaded.config.clarity, Some(Clarity::Gym));
        assert_eq!(read_text("config.toml", "").config, Config::default());
        for (text, help) in [
            ("wake = \"soon\"\n", "800ms"),
            ("wake = \"6s\"\n", "800ms"),
            ("clarity = \"gmy\"\n", "gym"),
            ("music = { oder = \"named\" }\n", "`order`"),
            ("music = { rest = \"+2 LU\" }\n", "a minus missing"),
            ("music = \"~/Music\"\n", "{ folder = "),
        ] {
            let told = told(text);
            assert!(
                told.len() == 1 && told[0].contains(help),
                "{text}: {told:?}"
            );
        }
    }

    #[test]
    fn every_fault_of_a_configuration_is_told_with_its_place_and_the_defaults_go_on() {
        let text = "[keys]\ng = \"skpi\"\nspcae = \"skip\"\nh = 5\nj = \"figure 10\"\n[medai]\n\
                    [[device]]\nbuttons = { 9999 = \"skip\" }\n\
                    [[device]]\nname = \"pedal\"\npath = \"x\"\none_button = true\n\
                    [x11]\n\"hyper+a\" = \"skip\"\n[media]\nnxt = \"skip\"\n";
        let told = told(text);
        let wanted = [
            ("2:5 verb-unknown", "did you mean \"skip\"?"),
            ("3:1 button-unknown", "did you mean \"space\"?"),
            ("4:5 type-wrong", "quotes"),
            ("5:5 verb-unknown", "rate 10"),
            ("6:2 key-unknown", "did you mean `media`?"),
            ("7:1 key-missing", "name"),
            ("8:13 button-unknown", "buttons learn"),
            ("10:8 key-unknown", "one of the two"),
            ("14:1 button-unknown", "ctrl+alt+space"),
            ("16:1 key-unknown", "did you mean `next`?"),
        ];
        assert_eq!(told.len(), wanted.len(), "{told:#?}");
        for (told, (begin, help)) in told.iter().zip(wanted) {
            assert!(
                told.starts_with(begin) && told.contains(help),
                "{told} is not {begin}"
            );
        }
        let loaded = read_text("config.toml", text);
        assert!(loaded.is_default_for_faults());
        assert_eq!(loaded.config, Config::default());
    }
}
