//! Planning again while a class runs: where the new plan takes over, what is spoken again, and a class that
//! begins in the middle.

use super::clock;
use crate::common::Tabled;
use crate::common::starter;
use crate::common::tabled_plan;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::live::control::Verb;
use sidevoice::live::core::Core;
use sidevoice::live::core::Effect;
use sidevoice::live::core::Event;
use sidevoice::live::core::State;
use sidevoice::live::core::Wishes;
use sidevoice::live::core::Words;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::plan::Sound;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::Side;
use sidevoice::planning::timeline::Landmark;
use sidevoice::planning::timeline::Segment;
use sidevoice::planning::timeline::SegmentKind;
use sidevoice::planning::timeline::Timeline;
use sidevoice::planning::timeline::works;

/// A class of a session, running.
fn class() -> (Core<'static>, Vec<Sound>, Timeline) {
    let plan = tabled_plan(&starter("boathouse-five"));
    let mut core = Core::default();
    core.step(Event::Planned {
        sounds: (0..).zip(plan.sounds.iter().cloned()).collect(),
        timeline: plan.timeline.clone(),
        begins: None,
    });
    core.step(Event::AllPlanned);
    (core, plan.sounds, plan.timeline)
}

/// A session that is kept for as long as the test runs: a core speaks of it.
fn kept() -> &'static Session {
    Box::leak(Box::new(starter("boathouse-five")))
}

