//! Texts of movements in a language, laid over the movement: what is at fault in them, what is missing.
#![expect(clippy::disallowed_methods, reason = "writes the files that are read")]

use sidevoice::base::diagnostic::Code;
use sidevoice::base::wording::Language;
use sidevoice::folder::Folder;
use sidevoice::folder::Loaded;
use sidevoice::planning::advice::untranslated;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::Side;
use sidevoice::planning::session::SideWords;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const ROW: &str = "name = \"one-arm row\"\npattern = \"pull\"\nsides = \"each\"\nlimb = \"arm\"\n\
    equipment = [{ item = \"dumbbell\", load = \"6 kg\" }]\nhold = \"in your {side} hand\"\n\
    start = \"{other} hand on the bench.\"\nhow = [\"Draw the {side} elbow up.\"]\n\
    [[cue]]\nkind = \"safety\"\nsay = \"Hips back, to the {side}.\"\nbrief = \"Hips back.\"\n\
    [[cue]]\nkind = \"form\"\nsay = \"Elbow to your hip.\"\n";

fn session(language: &str) -> String {
    format!(
        "title = \"T\"\nlanguage = \"{language}\"\n[[block]]\nwork = \"20s\"\nmovements = [\"row\"]\n"
    )
}

/// Writes a folder with one session and the row, with these files beside it.
fn folder(language: &str, files: &[(&str, &str)]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let session = session(language);
    let all = [
        ("sessions/t.toml", session.as_str()),
        ("movements/row.toml", ROW),
    ];
    for (path, text) in all.iter().chain(files) {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    folder
}

fn load(folder: &Path) -> Loaded {
    Folder::at(folder).load(&folder.join("sessions/t.toml"))
}

fn sound(language: &str, files: &[(&str, &str)]) -> Session {
    let folder = folder(language, files);
    let loaded = load(folder.path());
    assert_eq!(loaded.diagnostics, []);
    loaded.session.unwrap()
}

/// What is said of the row for the left side: name, hold, start, how, and each cue.
fn texts(session: &Session) -> Vec<String> {
    let row = &session.movements[0];
    let (left, names) = (
        Some(Side::Left),
        &SideWords {
            right: "R".to_owned(),
            left: "L".to_owned(),
        },
    );
    let mut texts = vec![
        row.name.clone(),
        row.hold.as_ref().unwrap().words(left, names),
    ];
    texts.push(row.start.full(left, names));
    texts.extend(row.how.iter().map(|step| step.full(left, names)));
    texts.extend(row.cues.iter().map(|cue| cue.said.full(left, names)));
    texts
}

const WHOLE: &str = "name = \"einarmiges Rudern\"\n\
    equipment = [{ item = \"dumbbell\", name = \"Kurzhantel\", plural = \"Kurzhanteln\", gender = \"feminine\" }]\n\
    hold = \"in die {rechte|linke} Hand\"\nstart = \"{Linke|Rechte} Hand auf die Bank.\"\n\
    how = [\"Zieh den Ellbogen hoch.\", \"Lass ab.\"]\n\
    [[cue]]\nkind = \"safety\"\nsay_right = \"Hüfte zurück, rechts.\"\nsay_left = \"Hüfte zurück, links.\"\nbrief = \"Hüfte zurück.\"\n\
    [[cue]]\nsay = \"Ellbogen zur Hüfte, {side}.\"\n";

#[test]
fn texts_in_the_language_of_a_session_take_the_place_of_the_movement_s_own() {
    let german = sound("de", &[("movements/de/row.toml", WHOLE)]);
    assert_eq!(untranslated(&german), []);
    let row = &german.movements[0];
    assert_eq!(
        (row.language, row.equipment[0].noun.name.as_str()),
        (Language::German, "Kurzhantel")
    );
    // What joins sessions and movements stays what it was, and so does all that is no text.
    assert_eq!(row.equipment[0].item, "dumbbell");
    assert_eq!(row.equipment[0].load.as_deref(), Some("6 kg"));
    let expected = [
        "einarmiges Rudern",
        "in die linke Hand",
        "Rechte Hand auf die Bank.",
        "Zieh den Ellbogen hoch.",
        "Lass ab.",
        "Hüfte zurück, links.",
        "Ellbogen zur Hüfte, L.",
    ];
    assert_eq!(texts(&german), expected);
    // Another session of the same folder is not touched.
    let english = sound("en", &[("movements/de/row.toml", WHOLE)]);
    assert_eq!(
        texts(&english)[..3],
        ["one-arm row", "in your L hand", "R hand on the bench."]
    );
    // A movement may be written in another language to begin with.
    let own = format!("language = \"de\"\n{ROW}");
    let german = sound("de", &[("movements/row.toml", &own)]);
    assert_eq!(untranslated(&german), []);
    assert_eq!(texts(&german)[1], "in your L hand");
}

#[test]
fn what_is_missing_in_a_language_is_told_one_a_movement() {
    let partly = "name = \"einarmiges Rudern\"\nstart = \"Steh.\"\n\
        [[cue]]\nsay = \"Hüfte zurück.\"\n";
    let german = sound("de", &[("movements/de/row.toml", partly)]);
    let told = untranslated(&german);
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].code, Code::Untranslated);
    assert_eq!(
        told[0].message,
        "expected row in German, found no words of its own for: how, hold, cue 1 brief, cue 2, \
         equipment dumbbell"
    );
    assert!(
        told[0].help.contains("movements/de/row.toml"),
        "{}",
        told[0].help
    );
    // What falls back says its sides in its own language.
    assert_eq!(
        texts(&german),
        [
            "einarmiges Rudern",
            "in your left hand",
            "Steh.",
            "Draw the left elbow up.",
            "Hüfte zurück.",
            "Elbow to your hip.",
        ]
    );
    let none = sound("es", &[]);
    let told = untranslated(&none);
    assert_eq!(told.len(), 1);
    assert!(
        told[0]
            .message
            .contains("name, start, how, hold, cue 1, cue 2"),
        "{}",
        told[0].message
    );
    assert_eq!(texts(&none)[2], "Right hand on the bench.");
}

