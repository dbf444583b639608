//! What the program itself says, per language: messages in Project Fluent, from
//! `voices/<language>/phrases.ftl`.

use crate::base::units::Millis;
use fluent_bundle::FluentArgs;
use fluent_bundle::FluentResource;
use fluent_bundle::FluentValue;
use fluent_bundle::concurrent::FluentBundle;
use unic_langid::LanguageIdentifier;
use unic_langid::langid;

/// The messages of one language.
pub struct Wording {
    bundle: FluentBundle<FluentResource>,
}

/// A value handed to a message.
#[derive(Debug, Clone, Copy)]
pub enum Arg<'a> {
    Text(&'a str),
    /// A number that chooses the plural.
    Count(i64),
}

impl Wording {
    /// Makes the wording of the English that is part of the program.
    pub fn english() -> Self {
        Self::new(langid!("en"), include_str!("../../voices/en/phrases.ftl"))
            .expect("the embedded wording is valid: a test reads all of it")
    }

    /// Makes a wording from the text of an `.ftl` file.
    ///
    /// # Errors
    ///
    /// What is wrong with the text.
    pub fn new(language: LanguageIdentifier, text: &str) -> Result<Self, String> {
        let resource = FluentResource::try_new(text.to_owned())
            .map_err(|(_, errors)| format!("{}", errors[0]))?;
        let mut bundle = FluentBundle::new_concurrent(vec![language]);
        // The isolating marks are for bidirectional text on screen; here texts are spoken.
        bundle.set_use_isolating(false);
        bundle
            .add_resource(resource)
            .map_err(|errors| format!("{}", errors[0]))?;
        Ok(Self { bundle })
    }

    /// Returns whether there is a message of this id.
    pub fn has(&self, id: &str) -> bool {
        self.bundle.has_message(id)
    }

    /// Says a message. One that is missing, or lacks a value, comes out as its id: a test
    /// says every message that the program uses.
    pub fn say(&self, id: &str, args: &[(&str, Arg)]) -> String {
        let pattern = self.bundle.get_message(id).and_then(|m| m.value());
        let Some(pattern) = pattern else {
            debug_assert!(false, "no message `{id}`");
            return id.to_owned();
        };
        let mut values = FluentArgs::with_capacity(args.len());
        for (name, value) in args {
            let value: FluentValue = match value {
                Arg::Text(text) => (*text).into(),
                Arg::Count(n) => (*n).into(),
            };
            values.set(*name, value);
        }
        let mut errors = Vec::new();
        let said = self
            .bundle
            .format_pattern(pattern, Some(&values), &mut errors);
        debug_assert!(errors.is_empty(), "`{id}`: {errors:?}");
        said.into_owned()
    }

    /// Says a message with one count: the plural, and the number in words.
    pub fn counted(&self, id: &str, n: i64) -> String {
        let words = self.number(n);
        self.say(id, &[("n", Arg::Count(n)), ("words", Arg::Text(&words))])
    }

    /// Says a whole number: in words where the language lists it, else in digits.
    pub fn number(&self, n: i64) -> String {
        let id = format!("number-{n}");
        if self.has(&id) {
            self.say(&id, &[])
        } else {
            n.to_string()
        }
    }

    /// Says a length of time, rounded to whole seconds: "twenty seconds", "six minutes ten".
    pub fn length(&self, length: Millis) -> String {
        let all = (length.ms() + 500) / 1000;
        let (minutes, seconds) = (all / 60, all % 60);
        match (minutes, seconds) {
            (0, _) => self.counted("seconds", seconds),
            (_, 0) => self.counted("minutes", minutes),
            _ => {
                let words = self.number(minutes);
                let seconds = self.number(seconds);
                let args = [
                    ("n", Arg::Count(minutes)),
                    ("words", Arg::Text(&words)),
                    ("seconds", Arg::Text(&seconds)),
                ];
                self.say("minutes-seconds", &args)
            }
        }
    }

    /// Joins items as a sentence lists them: `a`, `a and b`, `a, b and c`.
    pub fn list(&self, items: &[String]) -> String {
        match items {
            [] => String::new(),
            [one] => one.clone(),
            [first, second] => self.pair("list-two", "second", first, second),
            [first, rest @ ..] => self.pair("list-more", "rest", first, &self.list(rest)),
        }
    }

    fn pair(&self, id: &str, name: &str, first: &str, second: &str) -> String {
        self.say(
            id,
            &[("first", Arg::Text(first)), (name, Arg::Text(second))],
        )
    }
}

/// Puts the first letter in upper case, as a sentence begins.
pub fn capitalised(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_said_as_people_say_them() {
        let w = Wording::english();
        assert_eq!(w.length(Millis::from_secs(20)), "twenty seconds");
        assert_eq!(w.length(Millis::from_secs(60)), "one minute");
        assert_eq!(w.length(Millis::from_secs(370)), "six minutes ten");
        assert_eq!(
            w.length(Millis::from_secs(1263)),
            "twenty-one minutes three"
        );
    }

    #[test]
    fn lists_are_joined_by_commas_and_a_last_and() {
        let w = Wording::english();
        let items: Vec<_> = ["a bench", "a mat", "one dumbbell"]
            .map(String::from)
            .into();
        assert_eq!(w.list(&items), "a bench, a mat and one dumbbell");
        assert_eq!(w.list(&items[..2]), "a bench and a mat");
    }
}
