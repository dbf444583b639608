//! What the program itself says, per language: messages in Project Fluent, from
//! `voices/<language>/phrases.ftl`.

mod plural;

use crate::base::units::Millis;
use fluent_bundle::FluentArgs;
use fluent_bundle::FluentResource;
use fluent_bundle::FluentValue;
use fluent_bundle::concurrent::FluentBundle;
use std::sync::LazyLock;
use unic_langid::LanguageIdentifier;

/// A language that the program speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Language {
    #[default]
    English,
    Spanish,
    German,
    French,
    /// As it is spoken in Brazil.
    Portuguese,
}

impl Language {
    /// All languages.
    pub const ALL: [Language; 5] = [
        Language::English,
        Language::Spanish,
        Language::German,
        Language::French,
        Language::Portuguese,
    ];

    /// Returns the language of a tag such as `de`.
    pub fn of(tag: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|language| language.tag() == tag)
    }

    /// Returns its tag, as files and folders have it.
    pub const fn tag(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::Spanish => "es",
            Language::German => "de",
            Language::French => "fr",
            Language::Portuguese => "pt",
        }
    }

    /// Returns its name in English.
    pub const fn name(self) -> &'static str {
        match self {
            Language::English => "English",
            Language::Spanish => "Spanish",
            Language::German => "German",
            Language::French => "French",
            Language::Portuguese => "Portuguese",
        }
    }

    const fn phrases(self) -> &'static str {
        match self {
            Language::English => include_str!("../../voices/en/phrases.ftl"),
            Language::Spanish => include_str!("../../voices/es/phrases.ftl"),
            Language::German => include_str!("../../voices/de/phrases.ftl"),
            Language::French => include_str!("../../voices/fr/phrases.ftl"),
            Language::Portuguese => include_str!("../../voices/pt/phrases.ftl"),
        }
    }
}

/// The gender of a noun, for the languages whose articles and numbers go by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Gender {
    #[default]
    Masculine,
    Feminine,
    Neuter,
}

impl Gender {
    /// All genders, each with its word in files and messages.
    pub const WORDS: [(&str, Gender); 3] = [
        ("masculine", Gender::Masculine),
        ("feminine", Gender::Feminine),
        ("neuter", Gender::Neuter),
    ];

    /// Returns its word in files and messages.
    pub const fn word(self) -> &'static str {
        match self {
            Gender::Masculine => "masculine",
            Gender::Feminine => "feminine",
            Gender::Neuter => "neuter",
        }
    }
}

/// A thing as a language calls it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Noun {
    /// One of it, without an article.
    pub name: String,
    /// Several of it; without one, as the language makes it by rule.
    pub plural: Option<String>,
    pub gender: Gender,
}

impl Noun {
    /// Makes a noun of which no more is known than its name.
    pub fn plain(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            plural: None,
            gender: Gender::default(),
        }
    }
}

