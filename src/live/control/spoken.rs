//! What the keys do, said for a listener who may have no screen: taken from the mapping, so that what is
//! said is what is so.

use super::Action;
use super::Key;
use super::Mapping;
use super::Verb;
use crate::base::wording::Arg;
use crate::base::wording::Wording;
use crate::base::wording::capitalised;

/// What is of use while a class runs, each row a sentence.
const RUNNING: [&[Verb]; 5] = [
    &[Verb::PauseOrResume, Verb::Pause, Verb::Resume],
    &[
        Verb::Skip,
        Verb::Back,
        Verb::Repeat,
        Verb::Where,
        Verb::Explain,
        Verb::Easier,
    ],
    &[Verb::Louder, Verb::Quieter],
    &[
        Verb::SpeechFaster,
        Verb::SpeechSlower,
        Verb::TalkMore,
        Verb::TalkLess,
    ],
    &[Verb::Help, Verb::Stop],
];

/// What is of use between classes.
const BETWEEN: [&[Verb]; 3] = [
    &[Verb::Next, Verb::Previous, Verb::Start(None)],
    &[Verb::Help, Verb::Stop],
    &[Verb::Louder, Verb::Quieter],
];

/// Opposites that are said together where each has one key.
const PAIRS: [(Verb, Verb, &str); 3] = [
    (Verb::Louder, Verb::Quieter, "keys-volume"),
    (Verb::SpeechFaster, Verb::SpeechSlower, "keys-speed"),
    (Verb::TalkMore, Verb::TalkLess, "keys-talk"),
];

/// Characters that a voice would not say, by the names of their messages.
const SIGNS: [(char, &str); 33] = [
    (' ', "space"),
    ('+', "plus"),
    ('-', "minus"),
    ('=', "equals"),
    ('_', "underscore"),
    (',', "comma"),
    ('.', "full-stop"),
    (';', "semicolon"),
    (':', "colon"),
    ('!', "exclamation-mark"),
    ('?', "question-mark"),
    ('\'', "apostrophe"),
    ('"', "quotation-mark"),
    ('`', "backtick"),
    ('~', "tilde"),
    ('^', "caret"),
    ('@', "at"),
    ('#', "hash"),
    ('$', "dollar"),
    ('%', "percent"),
    ('&', "ampersand"),
    ('*', "star"),
    ('/', "slash"),
    ('\\', "backslash"),
    ('|', "bar"),
    ('(', "opening-bracket"),
    (')', "closing-bracket"),
    ('[', "opening-square-bracket"),
    (']', "closing-square-bracket"),
    ('{', "opening-brace"),
    ('}', "closing-brace"),
    ('<', "less-than"),
    ('>', "greater-than"),
];

impl Mapping {
    /// Says what the keys do, while a class runs or between classes, and what the one button does if there
    /// is one.
    pub fn spoken(&self, wording: &Wording, between: bool) -> String {
        let rows: &[&[Verb]] = if between { &BETWEEN } else { &RUNNING };
        let mut sentences: Vec<Vec<String>> =
            rows.iter().map(|row| self.parts(row, wording)).collect();
        let own = match between {
            true => self.named_sessions(wording),
            false => self.efforts(wording),
        };
        // Before help and stop, which end what is said of the class, or begin what is said beside it.
        sentences.insert(sentences.len() - if between { 2 } else { 1 }, own);
        let mut said: Vec<String> = sentences
            .iter()
            .filter(|parts| !parts.is_empty())
            .map(|parts| sentence(parts, wording))
            .collect();
        if said.is_empty() {
            let none = if between {
                "keys-none-between"
            } else {
                "keys-none"
            };
            said.push(wording.say(none, &[]));
        }
        if let Some(button) = self.one_button_spoken(wording) {
            let does = if between {
                "one-button-between"
            } else {
                "one-button-running"
            };
            said.push(wording.say(does, &[("key", Arg::Text(&button))]));
        }
        said.join(" ")
    }

