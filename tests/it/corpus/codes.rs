//! Every code is provoked by some file: by a fixture of the corpus, or by a test named here.

use super::Kind;
use super::expectations;
use crate::common::Voice;
use crate::common::read_text;
use crate::common::root;
use sidevoice::base::diagnostic::Code;
use sidevoice::base::diagnostic::Diagnostic;
use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Utterance;
use sidevoice::base::wording::Wording;
use sidevoice::compile::settings;
use sidevoice::folder::Folder;
use sidevoice::planning::plan::Durations;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::script::CautionLength;
use std::collections::HashSet;
use std::fs;
use std::path::Path;

/// The codes that no stored file can provoke, and where they are.
const ELSEWHERE: [(Code, &str); 35] = [
    (
        Code::ConfigMisplaced,
        "a_configuration_in_the_session_folder_is_told_of",
    ),
    (
        Code::MusicMissing,
        "a_folder_of_music_that_is_not_there_is_told",
    ),
    (
        Code::VoiceMissing,
        "a_session_that_nobody_here_can_speak_is_told",
    ),
    (Code::LexiconSyntax, "what_is_no_lexicon_is_told"),
    (
        Code::LexiconEntry,
        "all_faults_are_told_at_their_places_and_the_rest_is_read",
    ),
    (
        Code::PronunciationInvalid,
        "all_faults_are_told_at_their_places_and_the_rest_is_read",
    ),
    (
        Code::VoiceTaken,
        "every_fault_of_a_voice_is_told_with_its_place_and_no_name_is_taken_over",
    ),
    (
        Code::TranslationUnmatched,
        "all_faults_of_texts_in_another_language_are_told_with_their_places",
    ),
    (
        Code::Untranslated,
        "what_is_missing_in_a_language_is_told_one_a_movement",
    ),
    (
        Code::VerbUnknown,
        "every_fault_of_a_configuration_is_told_with_its_place_and_the_defaults_go_on",
    ),
    (
        Code::ButtonUnknown,
        "every_fault_of_a_configuration_is_told_with_its_place_and_the_defaults_go_on",
    ),
    (
        Code::TextTooLong,
        "texts_are_as_long_as_their_limit_and_no_longer",
    ),
    (
        Code::FolderMissing,
        "the_folder_and_its_files_as_such_are_told_of",
    ),
    (
        Code::FileMissing,
        "the_folder_and_its_files_as_such_are_told_of",
    ),
    (
        Code::FileTooLarge,
        "the_folder_and_its_files_as_such_are_told_of",
    ),
    (
        Code::NotUtf8,
        "the_folder_and_its_files_as_such_are_told_of",
    ),
    (
        Code::FileEmpty,
        "the_folder_and_its_files_as_such_are_told_of",
    ),
    (
        Code::IdTwice,
        "the_folder_and_its_files_as_such_are_told_of",
    ),
    (
        Code::IdInvalid,
        "the_folder_and_its_files_as_such_are_told_of",
    ),
    (
        Code::MustTooLong,
        "what_must_be_said_and_does_not_fit_is_told",
    ),
    (
        Code::MustMayNotFit,
        "what_must_be_said_and_does_not_fit_is_told",
    ),
    (Code::RestLengthened, "by_ear_a_rest_that_grows_is_told"),
    (Code::NotProven, "a_choice_that_was_not_proven_is_told"),
    (
        Code::VoiceUnknown,
        "a_voice_that_there_is_not_is_an_ending_of_its_own",
    ),
    (Code::NoWarmUp, "each_piece_of_advice_is_given_at_its_place"),
    (
        Code::NoCoolDown,
        "each_piece_of_advice_is_given_at_its_place",
    ),
    (
        Code::SidesUneven,
        "each_piece_of_advice_is_given_at_its_place",
    ),
    (
        Code::PatternRun,
        "each_piece_of_advice_is_given_at_its_place",
    ),
    (
        Code::JumpsLate,
        "each_piece_of_advice_is_given_at_its_place",
    ),
    (Code::ChangeTooQuick, "the_rest_before_the_row_is_too_short"),
    (
        Code::StaticHolds,
        "each_piece_of_advice_is_given_at_its_place",
    ),
    (
        Code::RatioOutside,
        "each_piece_of_advice_is_given_at_its_place",
    ),
    (
        Code::CueTooLong,
        "a_cue_too_long_is_told_with_what_would_do",
    ),
    (
        Code::CuesNeverSaid,
        "fifty_cues_are_told_once_with_some_of_them",
    ),
    (
        Code::ReadyUnused,
        "each_piece_of_advice_is_given_at_its_place",
    ),
];

