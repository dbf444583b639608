//! What each key and button does: the defaults, and what the configuration changes.

use super::Key;
use super::Verb;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// What a key or button does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Action {
    Tell(Verb),
    /// It is the one button: what it does depends on what runs and on how it is pressed.
    OneButton,
    /// It is a figure of the effort felt, 0 to 9: a one and a nought are a ten.
    Figure(u8),
}

/// How a figure is written in a mapping, before its number.
pub const FIGURE: &str = "figure";

/// How the one button is written in a mapping.
pub const ONE_BUTTON: &str = "one-button";

/// A button of the media keys, headsets included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Media {
    PlayPause,
    Play,
    Pause,
    Next,
    Previous,
    Stop,
}

impl Media {
    /// The words for them in a mapping.
    pub const WORDS: [(&'static str, Media); 6] = [
        ("play-pause", Media::PlayPause),
        ("play", Media::Play),
        ("pause", Media::Pause),
        ("next", Media::Next),
        ("previous", Media::Previous),
        ("stop", Media::Stop),
    ];
}

/// An input device that is read: no other one is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    pub at: DeviceAt,
    /// By the kernel's code of the button.
    pub buttons: BTreeMap<u16, Action>,
    /// Whether every button that has no action is the one button.
    pub one_button: bool,
}

/// How a device is found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DeviceAt {
    Path(PathBuf),
    /// By the name that it tells the kernel.
    Name(String),
}

/// A key with modifiers that works whatever window is in front.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Hotkey {
    pub control: bool,
    pub alt: bool,
    pub shift: bool,
    pub logo: bool,
    pub key: Key,
}

/// What all controls do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mapping {
    pub keys: BTreeMap<Key, Action>,
    pub media: BTreeMap<Media, Action>,
    pub devices: Vec<Device>,
    pub hotkeys: BTreeMap<Hotkey, Action>,
}

impl Default for Mapping {
    fn default() -> Self {
        let keys = DEFAULT_KEYS
            .iter()
            .map(|(key, verb, _)| (*key, Action::Tell(verb.clone())))
            .chain((0..=9).map(|figure| (figure_key(figure), Action::Figure(figure))));
        let media = [
            (Media::PlayPause, Verb::PauseOrResume),
            (Media::Play, Verb::Resume),
            (Media::Pause, Verb::Pause),
            (Media::Next, Verb::Skip),
            (Media::Previous, Verb::Back),
            (Media::Stop, Verb::Stop),
        ];
        Self {
            keys: keys.collect(),
            media: media.map(|(m, verb)| (m, Action::Tell(verb))).into(),
            devices: Vec::new(),
            hotkeys: BTreeMap::new(),
        }
    }
}

/// The keys of the terminal without a configuration, in the order in which they are told.
const DEFAULT_KEYS: [(Key, Verb, &str); 14] = [
    (Key::Char(' '), Verb::PauseOrResume, "pauses and goes on"),
    (Key::Char('s'), Verb::Skip, "skips"),
    (Key::Char('b'), Verb::Back, "goes back"),
    (Key::Char('r'), Verb::Repeat, "says the last line again"),
    (Key::Char('w'), Verb::Where, "says where you are"),
    (Key::Char('x'), Verb::Explain, "explains the movement"),
    (Key::Char('e'), Verb::Easier, "gives the easier option"),
    (Key::Char('+'), Verb::Louder, "louder"),
    (Key::Char('-'), Verb::Quieter, "quieter"),
    (Key::Char('n'), Verb::Next, "the next session"),
    (Key::Char('p'), Verb::Previous, "the session before"),
    (Key::Named("enter"), Verb::Start(None), "starts"),
    (Key::Char('k'), Verb::Help, "says the keys"),
    (Key::Char('q'), Verb::Stop, "stops"),
];

/// Returns the key of a figure.
fn figure_key(figure: u8) -> Key {
    Key::Char(char::from(b'0' + figure))
}

impl Action {
    /// Reads an action as it is written: a verb, `one-button`, or `figure 7`.
    ///
    /// # Errors
    ///
    /// [`super::Unknown`] says what was expected.
    pub fn parse(text: &str) -> Result<Self, super::Unknown> {
        if text == ONE_BUTTON {
            return Ok(Action::OneButton);
        }
        let mut words = text.split_whitespace();
        if words.next() == Some(FIGURE) {
            let figure = words.next().and_then(|word| word.parse().ok());
            return match (figure.filter(|figure| *figure <= 9), words.next()) {
                (Some(figure), None) => Ok(Action::Figure(figure)),
                _ => Err(super::Unknown(format!(
                    "expected `{FIGURE}` with a number from 0 to 9, found `{}`",
                    text.chars().take(40).collect::<String>()
                ))),
            };
        }
        Verb::parse(text).map(Action::Tell)
    }

    /// Returns whether it is done again and again while its key is held down.
    pub fn may_repeat(&self) -> bool {
        matches!(self, Action::Tell(Verb::Louder | Verb::Quieter))
    }

    /// Returns the action as it is written.
    pub fn text(&self) -> String {
        match self {
            Action::Tell(verb) => verb.text(),
            Action::OneButton => ONE_BUTTON.to_owned(),
            Action::Figure(figure) => format!("{FIGURE} {figure}"),
        }
    }
}

