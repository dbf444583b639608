//! The background process as a pure function: what is printed, said and made ready, and when.

mod choosing;

use crate::common::starter;
use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::live::control::Verb;
use sidevoice::live::core::Wishes;
use sidevoice::live::daemon::Daemon;
use sidevoice::live::daemon::Effect;
use sidevoice::live::daemon::Event;
use sidevoice::live::daemon::Hints;
use sidevoice::live::daemon::State;
use sidevoice::live::watch::Fault;
use sidevoice::live::watch::News;
use sidevoice::live::watch::Told;
use sidevoice::live::watch::Verdict;
use sidevoice::planning::script::Brief;
use sidevoice::planning::session::Session;
use std::sync::Arc;

const FIVE: &str = "boathouse-five";

/// A daemon with what it was told, and its effects in words.
struct Bench {
    daemon: Daemon,
    session: Arc<Session>,
    /// How often something was said.
    said: u64,
}

fn fault(line: usize) -> Verdict {
    Verdict::Fault(Fault {
        movement: None,
        line: Some(line),
        message: "expected a duration, found \"soon\"".to_owned(),
        help: "write it as \"20s\"".to_owned(),
    })
}

/// The fault of a verdict.
fn what(verdict: Verdict) -> Fault {
    match verdict {
        Verdict::Fault(fault) => fault,
        other => panic!("{other:?}"),
    }
}

impl Bench {
    fn new() -> Self {
        Self {
            daemon: Daemon::new(
                Wording::of(Language::English),
                Hints::default(),
                Wishes::default(),
            ),
            said: 0,
            session: Arc::new(starter(FIVE)),
        }
    }

    fn looked() -> Self {
        let mut bench = Self::new();
        bench.ready(FIVE);
        bench.step(Event::Told(Told::Looked));
        bench.spoken();
        assert_eq!(bench.daemon.state(), State::Idle);
        bench
    }

    fn step(&mut self, event: Event) -> Vec<String> {
        let effects = self.daemon.step(event);
        let says = effects.iter().filter(|e| matches!(e, Effect::Say(_)));
        self.said += says.count() as u64;
        let words = effects.into_iter().map(|effect| match effect {
            Effect::Print(text) => format!("print {text}"),
            Effect::Say(text) => format!("say {text}"),
            Effect::Prepare { id, urgent, .. } if urgent => format!("prepare {id} now"),
            Effect::Prepare { id, .. } => format!("prepare {id}"),
            Effect::Forget(id) => format!("forget {id}"),
            Effect::Ready => "ready".to_owned(),
            Effect::Status(text) => format!("status {text}"),
            Effect::ReadAgain => "read again".to_owned(),
            Effect::Hush => "hush".to_owned(),
            Effect::Begin { id, left: None, .. } => format!("begin {id}"),
            Effect::Begin { id, .. } => format!("go on with {id}"),
            Effect::Tell(verb) => format!("tell {}", verb.text()),
            Effect::Change { id, .. } => format!("change {id}"),
            Effect::Rate(felt) => format!("rate {felt:?}"),
            Effect::Keep(wishes) => format!("keep {wishes:?}"),
            Effect::LookForLeft => "look for left".to_owned(),
            Effect::Show(title) => format!("show {title:?}"),
            Effect::End => "end".to_owned(),
        });
        words.collect()
    }

    /// What is being said is over.
    fn spoken(&mut self) -> Vec<String> {
        self.step(Event::Spoken(self.said))
    }

    fn verb(&mut self, text: &str) -> Vec<String> {
        self.step(Event::Verb(Verb::parse(text).unwrap()))
    }

    fn news(&mut self, id: &str, verdict: Verdict) -> Vec<String> {
        let news = News {
            id: id.to_owned(),
            verdict,
            session: Some(Arc::clone(&self.session)),
            same: false,
        };
        self.step(Event::Told(Told::News(news)))
    }

    fn ready(&mut self, id: &str) -> Vec<String> {
        let verdict = Verdict::Ready(Brief::of(&self.session));
        self.news(id, verdict)
    }

    fn planned(&mut self, id: &str, fault: Option<Fault>) -> Vec<String> {
        let session = Arc::clone(&self.session);
        self.step(Event::Planned {
            id: id.to_owned(),
            session,
            fault,
        })
    }
}

const WAITS: &str = "Boathouse five is waiting: two rounds of five, six minutes ten. You need a \
                     bench and one dumbbell.";

