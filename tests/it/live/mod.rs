//! A running class as its core sees it: what is told, by verb and moment.

mod again;
mod hall;
mod recorded;
mod script;
mod tape;

use crate::common::starter;
use crate::common::tabled_plan;
use crate::random::LIBRARY;
use crate::random::sessions::session;
use sidevoice::base::units::At;
use sidevoice::base::units::Millis;
use sidevoice::base::wording::Wording;
use sidevoice::live::control::Verb;
use sidevoice::live::core::Core;
use sidevoice::live::core::Effect;
use sidevoice::live::core::Event;
use sidevoice::live::core::Message;
use sidevoice::live::core::State;
use sidevoice::live::core::Wishes;
use sidevoice::live::core::Words;
use sidevoice::planning::plan::Sound;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::plan::Tone;
use sidevoice::planning::session::Session;
use sidevoice::planning::timeline::Segment;
use sidevoice::planning::timeline::Timeline;
use std::sync::LazyLock;

/// A class whose whole plan is made, about to begin.
fn class() -> (Core<'static>, Vec<(u64, Sound)>) {
    let plan = tabled_plan(&starter("boathouse-five"));
    let sounds: Vec<_> = (0..).zip(plan.sounds.iter().cloned()).collect();
    let mut core = Core::default();
    core.step(Event::Planned {
        sounds: sounds.clone(),
        timeline: plan.timeline,
        begins: None,
    });
    core.step(Event::AllPlanned);
    (core, sounds)
}

fn clock(core: &mut Core, ms: i64) -> Vec<Effect> {
    core.step(Event::Clock {
        at: At::from_ms(ms),
        settled: true,
        heard: Millis::from_ms(ms),
    })
}

fn fed(effects: &[Effect]) -> Vec<(u64, i64)> {
    let feed = |e: &Effect| match e {
        Effect::Feed { id, onset } => Some((*id, onset.ms())),
        _ => None,
    };
    effects.iter().filter_map(feed).collect()
}

#[test]
fn a_class_begins_just_before_its_first_sound() {
    let plan = tabled_plan(&starter("boathouse-five"));
    let sounds = (0..).zip(plan.sounds.iter().cloned()).collect();
    let mut core = Core::default();
    let effects = core.step(Event::Planned {
        sounds,
        timeline: plan.timeline,
        begins: None,
    });
    assert_eq!(effects[0], Effect::Jump(At::from_ms(440)));
    assert!(effects.contains(&Effect::Play));
    assert_eq!(core.state(), State::Running);
}

#[test]
fn the_first_line_is_heard_while_its_stretch_is_made_and_the_clock_waits_after_it() {
    let plan = tabled_plan(&starter("boathouse-five"));
    let first = plan.sounds[0].clone();
    let mut core = Core::default();
    let effects = core.step(Event::FirstLine {
        id: 0,
        sound: first.clone(),
    });
    assert_eq!(effects[0], Effect::Jump(At::from_ms(440)));
    assert_eq!(fed(&effects), [(0, 500)]);
    assert!(effects.contains(&Effect::Play));
    assert!(core.wants_more());
    let effects = clock(&mut core, first.end.ms() + 350);
    assert_eq!(effects, [Effect::Hold, Effect::Show(State::Building)]);
    let sounds = (1..).zip(plan.sounds[1..].iter().cloned()).collect();
    let effects = core.step(Event::Planned {
        sounds,
        timeline: plan.timeline,
        begins: None,
    });
    assert!(effects.contains(&Effect::Play), "{effects:?}");
    assert!(!effects.iter().any(|e| matches!(e, Effect::Jump(_))));
}

#[test]
fn clips_are_handed_over_half_a_minute_ahead_and_once() {
    let (mut core, sounds) = class();
    let mut all = Vec::new();
    for second in 1..600 {
        let now = fed(&clock(&mut core, second * 1000));
        for (_, onset) in &now {
            assert!(*onset <= second * 1000 + 30_000);
        }
        all.extend(now);
    }
    all.sort_unstable();
    all.dedup();
    let late = sounds.iter().filter(|(_, s)| s.onset.ms() > 31_000);
    assert_eq!(all.len(), late.count());
    assert_eq!(core.state(), State::Finished);
}