    /// Returns the keys that do something, as one says them: "S or page down".
    pub fn key_spoken(&self, verb: &Verb, wording: &Wording) -> Option<String> {
        either(&self.keys_of(&Action::Tell(verb.clone())), wording)
    }

    /// Says how a session is chosen and begun; empty where nothing but `tell` does it.
    pub fn choosing_spoken(&self, wording: &Wording) -> String {
        let key = |verb: Verb| self.key_spoken(&verb, wording);
        if let (Some(next), Some(start)) = (key(Verb::Next), key(Verb::Start(None))) {
            let args = [("next", Arg::Text(&next)), ("start", Arg::Text(&start))];
            return capitalised(&wording.say("choose-hint", &args));
        }
        let button = self.one_button_spoken(wording);
        button.map_or(String::new(), |button| {
            wording.say("one-button-between", &[("key", Arg::Text(&button))])
        })
    }

    /// Returns the key, or the one button, that ends a wait in a class, as one says it.
    pub fn goes_on_spoken(&self, wording: &Wording) -> Option<String> {
        self.key_spoken(&Verb::PauseOrResume, wording)
            .or_else(|| self.one_button_spoken(wording))
            .or_else(|| self.key_spoken(&Verb::Skip, wording))
    }

    fn keys_of(&self, action: &Action) -> Vec<Key> {
        let keys = self.keys.iter().filter(|(_, does)| *does == action);
        keys.map(|(key, _)| *key).collect()
    }

    fn parts(&self, verbs: &[Verb], wording: &Wording) -> Vec<String> {
        let mut parts = Vec::new();
        let mut verbs = verbs.iter().peekable();
        while let Some(verb) = verbs.next() {
            let pair = PAIRS.iter().find(|(first, _, _)| first == verb);
            if let Some(both) = pair.and_then(|pair| self.pair(pair, wording)) {
                parts.push(both);
                verbs.next();
                continue;
            }
            if let Some(key) = self.key_spoken(verb, wording) {
                let id = format!("key-{}", verb.text());
                parts.push(wording.say(&id, &[("key", Arg::Text(&key))]));
            }
        }
        parts
    }

    fn pair(&self, pair: &(Verb, Verb, &str), wording: &Wording) -> Option<String> {
        let one = |verb: &Verb| match self.keys_of(&Action::Tell(verb.clone()))[..] {
            [key] => Some(name(key, wording)),
            _ => None,
        };
        let (first, second) = (one(&pair.0)?, one(&pair.1)?);
        let args = [("first", Arg::Text(&first)), ("second", Arg::Text(&second))];
        Some(wording.say(pair.2, &args))
    }

    /// Says the keys that tell an effort felt.
    fn efforts(&self, wording: &Wording) -> Vec<String> {
        let rates = [None].into_iter().chain((0..=10).map(Some));
        let figures = self.keys.values().any(|a| matches!(a, Action::Figure(_)));
        let figures = figures.then(|| wording.say("keys-figures", &[]));
        let parts = rates.filter_map(|felt| {
            let key = self.key_spoken(&Verb::Rate(felt), wording)?;
            let key = ("key", Arg::Text(&key));
            Some(match felt {
                Some(felt) => {
                    let words = wording.number(felt.into());
                    wording.say("key-rate", &[key, ("words", Arg::Text(&words))])
                }
                None => wording.say("key-rate-skip", &[key]),
            })
        });
        figures.into_iter().chain(parts).collect()
    }

    /// Says the keys that start a session of their own.
    fn named_sessions(&self, wording: &Wording) -> Vec<String> {
        let mut parts: Vec<String> = Vec::new();
        for action in self.keys.values() {
            let Action::Tell(verb @ Verb::Start(Some(session))) = action else {
                continue;
            };
            let Some(key) = self.key_spoken(verb, wording) else {
                continue;
            };
            // The name of a file, with its words apart.
            let session = session.replace(['-', '_'], " ");
            let args = [("key", Arg::Text(&key)), ("session", Arg::Text(&session))];
            let part = wording.say("key-start-session", &args);
            if !parts.contains(&part) {
                parts.push(part);
            }
        }
        parts
    }

