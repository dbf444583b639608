//! The lint of texts: what each fixture is told, that the starter folder is told nothing, and that no
//! text is more than the rules bear.

use crate::common::read_text;
use crate::common::root;
use proptest::prelude::*;
use proptest::test_runner::Config;
use sidevoice::base::diagnostic::Diagnostic;
use sidevoice::base::diagnostic::Sources;
use sidevoice::folder::Folder;
use sidevoice::planning::advice::texts::of_movement;
use sidevoice::planning::advice::texts::of_session;
use sidevoice::planning::session::read_movement;
use std::path::Path;

/// Lints a movement; by ear, where a line of it says so.
pub(super) fn on_movement(name: &str, text: &str) -> (Vec<Diagnostic>, Sources) {
    let mut sources = Sources::default();
    let source = sources.add(name, text);
    let (movement, faults) = read_movement("fixture", &sources, source);
    assert_eq!(faults, [], "{name}");
    let by_ear = text.lines().any(|line| line.trim() == "# by ear");
    (of_movement(&movement.unwrap(), by_ear), sources)
}

/// Lints a session beside movements of its own.
pub(super) fn on_session(name: &str, text: &str) -> (Vec<Diagnostic>, Sources) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(name);
    std::fs::write(&file, text).unwrap();
    let loaded = Folder::at(root().join("tests/corpus/advice/library")).load(&file);
    assert_eq!(loaded.diagnostics, [], "{name}");
    (of_session(&loaded.session.unwrap()), loaded.sources)
}

fn shown(found: &[Diagnostic], sources: &Sources) -> Vec<String> {
    let line = |told: &Diagnostic| {
        let path = Path::new(sources.path(told.place.source));
        let at = sources.position(told.place);
        let file = path.file_name().unwrap().display();
        format!(
            "{file}:{}:{} {:?} {}",
            at.line, at.column, told.code, told.message
        )
    };
    found.iter().map(line).collect()
}

#[test]
fn the_texts_of_the_starter_folder_are_told_nothing() {
    let starter = root().join("src/starter");
    let loaded = Folder::at(&starter).load_all();
    assert_eq!(loaded.diagnostics, []);
    let mut told = Vec::new();
    let mut sessions = 0;
    for session in loaded.sessions.values().flatten() {
        sessions += 1;
        for by_ear in [false, true] {
            let mut session = session.clone();
            session.text.by_ear = by_ear;
            told.extend(shown(&of_session(&session), &loaded.sources));
        }
    }
    let mut movements = 0;
    for entry in std::fs::read_dir(starter.join("movements")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            continue;
        }
        movements += 1;
        let mut sources = Sources::default();
        let source = sources.add(path.display().to_string(), read_text(&path));
        let (movement, _) = read_movement("movement", &sources, source);
        let movement = movement.unwrap();
        for by_ear in [false, true] {
            told.extend(shown(&of_movement(&movement, by_ear), &sources));
        }
    }
    assert_eq!((sessions, movements), (11, 70));
    told.sort();
    told.dedup();
    assert!(told.is_empty(), "{told:#?}");
}

/// Words that the rules look for, and what stands between them.
const PIECES: [&str; 64] = [
    "there",
    "here",
    "like this",
    "watch",
    "the other side",
    "the red",
    "blue",
    "band",
    "nearby",
    "somewhere",
    "over by",
    "around",
    "within reach",
    "don't",
    "never",
    "do not",
    "no",
    "avoid",
    "if",
    "and",
    "then",
    "push",
    "lower",
    "sit",
    "stand",
    "breathe out",
    "breathe in",
    "as you",
    "out",
    "in",
    "exhale",
    "while",
    "press-up",
    "press up",
    "push-up",
    "one-arm",
    "weights",
    "dumbbell",
    "RDL",
    "DBs",
    "w/",
    "R",
    "arm",
    "e.g.",
    "through the pain",
    "hold your breath",
    "fast",
    "fat",
    "keep",
    "Easier:",
    "ceiling",
    ".",
    ",",
    ":",
    ";",
    "!",
    "-",
    "--",
    "'",
    "\u{2019}",
    "\u{2026}",
    "(",
    "\u{df}",
    "\u{5e9}",
];

fn pieces() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        4 => proptest::sample::select(&PIECES[..]).prop_map(str::to_owned),
        1 => "\\PC{0,6}",
    ];
    let joined = |pieces: Vec<String>| pieces.join(" ");
    proptest::collection::vec(piece, 0..14).prop_map(joined)
}

proptest! {
    #![proptest_config(Config { cases: 600, failure_persistence: None, ..Config::default() })]

    #[test]
    fn no_text_is_more_than_the_lint_bears(
        texts in proptest::collection::vec(pieces(), 6),
        by_ear in any::<bool>(),
        impact in any::<bool>(),
    ) {
        // A letter, so that there is something to speak; what has a meaning in the file is left out.
        let quoted = |at: usize| format!("\"a {}\"", texts[at].replace(['{', '}', '"', '\\'], ""));
        let demands = if impact { "demands = [\"impact\", \"overhead\"]\n" } else { "" };
        let text = format!(
            "name = {}\npattern = \"pull\"\n{demands}equipment = [{{ item = {} }}]\nhold = \"in hand\"\n\
             start = {}\nhow = [{}]\ncue = [{{ kind = \"form\", say = {}, brief = {} }}]\n",
            quoted(0), quoted(1), quoted(2), quoted(3), quoted(4), quoted(5),
        );
        let mut sources = Sources::default();
        let source = sources.add("movement.toml", text.clone());
        let (movement, faults) = read_movement("movement", &sources, source);
        prop_assert_eq!(faults, []);
        for told in of_movement(&movement.unwrap(), by_ear) {
            prop_assert!(text.get(told.place.span()).is_some());
            prop_assert!(!told.message.contains(char::is_control), "{:?}", told);
            prop_assert!(told.message.len() < 400 && told.help.len() < 400, "{:?}", told);
        }
    }
}
