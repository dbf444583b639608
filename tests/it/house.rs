//! The house keeps its order: who imports whom, how long files are, what each says first.
#![expect(clippy::disallowed_methods, reason = "reads the sources of the house")]

use std::fs;
use std::path::Path;
use std::path::PathBuf;

/// Each room and what it may import, besides itself; the table of DEVELOPERS.md.
const ROOMS: &[(&str, &[&str])] = &[
    ("base/units", &[]),
    ("base/tones", &[]),
    ("base/chapters", &["base::units"]),
    ("base/utterance", &["base::units"]),
    ("base/heard", &["base::units"]),
    ("base/diagnostic", &["base::units"]),
    ("base/wording", &["base::units"]),
    ("base/music", &["base::units", "base::diagnostic"]),
    ("planning/session", &["base"]),
    ("planning/advice/texts", &["base", "planning::session"]),
    ("planning/timeline", &["base", "planning::session"]),
    (
        "planning/script",
        &["base", "planning::session", "planning::timeline"],
    ),
    (
        "planning/plan",
        &[
            "base",
            "planning::session",
            "planning::timeline",
            "planning::script",
        ],
    ),
    (
        "planning/asides",
        &[
            "base",
            "planning::session",
            "planning::timeline",
            "planning::script",
            "planning::plan",
        ],
    ),
    (
        "planning/advice",
        &[
            "base",
            "planning::session",
            "planning::timeline",
            "planning::script",
            "planning::plan",
        ],
    ),
    ("sound/dsp", &["base"]),
    ("sound/speech", &["base", "sound::dsp"]),
    ("sound/mix", &["base", "sound::dsp"]),
    ("sound/music", &["base", "sound::dsp", "sound::mix"]),
    ("sound/out", &["base", "sound::mix"]),
    ("sound/microphone", &["base", "sound::out"]),
    ("rehearse/ear", &["base", "sound::dsp"]),
    ("rehearse/pace", &["base", "sound::speech"]),
    ("rehearse/practice", &["base", "planning"]),
    (
        "rehearse/reading",
        &["base", "rehearse::ear", "rehearse::pace"],
    ),
    (
        "rehearse/report",
        &["base", "planning", "rehearse::practice"],
    ),
    ("compile", &["base", "planning", "sound", "rehearse::pace"]),
    ("folder", &["base", "planning::session"]),
    ("publish", &["base", "planning"]),
    ("speakers", &["base", "planning::session", "rehearse::pace"]),
    ("starter", &[]),
    ("live/control", &["base"]),
    ("live/config", &["base", "live::control"]),
    ("live/ears", &["base", "sound", "live::config"]),
    ("live/core", &["base", "planning", "live::control"]),
    ("live/watch", &["base", "planning", "folder"]),
    ("live/wishes", &["live::core"]),
    (
        "live/daemon",
        &[
            "base",
            "planning",
            "live::control",
            "live::core",
            "live::history",
            "live::watch",
        ],
    ),
    (
        "live/service",
        &["base", "planning", "sound", "compile", "folder", "live"],
    ),
    (
        "live/history",
        &[
            "base",
            "planning::session",
            "planning::timeline",
            "planning::script",
            "live::control",
            "live::core",
        ],
    ),
    (
        "live/status",
        &[
            "base",
            "planning",
            "live::control",
            "live::core",
            "live::shell",
        ],
    ),
    (
        "live/shell",
        &["base", "planning", "sound", "compile", "live"],
    ),
    (
        "live/rehearsal",
        &[
            "base", "planning", "sound", "rehearse", "compile", "speakers", "live",
        ],
    ),
    (
        "cli",
        &[
            "base", "planning", "sound", "rehearse", "compile", "folder", "publish", "speakers",
            "starter", "live",
        ],
    ),
];

/// Files that only name the rooms.
const DOORS: &[&str] = &[
    "lib.rs",
    "main.rs",
    "base/mod.rs",
    "planning/mod.rs",
    "sound/mod.rs",
    "rehearse/mod.rs",
    "live/mod.rs",
];

