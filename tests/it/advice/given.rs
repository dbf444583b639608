//! Each piece of advice: given once where it is due, and not where it is not.

use super::told;
use sidevoice::base::diagnostic::Code;

const WARM: &str = "[[block]]\npart = \"warm-up\"\nwork = \"5m\"\nrest = \"20s\"\nlast_rest = true\n\
                    movements = [\"march\"]\n";
const COOL: &str =
    "[[block]]\npart = \"cool-down\"\nwork = \"5m\"\nmovements = [\"shoulder-roll\"]\n";

/// A session in order but for what a block of these lines brings; the block's head is on line 7.
fn around(block: &str) -> String {
    format!("title = \"Outing\"\n{WARM}[[block]]\n{block}last_rest = true\n{COOL}")
}

fn with_caution(block: &str) -> String {
    let caution = "caution = \"With high blood pressure, ease out of the holds.\"\n";
    around(block).replacen("title", &format!("{caution}title"), 1)
}

struct Case {
    code: Code,
    /// Where it is due, the line, and what is said.
    due: String,
    line: usize,
    words: &'static [&'static str],
    /// The nearest session where it is not.
    not_due: String,
}

fn cases() -> Vec<Case> {
    let squats = |last: &str| {
        around(&format!(
            "work = \"30s\"\nrest = \"30s\"\nmovements = [\n  \"squat\",\n  \"wide-squat\",\n  \
             \"bench-squat\",\n  \"{last}\",\n]\n"
        ))
    };
    let row = |side: &str| {
        around(&format!(
            "work = \"30s\"\nrest = \"40s\"\nmovements = [{{ use = \"one-arm-row\"{side} }}]\n"
        ))
    };
    let jump = |moves: &str| {
        around(&format!(
            "work = \"30s\"\nrest = \"30s\"\nmovements = [\n{moves}]\n"
        ))
    };
    let timed = |work: &str, rest: &str| {
        around(&format!(
            "rounds = 4\nwork = \"{work}\"\nrest = \"{rest}\"\nmovements = [\"squat\"]\n"
        ))
    };
    let hold = "work = \"30s\"\nrest = \"30s\"\nmovements = [\"wall-sit\"]\n";
    let ready = |item: &str| {
        let ready = format!("ready = [{{ item = \"bench\" }}, {{ item = \"{item}\" }}]\n");
        let row =
            "work = \"30s\"\nrest = \"40s\"\nmovements = [\"bench-squat\", \"one-arm-row\"]\n";
        format!("{ready}{}", around(row))
    };
    let plain = around("work = \"30s\"\nrest = \"30s\"\nmovements = [\"squat\"]\n");
    vec![
        Case {
            code: Code::NoWarmUp,
            due: plain
                .replacen("warm-up", "main", 1)
                .replacen("5m", "30s", 1),
            line: 2,
            words: &["warm-up before the main part", "5 to 10 minutes"],
            not_due: plain.clone(),
        },
        Case {
            code: Code::NoCoolDown,
            due: plain.replace(COOL, ""),
            line: 8,
            words: &["cool-down after the main part", "5 to 10 minutes"],
            not_due: plain.clone(),
        },
        Case {
            code: Code::SidesUneven,
            due: row(", side = \"left\""),
            line: 11,
            words: &["as much right as left of one-arm row, found 0s right and 30s left"],
            not_due: row(""),
        },
        Case {
            code: Code::PatternRun,
            due: squats("goblet-squat"),
            line: 15,
            words: &["at most 3 times squat running, found goblet squat as number 4"],
            not_due: squats("press-up"),
        },
        Case {
            code: Code::JumpsLate,
            due: jump("  \"squat\",\n  \"press-up\",\n  \"squat-jump\",\n"),
            line: 14,
            words: &["before the last third", "found squat jump at "],
            not_due: jump("  \"squat-jump\",\n  \"press-up\",\n  \"squat\",\n"),
        },
        Case {
            code: Code::StaticHolds,
            due: around(hold),
            line: 11,
            words: &["blood pressure", "wall sit", "Klika & Jordan 2013"],
            not_due: with_caution(hold),
        },
        Case {
            code: Code::RatioOutside,
            due: timed("40s", "10s"),
            line: 8,
            words: &[
                "1 to 7 and 3 to 1, found 2m of work to 30s of rest",
                "Hov et al. 2022",
            ],
            not_due: timed("30s", "10s"),
        },
        Case {
            code: Code::ReadyUnused,
            due: ready("kettle"),
            line: 1,
            words: &["a thing that a movement of the session uses, found \"kettle\""],
            not_due: ready("dumbbell"),
        },
    ]
}