/// The class with words of its own, at an instant, running.
fn at(ms: i64) -> (Core<'static>, Vec<(u64, Sound)>) {
    static SESSION: LazyLock<Session> = LazyLock::new(|| starter("boathouse-five"));
    thread_local! {
        // Kept for as long as the test runs: a core speaks of it.
        static WORDING: &'static Wording = Box::leak(Box::new(Wording::english()));
    }
    let plan = tabled_plan(&SESSION);
    let sounds: Vec<_> = (0..).zip(plan.sounds.iter().cloned()).collect();
    let mut core = Core::new(
        Words::new(&SESSION, WORDING.with(|w| *w)),
        Wishes::default(),
    );
    core.step(Event::Planned {
        sounds: sounds.clone(),
        timeline: plan.timeline,
        begins: None,
    });
    core.step(Event::AllPlanned);
    clock(&mut core, ms);
    (core, sounds)
}

fn texts<'e>(effects: &'e [Effect], sounds: &'e [(u64, Sound)]) -> Vec<String> {
    let said = |e: &'e Effect| match e {
        Effect::SayText(text) => Some(text.clone()),
        Effect::SayAgain(id) => Some(sounds[*id as usize].1.text.clone()),
        Effect::CountIn { tone } => Some(format!("count in, tone {tone}")),
        Effect::Play => Some("play".to_owned()),
        _ => None,
    };
    effects.iter().filter_map(said).collect()
}

/// Goes on until nothing more is said; returns what was said and done.
fn said_to_the_end(core: &mut Core, sounds: &[(u64, Sound)]) -> Vec<String> {
    let mut all = Vec::new();
    for _ in 0..10 {
        all.extend(texts(&core.step(Event::SaidOver), sounds));
        if core.state() == State::Running {
            break;
        }
    }
    all
}

/// Two rounds of five: the second work, the press-up, from 1:45 to 2:05 by the table.
const IN_THE_SECOND_WORK: i64 = 112_000;

#[test]
fn after_a_pause_a_work_goes_on_with_its_name_and_a_count() {
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    let pause = core.step(Event::Verb(Verb::PauseOrResume));
    let wanted = [
        Effect::Hold,
        Effect::Show(State::Paused),
        Effect::Say(Message::Paused),
    ];
    assert_eq!(pause, wanted);
    core.step(Event::SaidOver);
    // Six seconds pass; the clock of the session stands.
    core.step(Event::Clock {
        at: At::from_ms(IN_THE_SECOND_WORK),
        settled: true,
        heard: Millis::from_ms(IN_THE_SECOND_WORK + 6000),
    });
    let resume = core.step(Event::Verb(Verb::PauseOrResume));
    assert_eq!(texts(&resume, &sounds), ["Press-up."]);
    assert_eq!(said_to_the_end(&mut core, &sounds), ["count in, tone true"]);
    assert_eq!(core.state(), State::Running);
}

#[test]
fn after_a_short_pause_the_count_is_enough_and_at_the_end_of_a_work_its_rest_follows() {
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    core.step(Event::Verb(Verb::Pause));
    core.step(Event::SaidOver);
    let resume = core.step(Event::Verb(Verb::Resume));
    assert_eq!(texts(&resume, &sounds), ["count in, tone true"]);

    let plan = tabled_plan(&starter("boathouse-five"));
    let work = plan.timeline.segments[3].clone();
    let (mut core, _) = at(work.end.ms() - 4000);
    core.step(Event::Verb(Verb::Pause));
    core.step(Event::SaidOver);
    let resume = core.step(Event::Verb(Verb::Resume));
    let to_its_end = Effect::Jump(At::from_ms(work.end.ms() - 5));
    assert!(resume.contains(&to_its_end), "{resume:?}");
    assert_eq!(core.state(), State::Running);
}

#[test]
fn after_a_pause_in_a_rest_its_time_is_said_and_nothing_is_counted() {
    let plan = tabled_plan(&starter("boathouse-five"));
    let rest = plan.timeline.segments[2].clone();
    let (mut core, sounds) = at(rest.end.ms() - 6000);
    core.step(Event::Verb(Verb::Pause));
    core.step(Event::SaidOver);
    let resume = core.step(Event::Verb(Verb::Resume));
    assert_eq!(texts(&resume, &sounds), ["Rest, six seconds."]);
    assert_eq!(said_to_the_end(&mut core, &sounds), ["play"]);
}

