//! What speaking costs: the first line from cold, a line, a kept line, and memory.
//!
//! Run with `cargo bench --bench speech`; needs the voice hibari.

#![expect(clippy::disallowed_methods, reason = "a bench measures time")]

use std::path::PathBuf;
use std::time::Duration;
use std::time::Instant;

use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Utterance;

#[path = "row.rs"]
mod row;

use row::row;

fn settings(folder: &std::path::Path, voice: &str) -> Settings {
    Settings {
        voice: Some(voice.to_owned()),
        cache: Some(folder.join("cache")),
        engine: Some(PathBuf::from(env!("CARGO_BIN_EXE_sidevoice"))),
        ..Settings::standard()
    }
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
    row(
        "first line of seven words, engine not started: median, worst of 7",
        "400 ms",
        format!("{} ms, {} ms", cold[3].as_millis(), cold[6].as_millis()),
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
        row(
            &format!("{voice}: {} new lines on both cores", takes.len()),
            "",
            format!(
                "{:.0} x as fast as they are heard",
                heard / made.as_secs_f64()
            ),
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
        row(
            &format!("{voice}: a line from the cache, median"),
            "0.2 ms",
            format!("{:.2} ms", kept[kept.len() / 2].as_secs_f64() * 1e3),
        );
    }
}
