//! What a running class keeps to: the frame of each count and tone over an hour, and how soon a verb
//! has its effects.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use sidevoice::base::units::FrameAt;
use sidevoice::base::units::Millis;
use sidevoice::base::units::SampleRate;
use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::compile::Compiler;
use sidevoice::live::control::Verb;
use sidevoice::live::core::Core;
use sidevoice::live::core::Effect;
use sidevoice::live::core::Event;
use sidevoice::planning::plan::Sound;
use sidevoice::planning::plan::SoundKind;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use sidevoice::planning::timeline::Timeline;
use sidevoice::sound::mix::CAPACITY;
use sidevoice::sound::mix::Clip;
use sidevoice::sound::mix::Command;
use sidevoice::sound::mix::desk_and_mixer;
use sidevoice::sound::out::Pump;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use std::collections::HashMap;
use std::hint::black_box;
use std::time::Duration;
use std::time::Instant;

#[path = "../it/common.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod common;
#[path = "row.rs"]
mod row;

use row::row;

const RATE: SampleRate = SampleRate::OUTPUT;
/// What a sound server asks for at a time.
const CHUNK: usize = 960;
/// A sample above -40 dBFS is heard: what the onset of a sound is counted from.
const HEARD: f32 = 0.01;
/// So long before its mark a sound is looked for: counts have 300 ms of their own before them.
const BEFORE: u64 = 4_800;

/// The ten stations of the starter folder, so many times.
fn class(rounds: usize) -> Session {
    let mut session = common::starter("ten-alone");
    session.text.blocks.retain(|b| b.uses.len() >= 10);
    session.text.blocks[0].rounds = rounds;
    session
}

fn planned(sounds: Vec<(u64, Sound)>, timeline: Timeline) -> Event {
    Event::Planned {
        sounds,
        timeline,
        begins: None,
    }
}

/// Plays a class with the real core and the real mixer, without a device; returns the frame of the
/// session with which it began, what was heard from there on, and its counts and tones.
fn heard() -> (u64, Vec<f32>, Vec<Sound>) {
    let session = class(6);
    let wording = Wording::english();
    let (speaker, _) = Speaker::open(Settings {
        voice: Some("compact".to_owned()),
        cache: None,
        ..Settings::standard()
    });
    let mut compiler = Compiler::new(
        &session,
        &wording,
        &speaker,
        compile::settings(speaker.name(), CautionLength::Full),
    );
    let (mut desk, mixer) = desk_and_mixer(RATE, 1, CAPACITY);
    let mut pump = Pump::new(mixer);
    let mut core = Core::default();
    let mut clips: HashMap<u64, Clip> = HashMap::new();
    let (mut begun, mut out, mut marks) = (None, Vec::new(), Vec::new());
    loop {
        let status = desk.status();
        let mut events = vec![Event::Clock {
            at: status.position.at(RATE),
            settled: status.settled,
            heard: status.device.millis(RATE),
        }];
        if core.wants_more() {
            events.push(match compiler.next_stretch() {
                Some(made) => {
                    compiler.let_go();
                    let sounds = made.sounds.into_iter().map(|(sound, clip)| {
                        if matches!(sound.kind, SoundKind::Count | SoundKind::Tone(_)) {
                            marks.push(sound.clone());
                        }
                        let id = clip.id;
                        clips.insert(id, clip);
                        (id, sound)
                    });
                    planned(sounds.collect(), made.timeline)
                }
                None => Event::AllPlanned,
            });
        }
        for effect in events.into_iter().flat_map(|event| core.step(event)) {
            match effect {
                Effect::Play => desk.tell(Command::Play).expect("room"),
                Effect::Jump(to) => {
                    let to = RATE.frame_at(to);
                    begun = begun.or(Some(to.index()));
                    desk.tell(Command::Jump(to)).expect("room");
                }
                Effect::Feed { id, .. } => {
                    desk.feed(clips.remove(&id).expect("once")).expect("room")
                }
                Effect::End => return (begun.unwrap_or(0), out, marks),
                Effect::Show(_) => {}
                other => panic!("nobody asked for {other:?}"),
            }
        }
        out.extend(pump.pump(CHUNK));
        while desk.finished().is_some() {}
    }
}

/// From the frame that each count and tone has by its time to the one on which it is heard.
fn drift() {
    let (begun, out, marks) = heard();
    let seconds = out.len() as f64 / f64::from(RATE.hz());
    assert!(seconds >= 3600.0, "{seconds}");
    let worst = marks.iter().map(|sound| {
        // 48 frames a millisecond, counted from the start: nothing is added up.
        let due = sound.onset.ms() as u64 * u64::from(RATE.hz()) / 1000 - begun;
        let from = due.saturating_sub(BEFORE);
        let late = out[from as usize..].iter().position(|s| s.abs() > HEARD);
        (from + late.expect("a sound") as u64).abs_diff(due)
    });
    row(
        &format!(
            "{} counts and tones of a class of {:.0} min in chunks of {CHUNK} frames: worst drift",
            marks.len(),
            seconds / 60.0
        ),
        "0 samples",
        format!("{} samples", worst.max().unwrap_or(u64::MAX)),
    );
}

/// A class of 40 intervals that is planned and at this second.
fn at(second: i64, plan: &(Vec<(u64, Sound)>, Timeline)) -> Core<'static> {
    let mut core = Core::default();
    core.step(planned(plan.0.clone(), plan.1.clone()));
    core.step(Event::AllPlanned);
    let clock = |second| Event::Clock {
        at: FrameAt::new(second as u64 * u64::from(RATE.hz())).at(RATE),
        settled: true,
        heard: Millis::from_secs(second),
    };
    core.step(clock(second - 1));
    core.step(clock(second));
    core
}

fn verbs() -> Vec<Verb> {
    let all = [
        "start",
        "pause",
        "resume",
        "pause-or-resume",
        "skip",
        "back",
        "repeat",
        "where",
        "explain",
        "easier",
        "louder",
        "quieter",
        "speech-faster",
        "speech-slower",
        "talk-more",
        "talk-less",
        "next",
        "previous",
        "rate 7",
        "help",
        "stop",
    ];
    all.map(|verb| Verb::parse(verb).expect("a verb")).into()
}

/// How long the core takes from a verb to what is to be done about it.
fn verb_to_effects() {
    let plan = common::tabled_plan(&class(4));
    let end = plan.timeline.end().ms() / 1000;
    let plan = ((0..).zip(plan.sounds).collect(), plan.timeline);
    let mut times = Vec::new();
    let seconds: Vec<_> = (2..end).step_by(7).collect();
    let moments = seconds.len();
    for second in seconds {
        for verb in verbs() {
            // The least of three: what else the machine does is no time of the core's.
            let took = (0..3).map(|_| {
                let mut core = at(second, &plan);
                let event = Event::Verb(verb.clone());
                let begun = Instant::now();
                let effects = core.step(event);
                let took = begun.elapsed();
                black_box(effects);
                took
            });
            times.extend(took.min());
        }
    }
    times.sort();
    let us = |time: Duration| time.as_secs_f64() * 1e6;
    row(
        &format!(
            "a verb to its effects, each verb at {moments} moments of a class of 40 intervals: median, worst"
        ),
        "",
        format!(
            "{:.1} us, {:.0} us",
            us(times[times.len() / 2]),
            us(times[times.len() - 1])
        ),
    );
}

fn main() {
    drift();
    verb_to_effects();
}
