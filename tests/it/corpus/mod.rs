//! Files with every fault there is, and awkward ones with none. Each states what is expected of it in
//! comments: `# error CODE LINE:COLUMN "a part of the message or the help"`, or `# good`.
#![expect(clippy::disallowed_methods, reason = "writes the files that are read")]

mod advice;
mod codes;
mod generated;
mod help;

use crate::common::read_text;
use crate::common::root;
use sidevoice::base::diagnostic::Code;
use sidevoice::base::diagnostic::Diagnostic;
use sidevoice::base::diagnostic::Sources;
use sidevoice::base::diagnostic::any_error;
use sidevoice::base::diagnostic::in_order;
use sidevoice::folder::Folder;
use sidevoice::planning::session::read_movement;
use std::fmt;
use std::path::Path;
use std::path::PathBuf;

/// What a file is read as; its folder in the corpus has this name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Session,
    Movement,
    /// A movement, or a session, that is sound: what the lint of its texts tells.
    MovementTexts,
    SessionTexts,
}

impl Kind {
    const ALL: [Kind; 4] = [
        Kind::Session,
        Kind::Movement,
        Kind::MovementTexts,
        Kind::SessionTexts,
    ];

    fn folder(self) -> PathBuf {
        root().join("tests/corpus").join(match self {
            Kind::Session => "sessions",
            Kind::Movement => "movements",
            Kind::MovementTexts => "advice/movements",
            Kind::SessionTexts => "advice/sessions",
        })
    }

    /// The fixtures of this kind, in order.
    fn fixtures(self) -> Vec<PathBuf> {
        let entries = std::fs::read_dir(self.folder()).unwrap();
        let mut files: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
        files.sort();
        files
    }
}

/// One line of what is expected; ordered as diagnostics are, by place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Expected {
    line: usize,
    column: usize,
    level: String,
    code: &'static str,
    /// What message or help must hold.
    part: String,
}

impl fmt::Display for Expected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Expected {
            line,
            column,
            level,
            code,
            part,
        } = self;
        write!(f, "# {level} {code} {line}:{column} \"{part}\"")
    }
}

/// Reads what a fixture expects of itself.
///
/// # Panics
///
/// If it expects nothing and does not call itself good, or expects what there is no code for.
fn expectations(text: &str) -> Vec<Expected> {
    let mut expected: Vec<_> = text.lines().filter_map(expectation).collect();
    let good = text.lines().any(|line| line.trim() == "# good");
    assert!(good == expected.is_empty(), "either `# good` or faults");
    expected.sort();
    expected
}

fn expectation(line: &str) -> Option<Expected> {
    let words = line.trim().strip_prefix("# ")?;
    let (level, rest) = words.split_once(' ')?;
    if !["error", "warning", "advice"].contains(&level) {
        return None;
    }
    let (code, rest) = rest.split_once(' ').unwrap_or((rest, ""));
    let (at, part) = rest.split_once(' ').unwrap_or((rest, ""));
    let (line, column) = at.split_once(':').expect("a line and a column");
    let known = Code::ALL.iter().map(|known| known.text());
    Some(Expected {
        line: line.parse().expect("the number of a line"),
        column: column.parse().expect("the number of a column"),
        level: level.to_owned(),
        code: known.into_iter().find(|known| *known == code).expect(code),
        part: part
            .trim_matches(' ')
            .strip_prefix('"')
            .map_or(String::new(), |part| {
                part.strip_suffix('"').expect("a closing quote").to_owned()
            }),
    })
}

/// Reads a text as a session beside the movements of the library, or as a movement, in the same
/// way as the program does, and returns its diagnostics with their texts.
fn read(kind: Kind, name: &str, text: &str) -> (Vec<Diagnostic>, Sources) {
    match kind {
        Kind::Movement => {
            let mut sources = Sources::default();
            let source = sources.add(name, text);
            let (movement, found) = read_movement("fixture", &sources, source);
            assert_eq!(movement.is_none(), !found.is_empty(), "{name}: {found:?}");
            (in_order(found), sources)
        }
        Kind::Session => {
            let folder = tempfile::tempdir().unwrap();
            let file = folder.path().join(name);
            std::fs::write(&file, text).unwrap();
            let loaded = Folder::at(root().join("tests/corpus/library")).load(&file);
            let sound = loaded.session.is_some();
            assert_eq!(!sound, any_error(&loaded.diagnostics), "{name}");
            for fault in &loaded.diagnostics {
                let path = Path::new(loaded.sources.path(fault.place.source));
                assert!(
                    path.ends_with(name),
                    "{name}: a fault in {}",
                    path.display()
                );
            }
            (loaded.diagnostics, loaded.sources)
        }
        Kind::MovementTexts => advice::on_movement(name, text),
        Kind::SessionTexts => advice::on_session(name, text),
    }
}

/// Compares what reading a text tells with what is expected; returns what differs, in lines.
fn differences(kind: Kind, name: &str, text: &str, mut expected: Vec<Expected>) -> Vec<String> {
    let (found, sources) = read(kind, name, text);
    let mut differ = Vec::new();
    for fault in &found {
        let at = sources.position(fault.place);
        let told = Expected {
            line: at.line,
            column: at.column,
            level: fault.level.word().to_owned(),
            code: fault.code.text(),
            part: format!("{} / {}", fault.message, fault.help),
        };
        for words in [&fault.message, &fault.help] {
            if words.trim().is_empty() || words.len() > 400 || words.contains(char::is_control) {
                differ.push(format!("not a line of words: {told}"));
            }
        }
        let as_expected = expected.iter().position(|wanted| {
            let part = wanted.part.clone();
            told.part.contains(&part)
                && *wanted
                    == Expected {
                        part,
                        ..told.clone()
                    }
        });
        match as_expected {
            Some(at) => drop(expected.remove(at)),
            None => differ.push(format!("extra:   {told}")),
        }
    }
    differ.extend(expected.iter().map(|wanted| format!("missing: {wanted}")));
    differ
}

/// Checks that a text is told exactly the faults that are expected.
fn check(kind: Kind, name: &str, text: &str, expected: &[&str]) {
    let expected = expected
        .iter()
        .map(|line| expectation(line).expect("an expectation"));
    let differ = differences(kind, name, text, expected.collect());
    assert!(differ.is_empty(), "{name}:\n  {}", differ.join("\n  "));
}

#[test]
fn each_fixture_is_told_all_of_its_faults_at_their_places_and_no_others() {
    let mut differ = Vec::new();
    let mut fixtures = 0;
    for kind in Kind::ALL {
        for path in kind.fixtures() {
            fixtures += 1;
            let text = read_text(&path);
            let name = path.file_name().unwrap().to_str().unwrap();
            let found = differences(kind, name, &text, expectations(&text));
            if !found.is_empty() {
                differ.push(format!("{kind:?} {name}:\n  {}", found.join("\n  ")));
            }
        }
    }
    assert!(fixtures >= 70, "{fixtures} fixtures");
    assert!(differ.is_empty(), "\n{}", differ.join("\n"));
}