/// The files of a folder with their texts.
fn files_in(folder: &str) -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut found = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path: PathBuf = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let name = path
                    .strip_prefix(&root)
                    .expect("inside")
                    .display()
                    .to_string();
                found.push((name, fs::read_to_string(&path).expect("text")));
            }
        }
    }
    found.sort();
    found
}

fn files() -> Vec<(String, String)> {
    files_in("src")
}

fn room(file: &str) -> Option<&'static (&'static str, &'static [&'static str])> {
    let inside = |room: &str| {
        file.strip_prefix(room)
            .is_some_and(|rest| rest.starts_with('/') || rest.starts_with('.'))
    };
    ROOMS.iter().find(|(name, _)| inside(name))
}

/// Returns the paths below `crate` that a file uses, in `use` lines and elsewhere.
fn imports(text: &str) -> Vec<String> {
    let text = text.split("#[cfg(test)]").next().unwrap_or(text);
    text.match_indices("crate::")
        .filter(|(at, _)| {
            let before = text[..*at].chars().next_back();
            !before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == '$')
        })
        .map(|(at, found)| {
            let rest = &text[at + found.len()..];
            let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_' || c == ':'));
            rest[..end.unwrap_or(rest.len())].to_owned()
        })
        .collect()
}

#[test]
fn a_room_imports_only_the_rooms_that_it_may() {
    let mut wrong = Vec::new();
    for (file, text) in files() {
        if DOORS.contains(&file.as_str()) {
            continue;
        }
        let Some((own, may)) = room(&file) else {
            wrong.push(format!("{file} is in no room of the table"));
            continue;
        };
        let own = own.replace('/', "::");
        for import in imports(&text) {
            let within = |room: &str| {
                import
                    .strip_prefix(room)
                    .is_some_and(|rest| rest.is_empty() || rest.starts_with("::"))
            };
            if !within(&own) && !may.iter().any(|room| within(room)) {
                wrong.push(format!("{file} imports {import}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_rule_of_imports_sees_a_wrong_one() {
    let seen = imports("use crate::live::core::Core;\nlet x = crate::sound::mix::FADE;");
    assert_eq!(seen, ["live::core::Core", "sound::mix::FADE"]);
}

#[test]
fn files_are_short_and_say_first_what_they_are_for() {
    let mut lengths = Vec::new();
    for (file, text) in files() {
        let lines = text.lines().count();
        assert!(lines <= 500, "{file} has {lines} lines");
        assert!(
            text.starts_with("//!"),
            "{file} does not say what it is for"
        );
        lengths.push(lines);
    }
    lengths.sort_unstable();
    let median = lengths[lengths.len() / 2];
    assert!(median < 200, "the median file has {median} lines");
}

#[test]
fn every_room_of_the_table_is_described_for_contributors() {
    let map = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md"))
        .expect("DEVELOPERS.md");
    for (room, _) in ROOMS {
        assert!(
            map.contains(&format!("`{room}")),
            "{room} is not on the map"
        );
    }
}

#[test]
fn tests_in_real_time_are_left_for_a_quiet_machine() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let script = fs::read_to_string(root.join("scripts/test")).expect("scripts/test");
    let (_, list) = script.split_once("in_real_time=(").expect("a list");
    let list: Vec<&str> = list.split(')').next().unwrap().split_whitespace().collect();
    // Who starts a sound server, or a class on one.
    let starts = ["Server::start()", "Class::start"];
    let mut found = 0;
    for (file, text) in files_in("tests/it") {
        if file == "house.rs" || !starts.iter().any(|start| text.contains(start)) {
            continue;
        }
        found += 1;
        let module = file.trim_end_matches(".rs").replace('/', "::");
        assert!(
            list.iter().any(|it| module.starts_with(it)),
            "{module} is not in the list of scripts/test"
        );
    }
    assert!(found > 10, "{found}");
}