#[test]
fn a_folder_is_printed_by_session_and_told_in_one_sentence() {
    let mut bench = Bench::new();
    let told = bench.ready(FIVE);
    assert_eq!(told, [format!("print boathouse-five: {WAITS}")]);
    bench.ready("eight");
    bench.news("bad", fault(14));
    let looked = bench.step(Event::Told(Told::Looked));
    assert_eq!(
        looked,
        [
            "status Two sessions are waiting and one has a fault",
            "ready",
            "say Two sessions are waiting and one has a fault.",
            "prepare boathouse-five",
            "prepare eight"
        ]
    );
    // Planned later, without a fault: nothing new.
    assert!(bench.planned(FIVE, None).is_empty());
    assert!(bench.spoken().is_empty());
    let mut empty = Bench::new();
    let looked = empty.step(Event::Told(Told::Looked));
    assert_eq!(looked.last().unwrap(), "say No session is waiting.");
}

#[test]
fn a_change_is_told_once_it_is_planned_and_only_if_the_verdict_is_another() {
    let mut bench = Bench::looked();
    let told = bench.news(FIVE, fault(14));
    let print = "print boathouse-five: Boathouse five has a fault in line 14: expected a duration, \
                 found \"soon\". Help: write it as \"20s\".";
    assert_eq!(told, ["forget boathouse-five", print]);
    let said = bench.step(Event::Told(Told::Looked));
    let say = "say Boathouse five has a fault in line 14: expected a duration, found \"soon\".";
    assert_eq!(said, ["status One has a fault", say]);
    bench.spoken();
    assert_eq!(bench.ready(FIVE), ["prepare boathouse-five now"]);
    assert_eq!(
        bench.step(Event::Told(Told::Looked)),
        ["status One session is waiting"]
    );
    let planned = bench.planned(FIVE, None);
    assert_eq!(
        planned,
        [
            format!("print boathouse-five: {WAITS}"),
            format!("say {WAITS}")
        ]
    );
    bench.spoken();
    // Something behind the verdict changed: made ready again, and nothing is said.
    assert_eq!(bench.ready(FIVE), ["prepare boathouse-five now"]);
    assert!(bench.planned(FIVE, None).is_empty());
    // A fault that only planning finds.
    bench.ready(FIVE);
    let Verdict::Fault(found) = fault(3) else {
        unreachable!()
    };
    let planned = bench.planned(FIVE, Some(found));
    assert!(
        planned
            .last()
            .unwrap()
            .contains("say Boathouse five has a fault in line 3"),
        "{planned:?}"
    );
}

#[test]
fn what_changes_while_something_is_said_waits_and_what_changed_back_is_no_news() {
    let mut bench = Bench::looked();
    bench.news(FIVE, fault(14));
    bench.step(Event::Told(Told::Looked));
    assert_eq!(bench.daemon.state(), State::Speaking);
    // Mended, broken in the same way again, all while the first is being said.
    bench.ready(FIVE);
    assert!(
        bench
            .planned(FIVE, None)
            .iter()
            .all(|e| !e.starts_with("say"))
    );
    bench.news(FIVE, fault(14));
    let told = bench.step(Event::Told(Told::Looked));
    assert!(told.iter().all(|e| !e.starts_with("say")));
    assert!(bench.spoken().is_empty());
    assert_eq!(bench.daemon.state(), State::Idle);
}

#[test]
fn many_changes_are_told_by_their_number() {
    let mut bench = Bench::looked();
    bench.news("one", fault(1));
    bench.news("two", fault(2));
    bench.ready("three");
    bench.news(FIVE, Verdict::Gone);
    assert!(
        bench
            .step(Event::Told(Told::Looked))
            .iter()
            .all(|e| !e.starts_with("say"))
    );
    let said = bench.planned("three", None);
    let say = "say Four sessions have changed: one session is waiting, two have faults and one is \
               no longer there.";
    assert_eq!(said.last().unwrap(), say);
    // What is gone is forgotten.
    assert!(bench.daemon.session(FIVE).is_none());
    assert!(bench.daemon.session("two").is_some());
}

#[test]
fn an_outdated_plan_is_no_answer_and_after_the_end_nothing_is_done() {
    let mut bench = Bench::looked();
    bench.ready(FIVE);
    let old = Arc::new(starter(FIVE));
    let answer = bench.step(Event::Planned {
        id: FIVE.to_owned(),
        session: old,
        fault: None,
    });
    assert!(answer.is_empty(), "{answer:?}");
    assert_eq!(bench.step(Event::ReadAgain), ["read again"]);
    assert_eq!(
        bench.step(Event::Notice("the disk is full".to_owned())),
        ["print The disk is full."]
    );
    assert_eq!(bench.step(Event::Stop), ["end"]);
    assert!(bench.ready(FIVE).is_empty());
}
