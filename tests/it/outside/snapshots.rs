//! Plans as text: a change of what is said or when shows here, in words, to be read by a coach.
//!
//! To accept one, run `INSTA_UPDATE=always cargo test --test it -- snapshots` and commit it with
//! the change that made it.

use insta::assert_snapshot;
use insta::with_settings;

use sidevoice::base::diagnostic::Sources;
use sidevoice::planning::advice;
use sidevoice::planning::advice::Kilograms;
use sidevoice::publish;
use sidevoice::publish::check::Form;

use crate::common;

fn check(name: &str, text: &str) {
    with_settings!({ snapshot_path => "../snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        assert_snapshot!(name, text);
    });
}

#[test]
fn boathouse_five_reads_like_a_class() {
    let session = common::starter("boathouse-five");
    let plan = common::tabled_plan(&session);
    check(
        "boathouse-five",
        &publish::text::text(&plan, &session, None),
    );
}

#[test]
fn the_reports_of_two_sessions_read_like_a_coach_s_notes() {
    for id in ["boathouse-five", "first-by-ear"] {
        let session = common::starter(id);
        let plan = common::tabled_plan(&session);
        let report = advice::report(&session, &plan, Kilograms::USUAL);
        let mut text = publish::check::session(&report, None, Form::Table);
        for told in &report.advice {
            text += &format!("{}: {}\n  {}\n", told.code.text(), told.message, told.help);
        }
        check(&format!("{id}-report"), &text);
    }
}

#[test]
fn the_json_of_two_stretches_keeps_its_form() {
    let session = common::starter("boathouse-five");
    let mut plan = common::tabled_plan(&session);
    // Lead-in, work, rest, work.
    plan.timeline.segments.truncate(4);
    plan.sounds.retain(|s| s.segment < 4);
    plan.left_out.retain(|l| l.segment < 4);
    // What there is to say of the files is said elsewhere.
    let json = publish::json::json(&plan, &session, None, &[], &Sources::default(), |_| {
        Vec::new()
    });
    check("boathouse-five-json", &json);
}
