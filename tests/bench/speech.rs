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

    for voice in ["hibari", "compact", "espeak-en"] {
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
    for (voice, aim) in [
        ("hibari", "35 ms"),
        ("compact", "1 ms"),
        ("espeak-en", "12 ms"),
    ] {
        ten_words(voice, aim);
        many(voice);
    }
}

fn uncached(voice: &str) -> Speaker {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (speaker, _) = Speaker::open(Settings {
        cache: None,
        ..settings(folder.path(), voice)
    });
    speaker.take(&Utterance::new("Ready.")).expect("a take");
    speaker
}

/// A line of ten words, one at a time, made anew each time, on one core where the system can say so:
/// by the engine alone, and with the level, the limiter and the trim that follow.
fn ten_words(voice: &str, aim: &str) {
    let speaker = uncached(voice);
    let whole = median(speaker.engine_process(), |line| {
        drop(speaker.take(line).expect("a take"))
    });
    let mut notices = Vec::new();
    let folder = tempfile::tempdir().expect("a temporary folder");
    let chain =
        sidevoice::sound::speech::chain::open(&settings(folder.path(), voice), &mut notices);
    let engine = &chain.voices[0];
    let alone = |line: &Utterance| drop(engine.speak(&line.text, line.rate).expect("sound"));
    alone(&Utterance::new("Ready."));
    let alone = median(engine.process_id(), alone);
    engine.close();
    row(
        &format!(
            "{voice}: a line of about ten words on one core: the engine, with level and trim: medians"
        ),
        aim,
        format!("{alone:.1} ms, {whole:.1} ms"),
    );
}

/// How long new lines take on one core, in ms.
fn median(engine: Option<u32>, mut speak: impl FnMut(&Utterance)) -> f64 {
    let parts = [
        "past your ribs",
        "to your side",
        "as you breathe",
        "without a jerk",
    ];
    on_cores(engine, "0");
    let mut times: Vec<Duration> = (0..60)
        .map(|n| {
            let part = parts[n % parts.len()];
            let line = Utterance::new(format!("Draw the elbow up {part}, then lower it {n}"));
            // As in a class: lines come with some time between them.
            std::thread::sleep(Duration::from_millis(30));
            let start = Instant::now();
            speak(&line);
            start.elapsed()
        })
        .collect();
    on_cores(engine, "0-63");
    times.sort();
    times[times.len() / 2].as_secs_f64() * 1e3
}

/// Keeps this process and its engine to some cores; what they start later inherits it.
fn on_cores(engine: Option<u32>, cores: &str) {
    let own = Some(std::process::id());
    for process in [own, engine].into_iter().flatten() {
        let process = process.to_string();
        let set = std::process::Command::new("taskset")
            .args(["-acp", cores, &process])
            .stdout(std::process::Stdio::null())
            .status();
        assert!(
            set.is_ok_and(|status| status.success()),
            "taskset of util-linux"
        );
    }
}

/// 5,000 utterances, the same 500 again and again, each made anew: what is resident after them, beyond
/// what was after the first 500. (Longer texts would need more room, and be no leak.)
fn many(voice: &str) {
    let speaker = uncached(voice);
    let resident = || {
        let own = Some(std::process::id());
        // A process of espeak-ng speaks one text.
        let child = speaker.engine_process().filter(|_| voice == "hibari");
        [own, child]
            .into_iter()
            .flatten()
            .map(resident_kb)
            .sum::<i64>()
    };
    let words = ["one", "two", "rest", "left", "go"];
    let mut begun = 0;
    for n in 0..5000 {
        if n == 500 {
            begun = resident();
        }
        let text = format!("{} {}", words[n % words.len()], n % 500);
        speaker.take(&Utterance::new(text)).expect("a take");
    }
    let grown = resident() - begun;
    row(
        &format!("{voice}: growth in 4,500 utterances after the first 500"),
        "none",
        format!("{:.1} MB", grown as f64 / 1024.0),
    );
}

fn resident_kb(process: u32) -> i64 {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let number = line.and_then(|line| line.split_whitespace().next());
    number.and_then(|number| number.parse().ok()).unwrap_or(0)
}
