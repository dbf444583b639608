//! Every verb in every state, by scripts of inputs; and verbs at random, with what must hold after each.

use super::hall::Hall;
use crate::common::starter;
use crate::common::tabled_plan;
use insta::assert_snapshot;
use insta::with_settings;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::live::control::Verb;
use sidevoice::live::core::Event;
use sidevoice::live::core::State;

/// The verbs, as a script writes them.
fn all() -> Vec<String> {
    Verb::words()
        .map(|word| match word {
            "rate" => "tell:rate 7".to_owned(),
            word => format!("tell:{word}"),
        })
        .collect()
}

/// Runs a script, a step a line (`t:1500 key:space`, the time as it passes for a listener), from a place in
/// the session; returns what was done.
fn log(hall: &mut Hall, script: &[&str]) -> Vec<String> {
    let begun = hall.now();
    hall.log.clear();
    for step in script {
        let (at, input) = step.split_once(' ').unwrap();
        let at: i64 = at.strip_prefix("t:").unwrap().parse().unwrap();
        let wait = begun + Millis::from_ms(at) - hall.now();
        hall.wait(wait);
        if input != "end" {
            hall.input(input);
        }
    }
    hall.check(&script.join(", "));
    std::mem::take(&mut hall.log)
}

/// Brings a class into a state; the second work lies from 1:45 to 2:05 by the table, its cue is over by then.
fn hall_in(state: &str) -> Hall {
    let quiet_in_work = At::from_ms(112_000);
    let segments = &tabled_plan(&starter("boathouse-five")).timeline.segments;
    let mut hall = match state {
        "lead-in" => Hall::new(true),
        "asking" => Hall::from(segments[segments.len() - 2].start, true),
        _ => Hall::from(segments[1].start, true),
    };
    match state {
        "lead-in" => hall.run_to(At::from_ms(20_000)),
        "work" => hall.run_to(quiet_in_work),
        "rest" => hall.run_to(hall.timeline.segments[2].start + Millis::from_ms(2500)),
        "paused" => {
            hall.run_to(quiet_in_work);
            hall.input("tell:pause");
            hall.wait(Millis::from_secs(6));
        }
        "announcing" => {
            hall.run_to(quiet_in_work);
            hall.input("tell:back");
            hall.wait(Millis::from_ms(200));
        }
        "asking" => {
            hall.run_to(hall.timeline.end());
            hall.wait(Millis::from_secs(1));
            assert_eq!(hall.core.state(), State::Finished);
        }
        other => panic!("{other}?"),
    }
    hall
}

#[test]
fn every_verb_in_every_state_does_what_the_log_says() {
    let mut text = String::new();
    for state in ["lead-in", "work", "rest", "paused", "announcing", "asking"] {
        text += &format!("{state}\n");
        for verb in all() {
            let mut hall = hall_in(state);
            let lines = log(&mut hall, &[&format!("t:0 {verb}"), "t:9000 end"]);
            let (told, after) = lines.split_first().unwrap();
            text += &format!("  {told}\n");
            // What follows by itself, the class's own course aside.
            for line in after {
                text += &format!("    then {line}\n");
            }
        }
    }
    snapshot("every-verb-in-every-state", &text);
}

#[test]
fn presses_in_a_row_are_taken_in_order() {
    let scripts: [&[&str]; 6] = [
        &["t:0 key:space", "t:1500 key:space", "t:9000 end"],
        &[
            "t:0 key:space",
            "t:8000 key:space",
            "t:9000 key:space",
            "t:20000 end",
        ],
        &["t:0 key:s", "t:700 key:s", "t:1400 key:s", "t:15000 end"],
        &["t:0 key:b", "t:300 key:b", "t:600 key:b", "t:15000 end"],
        &["t:0 key:x", "t:500 key:w", "t:30000 end"],
        &["t:0 key:k", "t:100 key:space", "t:30000 end"],
    ];
    let mut text = String::new();
    for script in scripts {
        let lines = log(&mut hall_in("work"), script);
        text += &format!("{}\n  {}\n", script.join(" | "), lines.join("\n  "));
    }
    snapshot("presses-in-a-row", &text);
}

/// To accept one, run with `INSTA_UPDATE=always` and read it.
fn snapshot(name: &str, text: &str) {
    insta::with_settings!({ snapshot_path => "../snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, text);
    });
}

#[test]
fn a_german_class_answers_in_german() {
    let segments = tabled_plan(&starter("boathouse-five-de")).timeline.segments;
    let mut text = String::new();
    for (state, place) in [
        ("work", segments[3].start + Millis::from_secs(9)),
        ("rest", segments[4].start + Millis::from_secs(5)),
    ] {
        text += &format!("{state}\n");
        for verb in [
            "pause", "where", "repeat", "explain", "easier", "louder", "help", "next",
        ] {
            let mut hall = Hall::of("boathouse-five-de", segments[1].start, true);
            hall.run_to(place);
            let script = [&format!("t:0 tell:{verb}"), "t:30000 end"];
            for line in log(&mut hall, &script) {
                text += &format!("  {verb}: {line}\n");
            }
        }
    }
    with_settings!({ snapshot_path => "../snapshots", prepend_module_to_snapshot => false, omit_expression => true }, {
        assert_snapshot!("a-german-class-answers", text);
    });
}

/// Numbers at random, the same on each run (Knuth's MMIX generator).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: u64) -> u64 {
        let Dice(state) = self;
        *state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (*state >> 33) % sides
    }
}

#[test]
fn whatever_is_told_nothing_overlaps_and_the_session_never_runs_backwards() {
    let words: Vec<_> = all().into_iter().filter(|w| w != "tell:stop").collect();
    for seed in 0..60 {
        let mut dice = Dice(seed);
        let mut hall = Hall::new(seed % 2 == 0);
        for _ in 0..50 {
            match dice.roll(12) {
                0 => hall.tell(Event::Changed),
                1 => {
                    hall.tell(Event::DeviceLost);
                    let away = Millis::from_secs(dice.roll(100) as i64);
                    hall.tell(Event::DeviceBack { away });
                }
                _ => {
                    let word = words[dice.roll(words.len() as u64) as usize].clone();
                    hall.input(&word);
                }
            }
            hall.wait(Millis::from_ms(dice.roll(6000) as i64));
            hall.check(&format!("seed {seed}"));
            if hall.over {
                break;
            }
        }
    }
}

#[test]
fn a_class_left_alone_ends_and_waits_a_minute_for_the_effort() {
    let mut hall = Hall::new(true);
    hall.run_to(hall.timeline.end());
    hall.wait(Millis::from_secs(59));
    assert!(!hall.over);
    hall.wait(Millis::from_secs(3));
    assert!(hall.over);
    let mut hall = Hall::new(false);
    hall.wait(hall.timeline.end() - At::START + Millis::from_secs(1));
    assert!(hall.over, "nobody could answer");
}