#[test]
fn a_press_before_it_goes_on_leaves_it_paused() {
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    core.step(Event::Verb(Verb::Pause));
    core.step(Event::SaidOver);
    core.step(Event::Verb(Verb::Resume));
    let stay = core.step(Event::Verb(Verb::PauseOrResume));
    let wanted = [
        Effect::Hush,
        Effect::Show(State::Paused),
        Effect::Say(Message::Paused),
    ];
    assert_eq!(stay, wanted);
    assert_eq!(texts(&core.step(Event::SaidOver), &sounds), [""; 0]);
    assert_eq!(core.state(), State::Paused);
}

#[test]
fn a_loudspeaker_lost_while_a_class_is_counted_in_leaves_it_paused_and_one_press_goes_on() {
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    core.step(Event::Verb(Verb::Pause));
    core.step(Event::SaidOver);
    core.step(Event::Verb(Verb::Resume));
    core.step(Event::DeviceLost);
    assert_eq!(core.state(), State::Paused);
    core.step(Event::DeviceBack {
        away: Millis::from_secs(200),
    });
    core.step(Event::Clock {
        at: At::from_ms(IN_THE_SECOND_WORK),
        settled: true,
        heard: Millis::from_ms(IN_THE_SECOND_WORK),
    });
    let resume = core.step(Event::Verb(Verb::PauseOrResume));
    // So long a pause: with its name.
    assert_eq!(texts(&resume, &sounds), ["Press-up."]);
}

#[test]
fn back_and_skip_stand_before_a_work_until_it_was_named() {
    let plan = tabled_plan(&starter("boathouse-five"));
    let (first, rest, second) = (1, 2, 3);
    let start = |segment: usize| plan.timeline.segments[segment].start.ms();
    for (now, verb, work) in [
        (start(rest) + 2000, Verb::Skip, second),
        (start(second) + 8000, Verb::Back, second),
        (start(second) + 2000, Verb::Back, first),
        (start(rest) + 2000, Verb::Back, first),
    ] {
        let (mut core, sounds) = at(now);
        let effects = core.step(Event::Verb(verb.clone()));
        let to = Effect::Jump(At::from_ms(start(work) - 5));
        assert!(effects.contains(&to), "{verb:?} at {now}: {effects:?}");
        let name = texts(&effects, &sounds);
        assert!(!name.is_empty(), "{verb:?} at {now}");
        assert_eq!(
            said_to_the_end(&mut core, &sounds),
            ["count in, tone false"]
        );
        assert_eq!(core.state(), State::Running);
    }
}

#[test]
fn where_explain_and_repeat_answer_and_the_class_goes_on() {
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    let place = core.step(Event::Verb(Verb::Where));
    let said = texts(&place, &sounds);
    assert!(
        said[0].starts_with("Round one of two. Press-up."),
        "{said:?}"
    );
    assert!(said[0].ends_with(" left."), "{said:?}");
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    let explained = texts(&core.step(Event::Verb(Verb::Explain)), &sounds);
    assert_eq!(explained[0], "Press-up.");
    assert!(explained.len() >= 5, "{explained:?}");
    let after = said_to_the_end(&mut core, &sounds);
    assert_eq!(after, ["count in, tone true"]);
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    let again = texts(&core.step(Event::Verb(Verb::Repeat)), &sounds);
    let mut heard = sounds
        .iter()
        .filter(|(_, s)| s.onset.ms() < IN_THE_SECOND_WORK);
    let line = heard.rfind(|(_, s)| matches!(s.kind, SoundKind::Line { .. }));
    assert_eq!(again[..1], [line.unwrap().1.text.clone()]);
}

#[test]
fn the_easier_option_comes_where_it_fits() {
    let (mut core, sounds) = at(106_000);
    let mut said = texts(&core.step(Event::Verb(Verb::Easier)), &sounds);
    for ms in (106_000..124_000).step_by(20) {
        said.extend(texts(&clock(&mut core, ms), &sounds));
    }
    assert_eq!(said, ["Too much? Walk your feet in."]);
}

