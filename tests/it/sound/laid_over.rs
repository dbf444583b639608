//! A class is spoken on a private sound server whose sink is recorded, as a camera would the room; what is made of its
//! record is laid over that by the sync tone.
#![expect(
    clippy::disallowed_methods,
    reason = "waits for what sounds, and reads what was written"
)]

use super::pulse::Server;
use crate::controls::class::Class;
use sidevoice::live::history::read;
use sidevoice::sound::mix::sync_tone;
use std::ops::RangeInclusive;
use std::sync::Arc;
use std::thread;
use std::time::Duration;

const SESSION: &str = "title = \"Short outing\"\nlead_in = \"14s\"\n[[block]]\nrounds = 2\n\
                       work = \"20s\"\nrest = \"10s\"\nmovements = [\"march\"]\n";
const RUN: [&str; 9] = [
    "run",
    "long",
    "--voice",
    "compact",
    "--plain",
    "--buffer",
    "2048",
    "--sync-tone",
    "--caution=brief",
];
/// Samples in a millisecond.
const MS: i64 = 48;
/// As much of each sound is compared.
const ENOUGH: usize = 9600;

/// A server on a loaded machine plays short gaps where nothing came in time: what follows is later by as much.
const MOST_GAPS_MS: i64 = 150;

/// Where a sound lies best among these shifts from a place, and how alike both are there.
fn best(sound: &[f32], room: &[f32], near: i64, shifts: RangeInclusive<i64>) -> (i64, f32) {
    let own: f32 = sound.iter().map(|it| it * it).sum();
    let mut best = (0, f32::MIN);
    for shift in shifts {
        let from = usize::try_from(near + shift).ok();
        let Some(there) = from.and_then(|from| room.get(from..from + sound.len())) else {
            continue;
        };
        let both: f32 = sound.iter().zip(there).map(|(a, b)| a * b).sum();
        let other: f32 = there.iter().map(|it| it * it).sum();
        let alike = both / (own * other).sqrt().max(1e-9);
        if alike > best.1 {
            best = (shift, alike);
        }
    }
    best
}

#[test]
fn a_file_made_of_a_run_lies_under_the_recording_of_its_room() {
    let server = Arc::new(Server::start());
    let recorder = server.record();
    let mut class = Class::start_with(Arc::clone(&server), &RUN, SESSION, "", Vec::new());
    class.wait_until_heard();
    let wait = |ms| thread::sleep(Duration::from_millis(ms));
    wait(2500);
    class.tell(&["pause"]);
    wait(1700);
    class.tell(&["resume"]);
    wait(2500);
    class.tell(&["skip"]);
    wait(7000);
    class.tell(&["stop"]);
    assert_eq!(class.wait_for_end(), Some(0));
    recorder.wait_more(24_000);
    let room = recorder.samples();

    let done = server
        .command(env!("CARGO_BIN_EXE_sidevoice"))
        .args(["render", "--from-record", "last", "-o", "run.wav"])
        .current_dir(server.folder())
        .env_remove("XDG_CACHE_HOME")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(done.status.success(), "{said}");
    assert!(!said.contains("sidevoice:"), "{said}");
    let mut wav = hound::WavReader::open(server.folder().join("run.wav")).unwrap();
    let file: Vec<f32> = wav
        .samples::<i16>()
        .step_by(2)
        .map(|it| f32::from(it.unwrap()) / 32_768.0)
        .collect();

    let run = read(server.folder()).runs.pop().unwrap();
    let laid = run.course().unwrap();
    assert!(laid.synced);
    // The tone is the first sound of all.
    let heard = room.iter().position(|it| it.abs() > 0.01).unwrap() as i64;
    let (shift, alike) = best(&sync_tone(), &room, heard, -10 * MS..=10 * MS);
    assert!(alike > 0.9, "{alike}");
    let zero = heard + shift;
    let (mut shifts, mut missed) = (vec![0], Vec::new());
    for (from, sound) in &laid.course.sounds {
        let from = from.index() as usize;
        let length = (sound.played().count() as usize).min(ENOUGH);
        if length < 2400 || from + length > file.len() {
            continue;
        }
        let near = zero + from as i64;
        let shifts_tried = -10 * MS..=MOST_GAPS_MS * MS;
        match best(&file[from..from + length], &room, near, shifts_tried) {
            (shift, 0.9..) => shifts.push(shift),
            (shift, alike) => missed.push((shift, alike, sound.clone())),
        }
    }
    assert!(shifts.len() > 8, "{shifts:?}, not found: {missed:#?}");
    // Each lies within 5 ms of where it lies to the one before, but for a gap or two of the server.
    let apart = |pair: &&[i64]| (pair[1] - pair[0]).abs() > 5 * MS;
    let gaps: Vec<_> = shifts.windows(2).filter(apart).collect();
    assert!(
        gaps.len() <= 2 && missed.len() <= 2,
        "{shifts:?}, not found: {missed:#?}"
    );
    assert!(gaps.iter().all(|gap| gap[1] > gap[0]), "{shifts:?}");
    let cut = laid
        .course
        .sounds
        .iter()
        .filter(|(_, heard)| heard.heard_frames.is_some());
    assert!(cut.count() > 0, "the pause cut nothing");
}
