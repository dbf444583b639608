//! A class whose engine breaks in the middle: another voice takes over and no mark is late.

#![expect(
    clippy::disallowed_methods,
    reason = "writes files and waits for processes"
)]

use std::fs;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;

use crate::sound::pulse::LIMIT;
use crate::sound::pulse::Server;
use crate::speech::breaking::alive;
use crate::speech::breaking::fake_engine;
use crate::speech::breaking::wait_until;

/// Louder than this is heard.
#[cfg(feature = "os-voice")]
const HEARD: f32 = 0.003;

/// Where the first and the last sound lie.
#[cfg(feature = "os-voice")]
pub fn heard(samples: &[f32]) -> Option<(usize, usize)> {
    let loud = |sample: &f32| sample.abs() > HEARD;
    Some((
        samples.iter().position(loud)?,
        samples.iter().rposition(loud)?,
    ))
}

/// Where a sound above -40 dBFS begins after 150 ms without one.
pub fn onsets(samples: &[f32]) -> Vec<usize> {
    let mut found = Vec::new();
    let mut last = None;
    let loud = samples.iter().enumerate().filter(|(_, s)| s.abs() > 0.01);
    for (at, _) in loud {
        if last.is_none_or(|last| at - last > 7200) {
            found.push(at);
        }
        last = Some(at);
    }
    found
}

const SESSION: &str = "title = \"Short outing\"\nlead_in = \"30s\"\n[[block]]\n\
                       work = \"15s\"\nmovements = [\"march\"]\n";

/// A folder with one session, spoken by a voice.
pub fn folder(voice: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |path: &str| folder.path().join(path);
    for part in ["sessions", "movements"] {
        fs::create_dir(at(part)).unwrap();
    }
    let march = crate::common::root().join("tests/corpus/library/movements/march.toml");
    fs::copy(march, at("movements/march.toml")).unwrap();
    let text = format!("voice = \"{voice}\"\n{SESSION}");
    fs::write(at("sessions/short.toml"), text).unwrap();
    folder
}

/// Whether three, two, one and the start tone are there: each onset a second after the one before,
/// within 40 ms.
pub fn has_a_count(samples: &[f32]) -> bool {
    // A sound server on a loaded machine leaves short gaps in what is recorded.
    const GAP: usize = 48 * 40;
    let onsets = onsets(samples);
    let sounds_at = |at: usize| onsets.iter().any(|onset| onset.abs_diff(at) <= GAP);
    onsets
        .iter()
        .any(|first| (1..=3).all(|after| sounds_at(first + after * 48_000)))
}

#[test]
fn an_engine_that_hangs_in_mid_session_is_replaced_and_no_mark_is_late() {
    let server = Server::start();
    let folder = folder("espeak-en");
    let bin = folder.path().join("bin");
    fs::create_dir(&bin).unwrap();
    let (calls, pids) = (bin.join("calls"), bin.join("pids"));
    let real = sidevoice::sound::speech::espeak::find(None).unwrap();
    // It speaks the first lines and then hangs.
    let script = format!(
        "echo x >> {calls}\n[ $(wc -l < {calls}) -le 6 ] && exec {real} \"$@\"\n\
         echo $$ >> {pids}\nexec sleep 1000",
        calls = calls.display(),
        pids = pids.display(),
        real = real.display(),
    );
    fs::rename(fake_engine(&bin, &script), bin.join("espeak-ng")).unwrap();
    let path = std::env::var("PATH").unwrap();
    let recorder = server.record();
    let log = fs::File::create(folder.path().join("said")).unwrap();
    let mut class = server
        .command(env!("CARGO_BIN_EXE_sidevoice"))
        .args(["run", "short", "--no-log", "--buffer", "2048"])
        .args(["--caution", "brief"])
        .current_dir(folder.path())
        .env("PATH", format!("{}:{path}", bin.display()))
        .env("XDG_CACHE_HOME", folder.path())
        // Without its files the next voice is the compact one.
        .env("XDG_DATA_HOME", folder.path())
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(log)
        .spawn()
        .unwrap();
    let said = || fs::read_to_string(folder.path().join("said")).unwrap();
    let begun = Instant::now();
    while !said().contains("MARCH") {
        assert!(begun.elapsed() < 2 * LIMIT, "{}", said());
        std::thread::sleep(Duration::from_millis(50));
    }
    recorder.wait_more(48_000);
    class.kill().unwrap();
    class.wait().unwrap();
    let said = said();
    assert!(said.contains("Voice: espeak-en."), "{said}");
    assert!(
        said.contains("espeak-ng did not answer. The compact voice"),
        "{said}"
    );
    assert!(
        !said.contains("after its time"),
        "no sound was late: {said}"
    );
    assert!(has_a_count(&recorder.samples()), "{said}");
    let pids = fs::read_to_string(pids).unwrap();
    for pid in pids.lines().map(|pid| pid.parse().unwrap()) {
        // One that waits ends with its input; one that hangs is killed here, as it reads none.
        if alive(pid) {
            crate::speech::breaking::kill(pid);
        }
        wait_until("it is gone", || !alive(pid));
    }
}