    /// Returns the one button as one says it: its keys, or what it is where it is on no key.
    fn one_button_spoken(&self, wording: &Wording) -> Option<String> {
        let keys = self.keys_of(&Action::OneButton);
        either(&keys, wording).or_else(|| {
            let is_it = |action: &Action| *action == Action::OneButton;
            let elsewhere = self.media.values().any(is_it)
                || self.hotkeys.values().any(is_it)
                || self
                    .devices
                    .iter()
                    .any(|device| device.one_button || device.buttons.values().any(is_it));
            elsewhere.then(|| wording.say("one-button", &[]))
        })
    }
}

fn sentence(parts: &[String], wording: &Wording) -> String {
    let mut said = String::new();
    for part in parts.iter().rev() {
        said = match said.is_empty() {
            true => part.clone(),
            false => {
                let args = [("first", Arg::Text(part)), ("rest", Arg::Text(&said))];
                wording.say("list-more", &args)
            }
        };
    }
    capitalised(&wording.say("keys-sentence", &[("parts", Arg::Text(&said))]))
}

/// Joins the names of keys: "S", "S or page down".
fn either(keys: &[Key], wording: &Wording) -> Option<String> {
    let names = keys.iter().map(|key| name(*key, wording));
    names.reduce(|first, second| {
        let args = [("first", Arg::Text(&first)), ("second", Arg::Text(&second))];
        wording.say("key-or", &args)
    })
}