#[test]
fn an_easier_option_that_does_not_fit_is_not_said_in_the_next_movement() {
    let (_, sounds) = at(IN_THE_SECOND_WORK);
    let mut tones = sounds
        .iter()
        .filter(|(_, s)| s.kind == SoundKind::Tone(Tone::End));
    let end = tones.find(|(_, s)| s.onset.ms() > IN_THE_SECOND_WORK);
    let end = end.unwrap().1.onset.ms();
    // Counting out leaves no room for it.
    let (mut core, sounds) = at(end - 1500);
    let effects = core.step(Event::Verb(Verb::Easier));
    assert!(effects.contains(&Effect::Easier), "{effects:?}");
    let mut said = texts(&effects, &sounds);
    for ms in (end - 1500..end + 40_000).step_by(20) {
        said.extend(texts(&clock(&mut core, ms), &sounds));
    }
    assert_eq!(said, [""; 0]);
}

#[test]
fn volume_speed_and_talk_have_their_bounds() {
    let (mut core, _) = at(IN_THE_SECOND_WORK);
    for _ in 0..20 {
        let effects = core.step(Event::Verb(Verb::Louder));
        let Effect::Volume(volume) = effects[0] else {
            panic!("{effects:?}")
        };
        assert!(volume.db() <= 6.0);
    }
    for (verb, bound) in [(Verb::SpeechFaster, 2000), (Verb::SpeechSlower, 700)] {
        let mut last = 0;
        for _ in 0..30 {
            let effects = core.step(Event::Verb(verb.clone()));
            // At the bound nothing more is done.
            if let Some(Effect::Speed(speed)) = effects.first() {
                last = *speed;
            }
        }
        assert_eq!(last, bound);
    }
    let effects = core.step(Event::Verb(Verb::TalkLess));
    assert_eq!(effects[0], Effect::Talk(-1));
}

#[test]
fn whatever_is_told_in_whatever_order_nothing_falls_over() {
    let all = |n: u64| {
        let words: Vec<_> = Verb::words()
            .filter(|w| *w != "stop" && *w != "rate")
            .collect();
        Verb::parse(words[n as usize % words.len()]).unwrap()
    };
    let mut dice = 7u64;
    let mut roll = || {
        dice = dice.wrapping_mul(6364136223846793005).wrapping_add(1);
        dice >> 33
    };
    for _ in 0..200 {
        let (mut core, _) = at(90_000);
        let mut now = 90_000;
        let mut heard = 90_000;
        for _ in 0..60 {
            let event = match roll() % 3 {
                0 => Event::Verb(all(roll())),
                1 => Event::SaidOver,
                _ => {
                    heard += 700;
                    now += if core.state() == State::Running {
                        700
                    } else {
                        0
                    };
                    Event::Clock {
                        at: At::from_ms(now),
                        settled: true,
                        heard: Millis::from_ms(heard),
                    }
                }
            };
            for effect in core.step(event) {
                match effect {
                    Effect::Jump(to) => now = to.ms(),
                    Effect::Feed { onset, .. } => assert!(onset.ms() >= now, "late"),
                    _ => {}
                }
            }
        }
    }
}

#[test]
fn a_line_cut_by_a_pause_is_said_again_from_its_start_if_it_still_fits() {
    let (mut core, sounds) = class();
    let is_line = |s: &Sound| matches!(s.kind, SoundKind::Line { .. });
    let (id, line) = sounds
        .iter()
        .find(|(_, s)| is_line(s) && s.onset.ms() > 75_000)
        .expect("a cue in the first work");
    clock(&mut core, line.onset.ms() + 500);
    core.step(Event::Verb(Verb::PauseOrResume));
    core.step(Event::Cut { id: *id });
    core.step(Event::SaidOver);
    core.step(Event::Verb(Verb::PauseOrResume));
    // The count is over.
    let again = fed(&core.step(Event::SaidOver));
    // After the tone.
    assert_eq!(again, [(*id, line.onset.ms() + 800)]);
}

#[test]
fn a_line_cut_shortly_before_the_count_is_dropped() {
    let (mut core, sounds) = class();
    // The last line of a short rest fills it up to the count.
    let at = |text: &str| sounds.iter().find(|(_, s)| s.text == text).expect("said");
    let (id, line) = at("Left hand on the bench.");
    clock(&mut core, line.end.ms() - 100);
    core.step(Event::Verb(Verb::PauseOrResume));
    core.step(Event::Cut { id: *id });
    core.step(Event::Verb(Verb::PauseOrResume));
    let again = fed(&core.step(Event::SaidOver));
    assert_eq!(again, []);
}

