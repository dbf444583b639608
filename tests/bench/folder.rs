//! A folder of sessions of eight minutes rendered at once, as many as its argument says or 200, with all lines in the
//! cache; two processes on one cold folder against one; the memory of a session of three hours against one of eight minutes.
//!
//! Prints ratios, which travel between machines better than times do.
#![expect(
    clippy::disallowed_methods,
    reason = "measures time, and starts the program"
)]

use std::env;
use std::fs;
use std::path::Path;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::thread;
use std::time::Duration;
use std::time::Instant;

#[path = "row.rs"]
mod row;

use row::row;

/// Five works a round, for one of them has two sides; two rounds with 20 s of rest last some eight minutes.
const MOVEMENTS: &str =
    "[\"one-arm-row\", \"goblet-squat\", \"floor-press-up\", \"bodyweight-hinge\"]";
const ROUNDS: usize = 2;
/// So many last three hours.
const LONG: usize = 52;
/// Sessions of the cold folder.
const COLD: usize = 12;

fn main() {
    let count = env::args().skip(1).find_map(|it| it.parse::<usize>().ok());
    let count = count.unwrap_or(200);
    let home = tempfile::tempdir().expect("a temporary folder");
    let home = home.path();
    let folder = boathouse(home, "warm", count, ROUNDS, "");
    finish(render(home, "cache", &folder, "lines", &["vtt"], 2));
    let length = seconds(&home.join("lines"));
    for (format, aim) in [("wav", "1,000 x real time"), ("mp3", "150 x real time")] {
        let begun = Instant::now();
        finish(render(home, "cache", &folder, format, &[format], 2));
        let ratio = length / begun.elapsed().as_secs_f64();
        row(
            &format!(
                "{count} sessions of {:.1} min in the compact voice, cached, as {format}, on two cores",
                length / 60.0 / count as f64
            ),
            aim,
            format!("{ratio:.0} x real time"),
        );
        fs::remove_dir_all(home.join(format)).expect("what was written");
    }
    cold(home);
    memory(home);
}

/// Two processes with one job each against one, on folders in which no two sessions say the same.
fn cold(home: &Path) {
    let folder = boathouse(home, "cold", COLD, 1, "Crew");
    let time = |cache: &str, processes: usize| {
        let begun = Instant::now();
        let all: Vec<Child> = (0..processes)
            .map(|_| render(home, cache, &folder, cache, &["wav"], 1))
            .collect();
        all.into_iter().for_each(finish);
        begun.elapsed().as_secs_f64()
    };
    let (one, two) = (time("alone", 1), time("shared", 2));
    row(
        &format!("two processes of one job each on {COLD} cold sessions, part of the time of one"),
        "0.6",
        format!("{:.2}", two / one),
    );
}

/// The most memory that a session of three hours takes beyond one of eight minutes.
fn memory(home: &Path) {
    let peak = |name: &str, rounds: usize| {
        let folder = boathouse(home, name, 1, rounds, "");
        let mut child = render(home, "cache", &folder, name, &["wav"], 1);
        let status = format!("/proc/{}/status", child.id());
        let mut most = 0.0_f64;
        while child.try_wait().expect("the program").is_none() {
            let text = fs::read_to_string(&status).unwrap_or_default();
            let line = text.lines().find(|line| line.starts_with("VmHWM"));
            let number = line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok());
            most = most.max(number.unwrap_or(0.0));
            thread::sleep(Duration::from_millis(5));
        }
        finish(child);
        (seconds(&home.join(name)) / 60.0, most / 1024.0)
    };
    let ((short, small), (long, large)) = (peak("short", ROUNDS), peak("long", LONG));
    row(
        &format!(
            "resident at most, a session of {long:.0} min and one of {short:.0} min to WAV, the compact voice in both"
        ),
        "60 MB over the voice's own",
        format!("{large:.0} MB, {small:.0} MB"),
    );
}

/// Makes a session folder with so many sessions of so many rounds.
fn boathouse(
    home: &Path,
    name: &str,
    count: usize,
    rounds: usize,
    crew: &str,
) -> std::path::PathBuf {
    let folder = home.join(format!("boathouse-{name}"));
    let made = program(home, "cache").arg("new").arg(&folder).output();
    assert!(
        made.expect("the program").status.success(),
        "no folder was made"
    );
    let sessions = folder.join("sessions");
    fs::remove_dir_all(&sessions).expect("the starter's sessions");
    fs::create_dir(&sessions).expect("room");
    for nth in 0..count {
        let title = format!("{crew} outing {nth}");
        let caution = match crew {
            "" => "Mind the oars.".to_owned(),
            crew => format!(
                "{crew} {nth} minds the oars, and crew {} the boats.",
                nth * 7
            ),
        };
        let text = format!(
            "title = \"{title}\"\ncaution = \"{caution}\"\n[[block]]\nrounds = {rounds}\nwork = \"20s\"\nrest = \"20s\"\nmovements = {MOVEMENTS}\n"
        );
        fs::write(sessions.join(format!("s{nth}.toml")), text).expect("room");
    }
    folder
}

fn program(home: &Path, cache: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_sidevoice"));
    command
        .env("HOME", home)
        .env("XDG_DATA_HOME", home.join("data"))
        .env("XDG_CACHE_HOME", home.join(format!("cache-{cache}")))
        .stdin(Stdio::null())
        .stdout(Stdio::null());
    command
}

fn render(
    home: &Path,
    cache: &str,
    folder: &Path,
    out: &str,
    formats: &[&str],
    jobs: usize,
) -> Child {
    let mut command = program(home, cache);
    command
        .arg("render")
        .arg(folder)
        .arg("-o")
        .arg(home.join(out));
    command.args([
        "--plain",
        "--voices",
        "compact",
        "--formats",
        &formats.join(","),
    ]);
    command.args(["--jobs", &jobs.to_string()]);
    command.stderr(Stdio::null()).spawn().expect("the program")
}

fn finish(mut child: Child) {
    assert!(
        child.wait().expect("the program").success(),
        "not all was rendered"
    );
}

/// How long all sessions of an output folder are together, by its notes.
fn seconds(out: &Path) -> f64 {
    let notes = fs::read_dir(out.join(".sidevoice"))
        .expect("notes")
        .flatten();
    let notes = notes.filter(|entry| entry.path().extension().is_some_and(|e| e == "json"));
    let lengths = notes.map(|entry| {
        let text = fs::read_to_string(entry.path()).expect("a note");
        let note: serde_json::Value = serde_json::from_str(&text).expect("a note");
        note["length_ms"].as_f64().expect("a length") / 1000.0
    });
    lengths.sum()
}
