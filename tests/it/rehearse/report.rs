//! Verdicts on a coach whose words are known.

use crate::common::starter;
use crate::common::tabled_plan;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::timeline::SegmentKind;
use sidevoice::rehearse::practice::Help;
use sidevoice::rehearse::practice::Score;
use sidevoice::rehearse::practice::is_mark;
use sidevoice::rehearse::report::Edit;
use sidevoice::rehearse::report::Heard;
use sidevoice::rehearse::report::Length;
use sidevoice::rehearse::report::Occasion;
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

fn occasion(began: &str) -> Occasion<'_> {
    Occasion {
        session: "five",
        language: Language::English,
        began,
        pace: 100,
        earpiece: false,
    }
}

/// A coach who says each line when it is due, and as long as the voice of the plan.
fn exact(score: &Score) -> Vec<Heard> {
    let passages = score.passages.iter().enumerate();
    let heard = passages.map(|(at, passage)| {
        let lines = score.sounds.iter().filter(|s| !is_mark(s));
        let mine = lines.filter(|s| s.onset >= passage.start && s.onset < passage.end);
        Heard {
            passage: at,
            turn: at as u32 + 1,
            follows: at > 0,
            help: Help::Marks,
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
    let report = judge(&score, &plan, &exact(&score), false);
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
    let report = judge(&score, &plan, &heard, false);
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
    let longer = Edit::Length {
        what: Length::RestAfter {
            block: work.block,
            of: work.of,
        },
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
    let then = kept(&report, &score, &plan, occasion("2026-11-26T10:00:00Z"));
    let now = judge(&score, &plan, &exact(&score), false);
    let now = kept(&now, &score, &plan, occasion("2026-11-26T11:00:00Z"));
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
            turn: 1 + passage as u32,
            follows: passage > 0,
            help: Help::Marks,
            spoke: Vec::new(),
        })
        .collect();
    let report = judge(&score, &plan, &silent, false);
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
    let report = judge(&score, &plan, &late, false);
    let told: usize = report.rows.iter().map(|row| row.silent().count()).sum();
    assert_eq!(told, 0);
}

/// The first passage with a rest after a work, and where its work begins.
fn after_a_rest(plan: &Plan, score: &Score) -> (usize, At) {
    let at = score.passages.iter().position(|p| {
        let kind = p.rest.map(|rest| plan.timeline.segments[rest].kind);
        kind == Some(SegmentKind::Rest) && p.work.is_some()
    });
    let at = at.unwrap();
    let rest = &plan.timeline.segments[score.passages[at].rest.unwrap()];
    (at, score.passages[at].start + rest.length())
}

#[test]
fn a_line_begun_just_before_its_time_is_of_the_time_it_lies_in() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let (at, _) = after_a_rest(&plan, &score);
    let ms = Millis::from_ms;
    let start = score.passages[at].start;
    let early = Spoke {
        from: start - ms(600),
        to: start + ms(2500),
    };
    let rows = |follows| {
        let mut heard = exact(&score);
        // It was begun in the pass before.
        heard[at - 1].spoke.push(early);
        heard[at].spoke.clear();
        heard[at].follows = follows;
        judge(&score, &plan, &heard, false).rows
    };
    let rest = score.passages[at].rest.unwrap();
    let has = |rows: &[sidevoice::rehearse::report::Row], segment: usize| {
        let row = rows.iter().find(|row| row.segment == segment).unwrap();
        row.spoke.contains(&early)
    };
    let one = rows(true);
    assert!(has(&one, rest) && !has(&one, rest - 1));
    // After a break it cannot be of what was practised later.
    let broken = rows(false);
    assert!(!has(&broken, rest) && has(&broken, rest - 1));
}

#[test]
fn who_talks_through_a_whole_count_is_told_of_all_of_it() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let (at, work) = after_a_rest(&plan, &score);
    let ms = Millis::from_ms;
    // Long numbers: the microphone hears nothing between them.
    let through = |from: i64, to: i64| {
        let mut heard = exact(&score);
        heard[at].spoke = vec![
            Spoke {
                from: work - ms(5000),
                to: work - ms(from),
            },
            Spoke {
                from: work + ms(to),
                to: work + ms(2000),
            },
        ];
        let rows = judge(&score, &plan, &heard, false).rows;
        let rest = score.passages[at].rest.unwrap();
        rows.into_iter()
            .find(|row| row.segment == rest)
            .unwrap()
            .over
    };
    assert_eq!(through(3050, 450), ms(5000));
    // Who stops before it and begins after it did not.
    assert_eq!(through(3250, 450), Millis::ZERO);
    assert_eq!(through(3050, 900), Millis::ZERO);
}