#[test]
fn skip_goes_from_a_work_to_its_rest_and_from_a_rest_to_its_work() {
    let (mut core, _) = class();
    let plan = tabled_plan(&starter("boathouse-five"));
    let work = plan.timeline.segments[1].clone();
    clock(&mut core, work.start.ms() + 5000);
    let effects = core.step(Event::Verb(Verb::Skip));
    assert_eq!(effects[0], Effect::Jump(At::from_ms(work.end.ms() - 5)));
    // The end tone lies on the change and is still to come; nothing of the work is.
    assert_eq!(fed(&effects)[0].1, work.end.ms());
    clock(&mut core, work.end.ms() + 1000);
    let rest = plan.timeline.segments[2].clone();
    let effects = core.step(Event::Verb(Verb::Skip));
    assert!(effects.contains(&Effect::Jump(At::from_ms(rest.end.ms() - 5))));
}

#[test]
fn until_a_jump_is_carried_out_the_old_place_does_not_count() {
    let (mut core, _) = class();
    clock(&mut core, 80_000);
    core.step(Event::Verb(Verb::Skip));
    let unsettled = Event::Clock {
        at: At::from_ms(80_020),
        settled: false,
        heard: Millis::ZERO,
    };
    assert_eq!(fed(&core.step(unsettled)), []);
    let again = core.step(Event::Verb(Verb::Skip));
    let onward = |e: &Effect| matches!(e, Effect::Jump(to) if to.ms() > 95_000);
    assert!(again.iter().any(onward), "{again:?}");
}

#[test]
fn the_clock_waits_where_the_plan_is_not_made_yet() {
    let plan = tabled_plan(&starter("boathouse-five"));
    let first_work_end = plan.timeline.segments[1].end;
    let sounds: Vec<_> = (0..)
        .zip(
            plan.sounds
                .iter()
                .filter(|s| s.onset < first_work_end)
                .cloned(),
        )
        .collect();
    let later: Vec<_> = (1000..)
        .zip(
            plan.sounds
                .iter()
                .filter(|s| s.onset >= first_work_end)
                .cloned(),
        )
        .collect();
    let mut core = Core::default();
    let planned = |sounds| Event::Planned {
        sounds,
        timeline: plan.timeline.clone(),
        begins: None,
    };
    core.step(planned(sounds));
    let start = plan.timeline.segments[1].start;
    let mut effects = clock(&mut core, start.ms() - 500);
    effects.retain(|e| !matches!(e, Effect::Feed { .. }));
    assert_eq!(effects, [Effect::Hold, Effect::Show(State::Building)]);
    let effects = core.step(planned(later));
    assert!(effects.contains(&Effect::Play));
}

#[test]
fn a_lost_loudspeaker_pauses_the_class_and_its_return_is_told() {
    let (mut core, _) = class();
    clock(&mut core, 80_000);
    assert_eq!(
        core.step(Event::DeviceLost),
        [Effect::Hold, Effect::Show(State::Paused)]
    );
    let back = core.step(Event::DeviceBack {
        away: Millis::from_secs(2),
    });
    // It goes on by itself, as after a pause of two seconds: with the count alone.
    let wanted = [
        Effect::Say(Message::DeviceBack),
        Effect::Show(State::Announcing),
    ];
    assert_eq!(back, wanted);
    let resumed = core.step(Event::SaidOver);
    assert!(
        resumed.contains(&Effect::CountIn { tone: true }),
        "{resumed:?}"
    );
    core.step(Event::SaidOver);
    assert_eq!(core.state(), State::Running);
}

#[test]
fn after_a_minute_without_a_loudspeaker_the_listener_lets_it_go_on() {
    let (mut core, sounds) = at(IN_THE_SECOND_WORK);
    core.step(Event::DeviceLost);
    let away = Millis::from_secs(61);
    assert_eq!(
        core.step(Event::DeviceBack { away }),
        [
            Effect::Say(Message::DeviceBack),
            Effect::Say(Message::Paused)
        ]
    );
    core.step(Event::SaidOver);
    core.step(Event::SaidOver);
    assert_eq!(core.state(), State::Paused);
    // A pause of more than five seconds: the name first.
    let resume = core.step(Event::Verb(Verb::Resume));
    assert_eq!(texts(&resume, &sounds), ["Press-up."]);
}

