//! A rehearsal in real time: a coach made of a synthetic voice is played into a sink whose monitor is the
//! microphone, while the program rehearses through the same sink.
#![expect(
    clippy::disallowed_methods,
    reason = "runs programs and reads what they leave"
)]

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::Output;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;

use serde_json::Value;
use sidevoice::sound::speech::Take;

use super::coach::takes;
use crate::sound::pulse::Server;
use crate::sound::pulse::wait_for;
use crate::speech::class::folder;
use crate::speech::class::onsets;

/// Where the coach's lines begin, from the first of them on, in ms; the last one runs into a count.
const LINES: [(&str, u64); 3] = [
    ("March on the spot, knees to hip height.", 0),
    ("Keep your back long and breathe out.", 8_000),
    (
        "Stand tall and let your arms swing from the shoulder as you march.",
        19_000,
    ),
];
/// The first line is played so long after the rehearsal has begun to run.
const AFTER: Duration = Duration::from_millis(11_500);
/// In the plan the work of the session goes from 30 to 45 s; its last count begins at 42 s.
const LAST_COUNT_MS: i64 = 42_000;
/// An edge is found within 60 ms; the rest is what a sound server tells of its delay, and does not.
const NEAR_MS: i64 = 130;

/// A rehearsal that ends with its test, however that ends.
struct Rehearsal(Option<Child>);

