//! Verdicts on a coach whose words are known.

use crate::common::starter;
use crate::common::tabled_plan;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::timeline::SegmentKind;
use sidevoice::rehearse::practice::Score;
use sidevoice::rehearse::practice::is_mark;
use sidevoice::rehearse::report::Edit;
use sidevoice::rehearse::report::Heard;
use sidevoice::rehearse::report::Spoke;
use sidevoice::rehearse::report::judge;
use sidevoice::rehearse::report::kept;
use sidevoice::rehearse::report::read;
use sidevoice::rehearse::report::since;
use sidevoice::rehearse::report::spoken;
use sidevoice::rehearse::report::text;
use sidevoice::rehearse::report::worst;

fn score(plan: &Plan) -> Score {
    Score::new(plan, &mut |text| {
        Millis::from_ms(333 * text.split_whitespace().count() as i64)
    })
}

/// A coach who says each line when it is due, and as long as the voice of the plan.
fn exact(score: &Score) -> Vec<Heard> {
    let passages = score.passages.iter().enumerate();
    let heard = passages.map(|(at, passage)| {
        let lines = score.sounds.iter().filter(|s| !is_mark(s));
        let mine = lines.filter(|s| s.onset >= passage.start && s.onset < passage.end);
        Heard {
            passage: at,
            spoke: mine
                .map(|s| Spoke {
                    from: s.onset,
                    to: s.end,
                })
                .collect(),
        }
    });
    heard.collect()
}

#[test]
fn a_coach_who_says_the_plan_is_told_nothing_to_better() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let report = judge(&score, &plan, &exact(&score));
    assert_eq!(report.rows.len(), plan.timeline.segments.len());
    for row in &report.rows {
        assert!(row.is_good(), "{row:#?}");
        assert!(row.spoken() <= row.room, "{row:#?}");
    }
    assert_eq!(worst(&report, &score, &plan, &session), []);
    let wording = Wording::of(Language::English);
    assert_eq!(spoken(&report, wording), "Every place was in time.");
}

#[test]
fn what_runs_into_a_count_is_measured_and_a_longer_rest_is_proposed() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let mut heard = exact(&score);
    // In the first rest after a work the coach goes on into the count by 1.4 s.
    let rest = plan
        .timeline
        .segments
        .iter()
        .position(|s| s.kind == SegmentKind::Rest);
    let at = score.passages.iter().position(|p| p.rest == rest).unwrap();
    let passage = score.passages[at];
    let segment = &plan.timeline.segments[passage.rest.unwrap()];
    let end = passage.start + segment.length();
    let count = score
        .sounds
        .iter()
        .find(|s| is_mark(s) && s.onset > end - Millis::from_ms(3500));
    let count = count.unwrap();
    assert_eq!(count.text, "three");
    let last = heard[at].spoke.iter_mut().rfind(|s| s.to < end).unwrap();
    // Our own count hides her for half a second.
    last.to = count.onset - Millis::from_ms(50);
    let cut = Spoke {
        from: count.end + Millis::from_ms(250),
        to: count.onset + Millis::from_ms(1400),
    };
    let after = heard[at].spoke.partition_point(|s| s.to < cut.from);
    heard[at].spoke.insert(after, cut);
    let report = judge(&score, &plan, &heard);
    let bad: Vec<_> = report.rows.iter().filter(|row| !row.is_good()).collect();
    assert_eq!(bad.len(), 1);
    assert_eq!(
        (bad[0].segment, bad[0].over.ms()),
        (passage.rest.unwrap(), 1400)
    );
    assert_eq!(bad[0].spare, Millis::ZERO);
    let remedies = worst(&report, &score, &plan, &session);
    assert_eq!(remedies.len(), 1);
    let work = &plan.timeline.works[segment.work.unwrap()];
    let longer = Edit::Rest {
        block: work.block,
        of: work.of,
        to: (segment.length() + Millis::from_ms(1400)).ceil_secs(),
    };
    assert_eq!(remedies[0].edit, Some(longer));
    let page = text(&report, &remedies, &score, &plan, &session);
    assert!(page.contains("1.4 s over \"three\", \"two\""), "{page}");
    assert!(
        page.contains("What would help most:\n  1. rest of"),
        "{page}"
    );
    let wording = Wording::of(Language::English);
    assert_eq!(
        spoken(&report, wording),
        "One place ran over, the worst by two seconds."
    );
    // The next time it is put right.
    let then = kept(
        &report,
        &score,
        &plan,
        ("five", Language::English),
        "2026-11-26T10:00:00Z",
    );
    let now = judge(&score, &plan, &exact(&score));
    let now = kept(
        &now,
        &score,
        &plan,
        ("five", Language::English),
        "2026-11-26T11:00:00Z",
    );
    assert_eq!(
        since(&then, &now),
        "Since the last time: 1 put right, 0 worse; 0.0 s over in all, 1.4 s then."
    );
    let written = serde_json::to_string(&then).unwrap();
    assert_eq!(read(&written), Some(then));
    assert_eq!(read("{\"format\": \"sidevoice-log/1\"}"), None);
}

#[test]
fn silence_where_a_must_was_due_is_told_and_other_silence_is_not() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let silent: Vec<Heard> = (0..score.passages.len())
        .map(|passage| Heard {
            passage,
            spoke: Vec::new(),
        })
        .collect();
    let report = judge(&score, &plan, &silent);
    let musts: usize = plan
        .stretches
        .iter()
        .flat_map(|stretch| {
            let chosen = stretch.solution.chosen.iter();
            chosen.map(|c| &stretch.problem.lines[c.line])
        })
        .filter(|line| line.must)
        .count();
    let told: usize = report.rows.iter().map(|row| row.silent().count()).sum();
    assert!(told >= musts && musts > 10, "{told} of {musts}");
    let page = text(
        &report,
        &worst(&report, &score, &plan, &session),
        &score,
        &plan,
        &session,
    );
    assert!(page.contains("spoken   nothing"), "{page}");
    // Said in one go a little later, a rest is not silent.
    let late: Vec<Heard> = exact(&score)
        .into_iter()
        .map(|mut heard| {
            for spoke in &mut heard.spoke {
                spoke.from += Millis::from_ms(300);
                spoke.to += Millis::from_ms(300);
            }
            heard
        })
        .collect();
    let report = judge(&score, &plan, &late);
    let told: usize = report.rows.iter().map(|row| row.silent().count()).sum();
    assert_eq!(told, 0);
}
