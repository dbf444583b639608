//! What speaking costs: the first line from cold, a line, a kept line, and memory.
//!
//! Run with `cargo bench --bench speech`; needs the voice hibari. Limits fail, figures are printed.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use std::fs;
use std::path::PathBuf;
use std::time::Duration;
use std::time::Instant;

use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Utterance;

/// The first line of seven words, with the start of the engine.
const COLD: Duration = Duration::from_millis(600);
/// A kept line, normalised, looked up, read and checked.
const KEPT: Duration = Duration::from_micros(200);
/// Program and engine together.
const RESIDENT_MB: u64 = 200;

fn settings(folder: &std::path::Path, voice: &str) -> Settings {
    Settings {
        voice: Some(voice.to_owned()),
        cache: Some(folder.join("cache")),
        engine: Some(PathBuf::from(env!("CARGO_BIN_EXE_sidevoice"))),
        ..Settings::standard()
    }
}

fn resident_mb(process: u32, field: &str) -> u64 {
    let status = fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with(field));
    let kb = line.and_then(|line| line.split_whitespace().nth(1)?.parse::<u64>().ok());
    kb.unwrap_or(0) / 1024
}

fn lines() -> Vec<Utterance> {
    let parts = [
        "Draw the elbow up",
        "Push the floor away",
        "Sit back and down",
        "Keep the ribs in",
    ];
    let ends = [
        "past your ribs.",
        "and breathe out slowly.",
        "until you touch.",
        "with a long neck.",
    ];
    let pairs = parts
        .iter()
        .flat_map(|part| ends.iter().map(move |end| format!("{part}, {end}")));
    pairs.map(Utterance::new).collect()
}

fn main() {
    let mut cold = Vec::new();
    for _ in 0..7 {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let (speaker, notices) = Speaker::open(settings(folder.path(), "hibari"));
        assert!(notices.is_empty(), "{notices:?}");
        let start = Instant::now();
        let take = speaker.take(&Utterance::new("Draw the elbow up past your ribs."));
        cold.push(start.elapsed());
        take.expect("a take");
    }
    cold.sort();
    println!(
        "first line, cold: median {:?}, worst {:?}",
        cold[3], cold[6]
    );

    for voice in ["hibari", "compact"] {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let (speaker, _) = Speaker::open(settings(folder.path(), voice));
        speaker.take(&Utterance::new("Ready.")).expect("a take");
        let lines = lines();
        let start = Instant::now();
        let takes = speaker.takes(&lines);
        let made = start.elapsed();
        let heard: f64 = takes
            .iter()
            .flatten()
            .map(|take| take.length().secs())
            .sum();
        println!(
            "{voice}: {} lines in {made:?}, {:.0} times as fast as they are heard",
            takes.len(),
            heard / made.as_secs_f64()
        );
        drop(takes);
        let mut kept: Vec<Duration> = (0..50)
            .flat_map(|_| &lines)
            .map(|line| {
                let start = Instant::now();
                let take = speaker.take(line);
                let elapsed = start.elapsed();
                assert!(take.is_ok());
                elapsed
            })
            .collect();
        kept.sort();
        println!("{voice}: a kept line: median {:?}", kept[kept.len() / 2]);
        assert!(kept[kept.len() / 2] <= KEPT);
        if let Some(child) = speaker.engine_process() {
            let own = std::process::id();
            let (parent, engine) = (resident_mb(own, "VmRSS"), resident_mb(child, "VmRSS"));
            println!(
                "resident: {parent} MB + engine {engine} MB (peak {} MB)",
                resident_mb(child, "VmHWM")
            );
            assert!(parent + engine < RESIDENT_MB);
        }
    }
    assert!(cold[3] <= COLD);
}
