//! Reading TOML so that every fault of a file is found in one pass.
//!
//! serde stops at the first wrong type and loses places inside tagged enums; this walks the
//! spanned tree of the `toml` crate instead. Each read names a key; what was never named is
//! unknown, and [`Table::finish`] says so with the nearest key that is known.

use super::Code;
use super::Diagnostic;
use super::Located;
use super::Place;
use super::SourceId;
use super::Sources;
use super::nearest;
use crate::base::units::Millis;
use std::cell::RefCell;
use std::ops::RangeInclusive;
use toml::Spanned;
use toml::de::DeString;
use toml::de::DeTable;
use toml::de::DeValue;

type Faults<'a> = &'a RefCell<Vec<Diagnostic>>;

/// Parses a text as TOML and hands its top table to `read`; returns what `read` made, with all
/// faults. Where the syntax is broken, faults on the broken lines and missing keys, which may
/// only be their echo, are left out.
pub fn parse_toml<T>(
    sources: &Sources,
    source: SourceId,
    read: impl FnOnce(&mut Table) -> T,
) -> (T, Vec<Diagnostic>) {
    let text = sources.text(source);
    let (tree, errors) = DeTable::parse_recoverable(text);
    let found = RefCell::new(Vec::new());
    let mut top = Table::new(
        tree.get_ref(),
        "file",
        Place::start_of(source),
        source,
        &found,
    );
    let made = read(&mut top);
    top.finish();
    let mut found = found.into_inner();
    let line_of = |place| sources.position(place).line;
    let broken: Vec<_> = errors
        .iter()
        .map(|e| Place::new(source, e.span().unwrap_or(text.len()..text.len())))
        .collect();
    if !broken.is_empty() {
        let lines: Vec<_> = broken.iter().map(|p| line_of(*p)).collect();
        found.retain(|d| d.code != Code::KeyMissing && !lines.contains(&line_of(d.place)));
    }
    // The parser finds the same slip more than once in a line; the first word on it says it all.
    let mut last_line = 0;
    for (error, place) in errors.iter().zip(broken) {
        if line_of(place) != last_line {
            last_line = line_of(place);
            found.push(syntax_fault(error.message(), place));
        }
    }
    (made, found)
}

fn syntax_fault(message: &str, place: Place) -> Diagnostic {
    let fault = Diagnostic::error(Code::Syntax, place, format!("not valid TOML: {message}"));
    if message.contains("duplicate key") {
        return fault.help("keep one of the two, or start a new `[[...]]` table for the second");
    }
    if message.contains("recursion") {
        return fault.help("a session file is never more than a few levels deep");
    }
    fault.help("texts stand in \"quotes\", lists in [brackets], one key a line")
}

/// A table being read.
pub struct Table<'a> {
    fields: &'a DeTable<'a>,
    what: &'static str,
    /// Where a fault of the whole table is shown.
    pub place: Place,
    source: SourceId,
    known: Vec<&'static str>,
    faults: Faults<'a>,
}

/// A value being read, under the key that holds it.
#[derive(Clone, Copy)]
pub struct Item<'a> {
    value: &'a DeValue<'a>,
    key: &'a str,
    pub place: Place,
    faults: Faults<'a>,
}

impl<'a> Table<'a> {
    fn new(
        fields: &'a DeTable<'a>,
        what: &'static str,
        place: Place,
        source: SourceId,
        faults: Faults<'a>,
    ) -> Self {
        Self {
            fields,
            what,
            place,
            source,
            known: Vec::new(),
            faults,
        }
    }

    /// Adds a fault found by the caller.
    pub fn fault(&self, fault: Diagnostic) {
        self.faults.borrow_mut().push(fault);
    }