#[test]
fn every_code_has_a_fixture_or_a_test() {
    let mut seen: HashSet<&str> = ELSEWHERE.iter().map(|(code, _)| code.text()).collect();
    for kind in Kind::ALL {
        for path in kind.fixtures() {
            seen.extend(expectations(&read_text(&path)).iter().map(|e| e.code));
        }
    }
    let without: Vec<_> = Code::ALL
        .iter()
        .filter(|c| !seen.contains(c.text()))
        .collect();
    assert!(without.is_empty(), "no file provokes {without:?}");
}

const SESSION: &str = "title = \"Outing\"\n[[block]]\nwork = \"20s\"\nmovements = [\"march\"]\n";

/// Makes a folder with the library's movements and this one session.
fn folder(session: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let sub = |part: &str| folder.path().join(part);
    fs::create_dir(sub("sessions")).unwrap();
    fs::create_dir(sub("movements")).unwrap();
    fs::write(sub("sessions/outing.toml"), session).unwrap();
    for entry in fs::read_dir(root().join("tests/corpus/library/movements")).unwrap() {
        let entry = entry.unwrap();
        fs::copy(entry.path(), sub("movements").join(entry.file_name())).unwrap();
    }
    folder
}

/// Reads the whole folder; returns codes with the path and the place, in order.
fn told(folder: &Path) -> Vec<(Code, String, (usize, usize))> {
    let loaded = Folder::at(folder).load_all();
    let line = |d: &Diagnostic| {
        assert!(!d.message.is_empty() && !d.help.is_empty(), "{d:?}");
        let at = loaded.sources.position(d.place);
        let path = Path::new(loaded.sources.path(d.place.source));
        let path = path.strip_prefix(folder).unwrap_or(path);
        (d.code, path.display().to_string(), (at.line, at.column))
    };
    loaded.diagnostics.iter().map(line).collect()
}

#[test]
fn the_folder_and_its_files_as_such_are_told_of() {
    let whole = folder(SESSION);
    assert_eq!(told(whole.path()), []);
    let at = |path: &str| whole.path().join(path);
    let one = |code, path: &str| vec![(code, path.to_owned(), (1, 1))];

    // A byte-order mark is no fault, and moves nothing.
    fs::write(at("sessions/outing.toml"), format!("\u{feff}{SESSION}")).unwrap();
    assert_eq!(told(whole.path()), []);
    fs::write(
        at("sessions/outing.toml"),
        format!("\u{feff}x = 1\n{SESSION}"),
    )
    .unwrap();
    assert_eq!(
        told(whole.path()),
        one(Code::KeyUnknown, "sessions/outing.toml")
    );
    for empty in ["", " \n\t\r\n", "\u{feff}"] {
        fs::write(at("sessions/outing.toml"), empty).unwrap();
        assert_eq!(
            told(whole.path()),
            one(Code::FileEmpty, "sessions/outing.toml")
        );
    }
    let large = SESSION.repeat(10 * 1024 * 1024 / SESSION.len() + 1);
    fs::write(at("sessions/outing.toml"), large).unwrap();
    assert_eq!(
        told(whole.path()),
        one(Code::FileTooLarge, "sessions/outing.toml")
    );

    // Latin-1: the place is that of the first byte that is no character.
    fs::write(at("sessions/outing.toml"), b"# one\ntitle = \"Caf\xe9\"\n").unwrap();
    let latin = vec![(Code::NotUtf8, "sessions/outing.toml".to_owned(), (2, 13))];
    assert_eq!(told(whole.path()), latin);
    // UTF-16 with its mark, as some editors save.
    let wide: Vec<u8> = "\u{feff}title"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    fs::write(at("sessions/outing.toml"), wide).unwrap();
    assert_eq!(
        told(whole.path()),
        one(Code::NotUtf8, "sessions/outing.toml")
    );
    fs::write(at("sessions/outing.toml"), SESSION).unwrap();

    // A folder with the name of a file is no readable file.
    fs::create_dir(at("sessions/shed.toml")).unwrap();
    assert_eq!(
        told(whole.path()),
        one(Code::FileMissing, "sessions/shed.toml")
    );
    fs::remove_dir(at("sessions/shed.toml")).unwrap();

    fs::write(at("sessions/two words.toml"), SESSION).unwrap();
    assert_eq!(
        told(whole.path()),
        one(Code::IdInvalid, "sessions/two words.toml")
    );
    fs::remove_file(at("sessions/two words.toml")).unwrap();

    // What an editor leaves beside a file is passed over.
    fs::write(at("sessions/.#outing.toml"), "?").unwrap();
    fs::write(at("sessions/outing.toml~"), "?").unwrap();
    fs::write(at("movements/notes.txt"), "?").unwrap();
    assert_eq!(told(whole.path()), []);

    fs::copy(at("movements/march.toml"), at("movements/March.toml")).unwrap();
    assert_eq!(
        told(whole.path()),
        one(Code::IdTwice, "movements/march.toml")
    );
    fs::remove_file(at("movements/March.toml")).unwrap();

    fs::remove_dir_all(at("movements")).unwrap();
    let codes: Vec<_> = told(whole.path())
        .into_iter()
        .map(|(code, ..)| code)
        .collect();
    assert_eq!(codes, [Code::FolderMissing, Code::MovementUnknown]);
    fs::remove_dir_all(at("sessions")).unwrap();
    let codes: Vec<_> = told(whole.path())
        .into_iter()
        .map(|(code, ..)| code)
        .collect();
    assert_eq!(codes, [Code::FolderMissing, Code::FolderMissing]);
}

