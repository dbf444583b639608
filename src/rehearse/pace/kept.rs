//! A person as TOML, `speakers/NAME.toml`: written whole, read with every fault told.

use super::Pace;
use super::Person;
use crate::base::diagnostic::Diagnostic;
use crate::base::diagnostic::SourceId;
use crate::base::diagnostic::Sources;
use crate::base::diagnostic::Table;
use crate::base::diagnostic::any_error;
use crate::base::diagnostic::parse_toml;
use crate::base::wording::Language;
use std::ops::RangeInclusive;

/// More lines than a lifetime of rehearsals has.
const MOST_LINES: i64 = 1_000_000;
/// What a syllable of a person can take, in ms: wider than what anybody is heard to need.
const SYLLABLE_MS: RangeInclusive<i64> = 0..=1000;
/// What a letter of it can take, in ms.
const LETTER_MS: RangeInclusive<i64> = 0..=500;
/// What a pause, or the time around a line, can take, in ms.
const PAUSE_MS: RangeInclusive<i64> = 0..=5000;
/// The spread, in thousandths.
const SPREAD: RangeInclusive<i64> = 0..=1000;

/// Writes a person. Parts of a pace are kept in whole milliseconds: what is lost is less than anybody's spread.
pub fn write(person: &Person) -> String {
    let mut text = format!(
        "# How fast a person speaks: learnt by sidevoice, in milliseconds. Remove the file to forget it.\n\
         language = \"{}\"\nlines = {}\n",
        person.language.tag(),
        person.lines
    );
    text += &table("pace", "at rest", &person.pace);
    if let Some(pace) = &person.breathless {
        text += &table("breathless", "after a minute of moving", pace);
    }
    text
}

fn table(name: &str, when: &str, pace: &Pace) -> String {
    let whole = |value: f64, limits: &RangeInclusive<i64>| {
        (value.round() as i64).clamp(*limits.start(), *limits.end())
    };
    format!(
        "\n# {when}\n[{name}]\nsyllable_ms = {}\nletter_ms = {}\ncomma_ms = {}\nstop_ms = {}\naround_ms = {}\n\
         spread_per_mille = {}\n",
        whole(pace.syllable_ms, &SYLLABLE_MS),
        whole(pace.letter_ms, &LETTER_MS),
        whole(pace.comma_ms, &PAUSE_MS),
        whole(pace.stop_ms, &PAUSE_MS),
        whole(pace.around_ms, &PAUSE_MS),
        whole(pace.spread * 1000.0, &SPREAD),
    )
}

/// Reads a person from one of the sources; `None` where the file is at fault.
pub fn read(sources: &Sources, source: SourceId) -> (Option<Person>, Vec<Diagnostic>) {
    let (person, faults) = parse_toml(sources, source, read_person);
    let sound = !any_error(&faults);
    (person.filter(|_| sound), faults)
}

fn read_person(top: &mut Table) -> Option<Person> {
    let words = Language::ALL.map(|language| (language.tag(), language));
    let language = top.word("language", &words);
    let lines = number(top, "lines", "24", 0..=MOST_LINES);
    let pace = top.need("pace", "{ syllable_ms = 112, ... }");
    let pace = pace.and_then(|item| item.table("pace")).map(read_pace);
    let breathless = top.get("breathless");
    let breathless = breathless.and_then(|item| item.table("pace"));
    Some(Person {
        language: language.map_or(Language::default(), |l| l.value),
        lines: usize::try_from(lines?).ok()?,
        pace: pace??,
        breathless: breathless.and_then(read_pace),
    })
}

fn read_pace(mut table: Table) -> Option<Pace> {
    let syllable = number(&mut table, "syllable_ms", "112", SYLLABLE_MS);
    let letter = number(&mut table, "letter_ms", "40", LETTER_MS);
    let comma = number(&mut table, "comma_ms", "250", PAUSE_MS);
    let stop = number(&mut table, "stop_ms", "500", PAUSE_MS);
    let around = number(&mut table, "around_ms", "200", PAUSE_MS);
    let spread = number(&mut table, "spread_per_mille", "100", SPREAD);
    table.finish();
    Some(Pace {
        syllable_ms: syllable? as f64,
        letter_ms: letter? as f64,
        comma_ms: comma? as f64,
        stop_ms: stop? as f64,
        around_ms: around? as f64,
        spread: spread? as f64 / 1000.0,
    })
}

/// Reads a number that has to be there.
fn number(
    table: &mut Table,
    key: &'static str,
    example: &str,
    limits: RangeInclusive<i64>,
) -> Option<i64> {
    if !table.has(key) {
        table.need(key, example);
        return None;
    }
    table.number(key, limits).map(|number| number.value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_text(text: &str) -> (Option<Person>, Vec<String>) {
        let mut sources = Sources::default();
        let source = sources.add("me.toml", text);
        let (person, faults) = read(&sources, source);
        let told = faults.iter().map(|fault| {
            let at = sources.position(fault.place);
            assert!(!fault.help.is_empty(), "{fault:?}");
            format!("{}:{} {}", at.line, at.column, fault.code.text())
        });
        let told = told.collect();
        (person, told)
    }

    #[test]
    fn a_person_is_read_as_written() {
        let person = Person {
            language: Language::German,
            lines: 24,
            pace: Pace::USUAL,
            breathless: Some(Pace {
                syllable_ms: 240.0,
                ..Pace::USUAL
            }),
        };
        for person in [person, Person::usual()] {
            assert_eq!(read_text(&write(&person)), (Some(person), vec![]));
        }
    }

    #[test]
    fn a_bad_file_is_told_at_its_places_all_at_once() {
        let pace =
            "syllable_ms = -1\nletter_ms = 4\ncomma_ms = \"long\"\nstop_ms = 5\nspread = 3\n";
        let text = format!("language = \"xx\"\nlines = 3\n[pace]\n{pace}");
        let (person, mut told) = read_text(&text);
        told.sort_unstable();
        assert_eq!(person, None);
        let wanted = [
            "1:12 value-unknown",
            "3:1 key-missing",
            "3:1 key-missing",
            "4:15 number-outside",
            "6:12 type-wrong",
            "8:1 key-unknown",
        ];
        assert_eq!(told, wanted);
        for (text, code) in [
            ("", "1:1 key-missing"),
            ("lines = 3\npace = 7\n", "2:8 type-wrong"),
            ("lines = \n", "1:9 toml-syntax"),
        ] {
            let (person, told) = read_text(text);
            assert_eq!(person, None, "{text}");
            assert!(told.contains(&code.to_owned()), "{text}: {told:?}");
        }
    }
}