#[test]
fn lengths_are_learnt_of_lines_that_nothing_of_ours_touched() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let learnt = |heard: &[Heard], earpiece| {
        let report = judge(&score, &plan, heard, false);
        let occasion = Occasion {
            earpiece,
            ..occasion("2026-11-26T10:00:00Z")
        };
        kept(&report, &score, &plan, occasion).lines
    };
    let all = score.sounds.iter().filter(|s| !is_mark(s)).count();
    let heard = exact(&score);
    let by_earpiece = learnt(&heard, true);
    assert_eq!(by_earpiece.len(), all);
    let by_loudspeaker = learnt(&heard, false);
    assert!(by_loudspeaker.len() < all && by_loudspeaker.len() > all / 2);
    // Where a prompt sounds before each line, no beginning is sure.
    let prompted: Vec<Heard> = heard
        .iter()
        .map(|heard| Heard {
            help: Help::FirstWords,
            ..heard.clone()
        })
        .collect();
    assert!(learnt(&prompted, false).len() < by_loudspeaker.len() / 2);
    assert_eq!(learnt(&prompted, true).len(), all);
}

#[test]
fn what_is_too_short_is_edited_where_the_file_has_it() {
    use sidevoice::planning::session::Talk;
    use sidevoice::rehearse::report::Time;
    let head = "title = \"Short\"\n[[block]]\nwork = \"20s\"\n";
    let uses =
        "movements = [\"bench-squat\", { use = \"press-up\", rest = \"15s\" }, \"hip-hinge\"]\n";
    let of = |time, round| Length::Of {
        block: 0,
        time,
        round,
    };
    let after = |of| Length::RestAfter { block: 0, of };
    for (times, wanted) in [
        (
            "rounds = 2\nrest = \"12s\"\n",
            [after(0), after(1), of(Time::BetweenRounds, None)],
        ),
        (
            "rounds = 2\nrest = [\"12s\", \"14s\"]\n",
            [
                of(Time::Rest, Some(0)),
                after(1),
                of(Time::BetweenRounds, Some(0)),
            ],
        ),
        ("rounds = 2\nevery = \"40s\"\n", [of(Time::Every, None); 3]),
    ] {
        let uses = match times.contains("every") {
            true => uses.replace(", rest = \"15s\"", ""),
            false => uses.to_owned(),
        };
        let session = crate::common::boathouse_session(&format!("{head}{times}{uses}"));
        let plan = tabled_plan(&session);
        let score = score(&plan);
        let mut found = Vec::new();
        for (at, passage) in score.passages.iter().enumerate() {
            let segment = passage.rest.map(|rest| &plan.timeline.segments[rest]);
            let Some(segment) = segment.filter(|s| s.kind == SegmentKind::Rest) else {
                continue;
            };
            let mut heard = exact(&score);
            let end = passage.start + segment.length();
            heard[at]
                .spoke
                .retain(|spoke| spoke.to < end - Millis::from_ms(5000));
            heard[at].spoke.push(Spoke {
                from: end - Millis::from_ms(4800),
                to: end - Millis::from_ms(2600),
            });
            heard.iter_mut().for_each(|h| h.follows = false);
            let report = judge(&score, &plan, &heard, false);
            let edit = worst(&report, &score, &plan, &session)[0].edit.clone();
            let Some(Edit::Length { what, to }) = edit else {
                panic!("{edit:?}");
            };
            let every = matches!(
                what,
                Length::Of {
                    time: Time::Every,
                    ..
                }
            );
            let was = if every {
                Millis::from_secs(40)
            } else {
                segment.length()
            };
            assert_eq!(to, was + Millis::from_secs(1), "{what:?}");
            found.push(what);
        }
        assert_eq!(found[..3], wanted, "{times}");
    }
    // In a work: fewer words at that use.
    let text = format!("{head}rest = \"12s\"\n{uses}");
    let session = crate::common::boathouse_session(&text);
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let mut heard = exact(&score);
    let passage = score.passages[1];
    heard[1].spoke = vec![Spoke {
        from: passage.end - Millis::from_ms(4000),
        to: passage.end - Millis::from_ms(2500),
    }];
    let report = judge(&score, &plan, &heard, false);
    let remedies = worst(&report, &score, &plan, &session);
    let edit = remedies.iter().find_map(|r| r.edit.clone()).unwrap();
    let wanted = Edit::TalkAt {
        block: 0,
        of: 1,
        to: Talk::Quiet,
    };
    assert_eq!(edit, wanted);
    let edited = sidevoice::rehearse::report::apply(&text, &[edit]).unwrap();
    assert!(
        edited.contains("rest = \"15s\", talk = \"quiet\" }"),
        "{edited}"
    );
    let quieter = crate::common::boathouse_session(&edited);
    assert_eq!(quieter.text.blocks[0].uses[1].talk, Some(Talk::Quiet));
    assert_ne!(tabled_plan(&quieter).sounds, plan.sounds);
}