#[test]
fn a_class_that_waited_for_its_first_loudspeaker_begins_without_a_word_about_it() {
    let (mut core, _) = class();
    let away = Millis::ZERO;
    assert_eq!(core.step(Event::DeviceBack { away }), []);
    assert_eq!(core.state(), State::Running);
}

#[test]
fn stop_ends_it_in_any_state_and_nothing_follows() {
    let (mut core, _) = class();
    let effects = core.step(Event::Verb(Verb::Stop));
    assert_eq!(effects, [Effect::Show(State::Finished), Effect::End]);
    for verb in [Verb::PauseOrResume, Verb::Skip, Verb::Help, Verb::Stop] {
        assert_eq!(core.step(Event::Verb(verb)), []);
    }
}

/// A class that waits for a key before it begins and again in its first work.
fn by_keys() -> (Core<'static>, Vec<(u64, Sound)>, Timeline) {
    let text = "title = \"By the slipway\"\nbegin = \"key\"\n[[block]]\nrest = \"10s\"\nwork = \"20s\"\n\
                movements = [{ use = \"march\", until = \"key\" }, \"squat\"]\n";
    let plan = tabled_plan(&session(text, &LIBRARY));
    let sounds: Vec<_> = (0..).zip(plan.sounds.iter().cloned()).collect();
    let mut core = Core::default();
    core.step(Event::Planned {
        sounds: sounds.clone(),
        timeline: plan.timeline.clone(),
        begins: None,
    });
    core.step(Event::AllPlanned);
    (core, sounds, plan.timeline)
}

fn open_segments(timeline: &Timeline) -> Vec<Segment> {
    let open = timeline.segments.iter().filter(|s| s.open);
    open.cloned().collect()
}

#[test]
fn what_is_open_goes_on_until_the_key_and_says_every_twenty_seconds_which_one() {
    let (mut core, sounds, timeline) = by_keys();
    let open = open_segments(&timeline);
    assert_eq!(open.len(), 2);
    for segment in open {
        let texts: Vec<_> = sounds
            .iter()
            .filter(|(_, s)| s.kind == SoundKind::Count && s.text.contains("space"))
            .filter(|(_, s)| (segment.start..segment.end).contains(&s.onset))
            .map(|(id, s)| (*id, s.onset))
            .collect();
        assert!(
            texts
                .windows(2)
                .all(|two| (two[1].1 - two[0].1).ms() == 20_000)
        );
        let (last, onset) = texts[texts.len() - 1];
        // Three more times round: the clock goes back by twenty seconds, the word comes again.
        let mut at = segment.end.ms() - 2100;
        clock(&mut core, onset.ms() + 2000);
        for _ in 0..3 {
            let before = clock(&mut core, at);
            assert!(!before.iter().any(|e| matches!(e, Effect::Jump(_))));
            at += 120;
            let effects = clock(&mut core, at);
            let back = Effect::Jump(At::from_ms(at - 20_000));
            assert!(effects.contains(&back), "{effects:?}");
            assert!(fed(&effects).contains(&(last, onset.ms())));
            assert!(core.may_come_again(last));
            at -= 120;
        }
        // On the key, what follows begins: the tone or the word on its place, at once.
        let effects = core.step(Event::Verb(Verb::PauseOrResume));
        assert_eq!(effects[0], Effect::Jump(At::from_ms(segment.end.ms() - 5)));
        assert_eq!(core.state(), State::Running);
    }
}

#[test]
fn the_key_that_goes_on_pauses_again_once_nothing_is_open() {
    let (mut core, _, timeline) = by_keys();
    let open = &open_segments(&timeline)[1];
    clock(&mut core, open.start.ms() + 5000);
    core.step(Event::Verb(Verb::PauseOrResume));
    clock(&mut core, open.end.ms() + 1000);
    let effects = core.step(Event::Verb(Verb::PauseOrResume));
    assert_eq!(effects[0], Effect::Hold);
    assert_eq!(core.state(), State::Paused);
}
