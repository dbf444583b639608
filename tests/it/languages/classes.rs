//! Classes in other languages, as a coach of that language would read them aloud.

use crate::common::starter;
use crate::common::tabled_plan;
use crate::outside::texts::stems;
use insta::assert_snapshot;
use insta::with_settings;
use sidevoice::base::diagnostic::any_error;
use sidevoice::base::wording::Language;
use sidevoice::planning::advice::Kilograms;
use sidevoice::planning::advice::report;
use sidevoice::planning::advice::untranslated;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::plan::check;
use sidevoice::publish;

fn check_plan(id: &str) {
    let session = starter(id);
    let plan = tabled_plan(&session);
    let text = publish::text::text(&plan, &session);
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
