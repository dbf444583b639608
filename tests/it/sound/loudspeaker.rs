//! The loudspeaker as it is heard, by a recording of what a real sound server plays.
#![expect(clippy::disallowed_methods, reason = "writes a file of settings")]

use sidevoice::base::tones::Tones;
use sidevoice::sound::mix::Tone;

use crate::speech::class::folder;

use super::player::Player;
use super::player::STEP;
use super::pulse::Recorder;
use super::pulse::Server;

/// Frames a buffer: on a busy machine smaller ones slip, and the sound server does not say so.
const BUFFER: u32 = 2048;

/// Half a second.
const HALF: usize = 24_000;

/// The places of the onsets: first samples above -40 dBFS after 100 ms below it.
fn onsets(samples: &[f32]) -> Vec<usize> {
    let mut found = Vec::new();
    let mut quiet = 4800;
    for (index, sample) in samples.iter().enumerate() {
        if sample.abs() <= 0.01 {
            quiet += 1;
        } else {
            if quiet >= 4800 {
                found.push(index);
            }
            quiet = 0;
        }
    }
    found
}

/// Waits for so many tones and returns their onsets, with a tail that holds the last one.
fn tones(recorder: &Recorder, count: usize) -> Vec<usize> {
    recorder.wait_for("tones", |samples| {
        (onsets(samples).len() >= count).then_some(())
    });
    recorder.wait_more(Tone::Start.length(Tones::Clear).count() as usize);
    onsets(&recorder.samples())
}

/// Checks that tones follow one another by exactly a step. A busy machine may slip once or twice:
/// then that step is longer by what was slipped, and the others are still exact.
fn check_steps(onsets: &[usize]) {
    let steps: Vec<usize> = onsets.windows(2).map(|it| it[1] - it[0]).collect();
    let exact = steps.iter().filter(|it| **it == STEP as usize).count();
    assert!(exact * 3 >= steps.len() * 2, "{steps:?}");
    assert!(
        steps
            .iter()
            .all(|it| it.abs_diff(STEP as usize) < BUFFER as usize),
        "{steps:?}"
    );
}

#[test]
fn tones_are_heard_on_their_sample_from_the_first_one_on() {
    let server = Server::start();
    let recorder = server.record();
    let mut player = Player::start(&server, "tones", BUFFER);
    assert_eq!(player.wait_for("device cap"), "true");
    player.wait_for("open");
    // Silence flows before anything is told.
    recorder.wait_more(HALF);
    assert!(recorder.samples().iter().all(|it| *it == 0.0));
    player.tell("play");
    let onsets = tones(&recorder, 7);
    check_steps(&onsets);
    // The first is there from its first audible sample, and all that is heard are tones.
    let recording = recorder.samples();
    let tone = Tone::Start.samples(Tones::Clear);
    let audible = &tone[Tone::Start.onset(Tones::Clear).count() as usize..];
    let first = &recording[onsets[0]..][..audible.len()];
    let wrong = first
        .iter()
        .zip(audible)
        .filter(|(it, wanted)| (*it - *wanted).abs() > 1e-4);
    assert_eq!(wrong.count(), 0);
    assert!(recording[..onsets[0] - 48].iter().all(|it| *it == 0.0));
    assert_eq!(player.wait_for("done"), "0 Played");
    player.tell("close");
    assert!(player.wait_for_end());
}

#[test]
fn a_hold_is_silent_soon_and_a_resume_is_heard() {
    let server = Server::start();
    let recorder = server.record();
    let mut player = Player::start(&server, "long", BUFFER);
    player.wait_for("open");
    player.tell("play");
    for _ in 0..2 {
        let from = recorder.len();
        recorder.wait_for("sound", |samples| {
            samples[from..].iter().find(|it| **it != 0.0).copied()
        });
        recorder.wait_more(HALF);
        let told = recorder.len();
        player.tell("hold");
        player.wait_for("done 1000 Cut");
        recorder.wait_more(HALF);
        let recording = recorder.samples();
        let last = recording.iter().rposition(|it| *it != 0.0).unwrap();
        // 60 ms in the median is for the bench; here only that it is soon, on any machine.
        assert!(last.saturating_sub(told) < 12_000, "{} frames", last - told);
        // It has faded: no step at the end.
        let end = &recording[last - 48..=last];
        assert!(end.iter().all(|it| it.abs() < 0.25 * 0.1), "{end:?}");
        player.tell("play");
    }
    player.tell("status");
    assert!(player.wait_for("status").contains("late: 0"));
}