/// Returns a key as one says it.
fn name(key: Key, wording: &Wording) -> String {
    let named = |name: &str| wording.say(&format!("key-named-{name}"), &[]);
    match key {
        Key::Char(character) => {
            if let Some((_, sign)) = SIGNS.iter().find(|(sign, _)| *sign == character) {
                return named(sign);
            }
            match character.to_digit(10) {
                Some(digit) => wording.number(digit.into()),
                None => character.to_uppercase().collect(),
            }
        }
        Key::Named(name) => named(name),
        Key::Function(number) => {
            let number = number.to_string();
            wording.say("key-function", &[("n", Arg::Text(&number))])
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Device;
    use super::super::DeviceAt;
    use super::*;
    use std::collections::BTreeMap;

    fn running(change: impl FnOnce(&mut Mapping)) -> String {
        spoken(change, false)
    }

    fn spoken(change: impl FnOnce(&mut Mapping), between: bool) -> String {
        let mut mapping = Mapping::default();
        change(&mut mapping);
        mapping.spoken(&Wording::english(), between)
    }

    fn tell(mapping: &mut Mapping, key: &str, action: &str) {
        let (key, action) = (Key::parse(key).unwrap(), Action::parse(action).unwrap());
        mapping.keys.insert(key, action);
    }

    fn with_a_button(mapping: &mut Mapping) {
        mapping.devices.push(Device {
            at: DeviceAt::Name("Foot pedal".to_owned()),
            buttons: BTreeMap::new(),
            one_button: true,
        });
    }

    #[test]
    fn the_default_keys_are_said_in_groups() {
        assert_eq!(
            running(|_| {}),
            "Space pauses and goes on. S skips, B goes back, R says the last line again, W says where \
             you are, X explains the movement, E gives the easier option. Plus and minus change the \
             volume. The number keys say the effort felt, at the end. K says the keys again, Q stops."
        );
        assert_eq!(
            spoken(|_| {}, true),
            "N names the next session, P names the session before, enter starts the session. K \
             says the keys again, Q stops. Plus and minus change the volume."
        );
    }

    #[test]
    fn a_key_that_is_removed_is_not_said_and_one_that_is_changed_is() {
        let said = running(|mapping| {
            mapping.keys.remove(&Key::Char('s'));
            tell(mapping, "b", "where");
            tell(mapping, "f5", "back");
            tell(mapping, "page-down", "speech-faster");
            tell(mapping, "f7", "rate 7");
        });
        assert!(
            said.contains(
                "on. F5 goes back, R says the last line again, B or W says where you are,"
            ),
            "{said}"
        );
        assert!(!said.contains("skips"), "{said}");
        assert!(
            said.contains("Page down speaks faster. The number keys say the effort felt, at the end, F7 says effort seven. K says"),
            "{said}"
        );
        let between = spoken(|mapping| tell(mapping, "1", "start boathouse-five"), true);
        assert!(
            between.contains("starts the session. One starts boathouse five. K says"),
            "{between}"
        );
    }

    #[test]
    fn several_keys_for_one_verb_are_joined() {
        let said = running(|mapping| {
            tell(mapping, "up", "louder");
            tell(mapping, "enter", "skip");
            tell(mapping, "page-down", "skip");
        });
        assert!(said.contains("S or enter or page down skips,"), "{said}");
        // Opposites are one part only while each is one key.
        assert!(
            said.contains("Plus or arrow up makes it louder, minus makes it quieter."),
            "{said}"
        );
    }

    #[test]
    fn without_a_key_it_says_so() {
        let none = |mapping: &mut Mapping| mapping.keys.clear();
        assert_eq!(running(none), "No key does anything while a class runs.");
        assert_eq!(spoken(none, true), "No key does anything between classes.");
        assert_eq!(
            running(|mapping| {
                mapping.keys.clear();
                with_a_button(mapping);
            }),
            "No key does anything while a class runs. One press of the button pauses, two skip, a \
             press lets it go on."
        );
    }

    #[test]
    fn the_one_button_is_said_by_its_key_or_as_the_button() {
        let one = " One press of G pauses, two skip, a press lets it go on.";
        assert!(running(|mapping| tell(mapping, "g", "one-button")).ends_with(one));
        let two = " One press of the button names the next session, two start it.";
        assert!(spoken(with_a_button, true).ends_with(two));
    }

    #[test]
    fn what_ends_a_wait_is_a_key_or_the_button() {
        let wording = Wording::english();
        let mut mapping = Mapping::default();
        let told = |mapping: &Mapping| mapping.goes_on_spoken(&wording);
        assert_eq!(told(&mapping).as_deref(), Some("space"));
        mapping.keys.remove(&Key::Char(' '));
        assert_eq!(told(&mapping).as_deref(), Some("S"));
        with_a_button(&mut mapping);
        assert_eq!(told(&mapping).as_deref(), Some("the button"));
        tell(&mut mapping, "-", "pause-or-resume");
        assert_eq!(told(&mapping).as_deref(), Some("minus"));
        mapping.keys.clear();
        mapping.devices.clear();
        assert_eq!(told(&mapping), None);
    }

    /// A wording without a message says its id, and fails in tests.
    #[test]
    fn every_key_and_every_verb_can_be_said() {
        let wording = Wording::english();
        let printable = (' '..='~').map(Key::of);
        let named = Key::names().map(|name| Key::parse(name).unwrap());
        for key in printable.chain(named) {
            let said = name(key, &wording);
            let is_said = |c: char| c.is_ascii_alphanumeric() || c == ' ';
            assert!(
                !said.is_empty() && said.chars().all(is_said),
                "{key}: {said}"
            );
        }
        for verb in RUNNING.iter().chain(&BETWEEN).flat_map(|row| row.iter()) {
            let said = spoken(
                |mapping| {
                    mapping.keys.clear();
                    mapping
                        .keys
                        .insert(Key::Function(9), Action::Tell(verb.clone()));
                },
                !RUNNING.iter().any(|row| row.contains(verb)),
            );
            assert!(said.starts_with("F9 "), "{said}");
        }
        for word in Verb::words().chain(["rate 0", "rate skip", "start boathouse-five"]) {
            let Ok(verb) = Verb::parse(word) else {
                continue;
            };
            let change = |mapping: &mut Mapping| {
                mapping.keys.clear();
                mapping
                    .keys
                    .insert(Key::Function(9), Action::Tell(verb.clone()));
            };
            let said = [spoken(change, false), spoken(change, true)];
            assert!(
                said.iter().any(|said| said.contains("F9")),
                "{word}: {said:?}"
            );
        }
    }
}
