//! What is written down of a class, by what the core is told.

use crate::common::starter;
use crate::common::tabled_plan;
use sidevoice::base::units::At;
use sidevoice::base::units::Frames;
use sidevoice::base::units::Millis;
use sidevoice::live::control::Verb;
use sidevoice::live::core::Core;
use sidevoice::live::core::Effect;
use sidevoice::live::core::Event;
use sidevoice::live::core::Message;
use sidevoice::live::history::Done;
use sidevoice::live::history::Happening;
use sidevoice::live::history::Noter;
use sidevoice::live::history::Step;
use sidevoice::live::history::Told;
use sidevoice::planning::session::Session;
use sidevoice::planning::timeline::Segment;
use sidevoice::planning::timeline::SegmentKind;
use sidevoice::planning::timeline::Timeline;
use std::sync::Arc;

/// A class of the starter folder that runs by hand.
struct Class {
    core: Core<'static>,
    noter: Noter,
    timeline: Timeline,
    /// All notes so far: position in ms, and what.
    notes: Vec<(i64, Happening)>,
    ms: i64,
}

impl Class {
    fn new(session: &Session) -> Self {
        let plan = tabled_plan(session);
        let mut class = Self {
            core: Core::default(),
            noter: Noter::new(Arc::new(session.clone())),
            timeline: plan.timeline.clone(),
            notes: Vec::new(),
            ms: 0,
        };
        class.tell(Event::Planned {
            sounds: (0..).zip(plan.sounds).collect(),
            timeline: plan.timeline,
            begins: None,
        });
        class.tell(Event::AllPlanned);
        class
    }

    fn tell(&mut self, event: Event) {
        let told = Told::from(&event);
        let effects = self.core.step(event);
        self.step(told, &effects);
    }

    fn step(&mut self, told: Told, effects: &[Effect]) {
        for effect in effects {
            if let Effect::Jump(to) = effect {
                self.ms = to.ms();
            }
        }
        let step = Step {
            told,
            effects,
            timeline: Some(&self.timeline),
            frame: Frames::ZERO,
        };
        let notes = self.noter.note(&step);
        self.notes
            .extend(notes.into_iter().map(|(at, what)| (at.ms(), what)));
    }

    /// Lets the clock run to an instant, in turns of the shell.
    fn run_to(&mut self, ms: i64) {
        while self.ms < ms {
            self.ms = (self.ms + 21).min(ms);
            self.tell(Event::Clock {
                at: At::from_ms(self.ms),
                settled: true,
                heard: Millis::ZERO,
            });
        }
    }

    /// The segment of a work, counted from 0.
    fn work(&self, index: usize) -> Segment {
        let is = |s: &&Segment| s.kind == SegmentKind::Work && s.work == Some(index);
        self.timeline.segments.iter().find(is).unwrap().clone()
    }

    /// What was noted since the last call, in short.
    fn news(&mut self) -> Vec<String> {
        let notes = std::mem::take(&mut self.notes);
        notes
            .iter()
            .map(|(at, what)| format!("{at} {}", short(what)))
            .collect()
    }
}

fn short(what: &Happening) -> String {
    let left = |done: &Done| format!("{} of {:?}", done.done_ms, done.work.planned_ms);
    match what {
        Happening::WorkBegun(work) => format!("begun {}", work.work),
        Happening::WorkDone(done) => format!("done {}: {}", done.work.work, left(done)),
        Happening::Skipped(done) => format!("skipped {}: {}", done.work.work, left(done)),
        other => format!("{other:?}"),
    }
}

#[test]
fn a_whole_class_has_each_work_begun_and_done_on_its_change() {
    let session = starter("boathouse-five");
    let mut class = Class::new(&session);
    let end = class.timeline.end().ms();
    class.run_to(end + 100);
    let mut wanted = Vec::new();
    for index in 0..12 {
        let work = class.work(index);
        let number = index + 1;
        wanted.push(format!("{} begun {number}", work.start.ms()));
        wanted.push(format!(
            "{} done {number}: 20000 of Some(20000)",
            work.end.ms()
        ));
    }
    let news = class.news();
    assert_eq!(news[..24], wanted[..]);
    // The class begins 440 ms in, at its first sound.
    let last = &news[24];
    let played: i64 = last.split("played_ms: ").nth(1).unwrap()[..6]
        .parse()
        .unwrap();
    assert!(
        last.contains("Finished") && (played - (end - 440)).abs() < 21,
        "{last}"
    );
    assert_eq!(news.len(), 25);
}