impl Mapping {
    /// Returns one line that says what the keys do, the defaults' in their order and then others.
    pub fn help(&self) -> String {
        let mut said = Vec::new();
        let mut left: BTreeMap<_, _> = self.keys.iter().collect();
        for (_, verb, words) in &DEFAULT_KEYS {
            let action = Action::Tell(verb.clone());
            let mut keys: Vec<_> = left
                .iter()
                .filter(|(_, a)| ***a == action)
                .map(|(k, _)| **k)
                .collect();
            keys.sort();
            left.retain(|key, _| !keys.contains(*key));
            let keys: Vec<_> = keys.iter().map(Key::to_string).collect();
            if !keys.is_empty() {
                said.push(format!("{} {words}", keys.join(" or ")));
            }
        }
        let all = |figure| self.keys.get(&figure_key(figure)) == Some(&Action::Figure(figure));
        if (0..=9).all(all) {
            left.retain(|_, action| !matches!(action, Action::Figure(_)));
            said.push("0 to 9 say the effort felt".to_owned());
        }
        for (key, action) in left {
            said.push(format!("{key} is {}", action.text()));
        }
        if said.is_empty() {
            return "No key does anything: there is no terminal to press one in, or the configuration has \
                    removed them all."
                .to_owned();
        }
        format!("Keys: {}.", said.join(", "))
    }

    /// Returns what is left where there is no terminal.
    pub fn without_keys(mut self) -> Self {
        self.keys.clear();
        self
    }

    /// Returns the keys that pause and go on, for what is printed while it waits.
    pub fn key_of(&self, verb: &Verb) -> Option<Key> {
        let wanted = Action::Tell(verb.clone());
        let found = self.keys.iter().find(|(_, action)| **action == wanted);
        found.map(|(key, _)| *key)
    }
}

impl Device {
    /// Returns what a button of this device does.
    pub fn action(&self, code: u16) -> Option<Action> {
        let own = self.buttons.get(&code).cloned();
        own.or(self.one_button.then_some(Action::OneButton))
    }
}

impl DeviceAt {
    /// Returns the words for it in messages.
    pub fn words(&self) -> String {
        match self {
            DeviceAt::Path(path) => path.display().to_string(),
            DeviceAt::Name(name) => format!("\"{name}\""),
        }
    }
}

impl Hotkey {
    /// Reads `ctrl+alt+space`; `None` without a key or with more than one.
    pub fn parse(text: &str) -> Option<Self> {
        let lower = text.to_lowercase();
        // The plus key itself ends in a plus.
        let (modifiers, key) = match lower.strip_suffix("++") {
            Some(before) => (before, "+"),
            None => lower.rsplit_once('+').unwrap_or(("", &lower)),
        };
        let mut hotkey = Self {
            control: false,
            alt: false,
            shift: false,
            logo: false,
            key: Key::parse(key)?,
        };
        for modifier in modifiers.split('+').filter(|m| !m.is_empty()) {
            let flag = match modifier {
                "ctrl" => &mut hotkey.control,
                "alt" => &mut hotkey.alt,
                "shift" => &mut hotkey.shift,
                "super" => &mut hotkey.logo,
                _ => return None,
            };
            *flag = true;
        }
        Some(hotkey)
    }

    /// Returns the hotkey as it is written.
    pub fn text(&self) -> String {
        let held = [
            (self.control, "ctrl+"),
            (self.alt, "alt+"),
            (self.shift, "shift+"),
            (self.logo, "super+"),
        ];
        let modifiers: String = held
            .iter()
            .filter(|(h, _)| *h)
            .map(|(_, text)| *text)
            .collect();
        format!("{modifiers}{}", self.key.to_string().to_lowercase())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_of_help_tells_the_keys_that_are_mapped() {
        let mut mapping = Mapping::default();
        assert!(
            mapping
                .help()
                .starts_with("Keys: space pauses and goes on, S skips, B goes back,")
        );
        let help = mapping.help();
        assert!(
            help.ends_with("K says the keys, Q stops, 0 to 9 say the effort felt."),
            "{help}"
        );
        mapping.keys.remove(&Key::Char('s'));
        mapping
            .keys
            .insert(Key::Function(5), Action::Tell(Verb::Skip));
        mapping.keys.insert(Key::Char('g'), Action::OneButton);
        let help = mapping.help();
        assert!(help.contains("F5 skips") && !help.contains(" S "), "{help}");
        assert!(help.contains("G is one-button"), "{help}");
        mapping
            .keys
            .insert(Key::Char('3'), Action::Tell(Verb::Skip));
        let help = mapping.help();
        assert!(
            help.contains("3 or F5 skips") && help.contains(", 2 is figure 2, 4 is figure 4,"),
            "{help}"
        );
        mapping.keys.clear();
        assert!(mapping.help().starts_with("No key does anything"));
    }

    #[test]
    fn a_hotkey_has_one_key_and_known_modifiers() {
        let hotkey = Hotkey::parse("Ctrl+Alt+Space").unwrap();
        assert!(hotkey.control && hotkey.alt && !hotkey.shift);
        assert_eq!(hotkey.key, Key::Char(' '));
        assert_eq!(Hotkey::parse("ctrl++").unwrap().key, Key::Char('+'));
        assert_eq!(Hotkey::parse("f9").unwrap().key, Key::Function(9));
        for text in ["", "ctrl+", "ctrl+hyper+a", "a+b"] {
            assert_eq!(Hotkey::parse(text), None, "{text}");
        }
    }
}
