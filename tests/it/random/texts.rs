//! Texts of all kinds, from noise to good files with a slip in them.

use super::LIBRARY;
use super::cases;
use super::starter;
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::sample::select;
use sidevoice::base::diagnostic::Sources;
use sidevoice::base::diagnostic::Style;
use sidevoice::base::diagnostic::render;
use sidevoice::planning::session::read_movement;
use sidevoice::planning::session::read_session;
use sidevoice::planning::session::resolve;
use sidevoice::planning::session::uses_found;
use std::sync::LazyLock;

static TEXTS: LazyLock<Vec<String>> = LazyLock::new(|| {
    let all = starter("sessions").into_iter().chain(starter("movements"));
    all.map(|(_, text)| text).collect()
});

/// Reads a text as whatever it may be, and shows all that is told.
fn read(text: &str) {
    let mut sources = Sources::default();
    let source = sources.add("text.toml", text);
    let (session, mut faults) = read_session(&sources, source);
    uses_found(&sources, source, &faults);
    if let Some(session) = session {
        faults.extend(resolve(session, &LIBRARY).1);
    }
    faults.extend(read_movement("text", &sources, source).1);
    for fault in &faults {
        let span = fault.place.span();
        assert!(text.get(span.clone()).is_some(), "{span:?} of {fault:?}");
        assert!(
            !fault.message.is_empty() && !fault.help.is_empty(),
            "{fault:?}"
        );
        assert!(!fault.message.contains(char::is_control), "{fault:?}");
    }
    for style in [Style::Sentences, Style::Marked { colour: true }] {
        assert_eq!(
            render(&faults, &sources, style).is_empty(),
            faults.is_empty()
        );
    }
}

/// A change that a slip, a bad merge or a broken disk might make.
#[derive(Debug, Clone)]
enum Change {
    Delete(Index, usize),
    Swap(Index, Index),
    Insert(Index, &'static str),
    InsertAny(Index, String),
    Repeat(Index),
}

const FRAGMENTS: [&str; 36] = [
    "[[block]]\n",
    "[block]\n",
    "[[cue]]\n",
    "[[",
    "]]",
    "[",
    "]",
    "{",
    "}",
    "\"",
    "'''",
    "\"\"\"",
    "=",
    ",",
    "#",
    "\n",
    "\r",
    "\t",
    "\u{0}",
    "\u{feff}",
    "{side}",
    "{",
    "é",
    "🚣",
    "ש",
    "rounds = 1000\n",
    "work = [\"1s\", 2]\n",
    "rest = \"99999999999h\"\n",
    "a.b.c = 1\n",
    "\"\" = 1\n",
    "use = \"../x\"\n",
    "say_left = \"x\"\n",
    "sides = \"each\"\n",
    "1979-05-27",
    "-inf",
    "\\u0007",
];

fn change() -> impl Strategy<Value = Change> {
    let at = any::<Index>;
    prop_oneof![
        (at(), 1..40usize).prop_map(|(at, count)| Change::Delete(at, count)),
        (at(), at()).prop_map(|(a, b)| Change::Swap(a, b)),
        (at(), select(&FRAGMENTS[..])).prop_map(|(at, text)| Change::Insert(at, text)),
        (at(), ".{0,8}").prop_map(|(at, text)| Change::InsertAny(at, text)),
        at().prop_map(Change::Repeat),
    ]
}

fn changed(text: &str, change: &Change) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    let place = |at: &Index| at.index(chars.len() + 1);
    match change {
        Change::Delete(at, count) => {
            let from = place(at);
            let to = chars.len().min(from + count);
            chars.drain(from..to);
        }
        Change::Swap(a, b) if !chars.is_empty() => {
            let (a, b) = (a.index(chars.len()), b.index(chars.len()));
            chars.swap(a, b);
        }
        Change::Swap(..) => {}
        Change::Insert(at, text) => {
            let at = place(at);
            chars.splice(at..at, text.chars());
        }
        Change::InsertAny(at, text) => {
            let at = place(at);
            chars.splice(at..at, text.chars());
        }
        Change::Repeat(at) => {
            let mut lines: Vec<_> = text.split_inclusive('\n').collect();
            if let Some(line) = lines.get(at.index(lines.len().max(1))).copied() {
                lines.push(line);
            }
            return lines.concat();
        }
    }
    chars.into_iter().collect()
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn no_text_is_more_than_the_readers_bear(text in any::<String>()) {
        read(&text);
    }

    #[test]
    fn no_bytes_are_more_than_the_readers_bear(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        read(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn no_string_of_marks_is_more_than_the_readers_bear(text in "[\\[\\]{}\"'=.,#\n\r\\\\a-c0-2é ]{0,80}") {
        read(&text);
    }

    #[test]
    fn no_change_of_a_good_file_is_more_than_the_readers_bear(
        text in any::<Index>(),
        changes in prop::collection::vec(change(), 1..8),
    ) {
        let mut text = text.get(&TEXTS).clone();
        for change in &changes {
            text = changed(&text, change);
        }
        read(&text);
    }
}