/// Checks that sound comes back at the place where it was lost.
fn check_return(server: &Server, mut player: Player, lost: &str) {
    let at: u64 = lost.split(' ').next().unwrap().parse().unwrap();
    player.wait_for("back");
    let recorder = server.record();
    recorder.wait_more(HALF);
    assert!(
        recorder.samples().iter().all(|it| *it == 0.0),
        "plays without being told"
    );
    player.tell("status");
    let status = player.wait_for("status");
    assert!(
        status.contains(&format!("position: FrameAt({at})")),
        "{status} {at}"
    );
    player.tell("play");
    check_steps(&tones(&recorder, 4));
    // The first tone after it is the next one.
    let next = at.div_ceil(STEP);
    assert_eq!(player.wait_for(&format!("done {next}")), "Played");
    player.tell("close");
    assert!(player.wait_for_end());
}

/// Starts the tones and lets a few be heard.
fn begin(server: &Server) -> Player {
    let recorder = server.record();
    let mut player = Player::start(server, "tones", BUFFER);
    player.wait_for("open");
    player.tell("play");
    tones(&recorder, 2);
    player
}

#[test]
fn sound_returns_when_the_only_device_was_away() {
    let server = Server::start();
    let player = begin(&server);
    server.remove_sink();
    let lost = player.wait_for("lost");
    server.add_sink();
    check_return(&server, player, &lost);
}

#[test]
fn a_device_that_leads_nowhere_and_has_no_clock_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let settings = folder.path().join("settings");
    std::fs::write(&settings, "pcm.!default { type null }").unwrap();
    let player = Player::start_on_system(&settings);
    assert!(
        player
            .wait_for("refused")
            .contains("faster than it can be heard")
    );
}

#[test]
fn sound_goes_on_through_another_device_when_there_is_one() {
    let server = Server::start();
    let mut player = begin(&server);
    server.add_other_sink();
    let recorder = server.record_from("other");
    server.remove_first_sink();
    check_steps(&tones(&recorder, 4));
    player.tell("status");
    assert!(player.wait_for("status").contains("Playing"));
}

#[test]
fn a_device_that_is_not_there_is_told_with_those_that_are() {
    let server = Server::start();
    server.add_other_sink();
    let folder = folder("compact");
    let run = |device: &str| {
        let mut class = server.command(env!("CARGO_BIN_EXE_sidevoice"));
        class.args(["run", "short", "--no-log", "--device", device]);
        let done = class.current_dir(folder.path()).output().unwrap();
        let said = String::from_utf8(done.stderr).unwrap();
        (done.status.code(), said)
    };
    let (code, said) = run("hall");
    assert_eq!(code, Some(4), "{said}");
    let told = "no loudspeaker called \"hall\". The devices are: cap, other";
    assert!(said.contains(told), "{said}");
    let (code, said) = run("");
    assert_eq!(code, Some(64), "{said}");
    assert!(said.contains("--device"), "{said}");
}

#[test]
fn sound_returns_when_the_sound_server_was_killed() {
    let mut server = Server::start();
    let player = begin(&server);
    server.kill();
    let lost = player.wait_for("lost");
    server.start_again();
    check_return(&server, player, &lost);
}

#[test]
fn sound_returns_when_the_sound_server_hung() {
    let server = Server::start();
    let player = begin(&server);
    server.signal("STOP");
    let lost = player.wait_for("lost");
    assert!(lost.ends_with("asks for no more sound"), "{lost}");
    server.signal("CONT");
    check_return(&server, player, &lost);
}

#[test]
fn a_program_whose_sound_server_hangs_can_still_end() {
    let server = Server::start();
    let mut player = begin(&server);
    server.signal("STOP");
    player.tell("close");
    assert!(player.wait_for("closed").starts_with("Some"));
    assert!(player.wait_for_end());
}

#[test]
fn a_program_whose_device_is_gone_can_still_end() {
    let server = Server::start();
    let mut player = begin(&server);
    server.remove_sink();
    player.wait_for("lost");
    player.tell("close");
    assert!(player.wait_for("closed").starts_with("Some"));
    assert!(player.wait_for_end());
}

#[test]
fn without_a_device_it_is_refused_or_waited_for() {
    let mut server = Server::start();
    server.remove_sink();
    let player = Player::start(&server, "tones", BUFFER);
    player.wait_for("no device");
    assert_eq!(player.wait_for("refused"), "NoDevice");
    server.kill();
    let player = Player::start(&server, "tones", BUFFER);
    player.wait_for("no device");
    assert!(player.wait_for("refused").starts_with("NoHost"));
    let mut player = Player::start_waiting(&server, "tones", BUFFER);
    assert_eq!(player.wait_for("open"), "nothing");
    server.start_again();
    player.wait_for("back");
    let recorder = server.record();
    player.tell("play");
    check_steps(&tones(&recorder, 3));
    player.tell("close");
    assert!(player.wait_for_end());
}
