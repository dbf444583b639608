//! Choosing a session by ear between classes, beginning it, and what waits for its end.

use super::Bench;
use super::FIVE;
use super::WAITS;
use super::fault;
use crate::common::starter;
use sidevoice::live::core::Wishes;
use sidevoice::live::daemon::Event;
use sidevoice::live::daemon::State;
use sidevoice::live::history::Ended;
use sidevoice::live::history::Unfinished;
use sidevoice::live::history::WorkAt;
use sidevoice::live::watch::Told;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Two sessions wait; nothing is being said.
fn two() -> Bench {
    let mut bench = Bench::new();
    bench.ready(FIVE);
    bench.ready("eight");
    bench.step(Event::Told(Told::Looked));
    bench.spoken();
    bench
}

fn left(session: &str) -> Event {
    let left = Unfinished {
        session: session.to_owned(),
        title: "Boathouse five".to_owned(),
        time: "2026-11-25T18:00:00Z".parse().unwrap(),
        ended: Ended::BrokenOff,
        hash: String::new(),
        work: WorkAt {
            work: 7,
            movement: Some("press-up".to_owned()),
            name: "press-up".to_owned(),
            side: None,
            block: 1,
            round: 2,
            rounds: 2,
            turn: None,
            planned_ms: Some(20_000),
        },
        over: false,
        at_ms: 300_000,
    };
    Event::Left(BTreeMap::from([(session.to_owned(), left)]))
}

fn begins(id: &str) -> [String; 4] {
    [
        "hush".to_owned(),
        "print Boathouse five begins.".to_owned(),
        "status Boathouse five begins.".to_owned(),
        format!("begin {id}"),
    ]
}

#[test]
fn next_and_previous_walk_round_and_start_begins_the_one_that_was_named() {
    let mut bench = two();
    let named = |bench: &mut Bench, verb: &str| bench.verb(verb).last().unwrap().clone();
    let waits = format!("say {WAITS}");
    for (verb, chosen) in [
        ("next", FIVE),
        ("next", "eight"),
        ("next", FIVE),
        ("previous", "eight"),
    ] {
        assert_eq!(named(&mut bench, verb), waits, "{verb}");
        let again = bench.verb("where");
        assert_eq!(again.join(""), waits, "{chosen}");
    }
    // The last of them is begun, while it is still being said.
    assert_eq!(bench.daemon.state(), State::Speaking);
    assert_eq!(bench.verb("start"), begins("eight"));
    assert_eq!(bench.daemon.state(), State::Class);
    // What was being said is over now: that is no news of the class.
    assert!(bench.spoken().is_empty());
    assert_eq!(bench.daemon.state(), State::Class);
}

#[test]
fn start_alone_begins_the_only_session_and_of_several_names_the_first() {
    let mut bench = Bench::looked();
    assert_eq!(bench.verb("start"), begins(FIVE));
    let mut bench = two();
    let told = bench.verb("start");
    assert_eq!(told.last().unwrap(), &format!("say {WAITS}"));
    assert_eq!(bench.verb("start"), begins(FIVE));
}

#[test]
fn what_is_told_before_the_first_look_is_done_after_it() {
    let mut bench = Bench::new();
    bench.ready(FIVE);
    assert!(bench.verb("start").is_empty());
    let looked = bench.step(Event::Told(Told::Looked));
    assert!(looked.contains(&"ready".to_owned()), "{looked:?}");
    assert_eq!(looked[looked.len() - 4..], begins(FIVE));
}

#[test]
fn what_was_silenced_before_it_was_said_holds_no_news_back() {
    let mut bench = two();
    bench.verb("next");
    bench.verb("pause");
    // Nobody tells the end of what was never begun.
    assert_eq!(bench.daemon.state(), State::Idle);
    bench.news(FIVE, fault(14));
    let told = bench.step(Event::Told(Told::Looked)).pop().unwrap();
    assert!(told.starts_with("say Boathouse five has a fault"), "{told}");
}

#[test]
fn the_buttons_of_a_headset_choose_and_begin() {
    let mut bench = two();
    // Next and previous of media keys are skip and back.
    assert_eq!(bench.verb("skip").last().unwrap(), &format!("say {WAITS}"));
    assert_eq!(bench.verb("back").last().unwrap(), &format!("say {WAITS}"));
    assert_eq!(bench.verb("pause"), ["hush"]);
    assert_eq!(bench.verb("pause-or-resume"), begins("eight"));
}

#[test]
fn a_session_is_begun_by_its_name_and_a_wrong_name_is_answered_with_the_nearest() {
    let mut bench = two();
    assert_eq!(bench.verb("start eight"), begins("eight"));
    let mut bench = two();
    let told = bench.verb("start boathouse-fiev");
    let said = "There is no session called boathouse fiev. Did you mean boathouse five?";
    assert_eq!(told, [format!("print {said}"), format!("say {said}")]);
    assert_eq!(bench.daemon.state(), State::Speaking);
    let told = bench.verb("start q").pop().unwrap();
    assert_eq!(told, "say There is no session called q.");
}

