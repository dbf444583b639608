//! A class for two in real time, on a private sound server whose sinks are recorded.
#![expect(
    clippy::disallowed_methods,
    reason = "waits for what sounds, and for who plays it"
)]

use crate::controls::class::Class;
use crate::sound::pulse::Recorder;
use crate::sound::pulse::Server;
use sidevoice::live::control::Doing;
use std::sync::Arc;
use std::thread;
use std::time::Duration;
use std::time::Instant;

const SESSION: &str = "title = \"Short outing\"\nlead_in = \"16s\"\n[[block]]\nrounds = 2\n\
                       work = \"20s\"\nrest = \"10s\"\nmovements = [\"march\"]\n";
const RUN: [&str; 9] = [
    "run",
    "long",
    "--voice",
    "compact",
    "--plain",
    "--no-log",
    "--buffer",
    "2048",
    "--caution=brief",
];
/// Samples in a millisecond.
const MS: usize = 48;
/// A null sink that is asked for its sound by two buffers of 2048 frames: what is told to both at once is
/// heard so far apart at most.
const BUFFERS_MS: i64 = 90;

/// How much longer the first recording is than the second when both have heard the same.
fn offset(one: &Recorder, other: &Recorder) -> i64 {
    // Looked at often: each is handed over in pieces.
    let mut found: Vec<i64> = (0..400)
        .map(|_| {
            thread::sleep(Duration::from_millis(3));
            one.len() as i64 - other.len() as i64
        })
        .collect();
    found.sort_unstable();
    found[found.len() / 2]
}

/// The level of each millisecond.
fn levels(samples: &[f32]) -> Vec<f32> {
    let level = |part: &[f32]| (part.iter().map(|s| s * s).sum::<f32>() / MS as f32).sqrt();
    samples.chunks_exact(MS).map(level).collect()
}

/// Where sounds begin after 150 ms without one, and end, in ms.
fn sounds(levels: &[f32]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (at, _) in levels
        .iter()
        .enumerate()
        .filter(|(_, level)| **level > 0.004)
    {
        match found.last_mut() {
            Some(last) if at - last.1 <= 150 => last.1 = at,
            _ => found.push((at, at)),
        }
    }
    found
}

/// How far ahead of the room the ear heard what lies between two places, and how alike both are.
fn lead(room: &[f32], ear: &[f32], (from, to): (usize, usize)) -> (i64, f32) {
    let sound = &room[from..to];
    let own: f32 = sound.iter().map(|it| it * it).sum();
    let mut best = (0, f32::MIN);
    for lead in -400..2200_i64 {
        let Some(at) = (from as i64 - lead).try_into().ok() else {
            continue;
        };
        let at: usize = at;
        let Some(there) = ear.get(at..at + sound.len()) else {
            continue;
        };
        let both: f32 = sound.iter().zip(there).map(|(a, b)| a * b).sum();
        let other: f32 = there.iter().map(|it| it * it).sum();
        let alike = both / (own * other).sqrt().max(1e-9);
        if alike > best.1 {
            best = (lead, alike);
        }
    }
    best
}

/// The leads of all sounds of the room that the ear heard, in order, but for what a pause cut.
fn leads(room: &[f32], ear: &[f32], pause: Option<(usize, usize)>) -> Vec<i64> {
    let (mut found, mut missed) = (Vec::new(), Vec::new());
    for sound in sounds(room) {
        if pause.is_some_and(|(from, to)| sound.1 > from && sound.1 < to) {
            continue;
        }
        // A sound at the very end may be cut by the end of the recording.
        if sound.1 - sound.0 < 100 || sound.1 + 300 > room.len().min(ear.len()) {
            continue;
        }
        match lead(room, ear, sound) {
            (lead, 0.9..) => found.push(lead),
            (lead, alike) => missed.push((sound, lead, alike)),
        }
    }
    // A sound server on a loaded machine leaves short gaps in what is recorded.
    assert!(missed.len() <= 2, "not in the ear: {missed:?}");
    found
}

/// In the middle of the opening, of which nearly all is speech.
const PAUSE_AT: i64 = 6_000;
/// "Paused.", as the compact voice says it, is longer than this.
const PAUSED_MS: usize = 300;