#[test]
fn all_faults_of_texts_in_another_language_are_told_with_their_places() {
    let bad = "name = 3\npattern = \"pull\"\ntake = \"Nimm {hand}.\"\n\
        equipment = [{ item = \"barbell\", name = \"Langhantel\" }, { item = \"dumbbell\", gender = \"femenine\" }]\n\
        [[cue]]\nkind = \"form\"\nsay = \"A.\"\n\
        [[cue]]\nsay = \"B.\"\n\
        [[cue]]\nsay = \"C.\"\n";
    let folder = folder("de", &[("movements/de/row.toml", bad)]);
    let loaded = load(folder.path());
    let told: Vec<_> = loaded
        .diagnostics
        .iter()
        .map(|d| {
            let at = loaded.sources.position(d.place);
            assert!(
                loaded.sources.path(d.place.source).ends_with("de/row.toml"),
                "{d:?}"
            );
            assert!(!d.help.is_empty(), "{d:?}");
            (at.line, at.column, d.code.text())
        })
        .collect();
    assert_eq!(
        told,
        [
            (1, 8, "type-wrong"),
            (2, 1, "key-unknown"),
            (3, 8, "placeholder-unknown"),
            (4, 23, "translation-unmatched"),
            (4, 57, "key-missing"),
            (4, 87, "value-unknown"),
            (6, 8, "translation-unmatched"),
            (10, 1, "translation-unmatched"),
        ]
    );
    assert!(loaded.session.is_none());
    // They keep a session in another language from nothing.
    fs::write(folder.path().join("sessions/t.toml"), session("en")).unwrap();
    let loaded = load(folder.path());
    assert_eq!(loaded.diagnostics, []);
    assert!(loaded.session.is_some());
    // A check of the whole folder tells them, and of texts that belong to no movement.
    fs::write(
        folder.path().join("movements/de/rowing.toml"),
        "name = \"x\"\n",
    )
    .unwrap();
    let all = Folder::at(folder.path()).load_all();
    let codes: Vec<_> = all.diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(codes.len(), 9, "{codes:?}");
    assert!(codes.contains(&Code::MovementUnknown));
}

#[test]
fn a_folder_that_nothing_reads_is_told() {
    let folder = folder("en", &[("movements/dk/row.toml", "name = \"roning\"\n")]);
    let loaded = Folder::at(folder.path()).load_all();
    let told: Vec<_> = loaded.diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(told, [Code::LanguageUnknown], "{:?}", loaded.diagnostics);
    let place = loaded.diagnostics[0].place;
    assert!(loaded.sources.path(place.source).ends_with("movements/dk"));
}
