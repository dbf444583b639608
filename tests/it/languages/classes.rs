//! Classes in other languages, as a coach of that language would read them aloud.

use crate::common::starter;
use crate::common::tabled_plan;
use crate::outside::texts::stems;
use crate::random::LIBRARY;
use crate::random::sessions::session;
use insta::assert_snapshot;
use insta::with_settings;
use sidevoice::base::diagnostic::any_error;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::planning::advice::Kilograms;
use sidevoice::planning::advice::report;
use sidevoice::planning::advice::untranslated;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::plan::check;
use sidevoice::planning::script::Brief;
use sidevoice::publish;

fn check_plan(id: &str) {
    let session = starter(id);
    let plan = tabled_plan(&session);
    let text = publish::text::text(&plan, &session, None);
    with_settings!({ snapshot_path => "../snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        assert_snapshot!(id, text);
    });
}

#[test]
fn boathouse_five_reads_like_a_class_in_german() {
    check_plan("boathouse-five-de");
}

#[test]
fn boathouse_five_reads_like_a_class_in_spanish() {
    check_plan("boathouse-five-es");
}

#[test]
fn the_sessions_in_other_languages_are_whole_and_say_no_english() {
    let english = tabled_plan(&starter("boathouse-five"));
    let mut english: Vec<_> = english.sounds.iter().map(|s| s.text.as_str()).collect();
    let by_ear = tabled_plan(&starter("first-by-ear"));
    english.extend(by_ear.sounds.iter().map(|s| s.text.as_str()));
    let mut looked_at = 0;
    for id in stems("sessions") {
        let session = starter(&id);
        if session.text.language == Language::English {
            continue;
        }
        looked_at += 1;
        assert_eq!(untranslated(&session), [], "{id}");
        let plan = tabled_plan(&session);
        assert_eq!(check::faults(&plan, &session), [""; 0], "{id}");
        assert!(
            !any_error(&plan.diagnostics),
            "{id}: {:?}",
            plan.diagnostics
        );
        let report = report(&session, &plan, Kilograms::USUAL);
        assert_eq!(report.advice, [], "{id}");
        for sound in &plan.sounds {
            if !matches!(sound.kind, SoundKind::Tone(_)) {
                assert!(
                    !english.contains(&sound.text.as_str()),
                    "{id}: {}",
                    sound.text
                );
            }
        }
    }
    assert_eq!(looked_at, 4);
}

#[test]
fn a_session_is_told_of_in_the_language_spoken_between_classes() {
    let said = |id, language| Brief::of(&starter(id)).said(Wording::of(language));
    assert_eq!(
        said("boathouse-five", Language::German),
        "Boathouse five steht bereit: zwei Runden mit je fünf Übungen, sechs Minuten zehn."
    );
    assert_eq!(
        said("boathouse-five-de", Language::German),
        "Fünf im Bootshaus steht bereit: drei Teile, fünfzehn Minuten fünfundzwanzig. \
         Du brauchst eine Bank und eine Kurzhantel."
    );
    assert_eq!(
        said("boathouse-five-es", Language::English),
        "Cinco en el hangar is waiting: three parts, fifteen minutes twenty-five. \
         You need a bench and one dumbbell."
    );
    assert_eq!(
        said("boathouse-five-es", Language::French),
        "La séance Cinco en el hangar est prête : trois parties, quinze minutes vingt-cinq."
    );
}

#[test]
fn the_layouts_of_a_class_are_said_in_each_language() {
    let text = |language: Language, layout: &str| {
        format!("title = \"T\"\nlanguage = \"{}\"\n{layout}", language.tag())
    };
    let layouts = [
        "begin = \"key\"\n[[block]]\nuntil = \"key\"\nrest = \"15s\"\nmovements = [\"squat\"]\n",
        "[[block]]\nstations = true\nrounds = 2\nwork = \"1m30s\"\nrest = \"20s\"\n\
         movements = [\"squat\", \"one-arm-row\", \"goblet-squat\"]\n",
        "[[block]]\nwork = \"3m\"\nrest = \"1m30s\"\nmovements = [{ use = \"one-arm-row\", side = \"halves\" }, \
         { use = \"forward-lunge\", first_side = \"left\" }]\n",
        "[[block]]\nreps = 8\nevery = \"1m\"\nrounds = 3\nmovements = [\"deadlift\", \"floor-press-up\"]\n",
    ];
    for language in Language::ALL {
        for layout in layouts {
            let session = session(&text(language, layout), &LIBRARY);
            let plan = tabled_plan(&session);
            assert_eq!(check::faults(&plan, &session), [""; 0], "{layout}");
            for sound in plan.sounds.iter().map(|s| &s.text) {
                // A message without a value would show its braces or its id.
                assert!(!sound.contains(['{', '}', '$']), "{sound}");
            }
        }
    }
}

#[test]
fn what_is_needed_in_two_loads_is_named_with_both() {
    let text = "title = \"T\"\n[[block]]\nwork = \"40s\"\nrest = \"30s\"\nmovements = [\
                { use = \"one-arm-row\", load = \"8 kg\" }, { use = \"overhead-press\", load = \"6 kg\" }]\n";
    let session = session(text, &LIBRARY);
    let plan = tabled_plan(&session);
    assert_eq!(check::faults(&plan, &session), [""; 0]);
    let said: Vec<_> = plan.sounds.iter().map(|s| s.text.as_str()).collect();
    assert!(
        said.contains(&"You need one 8 kg dumbbell, a bench and one 6 kg dumbbell."),
        "{said:?}"
    );
}
