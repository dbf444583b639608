//! How long planning takes, from lengths that are known: per session, per stretch, by size; and how long
//! the program takes to check a large folder.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use sidevoice::starter;
use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Duration;
use std::time::Instant;

#[path = "../it/common.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod common;
#[path = "row.rs"]
mod row;

use common::Tabled;
use row::row;

/// The rounds of ten works each that make a session of so many intervals.
fn session(intervals: usize) -> Session {
    let mut session = common::starter("ten-alone");
    session.text.by_ear = false;
    let block = &mut session.text.blocks;
    block.retain(|b| b.uses.len() >= 10);
    block.truncate(1);
    block[0].uses.truncate(10);
    block[0].rounds = intervals / 10;
    session
}

/// Plans a session; returns the time of each stretch, and how many are not proven to be the best.
fn stretches(session: &Session, wording: &Wording) -> (Vec<Duration>, usize) {
    let settings = compile::settings("tabled", CautionLength::Full);
    let mut planner = Planner::new(session, wording, settings, &mut Tabled);
    let mut times = Vec::new();
    loop {
        let begun = Instant::now();
        if planner.next_stretch(&mut Tabled).is_none() {
            break;
        }
        times.push(begun.elapsed());
    }
    let plan = planner.finish(&mut Tabled);
    let unproven = plan.stretches.iter().filter(|s| !s.solution.proven);
    (times, unproven.count())
}

/// Writes a folder of so many sessions of the starter's movements, no two alike: two rounds of ten.
fn write_folder(folder: &Path, sessions: usize) {
    starter::write(folder).expect("the starter");
    let of = |part: &str| fs::read_dir(folder.join(part)).expect("a part").flatten();
    for session in of("sessions") {
        fs::remove_file(session.path()).expect("a session of the starter");
    }
    let stem = |path: &Path| path.file_stem().map(|s| s.to_string_lossy().into_owned());
    let files = of("movements")
        .map(|f| f.path())
        .filter(|path| path.is_file());
    let mut ids: Vec<_> = files.filter_map(|path| stem(&path)).collect();
    ids.sort();
    for n in 0..sessions {
        let mut text = format!(
            "title = \"Outing {n}\"\n\n[[block]]\nrounds = 2\nwork = \"{}s\"\nrest = \"{}s\"\nmovements = [",
            20 + n % 5 * 5,
            15 + n % 7 * 5,
        );
        for k in 0..10 {
            // A write into a string cannot fail.
            let _ = write!(
                text,
                "\"{}\", ",
                ids[(n * 13 + k * (1 + n % 6)) % ids.len()]
            );
        }
        text += "]\n";
        let path = folder.join(format!("sessions/outing-{n}.toml"));
        fs::write(path, text).expect("a session");
    }
}

/// How long the program takes to check a folder.
fn check(folder: &Path) -> Duration {
    let begun = Instant::now();
    let done = Command::new(env!("CARGO_BIN_EXE_sidevoice"))
        .arg("check")
        .arg(folder)
        .output();
    let done = done.expect("the program");
    let time = begun.elapsed();
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    time
}

/// The fastest of several runs: what the machine's other work adds is no figure of ours.
fn best(session: &Session, wording: &Wording) -> Duration {
    let run = || {
        let begun = Instant::now();
        let settings = compile::settings("tabled", CautionLength::Full);
        let planner = Planner::new(session, wording, settings, &mut Tabled);
        std::hint::black_box(planner.finish(&mut Tabled));
        begun.elapsed()
    };
    (0..9).map(|_| run()).min().unwrap_or_default()
}

fn main() {
    let wording = Wording::english();
    let (hundred, five_hundred) = (session(100), session(500));
    let (short, long) = (best(&hundred, &wording), best(&five_hundred, &wording));
    let ms = |d: Duration| d.as_secs_f64() * 1e3;
    row(
        "planning 100 intervals from known lengths",
        "20 ms",
        format!("{:.1} ms", ms(short)),
    );
    row(
        "planning 500 intervals, times that of 100",
        "5.5",
        format!("{:.2}", ms(long) / ms(short)),
    );
    let (mut times, mut unproven) = stretches(&five_hundred, &wording);
    for id in [
        "boathouse-five",
        "ladder",
        "strength-long-rests",
        "first-by-ear",
        "ten-alone",
        "warm-up",
        "cool-down",
    ] {
        let (more, not_proven) = stretches(&common::starter(id), &wording);
        times.extend(more);
        unproven += not_proven;
    }
    times.sort();
    row(
        "a stretch: median, worst",
        "0.2 ms, 5 ms",
        format!(
            "{:.2} ms, {:.2} ms",
            ms(times[times.len() / 2]),
            ms(times[times.len() - 1])
        ),
    );
    row(
        "stretches of these and of the starter's sessions not proven to be the best",
        "0",
        format!("{unproven} of {}", times.len()),
    );
    let folder = tempfile::tempdir().expect("a temporary folder");
    write_folder(folder.path(), 1000);
    let checked = (0..3).map(|_| check(folder.path())).min();
    row(
        "`check` of a folder of 1,000 sessions, lengths estimated",
        "2 s",
        format!("{:.2} s", checked.unwrap_or_default().as_secs_f64()),
    );
}