/// Checks that in a pause both are told of it at once, hear nothing else besides, and nothing after it.
fn check_the_pause((room, ear): (&[f32], &[f32]), (from, to): (usize, usize), apart: i64) {
    let last = |levels: &[f32]| {
        levels[from..to]
            .iter()
            .rposition(|it| *it > 0.004)
            .map(|at| from + at)
    };
    let (of_room, of_ear) = (last(room).unwrap(), last(ear).unwrap());
    // Silence to the end: the pause lasts for seconds.
    assert!(
        of_room.max(of_ear) + 1500 < to,
        "{of_room} {of_ear} of {to}"
    );
    let (lead, alike) = lead(room, ear, (of_room - PAUSED_MS, of_room));
    eprintln!("in the pause {lead} ms apart, alike: {alike}");
    assert!(
        lead.abs() <= apart && alike > 0.9,
        "{lead} ms apart, alike: {alike}"
    );
}

fn start(server: Arc<Server>, config: &str) -> Class {
    Class::start_with(server, &RUN, SESSION, config, Vec::new())
}

fn wait_for_the_end(class: &mut Class) {
    let begun = Instant::now();
    while class.child.try_wait().unwrap().is_none() {
        assert!(
            begun.elapsed() < Duration::from_secs(180),
            "it does not end"
        );
        thread::sleep(Duration::from_millis(50));
    }
}

