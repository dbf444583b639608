//! What is said before a work follows the order of doing, whatever the voice's pace: no step is
//! heard before the one that it carries on from.

use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Utterance;
use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::planning::plan::Durations;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::Side;
use sidevoice::planning::session::SideWords;

use super::texts;
use crate::common;
use crate::common::Tabled;

/// The table's lengths, in per cent of them.
struct Paced(i64);

impl Durations for Paced {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        Millis::from_ms(Tabled.estimate(utterance).ms() * self.0 / 100)
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        wanted.iter().map(|w| Some(self.estimate(w))).collect()
    }
}

fn plan(session: &Session, percent: i64) -> Plan {
    let wording = Wording::english();
    let settings = compile::settings("paced", CautionLength::Full);
    let mut pace = Paced(percent);
    Planner::new(session, &wording, settings, &mut pace).finish(&mut pace)
}

/// Returns each step that is said before its start position, or without the step before it, with
/// all that is said in its rest.
fn out_of_order(session: &Session, plan: &Plan) -> Vec<String> {
    let words = SideWords {
        right: "right".to_owned(),
        left: "left".to_owned(),
    };
    let mut found = Vec::new();
    for stretch in &plan.timeline.stretches {
        let (Some(rest), Some(work)) = (stretch.rest, stretch.work) else {
            continue;
        };
        let said: Vec<&str> = plan
            .sounds
            .iter()
            .filter(|s| s.segment == rest)
            .map(|s| s.text.as_str())
            .collect();
        let said = said.join(" | ");
        let of = &plan.timeline.works[plan.timeline.segments[work].work.unwrap()];
        let movement = session.movement(of.movement_use(session));
        let side: Option<Side> = of.side;
        let full = movement.start.full(side, &words);
        let start = said.find(&full).or_else(|| {
            let brief = movement.start.brief(side, &words)?;
            said.find(&brief)
        });
        let mut last = start;
        for (step, how) in movement.how.iter().enumerate() {
            let at = said.find(&how.full(side, &words));
            let carries_on = at > last && last.is_some();
            if at.is_some() && !carries_on {
                found.push(format!("{}: step {} of: {said}", movement.name, step + 1));
            }
            last = at;
        }
    }
    found
}

#[test]
fn no_step_is_said_without_its_start_position_and_the_steps_before_it() {
    for id in texts::stems("sessions") {
        let session = common::starter(&id);
        for percent in (60..=140).step_by(5) {
            let found = out_of_order(&session, &plan(&session, percent));
            assert!(
                found.is_empty(),
                "{id} at {percent} %:\n{}",
                found.join("\n")
            );
        }
    }
}

#[test]
fn a_safety_cue_for_rest_or_work_is_one_line_that_may_stand_in_either() {
    use sidevoice::planning::session::CueKind;
    use sidevoice::planning::session::When;
    let mut session = common::starter("boathouse-five");
    for movement in &mut session.movements {
        let mut changed = (**movement).clone();
        for cue in changed
            .cues
            .iter_mut()
            .filter(|c| c.kind == CueKind::Safety)
        {
            cue.when = When::Either;
        }
        *movement = changed.into();
    }
    for solved in &plan(&session, 100).stretches {
        let lines = &solved.problem.lines;
        let safety = lines.iter().filter(|l| l.id.contains("/safety"));
        for line in safety {
            assert_eq!(lines.iter().filter(|l| l.id == line.id).count(), 1);
            let limited = &solved.problem.limits[0].windows;
            let works = line.choices.iter().filter(|c| limited.contains(&c.window));
            assert!(works.count() > 0, "{} never in the work", line.id);
        }
    }
}