fn words_of(session: &'static Session) -> Words<'static> {
    Words::new(session, Box::leak(Box::new(Wording::english())))
}

fn rests(timeline: &Timeline) -> Vec<&Segment> {
    let rest = |s: &&Segment| matches!(s.kind, SegmentKind::Rest | SegmentKind::Finish);
    timeline.segments.iter().filter(rest).collect()
}

#[test]
fn a_changed_class_is_planned_from_the_next_rest_and_taken_over_just_after_its_tone() {
    let (mut core, _, timeline) = class();
    let first = rests(&timeline)[0].start.ms();
    let second = rests(&timeline)[1].start.ms();
    for (now, from, work) in [
        (20_000, first, 1),
        (first - 5_000, first, 1),
        // Too late for this one.
        (first - 1_000, second, 2),
        (first + 3_000, second, 2),
    ] {
        let (mut core, ..) = class();
        clock(&mut core, now);
        assert_eq!(
            core.step(Event::Changed),
            [Effect::PlanFrom(work)],
            "at {now}"
        );
        let still = clock(&mut core, from + 340);
        assert!(!still.iter().any(|e| matches!(e, Effect::HandOver(_))));
        let over = clock(&mut core, from + 360);
        assert_eq!(over.last(), Some(&Effect::HandOver(Millis::from_ms(360))));
    }
    // After the last work there is the finish, and nothing after that.
    let last = rests(&timeline).last().unwrap().start.ms();
    clock(&mut core, last - 4_000);
    assert_eq!(core.step(Event::Changed), [Effect::PlanFrom(12)]);
    clock(&mut core, last + 2_000);
    assert_eq!(core.step(Event::Changed), []);
}

#[test]
fn a_skip_past_the_place_has_it_planned_from_the_next_one() {
    let (mut core, _, timeline) = class();
    let first = rests(&timeline)[0].start.ms();
    clock(&mut core, first - 5_000);
    core.step(Event::Changed);
    let past = clock(&mut core, first + 5_000);
    assert!(past.contains(&Effect::PlanFrom(2)), "{past:?}");
}

#[test]
fn the_class_that_takes_over_goes_on_in_time_with_what_was_wished() {
    let session = kept();
    let words = || words_of(session);
    let wishes = Wishes {
        speed: 1200,
        ..Wishes::default()
    };
    let plan = tabled_plan(session);
    let rest = rests(&plan.timeline)[0].start;
    let core = Core::new(words(), wishes);
    let mut core = Core::after(words(), core.carried(Some(Millis::from_ms(360))));
    let later = |(_, s): &(u64, Sound)| s.onset >= rest + Millis::from_ms(350);
    let sounds = (0..).zip(plan.sounds).filter(later).collect();
    let effects = core.step(Event::Planned {
        sounds,
        timeline: plan.timeline,
        begins: Some(rest),
    });
    assert_eq!(effects[0], Effect::Jump(rest + Millis::from_ms(360)));
    assert!(effects.contains(&Effect::Play));
    assert_eq!(core.state(), State::Running);
    // The end tone is that of the plan before.
    assert!(
        !effects
            .iter()
            .any(|e| matches!(e, Effect::Feed { onset, .. } if *onset <= rest))
    );
    let faster = core.step(Event::Verb(Verb::SpeechFaster));
    assert_eq!(faster[0], Effect::Speed(1300));
    // Back to what lies before the plan: planned again from there.
    clock(&mut core, rest.ms() + 2_000);
    let back = core.step(Event::Verb(Verb::Back));
    assert_eq!(back.last(), Some(&Effect::StartFrom(0)), "{back:?}");
}

#[test]
fn a_plan_whose_first_work_comes_next_is_taken_over_at_that_work_by_name_and_count() {
    let session = kept();
    let words = || words_of(session);
    let plan = tabled_plan(session);
    let work = plan.timeline.segments[1].start;
    let core = Core::new(words(), Wishes::default());
    let mut core = Core::after(words(), core.carried(Some(Millis::from_ms(360))));
    let sounds = (0..).zip(plan.sounds).filter(|(_, s)| s.onset >= work);
    let effects = core.step(Event::Planned {
        sounds: sounds.collect(),
        timeline: plan.timeline,
        begins: Some(work),
    });
    assert_eq!(effects[0], Effect::Hold);
    assert!(effects.contains(&Effect::Jump(work - Millis::from_ms(5))));
    let tone = |e: &Effect| matches!(e, Effect::Feed { onset, .. } if *onset == work);
    assert!(effects.iter().any(tone), "{effects:?}");
    let count = core.step(Event::SaidOver);
    assert_eq!(count, [Effect::CountIn { tone: false }]);
    // The opening is not said again, whatever work of the lead-in comes.
    assert_eq!(from_work(session, 0).1, work);
}

#[test]
fn a_class_that_begins_in_the_middle_says_where_and_then_goes_on() {
    let session = kept();
    let plan = tabled_plan(session);
    let rest = rests(&plan.timeline)[5].start;
    let mut core = Core::new(words_of(session), Wishes::default()).in_the_middle();
    let later = |(_, s): &(u64, Sound)| s.onset >= rest + Millis::from_ms(350);
    let sounds = (0..).zip(plan.sounds).filter(later).collect();
    let effects = core.step(Event::Planned {
        sounds,
        timeline: plan.timeline,
        begins: Some(rest),
    });
    let said = effects.iter().find_map(|e| match e {
        Effect::SayText(text) => Some(text.as_str()),
        _ => None,
    });
    let wanted = "Boathouse five goes on. Bench squat. Round two of two.";
    assert_eq!(said, Some(wanted));
    assert_eq!(core.state(), State::Announcing);
    let on = core.step(Event::SaidOver);
    assert!(on.contains(&Effect::Play), "{on:?}");
    assert_eq!(core.state(), State::Running);
}

#[test]
fn at_another_speed_what_waits_is_spoken_again_and_taken_if_it_ends_in_time() {
    let (mut core, sounds, timeline) = class();
    let rest = rests(&timeline)[0];
    let now = rest.start.ms() - 15_000;
    clock(&mut core, now);
    let slower = core.step(Event::Verb(Verb::SpeechSlower));
    let ids = slower.iter().find_map(|e| match e {
        Effect::Respeak(lines) => {
            assert!(lines.iter().all(|(_, rate)| rate.per_mille() <= 1008));
            Some(lines.iter().map(|(id, _)| *id).collect::<Vec<_>>())
        }
        _ => None,
    });
    let ids = ids.expect("lines to come");
    let line = |id: &u64| &sounds[*id as usize];
    // Up to where the new plan takes over, and only lines.
    for id in &ids {
        let kind = &line(id).kind;
        assert!(matches!(kind, SoundKind::Line { .. }) && line(id).onset < rest.start);
    }
    assert!(slower.contains(&Effect::PlanFrom(1)));
    let (id, sound) = (ids[0], line(&ids[0]));
    let rate = sound.rate.at_speed(1000, 900);
    let taken = core.step(Event::Respoken {
        id,
        lasts: (sound.end - sound.onset) + Millis::from_ms(200),
        rate,
    });
    let onset = sound.onset;
    let wanted = [
        Effect::Withdraw(id),
        Effect::Swap { id, onset },
        Effect::Feed { id, onset },
    ];
    assert_eq!(taken, wanted);
    assert_eq!(core.sound(id).unwrap().rate, rate);
    // Told again before that, both steps count from the plan's own rate; what comes of the first is late.
    let slower = core.step(Event::Verb(Verb::SpeechSlower));
    let again = slower.iter().find_map(|e| match e {
        Effect::Respeak(lines) => lines
            .iter()
            .find(|(of, _)| *of == id)
            .map(|(_, rate)| *rate),
        _ => None,
    });
    assert_eq!(again, Some(sound.rate.at_speed(1000, 800)));
    let lasts = sound.end - sound.onset;
    assert_eq!(core.step(Event::Respoken { id, lasts, rate }), []);
    let rate = sound.rate.at_speed(1000, 800);
    // Into the count it does not fit: it stays as it was.
    let lasts = rest.start - onset;
    assert_eq!(core.step(Event::Respoken { id, lasts, rate }), []);
    // Nor when it sounds already.
    clock(&mut core, onset.ms() + 50);
    let lasts = Millis::from_ms(500);
    assert_eq!(core.step(Event::Respoken { id, lasts, rate }), []);
}

#[test]
fn fewer_words_drop_at_once_what_nobody_needs() {
    let (mut core, sounds, _) = class();
    let extra = |s: &Sound| {
        let words = ["recovery", "progress", "harder"];
        matches!(&s.kind, SoundKind::Line { topic, .. } if words.contains(&topic.word()))
    };
    let found = (0..).zip(&sounds).find(|(_, s)| extra(s));
    let (id, line) = found.expect("one such line");
    assert!(core.sound(id).is_some());
    clock(&mut core, line.onset.ms() - 1_000);
    let less = core.step(Event::Verb(Verb::TalkLess));
    assert_eq!(less[0], Effect::Talk(-1));
    assert!(less.contains(&Effect::Withdraw(id)), "{less:?}");
    assert!(core.sound(id).is_none());
    // What is needed stays.
    let dropped = less.iter().filter(|e| matches!(e, Effect::Withdraw(_)));
    assert!(dropped.count() <= 3, "{less:?}");
}

/// The next stretch of a plan that went to a work without speaking, and all of the plan.
fn from_work(session: &Session, work: usize) -> (Vec<Sound>, At) {
    let wording = Wording::english();
    let settings = compile::settings("tabled", CautionLength::Full);
    let mut planner = Planner::new(session, &wording, settings, &mut Tabled);
    let begins = planner.go_to_work(work, false, &mut Tabled).unwrap();
    let stretch = planner.next_stretch(&mut Tabled).unwrap();
    (stretch.sounds, planner.timeline().segments[begins].start)
}

#[test]
fn a_plan_from_a_work_on_says_what_the_whole_plan_says_there() {
    // Tabled lengths are as estimated: what was not spoken changes nothing.
    for id in ["boathouse-five", "ladder", "ten-alone"] {
        let session = starter(id);
        let plan = tabled_plan(&session);
        let all = works(&session).len();
        for work in [0, 1, 5, all - 1, all] {
            let (sounds, begins) = from_work(&session, work);
            let whole: Vec<_> = plan.sounds.iter().filter(|s| sounds.contains(s)).collect();
            assert_eq!(whole.len(), sounds.len(), "{id} from work {work}");
            assert!(sounds.iter().any(|s| s.onset >= begins));
        }
    }
}

#[test]
fn a_work_is_found_again_in_a_session_that_was_changed() {
    let before = starter("boathouse-five");
    let list = works(&before);
    let find =
        |index: usize, after: &Session| Landmark::of(&before, &list, index).unwrap().find(after);
    // Unchanged, each is where it was.
    for index in 0..list.len() {
        assert_eq!(find(index, &before), index);
    }
    // Without the first movement everything is one place earlier in the first round.
    let mut after = before.clone();
    after.text.blocks[0].uses.remove(0);
    assert_eq!(find(1, &after), 0);
    let left = (0..list.len())
        .find(|i| list[*i].side == Some(Side::Left))
        .unwrap();
    let found = find(left, &after);
    assert_eq!(works(&after)[found].side, Some(Side::Left));
    // Of a round that is gone, the end.
    after.text.blocks[0].rounds = 1;
    let last = works(&after).len();
    assert_eq!(find(list.len() - 1, &after), last);
}