#[test]
fn a_session_at_fault_is_told_of_its_movements_in_the_same_pass() {
    let bad = "title = \"Outing\"\n[[block]]\nwork = 20\nmovements = [\"march\", \"zebra\"]\n";
    let whole = folder(bad);
    fs::write(whole.path().join("movements/march.toml"), "name = 1\n").unwrap();
    let loaded = Folder::at(whole.path()).load(&whole.path().join("sessions/outing.toml"));
    let codes: HashSet<_> = loaded.diagnostics.iter().map(|d| d.code).collect();
    let wanted = [Code::TypeWrong, Code::MovementUnknown, Code::KeyMissing];
    assert_eq!(codes, wanted.into());
}

/// Plans a session and returns the codes of what the coach is told.
fn planned(session: &str, voice: &mut dyn Durations) -> Vec<Code> {
    let whole = folder(session);
    let loaded = Folder::at(whole.path()).load(&whole.path().join("sessions/outing.toml"));
    assert_eq!(loaded.diagnostics, []);
    let session = loaded.session.unwrap();
    let wording = Wording::english();
    let settings = settings("table", CautionLength::Brief);
    let plan = Planner::new(&session, &wording, settings, voice).finish(voice);
    for told in &plan.diagnostics {
        assert!(
            !told.message.is_empty() && !told.help.is_empty(),
            "{told:?}"
        );
    }
    plan.diagnostics.iter().map(|d| d.code).collect()
}

/// A voice that cannot be measured: all that is known are estimates.
struct Unheard;

impl Durations for Unheard {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        Voice::Even.estimate(utterance)
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        vec![None; wanted.len()]
    }
}

/// The rest of five seconds leaves little more than one before the count.
const TIGHT: &str = "title = \"Outing\"\n[[block]]\nwork = \"2s\"\nrest = \"5s\"\n\
                     movements = [\"march\", \"one-arm-row\"]\n";

#[test]
fn what_must_be_said_and_does_not_fit_is_told() {
    let codes = planned(TIGHT, &mut Voice::Even);
    assert!(
        !codes.is_empty() && codes.iter().all(|c| *c == Code::MustTooLong),
        "{codes:?}"
    );
    let codes = planned(TIGHT, &mut Unheard);
    assert!(
        !codes.is_empty() && codes.iter().all(|c| *c == Code::MustMayNotFit),
        "{codes:?}"
    );
}

#[test]
fn by_ear_a_rest_that_grows_is_told() {
    let codes = planned(&format!("by_ear = true\n{TIGHT}"), &mut Voice::Even);
    assert!(
        !codes.is_empty() && codes.iter().all(|c| *c == Code::RestLengthened),
        "{codes:?}"
    );
}

#[test]
fn a_choice_that_was_not_proven_is_told() {
    // As many cues as a use can bring, each of another length, that could stand in rest or work.
    let cue = |n: usize| {
        let words = "so ".repeat(2 + n * 7 % 13);
        format!("    {{ kind = \"form\", when = \"either\", say = \"Number {n} {words}.\" }},\n")
    };
    let cues: String = (0..100).map(cue).collect();
    let session = format!(
        "title = \"Outing\"\ntalk = \"full\"\n[[block]]\nwork = \"1m\"\nrest = \"1m\"\n\
         movements = [\n  \"march\",\n  {{ use = \"bench-squat\", cues = [\n{cues}  ] }},\n]\n"
    );
    let codes = planned(&session, &mut Voice::Uneven(1));
    assert_eq!(codes, [Code::NotProven]);
}