#[test]
fn a_work_knows_its_movement_side_and_round() {
    let session = starter("boathouse-five");
    let mut class = Class::new(&session);
    class.run_to(class.work(8).start.ms() + 1000);
    let (_, Happening::WorkBegun(work)) = class.notes.last().unwrap() else {
        panic!("{:?}", class.notes.last());
    };
    assert_eq!(work.movement.as_deref(), Some("one-arm-row"));
    assert_eq!(
        (work.name.as_str(), work.side.as_deref()),
        ("one-arm row", Some("right"))
    );
    assert_eq!(
        (work.work, work.block, work.round, work.rounds),
        (9, 1, 2, 2)
    );
}

#[test]
fn a_skip_is_noted_with_what_was_done_and_what_follows_is_whole() {
    let session = starter("boathouse-five");
    let mut class = Class::new(&session);
    let (first, second) = (class.work(0), class.work(1));
    let at = first.start.ms() + 5000;
    class.run_to(at);
    class.tell(Event::Verb(Verb::Skip));
    class.run_to(first.end.ms() + 1000);
    class.tell(Event::Verb(Verb::Skip));
    class.run_to(second.end.ms() + 1000);
    let wanted = [
        format!("{} begun 1", first.start.ms()),
        format!("{at} skipped 1: 5000 of Some(20000)"),
        // Held until its name was said.
        format!(
            "{} SkippedRest {{ segment: \"rest\" }}",
            first.end.ms() + 1000
        ),
        format!("{} begun 2", second.start.ms()),
        format!("{} done 2: 20000 of Some(20000)", second.end.ms()),
    ];
    assert_eq!(class.news(), wanted);
}

#[test]
fn a_pause_in_a_work_takes_nothing_from_it_and_a_lost_device_is_one() {
    let session = starter("boathouse-five");
    let mut class = Class::new(&session);
    let first = class.work(0);
    let at = first.start.ms() + 5000;
    class.run_to(at);
    class.news();
    class.tell(Event::Verb(Verb::PauseOrResume));
    class.tell(Event::Verb(Verb::PauseOrResume));
    class.tell(Event::SaidOver);
    let wanted = [format!("{at} Paused"), format!("{at} Resumed")];
    assert_eq!(class.news(), wanted);
    class.tell(Event::DeviceLost);
    class.tell(Event::DeviceBack { away: Millis::ZERO });
    class.tell(Event::SaidOver);
    class.tell(Event::SaidOver);
    class.run_to(first.end.ms());
    let wanted = [
        format!("{at} DeviceLost"),
        format!("{at} Paused"),
        format!("{at} DeviceBack"),
        format!("{at} Resumed"),
        format!("{} done 1: 20000 of Some(20000)", first.end.ms()),
    ];
    assert_eq!(class.news(), wanted);
}

#[test]
fn going_back_begins_the_work_again() {
    let session = starter("boathouse-five");
    let mut class = Class::new(&session);
    let work = class.work(1);
    let at = work.start.ms() + 8000;
    class.run_to(at);
    class.news();
    // Just before the change, and on it.
    for to in [work.start.ms() - 5, work.start.ms()] {
        class.step(Told::Verb(Verb::Back), &[Effect::Jump(At::from_ms(to))]);
        class.run_to(at);
        let wanted = [
            format!("{at} GoneBack {{ to_ms: {to} }}"),
            format!("{} begun 2", work.start.ms()),
        ];
        assert_eq!(class.news(), wanted);
    }
    class.run_to(work.end.ms());
    let wanted = format!("{} done 2: 20000 of Some(20000)", work.end.ms());
    assert_eq!(class.news(), [wanted]);
}

#[test]
fn a_stop_an_easier_option_and_an_effort_are_noted() {
    let session = starter("boathouse-five");
    let mut class = Class::new(&session);
    let at = class.work(0).start.ms() + 500;
    class.run_to(at);
    class.news();
    class.step(Told::Verb(Verb::Easier), &[Effect::Say(Message::NoEasier)]);
    assert_eq!(class.news(), [""; 0]);
    class.step(Told::Verb(Verb::Easier), &[Effect::Easier]);
    assert!(class.news()[0].contains("MadeEasier"));
    class.tell(Event::Verb(Verb::Stop));
    assert!(class.news()[0].starts_with(&format!("{at} Stopped")));
    // Nothing follows but the answer.
    class.step(
        Told::Verb(Verb::Skip),
        &[Effect::Jump(At::from_ms(at + 99_000))],
    );
    class.step(Told::Verb(Verb::Rate(Some(7))), &[Effect::Rate(Some(7))]);
    let news = class.news();
    assert_eq!(news.len(), 1);
    assert!(news[0].contains("felt: Some(7), later: false"), "{news:?}");
}