    /// Returns the value of a key, if it is there.
    pub fn get(&mut self, key: &'static str) -> Option<Item<'a>> {
        self.known.push(key);
        let value = self.fields.get(key)?;
        Some(self.item(key, value))
    }

    /// Returns whether a key is there.
    pub fn has(&self, key: &str) -> bool {
        self.fields.contains_key(key)
    }

    /// Returns the value of a key, or reports that it is missing, with an example of it.
    pub fn need(&mut self, key: &'static str, example: &str) -> Option<Item<'a>> {
        let item = self.get(key);
        if item.is_none() {
            let message = format!("expected the key `{key}` in this {}, found none", self.what);
            self.fault(
                Diagnostic::error(Code::KeyMissing, self.place, message)
                    .help(format!("add a line such as `{key} = {example}`")),
            );
        }
        item
    }

    /// Returns a text, if it is there.
    pub fn text(&mut self, key: &'static str) -> Option<Located<String>> {
        self.get(key)?.text()
    }

    /// Returns a truth value, or `default`.
    pub fn flag(&mut self, key: &'static str, default: bool) -> bool {
        let Some(item) = self.get(key) else {
            return default;
        };
        let value = item.value.as_bool();
        if value.is_none() {
            item.wrong_type("true or false");
        }
        value.unwrap_or(default)
    }

    /// Returns a whole number within limits, if it is there.
    pub fn number(
        &mut self,
        key: &'static str,
        limits: RangeInclusive<i64>,
    ) -> Option<Located<i64>> {
        let item = self.get(key)?;
        let Some(written) = item.value.as_integer() else {
            item.wrong_type("a whole number");
            return None;
        };
        let value = i64::from_str_radix(&written.as_str().replace('_', ""), written.radix()).ok();
        match value.filter(|v| limits.contains(v)) {
            Some(v) => Some(Located::new(v, item.place)),
            None => {
                let (low, high) = (limits.start(), limits.end());
                item.fault(
                    Code::NumberOutside,
                    format!(
                        "expected `{key}` from {low} to {high}, found {}",
                        short(written.as_str())
                    ),
                    format!("write a number from {low} to {high}"),
                );
                None
            }
        }
    }

    /// Returns one of the words that a key takes, if it is there.
    pub fn word<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
    ) -> Option<Located<T>> {
        self.get(key)?.word(words)
    }

    /// Returns the tables of an array of tables, in order.
    pub fn tables(&mut self, key: &'static str, what: &'static str) -> Vec<Table<'a>> {
        self.get(key)
            .map_or(Vec::new(), |item| item.items())
            .iter()
            .filter_map(|item| item.table(what))
            .collect()
    }

    /// Returns every key with its value, for a table whose keys are the writer's own.
    pub fn entries(self) -> Vec<(Located<&'a str>, Item<'a>)> {
        let entry = |(key, value): (&'a Spanned<DeString<'a>>, &'a Spanned<DeValue<'a>>)| {
            let name: &'a str = key.get_ref();
            let place = Place::new(self.source, key.span());
            let item = self.item(name, value);
            (Located::new(name, place), item)
        };
        self.fields.iter().map(entry).collect()
    }

    /// Reports the keys that nobody asked for.
    pub fn finish(self) {
        for (key, _) in self.fields.iter() {
            let name: &str = key.get_ref();
            if self.known.contains(&name) {
                continue;
            }
            let mut fault = Diagnostic::error(
                Code::KeyUnknown,
                Place::new(self.source, key.span()),
                format!(
                    "expected a key of this {}, found `{}`",
                    self.what,
                    short(name)
                ),
            )
            .label("unknown here");
            fault.help = match nearest(name, self.known.iter().copied()) {
                Some(known) => format!("did you mean `{known}`?"),
                None => format!("a {} takes: {}", self.what, self.known.join(", ")),
            };
            self.fault(fault);
        }
    }

    fn item(&self, key: &'a str, value: &'a Spanned<DeValue<'a>>) -> Item<'a> {
        Item {
            value: value.get_ref(),
            key,
            place: Place::new(self.source, value.span()),
            faults: self.faults,
        }
    }
}

impl<'a> Item<'a> {
    /// Adds an error at this value.
    pub fn fault(&self, code: Code, message: String, help: impl Into<String>) {
        let fault = Diagnostic::error(code, self.place, message).help(help);
        self.faults.borrow_mut().push(fault);
    }

    /// Adds a fault made by the caller.
    pub fn push(&self, fault: Diagnostic) {
        self.faults.borrow_mut().push(fault);
    }

