//! What is handed on of a class: sound, captions, chapters, sheets, calendars, lists of files.

mod agenda;
mod captions;
mod folder;
mod parts;
mod pdf;
mod recorded;
mod sheet;
mod shown;
mod sound;
mod stations;
mod tags;

use crate::common::python;
use crate::common::root;
use crate::common::starter;
use crate::common::tabled_plan;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::folder::Folder;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::session::Session;
use std::process::Command;

/// All sessions of the starter folder, planned with tabled lengths.
pub fn starters() -> Vec<(String, Session, Plan)> {
    let ids = Folder::at(root().join("src/starter")).session_ids();
    assert!(ids.len() > 10, "{ids:?}");
    let planned = ids.into_iter().map(|id| {
        let session = starter(&id);
        let plan = tabled_plan(&session);
        (id, session, plan)
    });
    planned.collect()
}

/// The session of eight minutes as each language words it; its movements stay as they were written.
pub fn tongues() -> Vec<(String, Session, Plan)> {
    let each = Language::ALL.into_iter().map(|language| {
        let mut session = starter("boathouse-five");
        session.text.language = language;
        let plan = tabled_plan(&session);
        (
            format!("boathouse-five in {}", language.tag()),
            session,
            plan,
        )
    });
    each.collect()
}

/// Titles that are markup, that are another format's marks, that are read from the right, that have no end.
pub const TITLES: [&str; 9] = [
    "The \"long\" 'outing'",
    "Out\nand\r\nback",
    "Out --> back",
    "<b>Eight</b> & <script>alert(1)</script>",
    "&amp; &lt;",
    "1",
    "{\\an8}Out",
    "\u{5d0}\u{5d9}\u{5de}\u{5d5}\u{5df} \u{5d1}\u{5d1}\u{5d9}\u{5ea} \u{5d4}\u{5e1}\u{5d9}\u{5e8}\u{5d5}\u{5ea}",
    "NOTE --> STYLE",
];

/// The same, and two of 300 characters.
pub fn titles() -> Vec<String> {
    let long = ["word ".repeat(60), "\u{fc}".repeat(300)];
    let odd = TITLES.iter().map(|title| (*title).to_owned());
    odd.chain(long).collect()
}

/// A session whose title, block and a line that is said hold a text.
pub fn titled(title: &str) -> (Session, Plan) {
    let mut session = starter("boathouse-five");
    session.text.title = title.to_owned();
    session.text.blocks[0].title = Some(title.to_owned());
    let plan = tabled_plan(&session);
    assert!(
        plan.sounds.iter().any(|s| s.text.contains(title)),
        "{title}"
    );
    (session, plan)
}

/// Runs a helper of `tests/reference` on a file of this content; returns what it printed.
#[expect(clippy::disallowed_methods, reason = "hands the file to its reader")]
pub fn read_by(helper: &str, name: &str, content: impl AsRef<[u8]>) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, content).unwrap();
    let output = Command::new(python())
        .arg(root().join("tests/reference").join(helper))
        .arg(&path)
        .output()
        .unwrap();
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{failed}");
    String::from_utf8(output.stdout).unwrap()
}

/// How far a line's words may stand from its place on the bar, in millimetres: what is said together begins at most 12
/// below it, and takes some rows.
pub const BESIDE_MM: f64 = 24.0;

/// Shows an instant as a clock does.
pub fn clock(ms: i64) -> String {
    let seconds = (ms + 500) / 1000;
    match seconds / 3600 {
        0 => format!("{}:{:02}", seconds / 60, seconds % 60),
        hours => format!("{hours}:{:02}:{:02}", seconds / 60 % 60, seconds % 60),
    }
}

/// A text without white space.
pub fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

#[test]
fn captions_and_sheets_have_words_of_their_own_in_each_language() {
    let said = |id| Language::ALL.map(|language| Wording::of(language).say(id, &[]));
    assert_eq!(
        said("caption-start-tone"),
        [
            "start tone",
            "tono de inicio",
            "Startton",
            "signal de d\u{e9}part",
            "sinal de in\u{ed}cio"
        ]
    );
}