/// The messages of one language.
pub struct Wording {
    language: Language,
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
        Self::embedded(Language::English)
    }

    /// Returns the wording of a language, made at its first use.
    pub fn of(language: Language) -> &'static Self {
        static MADE: [LazyLock<Wording>; 5] = [
            LazyLock::new(|| Wording::embedded(Language::English)),
            LazyLock::new(|| Wording::embedded(Language::Spanish)),
            LazyLock::new(|| Wording::embedded(Language::German)),
            LazyLock::new(|| Wording::embedded(Language::French)),
            LazyLock::new(|| Wording::embedded(Language::Portuguese)),
        ];
        &MADE[language as usize]
    }

    fn embedded(language: Language) -> Self {
        Self::new(language, language.phrases())
            .expect("the embedded wording is valid: a test reads all of it")
    }

    /// Makes a wording from the text of an `.ftl` file.
    ///
    /// # Errors
    ///
    /// What is wrong with the text.
    pub fn new(language: Language, text: &str) -> Result<Self, String> {
        let resource = FluentResource::try_new(text.to_owned())
            .map_err(|(_, errors)| format!("{}", errors[0]))?;
        let id: LanguageIdentifier = language.tag().parse().map_err(|e| format!("{e}"))?;
        let mut bundle = FluentBundle::new_concurrent(vec![id]);
        // The isolating marks are for bidirectional text on screen; here texts are spoken.
        bundle.set_use_isolating(false);
        bundle
            .add_resource(resource)
            .map_err(|errors| format!("{}", errors[0]))?;
        Ok(Self { language, bundle })
    }

    /// Returns the language that this speaks.
    pub fn language(&self) -> Language {
        self.language
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

    /// Says a message with one count: the plural, and the number in words. A language whose
    /// numbers go by gender takes `$masculine` or `$feminine` instead of `$words`.
    pub fn counted(&self, id: &str, n: i64) -> String {
        self.say_counted(id, n, &[])
    }

    fn say_counted(&self, id: &str, n: i64, more: &[(&str, Arg)]) -> String {
        let words = self.number(n);
        let masculine = self.number_before(n, Gender::Masculine);
        let feminine = self.number_before(n, Gender::Feminine);
        let args = [
            ("n", Arg::Count(n)),
            ("words", Arg::Text(&words)),
            ("masculine", Arg::Text(&masculine)),
            ("feminine", Arg::Text(&feminine)),
        ];
        self.say(id, &[&args, more].concat())
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

    /// Says a whole number as it stands before a noun of a gender: "una", "veintiún".
    fn number_before(&self, n: i64, gender: Gender) -> String {
        let id = format!("number-{n}-{}", gender.word());
        if self.has(&id) {
            self.say(&id, &[])
        } else {
            self.number(n)
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
                let rest = self.counted("seconds", seconds);
                let seconds = self.number(seconds);
                let more = [("seconds", Arg::Text(&seconds)), ("rest", Arg::Text(&rest))];
                self.say_counted("minutes-seconds", minutes, &more)
            }
        }
    }

    /// Says a side, which by the listener's own body is of a limb: what follows a name.
    pub fn side(&self, side: &str, limb: Option<&str>) -> String {
        self.say(&of_limb("side", side, limb), &[])
    }

    /// Says the limb of a side: "right arm".
    pub fn limb(&self, side: &str, limb: Option<&str>) -> String {
        self.say(&of_limb("limb", side, limb), &[])
    }

    /// Names one thing, or several, without an article.
    pub fn named(&self, noun: &Noun, count: u8) -> String {
        match (&noun.plural, count) {
            (_, 1) => noun.name.clone(),
            (Some(plural), _) => plural.clone(),
            (None, _) => plural::of(&noun.name, self.language),
        }
    }

    /// Names something that was not spoken of yet: "a bench", "two dumbbells".
    pub fn some(&self, noun: &Noun, count: u8) -> String {
        match count {
            1 => self.with_article("a-item", noun, &noun.name),
            _ => self.number_of(noun, count),
        }
    }

    /// Names things by their number: "one dumbbell".
    pub fn number_of(&self, noun: &Noun, count: u8) -> String {
        if count == 1 {
            return self.with_article("one-item", noun, &noun.name);
        }
        self.number_of_named(noun, count, &self.named(noun, count))
    }

    fn number_of_named(&self, noun: &Noun, count: u8, named: &str) -> String {
        let words = self.number_before(i64::from(count), noun.gender);
        let args = [("words", Arg::Text(&words)), ("items", Arg::Text(named))];
        self.say("many-items", &args)
    }

    /// Names what is known: "the dumbbell", "the dumbbells".
    pub fn the(&self, noun: &Noun, count: u8) -> String {
        let message = if count == 1 { "the-item" } else { "the-items" };
        self.with_article(message, noun, &self.named(noun, count))
    }

    /// Names something that was not spoken of yet, by its load where it has one: "one 6 kg dumbbell".
    pub fn some_loaded(&self, noun: &Noun, count: u8, load: Option<&str>) -> String {
        let Some(load) = load else {
            return self.some(noun, count);
        };
        self.with_load(noun, count, load, |named| match count {
            1 => self.with_article("one-item", noun, named),
            _ => self.number_of_named(noun, count, named),
        })
    }

    /// Names what is known by its load: "the 6 kg dumbbell". More than two are counted.
    pub fn the_loaded(&self, noun: &Noun, count: u8, load: Option<&str>) -> String {
        let phrase = |named: &str| match count {
            1 => self.with_article("the-item", noun, named),
            2 => self.with_article("the-items", noun, named),
            _ => self.number_of_named(noun, count, named),
        };
        match load {
            None => phrase(&self.named(noun, count)),
            Some(load) => self.with_load(noun, count, load, phrase),
        }
    }

    /// Puts a load to a thing's name, before the rest of the phrase is made or after.
    fn with_load(
        &self,
        noun: &Noun,
        count: u8,
        load: &str,
        phrase: impl Fn(&str) -> String,
    ) -> String {
        let bare = self.named(noun, count);
        let args = [("load", Arg::Text(load)), ("item", Arg::Text(&bare))];
        let phrase = phrase(&self.say("loaded-name", &args));
        let args = [("phrase", Arg::Text(&phrase)), ("load", Arg::Text(load))];
        self.say("loaded-phrase", &args)
    }

    fn with_article(&self, message: &str, noun: &Noun, named: &str) -> String {
        let begins = match noun.name.to_lowercase().chars().next() {
            Some('a' | 'e' | 'i' | 'o' | 'u' | 'é' | 'è' | 'ê' | 'â' | 'î' | 'ô' | 'œ') => {
                "vowel"
            }
            Some('h') => "h",
            _ => "consonant",
        };
        let args = [
            ("item", Arg::Text(named)),
            ("gender", Arg::Text(noun.gender.word())),
            ("begins", Arg::Text(begins)),
        ];
        self.say(message, &args)
    }

    /// Returns a text as it follows a word of the program's: a sentence's first letter in lower
    /// case. A German noun keeps its capital, and there the text follows a colon.
    pub fn lowered(&self, text: &str) -> String {
        let mut chars = text.chars();
        match chars.next() {
            Some(first) if self.language != Language::German => {
                first.to_lowercase().chain(chars).collect()
            }
            _ => text.to_owned(),
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

/// Returns the id of a message about a side: `side-left`, `side-arm-left`.
fn of_limb(what: &str, side: &str, limb: Option<&str>) -> String {
    match limb {
        Some(limb) => format!("{what}-{limb}-{side}"),
        None => format!("{what}-{side}"),
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

    #[test]
    fn what_is_left_in_spanish_agrees_with_the_minutes() {
        let w = Wording::of(Language::Spanish);
        for (minutes, said) in [
            (1, "Queda cerca de un minuto."),
            (5, "Quedan cerca de cinco minutos."),
        ] {
            let length = w.counted("minutes", minutes);
            let args = [("n", Arg::Count(minutes)), ("length", Arg::Text(&length))];
            assert_eq!(w.say("progress-clock-1", &args), said);
        }
    }
}