impl Drop for Rehearsal {
    fn drop(&mut self) {
        if let Some(mut child) = self.0.take() {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}

fn rehearse(server: &Server, folder: &Path, arguments: &[&str]) -> Rehearsal {
    let said = fs::File::create(folder.join("said")).unwrap();
    let child = server
        .command(env!("CARGO_BIN_EXE_sidevoice"))
        .args(["rehearse", "short", "--voice", "compact"])
        .args(["--caution", "brief", "--buffer", "2048"])
        .args(arguments)
        .current_dir(folder)
        .env("XDG_DATA_HOME", folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(said)
        .spawn()
        .unwrap();
    Rehearsal(Some(child))
}

fn said(folder: &Path) -> String {
    fs::read_to_string(folder.join("said")).unwrap()
}

fn end(mut rehearsal: Rehearsal) -> Output {
    // It takes as long as the class: a minute and a quarter.
    let begun = Instant::now();
    let running = |child: &mut Child| child.try_wait().unwrap().is_none();
    while rehearsal.0.as_mut().is_some_and(running) {
        assert!(
            begun.elapsed() < Duration::from_secs(240),
            "it does not end"
        );
        std::thread::sleep(Duration::from_millis(100));
    }
    rehearsal.0.take().unwrap().wait_with_output().unwrap()
}

/// The reports that are kept, the oldest first.
fn reports(folder: &Path) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir(folder.join("log"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    all.sort();
    all
}

/// The lines one after the other at their times; where each is heard, in samples.
fn coach(takes: &[Take]) -> (Vec<f32>, Vec<(i64, i64)>) {
    let mut samples = Vec::new();
    let mut heard = Vec::new();
    for (take, (_, at)) in takes.iter().zip(LINES) {
        let start = at as usize * 48;
        samples.resize(start, 0.0);
        samples.extend_from_slice(&take.samples);
        let place = |frames: u64| (start as u64 + frames) as i64;
        heard.push((place(take.onset.count()), place(take.end.count())));
    }
    (samples, heard)
}

/// Leaves the report of an earlier rehearsal with twelve lines as espeak-ng says them.
fn earlier(folder: &Path) {
    let texts = &crate::speech::lines::LINES[..12];
    let lines = takes("espeak-en", texts);
    let lines: Vec<Value> = texts
        .iter()
        .zip(&lines)
        .map(|(text, take)| serde_json::json!({"text": text, "ms": take.length().ms()}))
        .collect();
    let report = serde_json::json!({
        "format": "sidevoice-rehearsal/1", "session": "another", "began": "2026-11-01T10:00:00Z",
        "language": "en", "rows": [], "lines": lines,
    });
    fs::create_dir(folder.join("log")).unwrap();
    let file = folder.join("log/2026-11-01T10-00-00Z-another.rehearsal.json");
    fs::write(file, report.to_string()).unwrap();
}

#[test]
fn a_coach_of_known_times_is_judged_by_them() {
    let server = Server::start();
    let folder = folder("compact");
    let folder = folder.path();
    let lines: Vec<&str> = LINES.iter().map(|(line, _)| *line).collect();
    let (samples, truth) = coach(&takes("espeak-en", &lines));
    let file = folder.join("coach.raw");
    let bytes: Vec<u8> = samples.iter().flat_map(|s| s.to_le_bytes()).collect();
    fs::write(&file, bytes).unwrap();

    // What she said in earlier rehearsals is there: with this one it tells how fast she speaks.
    earlier(folder);
    let recorder = server.record();
    let rehearsal = rehearse(
        &server,
        folder,
        &["--help-with", "marks", "--listen", "--apply"],
    );
    wait_for("the rehearsal to run", || {
        said(folder).contains("yours").then_some(())
    });
    std::thread::sleep(AFTER);
    let mut player = server
        .command("pacat")
        .args(["--playback", "--raw", "--format=float32le", "--rate=48000"])
        .args(["--channels=1", "--latency-msec=100"])
        .arg(&file)
        .spawn()
        .unwrap();
    let ended = end(rehearsal);
    player.wait().unwrap();
    let told = said(folder);
    assert!(ended.status.success(), "{told}");
    assert!(told.contains("What it hears is not kept"), "{told}");
    let page = String::from_utf8(ended.stdout).unwrap();

    // Where the plan's clock stands in the recording: a count with its tone, a second apart.
    let recorded = recorder.samples();
    let onsets: Vec<i64> = onsets(&recorded).into_iter().map(|at| at as i64).collect();
    let sounds_at = |at: i64| onsets.iter().any(|onset| (onset - at).abs() < 48 * 40);
    let is_count = |first: &&i64| (1..=3).all(|after| sounds_at(*first + after * 48_000));
    let count = onsets.iter().rfind(is_count).expect("the last count");
    // The coach is the first that sounds.
    let offset = onsets[0] - truth[0].0;
    let in_plan = |sample: i64| LAST_COUNT_MS + (sample + offset - count) / 48;
    let truth: Vec<(i64, i64)> = truth
        .iter()
        .map(|(from, to)| (in_plan(*from), in_plan(*to)))
        .collect();

    let kept = reports(folder);
    assert_eq!(kept.len(), 2, "the report alone is kept");
    let kept: Value = serde_json::from_str(&fs::read_to_string(&kept[1]).unwrap()).unwrap();
    let lead_in = &kept["rows"][0];
    let spoke: Vec<(i64, i64)> = serde_json::from_value(lead_in["spoke"].clone()).unwrap();
    assert_eq!(spoke.len(), 3, "{kept:#} but {truth:?}\n{page}");
    for (found, truth) in spoke.iter().zip(&truth).take(2) {
        let off = (found.0 - truth.0, found.1 - truth.1);
        assert!(
            off.0.abs() <= NEAR_MS && off.1.abs() <= NEAR_MS,
            "{off:?} ms off: {spoke:?}, not {truth:?}"
        );
    }
    // The last line runs into the count, and where the count sounds nobody can be heard.
    let three = LAST_COUNT_MS - 15_000;
    assert!(truth[2].0 < three && truth[2].1 > three + 300, "{truth:?}");
    assert!((spoke[2].0 - truth[2].0).abs() <= NEAR_MS, "{spoke:?}");
    let over = lead_in["over_ms"].as_i64().unwrap();
    assert!(over > 0, "{page}");
    assert!(page.contains("over \"three\""), "{page}");
    // The edit that was proposed is made, and nothing else of the file is touched.
    let session = fs::read_to_string(folder.join("sessions/short.toml")).unwrap();
    let added = session.lines().find(|line| line.starts_with("lead_in = "));
    let added = added.expect("the lead-in is longer");
    assert!(page.contains(added), "{page}");
    assert!(page.contains("short.toml was changed"), "{page}");
    let longer: i64 = added
        .trim_start_matches("lead_in = \"")
        .trim_end_matches("s\"")
        .parse()
        .unwrap();
    assert!(longer > 30, "{added}");
    // Her pace is that of the earlier lines: espeak-ng's own.
    let me = fs::read_to_string(folder.join("sidevoice/speakers/me.toml")).unwrap();
    assert!(told.contains("words a minute, by"), "{told}");
    assert!(me.contains("lines = "), "{me}");
    // In the work she said nothing, and our own counts and tones are not hers.
    let work = &kept["rows"][1];
    assert_eq!(work["spoke"].as_array().unwrap().len(), 0, "{kept:#}");
}

#[test]
fn a_microphone_that_there_is_not_is_told_before_anything_sounds() {
    let server = Server::start();
    let folder = folder("compact");
    let rehearsal = rehearse(
        &server,
        folder.path(),
        &["--listen", "--microphone", "nowhere"],
    );
    let ended = end(rehearsal);
    let told = said(folder.path());
    assert_eq!(ended.status.code(), Some(4), "{told}");
    assert!(
        told.contains("expected a microphone called nowhere"),
        "{told}"
    );
    assert!(!folder.path().join("log").exists());
}

#[test]
fn a_rehearsal_is_steered_from_elsewhere_and_says_what_becomes_of_the_microphone() {
    let mut server = Server::start();
    let folder = folder("compact");
    let folder = folder.path();
    let session = folder.join("sessions/short.toml");
    let text = fs::read_to_string(&session).unwrap();
    let shorter = text.replace("lead_in", "finish = \"12s\"\nlead_in");
    fs::write(session, shorter).unwrap();
    // The monitor of a sink into which nobody plays is a muted microphone.
    server.add_other_sink();
    let other = |server: &Server, arguments: &[&str]| {
        let ran = server
            .command(env!("CARGO_BIN_EXE_sidevoice"))
            .args(arguments)
            .current_dir(folder)
            .output()
            .unwrap();
        let text = String::from_utf8([ran.stdout, ran.stderr].concat()).unwrap();
        (ran.status.code(), text)
    };
    let waits_for = |what: &str| {
        wait_for(what, || said(folder).contains(what).then_some(()));
    };
    let recorder = server.record();
    let help = ["--help-with", "first-words", "--from", "2"];
    let microphone = [
        "--listen",
        "--microphone",
        "other.monitor",
        "--device",
        "cap",
    ];
    let rehearsal = rehearse(&server, folder, &[&help[..], &microphone].concat());
    waits_for("2 of 2");
    other(&server, &["tell", "repeat"]);
    waits_for("again and again");
    wait_for("its place", || {
        let (_, text) = other(&server, &["status", "--json"]);
        let status: Value = serde_json::from_str(&text).ok()?;
        let running = status["state"] == "running" && status["session"] == "Short outing";
        (running && status["position_ms"].as_i64()? > 40_000).then_some(())
    });
    // Two at once are understood by nobody.
    for second in [&["run", "short"][..], &["rehearse", "short"]] {
        let (code, text) = other(&server, second);
        assert_eq!(code, Some(7), "{text}");
        assert!(text.contains("another class runs already"), "{text}");
    }
    waits_for("passage 2 is not judged");
    let told = said(folder);
    assert!(told.contains("muted"), "{told}");
    // A key is answered aloud, while the clock stands too.
    other(&server, &["tell", "pause"]);
    waits_for("Paused");
    let (_, text) = other(&server, &["status"]);
    assert!(text.starts_with("Paused, Short outing"), "{text}");
    recorder.wait_more(48_000);
    let before = recorder.len();
    other(&server, &["tell", "talk-less"]);
    waits_for("Help: name");
    recorder.wait_for("an answer", |samples| {
        let later = samples.get(before..)?;
        later.iter().any(|sample| sample.abs() > 0.05).then_some(())
    });
    server.kill();
    waits_for("the loudspeaker is gone");
    waits_for("the microphone is gone");
    other(&server, &["tell", "stop"]);
    let ended = end(rehearsal);
    let told = said(folder);
    assert!(ended.status.success(), "{told}");
    assert!(told.contains("there is no report"), "{told}");
    assert!(!folder.join("log").exists(), "{told}");
}