/// Waits until the class is here.
fn wait_until(class: &Class, ms: i64) {
    let begun = Instant::now();
    while class.status().is_none_or(|s| s.position_ms < ms) {
        assert!(
            begun.elapsed() < Duration::from_secs(120),
            "it does not get there"
        );
        thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn an_ear_on_its_own_device_is_ahead_and_a_pause_is_silence_for_both() {
    let server = Arc::new(Server::start());
    server.add_other_sink();
    let (room, ear) = (server.record(), server.record_from("other"));
    let mut class = start(
        Arc::clone(&server),
        "out = { room = \"cap\", ear = \"other\", ahead = \"1500ms\" }\n",
    );
    let offset = offset(&room, &ear);
    wait_until(&class, PAUSE_AT);
    let paused = (room.len(), ear.len());
    class.tell(&["pause"]);
    class.wait_for(Doing::Paused);
    thread::sleep(Duration::from_secs(4));
    let resumed = (room.len(), ear.len());
    class.tell(&["resume"]);
    wait_for_the_end(&mut class);
    let (room, ear) = (room.samples(), ear.samples());
    let shift = usize::try_from(offset.abs()).unwrap();
    let (room, ear) = match offset > 0 {
        true => (levels(&room[shift..]), levels(&ear)),
        false => (levels(&room), levels(&ear[shift..])),
    };
    let shifted = |at: (usize, usize)| (at.0 - shift * usize::from(offset > 0)) / MS;
    let pause = (shifted(paused), shifted(resumed));
    check_the_pause((&room, &ear), pause, BUFFERS_MS);
    let leads = leads(&room, &ear, Some(pause));
    eprintln!("leads on two devices: {leads:?} ms");
    assert!(leads.len() > 15, "{leads:?}");
    assert!(
        leads
            .iter()
            .all(|it| (-BUFFERS_MS..=1500 + BUFFERS_MS).contains(it)),
        "{leads:?}"
    );
    // It grows as far as it may, and does again after the pause.
    let far = |it: &&i64| **it > 1350;
    assert!(
        leads[..leads.len() / 2].iter().any(|it| far(&it)),
        "{leads:?}"
    );
    assert!(
        leads[leads.len() * 2 / 3..].iter().any(|it| far(&it)),
        "{leads:?}"
    );
    // The ear alone is told what comes.
    assert!(sounds(&ear).len() > sounds(&room).len());
}

#[test]
fn an_ear_that_is_lost_leaves_the_room_as_it_is_and_comes_back() {
    let server = Arc::new(Server::start());
    server.add_other_sink();
    let room = server.record();
    let mut class = start(
        Arc::clone(&server),
        "out = { room = \"cap\", ear = \"other\" }\n",
    );
    wait_until(&class, 20_000);
    server.remove_other_sink();
    class.wait_until_said("the ear is gone");
    wait_until(&class, 30_000);
    server.add_other_sink();
    let ear = server.record_from("other");
    class.wait_until_said("the ear is back");
    wait_for_the_end(&mut class);
    let (room, ear) = (levels(&room.samples()), levels(&ear.samples()));
    // What the room heard is what a file of the class holds, sound for sound.
    let path = server.folder().join("class.wav");
    let written = server
        .command(env!("CARGO_BIN_EXE_sidevoice"))
        .args([
            "render",
            "long",
            "--voice",
            "compact",
            "--caution=brief",
            "-o",
        ])
        .arg(&path)
        .current_dir(server.folder())
        .output()
        .unwrap();
    assert!(written.status.success(), "{written:?}");
    let mut reader = hound::WavReader::open(&path).unwrap();
    let file: Vec<f32> = reader
        .samples::<i16>()
        .step_by(2)
        .map(|s| f32::from(s.unwrap()) / 32768.0)
        .collect();
    let file = levels(&file);
    // Both from their first sound on.
    let from = |levels: &[f32]| sounds(levels)[0].0;
    let (room, file) = (&room[from(&room)..], &file[from(&file)..]);
    let places = leads(file, room, None);
    eprintln!("the room against the file: {places:?} ms");
    // A sound server may slip once; a moved stream or a line that was cut would be more.
    let slips = places
        .windows(2)
        .filter(|it| it[0].abs_diff(it[1]) > 3)
        .count();
    assert!(places.len() > 15 && slips <= 1, "{places:?}");
    // The stream of the lost ear is moved to the room for a few hundredths of a second.
    let more = sounds(room).len() - sounds(file).len();
    assert!(more <= 1, "{:?}", sounds(room));
    // It is heard again, counts and all.
    assert!(sounds(&ear).len() > 12, "{:?}", sounds(&ear));
}

#[test]
fn a_room_that_is_lost_pauses_the_class_for_both_and_is_never_heard_elsewhere() {
    // By its name, and as the system's own device beside an ear.
    for (config, other) in [
        ("out = { room = \"cap\" }\n", "the next device"),
        ("out = { ear = \"other\" }\n", "the ear's"),
    ] {
        let server = Arc::new(Server::start());
        server.add_other_sink();
        let ear = server.record_from("other");
        let class = start(Arc::clone(&server), config);
        wait_until(&class, 3000);
        server.remove_first_sink();
        class.wait_until_said("the loudspeaker is gone: cap is not there any more");
        class.wait_for(Doing::Paused);
        // Nobody says "Paused." to nobody: what was heard so far ends with the stream.
        thread::sleep(Duration::from_millis(500));
        let lost = ear.len();
        thread::sleep(Duration::from_secs(3));
        let heard = sounds(&levels(&ear.samples()[lost..]));
        assert_eq!(heard, [], "on {other}");
        server.add_sink();
        class.wait_until_said("the sound is back");
        class.wait_for(Doing::Running);
    }
}

#[test]
fn left_and_right_of_one_device_are_the_ear_and_the_room() {
    let server = Arc::new(Server::start());
    let recorder = server.record_sides("cap");
    let mut class = start(
        Arc::clone(&server),
        "out = { ear = \"left\", ahead = \"1200ms\", ear_level = \"-6 dB\" }\n",
    );
    wait_until(&class, PAUSE_AT);
    let paused = recorder.len() / 2 / MS;
    class.tell(&["pause"]);
    class.wait_for(Doing::Paused);
    thread::sleep(Duration::from_secs(3));
    let resumed = recorder.len() / 2 / MS;
    class.tell(&["resume"]);
    wait_for_the_end(&mut class);
    let both = recorder.samples();
    let side = |of: usize| -> Vec<f32> { both[of..].iter().step_by(2).copied().collect() };
    let (ear, room) = (levels(&side(0)), levels(&side(1)));
    check_the_pause((&room, &ear), (paused, resumed), 1);
    let leads = leads(&room, &ear, Some((paused, resumed)));
    eprintln!("leads on one device: {leads:?} ms");
    assert!(leads.len() > 15, "{leads:?}");
    assert!(leads.iter().all(|it| (-1..=1201).contains(it)), "{leads:?}");
    assert!(leads.iter().any(|it| *it > 1150), "{leads:?}");
    // Half as loud.
    let loudest = |of: &[f32]| of.iter().copied().fold(0.0, f32::max);
    let (ear_level, room_level) = (loudest(&ear), loudest(&room));
    let softer = 20.0 * (ear_level / room_level).log10();
    // What is recorded of either side may lack a part of its loudest sound.
    assert!((-7.0..-5.0).contains(&softer), "{softer} dB");
}

/// The loudest sample once all of it has been heard: a sound, and then a second of silence.
fn loudest_of_one(recorder: &Recorder, side: usize) -> f32 {
    let of_side = |all: &[f32]| all[side..].iter().step_by(2).copied().collect::<Vec<_>>();
    recorder.wait_for("the news and the silence after it", |all| {
        let one = of_side(all);
        let last = one.iter().rposition(|it| it.abs() > 0.004)?;
        (one.len() > last + 48_000).then(|| one.iter().fold(0.0, |m: f32, it| m.max(it.abs())))
    })
}

#[test]
fn the_news_is_for_the_ear_and_as_loud_as_it_is_told_to_be() {
    let heard = |config: &str, side: usize| {
        let server = Arc::new(Server::start());
        let recorder = server.record_sides("cap");
        let watch = ["watch", ".", "--voice", "compact"];
        let class = Class::start_with(Arc::clone(&server), &watch, SESSION, config, Vec::new());
        class.wait_until_said("Short outing is waiting");
        let loudest = loudest_of_one(&recorder, side);
        let other = recorder.samples()[1 - side..]
            .iter()
            .step_by(2)
            .fold(0.0, |m: f32, it| m.max(it.abs()));
        (loudest, other)
    };
    let decibels = |one: f32, other: f32| 20.0 * (one / other).log10();
    let (plain, both) = heard("", 0);
    assert_eq!(plain, both, "the room alone hears it on both channels");
    let (room, _) = heard("out = { room_level = \"-6 dB\" }\n", 0);
    let softer = decibels(room, plain);
    assert!((-6.5..-5.5).contains(&softer), "{softer} dB");
    let (ear, room) = heard("out = { ear = \"right\", ear_level = \"-12 dB\" }\n", 1);
    let softer = decibels(ear, plain);
    assert!((-12.5..-11.5).contains(&softer), "{softer} dB");
    assert_eq!(room, 0.0, "the room is spared it");
}

#[test]
fn in_a_rehearsal_the_prompts_are_for_the_ear_alone() {
    let server = Arc::new(Server::start());
    server.add_other_sink();
    let (room, ear) = (server.record(), server.record_from("other"));
    let rehearse = [
        "rehearse",
        "long",
        "--voice",
        "compact",
        "--no-log",
        "--buffer",
        "2048",
        "--caution=brief",
        "--help-with=first-words",
        "--device=cap",
        "--ear=other",
    ];
    let mut class = Class::start_with(Arc::clone(&server), &rehearse, SESSION, "", Vec::new());
    let offset = offset(&room, &ear);
    // Three, two, one and the start tone.
    let begun = Instant::now();
    while sounds(&levels(&room.samples())).len() < 4 {
        assert!(begun.elapsed() < Duration::from_secs(90), "no count");
        thread::sleep(Duration::from_millis(200));
    }
    room.wait_more(48_000);
    class.tell(&["stop"]);
    wait_for_the_end(&mut class);
    let shift = usize::try_from(offset.abs()).unwrap();
    let (room, ear) = (room.samples(), ear.samples());
    let (room, ear) = match offset > 0 {
        true => (levels(&room[shift..]), levels(&ear)),
        false => (levels(&room), levels(&ear[shift..])),
    };
    let leads = leads(&room, &ear, None);
    eprintln!("leads in a rehearsal: {leads:?} ms");
    assert!(leads.len() >= 3, "{leads:?}");
    assert!(leads.iter().all(|it| it.abs() <= BUFFERS_MS), "{leads:?}");
    let (in_room, in_ear) = (sounds(&room).len(), sounds(&ear).len());
    assert!(
        in_ear >= in_room + 4,
        "{in_ear} in the ear, {in_room} in the room"
    );
}