#[test]
fn who_begins_over_the_tone_is_told_of_the_beginning_and_given_no_more_time() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let (at, _) = after_a_rest(&plan, &score);
    let start = score.passages[at].start;
    let ms = Millis::from_ms;
    let mut heard = exact(&score);
    heard[at].spoke = vec![Spoke {
        from: start + ms(50),
        to: start + ms(4000),
    }];
    let report = judge(&score, &plan, &heard, true);
    let row = report
        .rows
        .iter()
        .find(|row| Some(row.segment) == score.passages[at].rest)
        .unwrap();
    // The end tone lasts 0.28 s.
    assert!(row.over > ms(100) && row.over < ms(300), "{row:?}");
    assert_eq!(row.late, Millis::ZERO);
    let remedies = worst(&report, &score, &plan, &session);
    let own = remedies
        .iter()
        .find(|r| report.rows[r.row] == *row)
        .unwrap();
    assert_eq!(own.edit, None);
    let page = text(&report, &remedies, &score, &plan, &session);
    assert!(page.contains("begin after the end tone"), "{page}");
}

#[test]
fn by_an_earpiece_silence_beside_a_count_is_silence() {
    let session = starter("boathouse-five");
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let (at, work) = after_a_rest(&plan, &score);
    let ms = Millis::from_ms;
    let mut heard = exact(&score);
    heard[at].spoke = vec![
        Spoke {
            from: work - ms(6000),
            to: work - ms(3080),
        },
        Spoke {
            from: work + ms(450),
            to: work + ms(2000),
        },
    ];
    let over = |earpiece| {
        let rows = judge(&score, &plan, &heard, earpiece).rows;
        let rest = score.passages[at].rest;
        let row = rows.into_iter().find(|row| Some(row.segment) == rest);
        row.unwrap().over
    };
    assert_eq!(over(true), Millis::ZERO);
    assert!(over(false) > ms(3000));
}

#[test]
fn a_rest_between_the_sides_of_the_last_use_leaves_that_between_rounds_alone() {
    let text = "title = \"Short\"\n[[block]]\nwork = \"20s\"\nrest = \"20s\"\nrounds = 2\nbetween_rounds = \"1m30s\"\n\
                movements = [\"bench-squat\", { use = \"one-arm-row\", side = \"each\" }]\n";
    let session = crate::common::boathouse_session(text);
    let plan = tabled_plan(&session);
    let score = score(&plan);
    let works = &plan.timeline.works;
    let at = score.passages.iter().position(|p| {
        let rest = p.rest.map(|rest| &plan.timeline.segments[rest]);
        let before = rest.and_then(|rest| rest.work).map(|work| &works[work]);
        before.is_some_and(|work| work.of == 1 && work.position + 1 < work.positions)
    });
    let at = at.unwrap();
    let rest = &plan.timeline.segments[score.passages[at].rest.unwrap()];
    let end = score.passages[at].start + rest.length();
    let mut heard = exact(&score);
    heard[at].spoke = vec![Spoke {
        from: end - Millis::from_ms(4000),
        to: end - Millis::from_ms(2500),
    }];
    let report = judge(&score, &plan, &heard, false);
    let remedies = worst(&report, &score, &plan, &session);
    let edit = remedies.iter().find_map(|r| r.edit.clone()).unwrap();
    let what = Length::Of {
        block: 0,
        time: sidevoice::rehearse::report::Time::Rest,
        round: None,
    };
    let to = Millis::from_secs(21);
    assert_eq!(edit, Edit::Length { what, to });
}