#[test]
fn each_piece_of_advice_is_given_at_its_place() {
    for case in cases() {
        let due = told(&case.due, &[]);
        let given: Vec<_> = due.iter().filter(|(code, ..)| *code == case.code).collect();
        assert_eq!(given.len(), 1, "{:?}: {due:#?}\n{}", case.code, case.due);
        let (_, file, line, words) = given[0];
        assert_eq!(file, "sessions/outing.toml");
        assert_eq!(*line, case.line, "{words}\n{}", case.due);
        for wanted in case.words {
            assert!(words.contains(wanted), "no \"{wanted}\" in {words}");
        }
        let not_due = told(&case.not_due, &[]);
        assert!(
            not_due.iter().all(|(code, ..)| *code != case.code),
            "{not_due:#?}\n{}",
            case.not_due
        );
    }
}

#[test]
fn a_fact_is_told_once_for_all_rounds() {
    let text = around(
        "rounds = 9\nwork = \"20s\"\nrest = \"5s\"\nmovements = [\"squat-jump\", \"plank\", \
         { use = \"one-arm-row\", side = \"right\" }]\n",
    );
    let told = told(&text, &[]);
    for code in [Code::JumpsLate, Code::StaticHolds, Code::SidesUneven] {
        let many = told.iter().filter(|(c, ..)| *c == code).count();
        assert_eq!(many, 1, "{code:?}: {told:#?}");
    }
    let mut places: Vec<_> = told
        .iter()
        .map(|(code, file, line, _)| (code.text(), file, line))
        .collect();
    let all = places.len();
    places.sort_unstable();
    places.dedup();
    // Three movements stand on one line, each at a place of its own.
    assert!(all - places.len() <= 2, "{told:#?}");
}

fn movement(cues: &str) -> String {
    format!(
        "name = \"stern lift\"\npattern = \"hinge\"\nstart = \"Stand tall.\"\n\
         how = [\"Tip, then stand.\"]\n{cues}"
    )
}

const LIFTS: &str = "rounds = 3\nwork = \"20s\"\nrest = \"20s\"\nmovements = [\"stern-lift\"]\n";

#[test]
fn a_cue_too_long_is_told_with_what_would_do() {
    let cue = |words: usize| {
        let say = "tip ".repeat(words);
        movement(&format!(
            "[[cue]]\nkind = \"form\"\nsay = \"{}.\"\n",
            say.trim()
        ))
    };
    let long = cue(60);
    let given = told(&around(LIFTS), &[("stern-lift", &long)]);
    let told_of: Vec<_> = given.iter().filter(|t| t.0 == Code::CueTooLong).collect();
    assert_eq!(told_of.len(), 1, "{given:#?}");
    let (_, file, line, words) = told_of[0];
    assert_eq!((file.as_str(), *line), ("movements/stern-lift.toml", 7));
    // 60 words at 2.6 a second; a work of 20 s has 40 % of speech: 8 s.
    assert!(
        words.contains("at most 8.0 s, found one of 23.1 s: it lacks 15.1 s"),
        "{words}"
    );
    // 20 would fit, but ten are what can be followed in a work (common practice).
    assert!(words.contains("in at most 10 words"), "{words}");
    // Following the help ends it; one word more or one second less of work does not.
    let is_told = |session: &str, cue: &str| {
        let given = told(session, &[("stern-lift", cue)]);
        given.iter().any(|t| t.0 == Code::CueTooLong)
    };
    assert!(!is_told(&around(LIFTS), &cue(20)));
    assert!(is_told(&around(LIFTS), &cue(21)));
    let at = words.find("a work of at least ").unwrap() + "a work of at least ".len();
    let longer = &words[at..];
    assert!(!is_told(
        &around(&LIFTS.replace("work = \"20s\"", &format!("work = \"{longer}\""))),
        &long
    ));
    let seconds: i64 = longer
        .trim_end_matches('s')
        .parse()
        .unwrap_or_else(|_| panic!("{longer}"));
    let less = format!("work = \"{}s\"", seconds - 1);
    assert!(is_told(
        &around(&LIFTS.replace("work = \"20s\"", &less)),
        &long
    ));
}

