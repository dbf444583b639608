//! An open data set of 873 movements, written by others for other ends, as movement files: each is read
//! or refused with a reason, and all that are read are looked through and planned.
//!
//! `tests/open-data/open-exercises.json`, public domain (its licence lies beside it): yuhonas/free-exercise-db
//! at acd61f7.

mod convert;

use crate::common::Voice;
use crate::common::read_text;
use crate::common::root;
use crate::random::fixed;
use crate::random::sessions;
use convert::Record;
use proptest::prelude::any;
use proptest::prelude::prop;
use sidevoice::base::diagnostic::Code;
use sidevoice::base::diagnostic::Diagnostic;
use sidevoice::base::diagnostic::Level;
use sidevoice::base::diagnostic::Sources;
use sidevoice::base::diagnostic::Style;
use sidevoice::base::diagnostic::render;
use sidevoice::base::wording::Wording;
use sidevoice::compile::plan_by_estimate;
use sidevoice::planning::advice::texts;
use sidevoice::planning::plan::check;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Library;
use sidevoice::planning::session::Movement;
use sidevoice::planning::session::read_movement;
use std::sync::Arc;
use std::sync::LazyLock;

static RECORDS: LazyLock<Vec<Record>> = LazyLock::new(|| {
    let text = read_text(&root().join("tests/open-data/open-exercises.json"));
    serde_json::from_str(&text).expect("records")
});

/// The movements that are read.
pub static LIBRARY: LazyLock<Library> = LazyLock::new(|| {
    let read = RECORDS
        .iter()
        .map(|record| (record.id.clone(), read(record)));
    let read = read.filter_map(|(id, (movement, ..))| Some((id, Some(Arc::new(movement?)))));
    read.collect()
});

fn read(record: &Record) -> (Option<Movement>, Vec<Diagnostic>, Sources) {
    let mut sources = Sources::default();
    let path = format!("movements/{}.toml", record.id);
    let source = sources.add(path, convert::movement(record));
    let (movement, faults) = read_movement(&record.id, &sources, source);
    (movement, faults, sources)
}

/// A session of one movement and nothing else.
pub fn alone(id: &str) -> String {
    format!(
        "title = \"Alone in the boathouse\"\n\n[[block]]\nrounds = 2\nwork = \"40s\"\nrest = \"20s\"\n\
         movements = [\"{id}\"]\n"
    )
}

/// Returns what is told of a movement that was read.
fn lint(movement: &Movement) -> Vec<Diagnostic> {
    let session = sessions::session(&alone(&movement.id), &LIBRARY);
    let wording = Wording::english();
    let mut told = plan_by_estimate(&session, &wording, "compact", CautionLength::Full).diagnostics;
    told.extend(texts::of_movement(movement, false));
    told.extend(texts::of_session(&session));
    // By ear the same is told in graver words, and more of it.
    let by_ear = texts::of_movement(movement, true);
    assert!(by_ear.len() >= texts::of_movement(movement, false).len());
    told
}

#[test]
fn all_but_two_are_read_and_those_are_refused_with_a_reason() {
    let mut refused = Vec::new();
    for record in RECORDS.iter() {
        let (movement, faults, sources) = read(record);
        assert_eq!(movement.is_none(), !faults.is_empty(), "{}", record.id);
        for fault in &faults {
            assert!(
                !fault.message.is_empty() && !fault.help.is_empty(),
                "{fault:?}"
            );
            refused.push((record.id.as_str(), fault.code));
        }
        let shown = render(&faults, &sources, Style::Sentences);
        assert_eq!(shown.is_empty(), faults.is_empty(), "{}", record.id);
    }
    // Each has a step without words.
    let expected = [
        ("Barbell_Squat_To_A_Bench", Code::TextEmpty),
        ("Clean", Code::TextEmpty),
    ];
    assert_eq!(refused, expected);
    assert_eq!((RECORDS.len(), LIBRARY.len()), (873, 871));
}

#[test]
fn what_is_told_of_each_is_no_error_and_says_what_to_do() {
    for movement in LIBRARY.values().flatten() {
        for told in lint(movement) {
            // What could harm is a warning; none of it keeps a session from being planned.
            assert!(told.level < Level::Error, "{}: {told:?}", movement.id);
            assert!(
                !told.message.is_empty() && !told.help.is_empty(),
                "{told:?}"
            );
        }
    }
}

#[test]
fn each_alone_has_a_plan_that_keeps_its_rules() {
    for id in LIBRARY.keys() {
        let session = sessions::session(&alone(id), &LIBRARY);
        let plan = crate::common::tabled_plan(&session);
        let faults = check::faults(&plan, &session);
        assert!(faults.is_empty(), "{id}: {faults:#?}");
    }
}

#[test]
fn sessions_of_them_have_plans_that_keep_their_rules() {
    let seed = prop::option::of(0..1000u64);
    let session = (sessions::whole_session(&LIBRARY), any::<bool>(), seed);
    let checked = fixed(300).run(&session, |(text, brief, seed)| {
        let caution = match brief {
            true => CautionLength::Brief,
            false => CautionLength::Full,
        };
        let voice = seed.map_or(Voice::Even, Voice::Uneven);
        sessions::keeps_its_rules(&text, &LIBRARY, caution, voice);
        Ok(())
    });
    checked.unwrap();
}
