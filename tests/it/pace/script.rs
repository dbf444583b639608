//! The script in both forms: as a coach reads it, whole and in order, and a page by the HTML standard.

use crate::common::python;
use crate::common::root;
use crate::common::starter;
use crate::common::tabled_plan;
use insta::assert_snapshot;
use insta::with_settings;
use serde_json::Value;
use serde_json::json;
use sidevoice::base::utterance::Rate;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::session::Session;
use sidevoice::publish::Speaking;
use sidevoice::publish::script;
use std::process::Command;

/// Sessions of every layout that the starter has: rounds, sides, repetitions, stations, a wait for a key, German.
const SESSIONS: [&str; 4] = [
    "boathouse-five",
    "boathouse-five-de",
    "first-by-ear",
    "cool-down",
];

const COACH: Option<Speaking> = Some(Speaking {
    name: "me",
    words_a_minute: 170,
    lines: 24,
    breathless: false,
});

fn check(name: &str, text: &str) {
    with_settings!({ snapshot_path => "../snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        assert_snapshot!(name, text);
    });
}

#[test]
fn a_script_reads_like_a_prompter_in_both_forms() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    check(
        "boathouse-five-script",
        &script::text(&plan, &session, COACH),
    );
    check(
        "boathouse-five-script-html",
        &script::html(&plan, &session, None),
    );
}

/// What a coach says, in order.
fn said(plan: &Plan) -> Vec<&str> {
    let spoken = plan
        .sounds
        .iter()
        .filter(|s| !matches!(s.kind, SoundKind::Tone(_)));
    spoken.map(|s| s.text.as_str()).collect()
}

/// A text without what layout may add between words.
fn squashed(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace() && *c != ',')
        .collect()
}

/// What a script in plain text has beside its times, without what stands in brackets.
fn rows(text: &str) -> String {
    let rows = text
        .lines()
        .filter(|line| line.starts_with("  ") && line.chars().count() > 17);
    let words = rows.map(|line| line.chars().skip(17).collect::<String>());
    let words = words.filter(|words| !(words.starts_with('(') && words.ends_with(')')));
    squashed(&words.collect::<String>())
}

#[test]
fn every_line_of_the_plan_is_in_the_script_once_and_in_order() {
    for id in SESSIONS {
        let session = starter(id);
        let plan = tabled_plan(&session);
        let text = script::text(&plan, &session, None);
        assert_eq!(rows(&text), squashed(&said(&plan).concat()), "{id}");
        assert!(text.lines().all(|line| line.chars().count() <= 76), "{id}");
        let page = parsed(&script::html(&plan, &session, None));
        assert_eq!(page["said"], json!(said(&plan)), "{id}");
        let language = session.text.language.tag();
        assert_eq!(page["languages"], json!([language]), "{id}");
    }
}

/// Parses a page with html5lib, strictly.
#[expect(clippy::disallowed_methods, reason = "hands the page to the parser")]
fn parsed(page: &str) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("script.html");
    std::fs::write(&path, page).unwrap();
    let output = Command::new(python())
        .arg(root().join("tests/reference/page.py"))
        .arg(&path)
        .output()
        .unwrap();
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{failed}");
    let page: Value = serde_json::from_slice(&output.stdout).unwrap();
    // Whole by itself: nothing runs, nothing is fetched.
    assert_eq!((&page["active"], &page["lang"]), (&json!([]), &json!("en")));
    let elements = json!([
        "b", "body", "h1", "h2", "h3", "head", "html", "li", "main", "meta", "ol", "p", "section",
        "style", "time", "title"
    ]);
    assert_eq!(page["elements"], elements);
    page
}

#[test]
fn a_page_has_a_heading_for_the_session_each_round_and_each_part() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let page = parsed(&script::html(&plan, &session, None));
    let headings: Vec<(i64, String)> = serde_json::from_value(page["headings"].clone()).unwrap();
    let of = |level| -> Vec<&str> {
        let level = headings.iter().filter(|(l, _)| *l == level);
        level.map(|(_, text)| text.as_str()).collect()
    };
    assert_eq!(of(1), ["Boathouse five"]);
    assert_eq!(of(2), ["Opening", "Round 1 of 2", "Round 2 of 2", "Finish"]);
    assert_eq!(of(3).len(), plan.timeline.segments.len());
    assert_eq!(of(3)[1], "1:15 Work, 20s: bench squat");
    assert_eq!(page["title"], "Boathouse five: script");
}

/// Titles that are markup, are not quite characters, or are nothing.
const ODD: [&str; 6] = [
    "</title><script>alert('x')</script>",
    "\"Boat\" & 'house' <!-- ]]> &amp; &#x3c;",
    "\u{0}\u{7}\u{fffe}\u{fdd0}\u{7f}",
    "",
    "== Round 2 ==  (breath, 3.0 s)",
    "\u{1f6a3}\u{200d}\u{2640}\u{fe0f} \u{202e}tuo \u{645}\u{631}\u{62d}",
];

#[test]
fn a_line_that_has_to_be_quick_says_so() {
    let session = starter("boathouse-five");
    let mut plan = tabled_plan(&session);
    let quick = plan.sounds.iter_mut().find(|s| s.text == "Press-up.");
    quick.unwrap().rate = Rate::from_per_mille(1120);
    for script in [
        script::text(&plan, &session, None),
        script::html(&plan, &session, None),
    ] {
        assert_eq!(script.matches("a little faster").count(), 1, "{script}");
    }
    parsed(&script::html(&plan, &session, None));
}

#[test]
fn blocks_of_one_title_are_told_apart() {
    let mut session = starter("boathouse-five-de");
    for block in &mut session.text.blocks {
        block.title = Some("Opening".to_owned());
    }
    let plan = tabled_plan(&session);
    let page = parsed(&script::html(&plan, &session, None));
    let headings = page["headings"].as_array().unwrap().iter();
    let chapters = headings.filter(|heading| heading[0] == 2).count();
    let rounds = session.text.blocks.iter().map(|block| block.rounds);
    assert_eq!(chapters, 2 + rounds.sum::<usize>());
}

fn with_title(title: &str) -> (Session, Plan) {
    let mut session = starter("boathouse-five");
    session.text.blocks[0].title = Some(title.to_owned());
    let mut plan = tabled_plan(&session);
    plan.title = title.to_owned();
    let odd = format!("{title} said");
    for sound in plan.sounds.iter_mut().filter(|s| s.text == "Press-up.") {
        sound.text.clone_from(&odd);
    }
    (session, plan)
}

#[test]
fn a_title_is_a_title_whatever_is_in_it() {
    for title in ODD {
        let (session, plan) = with_title(title);
        let page = parsed(&script::html(&plan, &session, None));
        let shown = |text: &str| {
            let text = text
                .chars()
                .filter(|c| !matches!(c, '\u{fffe}' | '\u{fdd0}'));
            let text: String = text.map(|c| if c.is_control() { ' ' } else { c }).collect();
            text.split_whitespace().collect::<Vec<_>>().join(" ")
        };
        assert_eq!(page["headings"][0], json!([1, shown(title)]));
        let said: Vec<_> = said(&plan).into_iter().map(shown).collect();
        assert_eq!(page["said"], json!(said), "{title:?}");
        let text = script::text(&plan, &session, None);
        assert!(text.contains("Work, 20s: bench squat"), "{text}");
    }
}