#[test]
fn fifty_cues_are_told_once_with_some_of_them() {
    let cue = |n: usize| format!("[[cue]]\nkind = \"form\"\nsay = \"Number {n}.\"\n");
    let all = movement(&(1..=50).map(cue).collect::<String>());
    let given = told(&around(LIFTS), &[("stern-lift", &all)]);
    let never: Vec<_> = given
        .iter()
        .filter(|t| t.0 == Code::CuesNeverSaid)
        .collect();
    assert_eq!(never.len(), 1, "{given:#?}");
    let (_, file, line, words) = never[0];
    assert_eq!((file.as_str(), *line), ("sessions/outing.toml", 12));
    // Two cues fit the first work of 20 s, then two, then two (common practice): 44 or so are left.
    assert!(
        words.contains(" that are never heard: \"Number ") && words.contains(" more"),
        "{words}"
    );
    let few = movement(&(1..=5).map(cue).collect::<String>());
    let given = told(&around(LIFTS), &[("stern-lift", &few)]);
    assert!(
        given.iter().all(|t| t.0 != Code::CuesNeverSaid),
        "{given:#?}"
    );
    // No cue at all is nothing to tell of.
    let given = told(&around(LIFTS), &[("stern-lift", &movement(""))]);
    assert_eq!(given, []);
}

#[test]
fn a_cue_of_the_use_alone_that_is_never_heard_is_told() {
    let cues: Vec<_> = (1..=9)
        .map(|n| format!("{{ kind = \"form\", say = \"Number {n}.\" }}"))
        .collect();
    let block = format!(
        "work = \"20s\"\nrest = \"20s\"\nmovements = [{{ use = \"march\", cues = [{}] }}]\n",
        cues.join(", ")
    );
    let given = told(&around(&block), &[]);
    assert!(
        given.iter().any(|t| t.0 == Code::CuesNeverSaid),
        "{given:#?}"
    );
}

#[test]
fn a_start_position_too_long_is_told_with_the_time_it_lacks() {
    let start = |words: usize| {
        let text = "tip ".repeat(words);
        format!(
            "name = \"stern lift\"\npattern = \"hinge\"\nstart = \"{}.\"\nhow = [\"Lift.\"]\n",
            text.trim()
        )
    };
    let block = "work = \"20s\"\nrest = \"10s\"\nmovements = [\"squat\", \"stern-lift\"]\n";
    let given = told(&around(block), &[("stern-lift", &start(40))]);
    let long: Vec<_> = given.iter().filter(|t| t.0 == Code::CueTooLong).collect();
    assert_eq!(long.len(), 1, "{given:#?}");
    let (_, file, line, words) = long[0];
    assert_eq!((file.as_str(), *line), ("movements/stern-lift.toml", 3));
    assert!(
        words.contains("expected a start position of at most 6."),
        "{words}"
    );
    assert!(words.contains("a rest of at least "), "{words}");
    let given = told(&around(block), &[("stern-lift", &start(12))]);
    assert!(given.iter().all(|t| t.0 != Code::CueTooLong), "{given:#?}");
}

#[test]
fn of_a_work_too_short_for_any_cue_one_thing_is_told() {
    let block = "rounds = 3\nwork = \"1s\"\nrest = \"30s\"\nmovements = [\"squat\"]\n";
    let given = told(&around(block), &[]);
    let short: Vec<_> = given.iter().filter(|t| t.0 == Code::CueTooLong).collect();
    assert_eq!(short.len(), 1, "{given:#?}");
    assert_eq!(
        (short[0].1.as_str(), short[0].2),
        ("sessions/outing.toml", 12)
    );
    assert!(
        short[0].3.contains("this work is too short for its cues"),
        "{short:?}"
    );
    let longer = block.replace("1s", "10s");
    let given = told(&around(&longer), &[]);
    assert!(given.iter().all(|t| t.0 != Code::CueTooLong), "{given:#?}");
}