#[test]
fn of_a_session_at_fault_the_last_good_one_is_begun_once_that_was_said() {
    let mut bench = two();
    bench.news(FIVE, fault(14));
    bench.step(Event::Told(Told::Looked));
    bench.spoken();
    let told = bench.verb("start boathouse-five");
    assert!(
        told[1].starts_with("say Boathouse five has a fault in line 14"),
        "{told:?}"
    );
    assert!(
        told[1].ends_with("The last good one is spoken."),
        "{told:?}"
    );
    assert_eq!(bench.spoken(), begins(FIVE));
    // Another press while it is said is no second start of it.
    let mut bench = two();
    bench.news(FIVE, fault(14));
    bench.step(Event::Told(Told::Looked));
    bench.spoken();
    bench.verb("start boathouse-five");
    bench.verb("pause");
    assert!(bench.spoken().is_empty());
}

#[test]
fn what_was_left_is_told_first_and_start_goes_on_there() {
    let mut bench = Bench::new();
    bench.step(left(FIVE));
    bench.ready("eight");
    bench.ready(FIVE);
    let looked = bench.step(Event::Told(Told::Looked));
    let said = "say Two sessions are waiting. Boathouse five stopped in round two at the \
                press-up. Start goes on there.";
    assert!(looked.contains(&said.to_owned()), "{looked:?}");
    let started = bench.verb("start");
    assert_eq!(started.last().unwrap(), "go on with boathouse-five");
    // By choosing, its beginning comes after it.
    let mut bench = Bench::new();
    bench.step(left(FIVE));
    bench.ready(FIVE);
    bench.step(Event::Told(Told::Looked));
    assert_eq!(bench.verb("next").last().unwrap(), &format!("say {WAITS}"));
    assert_eq!(bench.verb("start"), begins(FIVE));
}

#[test]
fn while_a_class_runs_what_is_told_goes_to_it_and_news_waits_for_its_end() {
    let mut bench = two();
    bench.verb("start eight");
    for verb in ["pause", "skip", "next", "rate 7", "stop", "help"] {
        assert_eq!(bench.verb(verb), [format!("tell {verb}")]);
    }
    bench.news(FIVE, fault(14));
    let looked = bench.step(Event::Told(Told::Looked));
    assert!(!looked.iter().any(|e| e.starts_with("say ")), "{looked:?}");
    let over = bench.step(Event::ClassOver(None));
    let begins = [
        "show None",
        "look for left",
        "print Boathouse five has ended.",
    ];
    assert_eq!(over[..3], begins);
    let said = over.last().unwrap();
    assert!(
        said.starts_with("say Boathouse five has a fault"),
        "{over:?}"
    );
}

#[test]
fn a_class_whose_files_change_is_changed_once_they_are_planned_and_a_fault_leaves_it_alone() {
    let mut bench = two();
    bench.verb("start boathouse-five");
    // Planned as it was when it began: no change.
    assert!(
        bench
            .planned(FIVE, None)
            .iter()
            .all(|e| !e.starts_with("change"))
    );
    bench.session = Arc::new(starter(FIVE));
    bench.ready(FIVE);
    let planned = bench.planned(FIVE, None);
    assert_eq!(planned[0], "change boathouse-five");
    bench.session = Arc::new(starter(FIVE));
    bench.news(FIVE, fault(3));
    assert!(bench.planned(FIVE, None).is_empty());
    bench.ready(FIVE);
    let sense = bench.planned(FIVE, Some(super::what(fault(3))));
    assert!(sense.iter().all(|e| !e.starts_with("change")), "{sense:?}");
}

#[test]
fn the_effort_is_written_down_and_that_is_said() {
    let mut bench = two();
    assert_eq!(bench.verb("rate 7"), ["rate Some(7)"]);
    let noted = bench.step(Event::Rated(Ok(())));
    assert_eq!(noted, ["print Noted.", "say Noted."]);
    assert_eq!(bench.verb("rate skip"), ["rate None"]);
    let not = bench.step(Event::Rated(Err("there is no run".to_owned())));
    assert_eq!(not[1], "say There is no run.");
}

#[test]
fn wishes_are_kept_and_answered_and_have_their_bounds() {
    let mut bench = two();
    // In a class they are changed there, and kept here.
    let wishes = Wishes {
        speed: 1200,
        ..Wishes::default()
    };
    let kept = bench.step(Event::Wishes(wishes));
    assert_eq!(kept, [format!("keep {wishes:?}")]);
    let back = bench.step(Event::Wishes(Wishes::default()));
    assert_eq!(back.len(), 1);
    let told = bench.verb("louder");
    assert!(told[0].contains("volume_db: 3.0"), "{told:?}");
    assert_eq!(told[1], "say Louder.");
    for _ in 0..20 {
        bench.verb("speech-slower");
        bench.verb("talk-more");
    }
    let told = bench.verb("quieter");
    assert!(told[0].contains("speed: 700, talk: 2"), "{told:?}");
}

#[test]
fn whatever_makes_no_sense_between_classes_is_answered() {
    let mut bench = two();
    for verb in ["easier", "explain", "stop", "where"] {
        assert_eq!(bench.verb(verb), ["say No class runs."], "{verb}");
    }
    let again = bench.verb("repeat");
    assert_eq!(again, ["say No class runs."]);
    let mut empty = Bench::new();
    empty.step(Event::Told(Told::Looked));
    for verb in ["next", "previous", "start"] {
        assert_eq!(
            empty.verb(verb).last().unwrap(),
            "say No session is waiting."
        );
    }
}
