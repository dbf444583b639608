//! What a class costs: rendering it cold and warm, the first sound of a run, memory.
//!
//! Needs the voice hibari and PulseAudio. The program is measured from outside, as it is used.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use sidevoice::base::utterance::Rate;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Voice;
use sidevoice::sound::speech::child::ChildSettings;
use sidevoice::sound::speech::child::ChildVoice;
use sidevoice::sound::speech::library;
use sidevoice::sound::speech::normalise;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;

#[path = "../it/sound/pulse.rs"]
#[expect(dead_code, reason = "the tests use more of it than the bench does")]
mod pulse;
#[path = "row.rs"]
mod row;

use row::row;

const PROGRAM: &str = env!("CARGO_BIN_EXE_sidevoice");
const SESSION: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/src/starter/sessions/boathouse-five.toml"
);

fn render(cache: &Path, voice: &str) -> Duration {
    let wav = cache.join("class.wav");
    let begun = Instant::now();
    let done = Command::new(PROGRAM)
        .args(["render", SESSION, "--overwrite", "--voice", voice, "-o"])
        .arg(wav)
        .env("XDG_CACHE_HOME", cache)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    assert!(done.expect("the program").success());
    begun.elapsed()
}

/// The texts of a class that were spoken, with their rates, and its length in seconds.
fn spoken(cache: &Path) -> (BTreeSet<(String, u16)>, f64) {
    let plan = Command::new(PROGRAM)
        .args(["plan", SESSION, "--format", "json", "--voice", "hibari"])
        .env("XDG_CACHE_HOME", cache)
        .output()
        .expect("the program");
    let plan: serde_json::Value = serde_json::from_slice(&plan.stdout).expect("JSON");
    let sounds = plan["sounds"].as_array().expect("sounds").iter();
    let texts = sounds
        .filter(|s| s["kind"] != "tone")
        .map(|s| {
            let rate = s["rate"].as_f64().unwrap_or(1.0) * 1000.0;
            (s["text"].as_str().unwrap_or("").to_owned(), rate as u16)
        })
        .collect();
    (texts, plan["length_ms"].as_f64().unwrap_or(0.0) / 1000.0)
}

/// The engine's own time for texts, one after another on one core, loading included.
fn engine_time(texts: &BTreeSet<(String, u16)>) -> Duration {
    let info = library::find("hibari").expect("the voice");
    let voices = Settings::standard().voices.expect("a data folder");
    let settings = ChildSettings {
        program: PathBuf::from(PROGRAM),
        folder: voices.join("hibari"),
        idle: Duration::from_secs(10),
        patience: Duration::from_secs(10),
    };
    let begun = Instant::now();
    let voice = ChildVoice::new(info, settings);
    for (text, rate) in texts {
        let text = normalise::normalise(text, &normalise::ENGLISH);
        voice
            .speak(&text, Rate::from_per_mille(*rate))
            .expect("speech");
    }
    begun.elapsed()
}

/// Runs a class; returns the time to its first sound and its greatest memory in MB, its child
/// included.
fn run(server: &pulse::Server, cache: &Path, voice: &str) -> (Duration, u64) {
    let recorder = server.record();
    let from = recorder.len();
    let mut program = server
        .command(PROGRAM)
        .args(["run", SESSION, "--no-log", "--voice", voice])
        .env("XDG_CACHE_HOME", cache)
        .env("XDG_DATA_HOME", data_home())
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .expect("the program");
    let mut most = 0;
    let mut first = None;
    for _ in 0..400 {
        std::thread::sleep(Duration::from_millis(10));
        most = most.max(resident_mb(program.id()));
        first = first.or_else(|| {
            let samples = recorder.samples();
            samples[from..].iter().position(|s| s.abs() > 0.001)
        });
    }
    let _ = program.kill();
    let _ = program.wait();
    let first = first.expect("a sound within four seconds");
    (Duration::from_secs_f64(first as f64 / 48_000.0), most)
}

fn data_home() -> PathBuf {
    let voices = Settings::standard().voices.expect("a data folder");
    voices.ancestors().nth(2).expect("its home").to_owned()
}

/// Returns the resident memory of a process and its children in MB.
fn resident_mb(process: u32) -> u64 {
    let of = |id: u32| {
        let status = fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
        let line = status.lines().find(|l| l.starts_with("VmRSS"));
        line.and_then(|l| l.split_whitespace().nth(1)?.parse::<u64>().ok())
            .unwrap_or(0)
            / 1024
    };
    let tasks = fs::read_dir(format!("/proc/{process}/task")).into_iter();
    let children = tasks.flatten().flatten().flat_map(|task| {
        let list = fs::read_to_string(task.path().join("children")).unwrap_or_default();
        let ids: Vec<u32> = list
            .split_whitespace()
            .filter_map(|id| id.parse().ok())
            .collect();
        ids
    });
    of(process) + children.map(of).sum::<u64>()
}

fn main() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let cache = folder.path();
    let cold = render(cache, "hibari");
    let warm = (0..5)
        .map(|_| render(cache, "hibari"))
        .min()
        .unwrap_or_default();
    let (texts, seconds) = spoken(cache);
    let engine = engine_time(&texts);
    row(
        "cold render of Boathouse five, times the engine's own one-core time for its lines",
        "1.3",
        format!("{:.2}", cold.as_secs_f64() / engine.as_secs_f64()),
    );
    row(
        "the same with everything cached",
        "1,000 x real time",
        format!("{:.0} x real time", seconds / warm.as_secs_f64()),
    );
    let server = pulse::Server::start();
    let (cached, _) = run(&server, cache, "hibari");
    row(
        "run to first sound, cached, as recorded from a null sink",
        "300 ms",
        format!("{} ms", cached.as_millis()),
    );
    let cold = tempfile::tempdir().expect("a temporary folder");
    let (uncached, neural) = run(&server, cold.path(), "hibari");
    row(
        "run to first sound, nothing cached",
        "1 s",
        format!("{} ms", uncached.as_millis()),
    );
    let other = tempfile::tempdir().expect("a temporary folder");
    let (_, compact) = run(&server, other.path(), "compact");
    row(
        "resident while running: neural with its child, compact",
        "200 MB, 40 MB",
        format!("{neural} MB, {compact} MB"),
    );
}