    /// Reports that the value has another type than the key takes.
    pub fn wrong_type(&self, expected: &str) {
        let found = match self.value {
            DeValue::String(_) => "a text",
            DeValue::Integer(_) => "a whole number",
            DeValue::Float(_) => "a decimal number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date or time",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let message = format!("expected {expected} for `{}`, found {found}", self.key);
        let help = match (expected, self.value) {
            (e, DeValue::Integer(n)) if e.contains("duration") => {
                format!("say what it counts: \"{}s\" for seconds", short(n.as_str()))
            }
            // The likeliest slip of all: one bracket for two.
            (e, DeValue::Table(_)) if e.contains("list") => format!(
                "a table for each stands under its own `[[{}]]`, in two brackets",
                self.key
            ),
            (_, DeValue::Integer(_) | DeValue::Boolean(_)) if expected.contains("text") => {
                "put it in quotes".to_owned()
            }
            _ => format!("write {expected}"),
        };
        self.fault(Code::TypeWrong, message, help);
    }

    /// Returns whether the value is a list.
    pub fn is_list(&self) -> bool {
        self.value.is_array()
    }

    /// Returns whether the value is a text.
    pub fn is_text(&self) -> bool {
        self.value.is_str()
    }

    /// Returns whether the value is a table.
    pub fn is_table(&self) -> bool {
        self.value.is_table()
    }

    /// Returns the value if it is true or false.
    pub fn flag(&self) -> Option<bool> {
        self.value.as_bool()
    }

    /// Returns the value as a text.
    pub fn text(&self) -> Option<Located<String>> {
        let text = self.value.as_str();
        if text.is_none() {
            self.wrong_type("a text in quotes");
        }
        Some(Located::new(text?.to_owned(), self.place))
    }

    /// Returns the value as a length in whole milliseconds or seconds, written as `example` is, at most
    /// `longest`; `what` says what it measures.
    pub fn lasts(&self, what: &str, longest: Millis, example: &str) -> Option<Millis> {
        let text = self.text()?.value;
        let number = |unit: &str| text.strip_suffix(unit)?.trim_end().parse::<u16>().ok();
        let seconds = || number("s").map(|s| Millis::from_secs(s.into()));
        let lasts = number("ms")
            .map(|ms| Millis::from_ms(ms.into()))
            .or_else(seconds);
        let lasts = lasts.filter(|lasts| *lasts <= longest);
        if lasts.is_none() {
            let message = format!(
                "expected {what}, at most {} s, found \"{}\"",
                longest.ms() / 1000,
                short(&text)
            );
            let help = format!("write it as \"{example}\": a whole number of ms or s");
            self.fault(Code::DurationInvalid, message, help);
        }
        lasts
    }

    /// Returns the value as one of the words that the key takes.
    pub fn word<T: Copy>(&self, words: &[(&'static str, T)]) -> Option<Located<T>> {
        let text = self.text()?;
        let found = words.iter().find(|(word, _)| *word == text.value);
        if found.is_none() {
            let all: Vec<_> = words.iter().map(|(word, _)| *word).collect();
            let message = format!(
                "expected {} for `{}`, found \"{}\"",
                one_of(&all),
                self.key,
                short(&text.value)
            );
            let help = match nearest(&text.value, all.iter().copied()) {
                Some(near) => format!("did you mean \"{near}\"?"),
                None => format!("write one of: {}", all.join(", ")),
            };
            self.fault(Code::ValueUnknown, message, help);
        }
        found.map(|(_, value)| Located::new(*value, self.place))
    }

    /// Returns the entries of a list.
    pub fn items(&self) -> Vec<Item<'a>> {
        match self.value.as_array() {
            None => {
                self.wrong_type("a list in [brackets]");
                Vec::new()
            }
            Some(list) => list
                .iter()
                .map(|value| Item {
                    value: value.get_ref(),
                    key: self.key,
                    place: Place::new(self.place.source, value.span()),
                    faults: self.faults,
                })
                .collect(),
        }
    }

    /// Returns the value as a table; `what` names it in faults.
    pub fn table(&self, what: &'static str) -> Option<Table<'a>> {
        match self.value.as_table() {
            None => {
                self.wrong_type("a table");
                None
            }
            Some(fields) => Some(Table::new(
                fields,
                what,
                self.place,
                self.place.source,
                self.faults,
            )),
        }
    }
}

/// Joins words for a sentence: `a`, `a or b`, `a, b or c`, each in quotes.
fn one_of(words: &[&str]) -> String {
    let quoted: Vec<_> = words.iter().map(|w| format!("\"{w}\"")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => quoted.concat(),
    }
}

/// Cuts what the user wrote so that a message stays a line, without control characters.
pub fn short(text: &str) -> String {
    const LONGEST: usize = 40;
    let clean: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    match clean.char_indices().nth(LONGEST) {
        Some((cut, _)) => format!("{}...", &clean[..cut]),
        None => clean,
    }
}
