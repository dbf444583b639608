//! What breaks: the engine, the cache, the files. There is always a take.

#![expect(
    clippy::disallowed_methods,
    reason = "breaks files, and waits for processes to end"
)]

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;
use std::time::Instant;

use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Take;
use sidevoice::sound::speech::fetch;
use sidevoice::sound::speech::library;
use sidevoice::sound::speech::library::Shelf;

use crate::speech::all;
use crate::speech::check_take;
use crate::speech::compact;
use crate::speech::lines::LINES;
use crate::speech::settings;
use crate::speech::speaker;
use crate::speech::utterances;
use crate::speech::voices;

pub fn kill(process: u32) {
    let status = Command::new("kill")
        .args(["-9", &process.to_string()])
        .status();
    assert!(status.is_ok_and(|status| status.success()));
}

pub fn alive(process: u32) -> bool {
    Path::new(&format!("/proc/{process}")).exists()
}

pub fn wait_until(what: &str, mut holds: impl FnMut() -> bool) {
    let start = Instant::now();
    while !holds() {
        assert!(
            start.elapsed() < Duration::from_secs(20),
            "waited in vain until {what}"
        );
        std::thread::sleep(Duration::from_millis(10));
    }
}

/// Makes an executable that stands in for the engine.
pub fn fake_engine(folder: &Path, script: &str) -> PathBuf {
    use std::os::unix::fs::PermissionsExt;
    let path = folder.join("engine");
    fs::write(&path, format!("#!/bin/sh\n{script}\n")).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
    path
}

#[test]
fn takes_are_the_same_to_the_bit_cold_warm_and_in_any_order() {
    let wanted = utterances(&LINES[..24]);
    let (first, folder) = speaker();
    let cold = all(first.takes(&wanted));
    assert_eq!(all(first.takes(&wanted)), cold, "warm");
    drop(first);
    let (again, notices) = Speaker::open(settings(folder.path()));
    assert_eq!(notices, []);
    assert_eq!(all(again.takes(&wanted)), cold, "from the disk");
    assert_eq!(again.engine_process(), None, "nothing was loaded for it");

    let (other, _other_folder) = speaker();
    let backwards: Vec<_> = wanted.iter().rev().cloned().collect();
    let mut takes = all(other.takes(&backwards));
    takes.reverse();
    assert_eq!(takes, cold, "backwards");

    let (many, _many_folder) = speaker();
    std::thread::scope(|scope| {
        for part in wanted.chunks(5) {
            let many = &many;
            scope.spawn(move || many.takes(part));
        }
    });
    assert_eq!(all(many.takes(&wanted)), cold, "from many threads");
}

#[test]
fn a_child_killed_in_the_middle_is_replaced() {
    let (speaker, _folder) = speaker();
    let (other, _other_folder) = crate::speech::speaker();
    let expected = all(other.takes(&utterances(&LINES)));
    let takes = std::thread::scope(|scope| {
        let work = scope.spawn(|| all(speaker.takes(&utterances(&LINES))));
        wait_until("the child runs", || speaker.engine_process().is_some());
        kill(speaker.engine_process().unwrap());
        work.join().unwrap()
    });
    assert_eq!(takes, expected);
    assert_eq!(speaker.notices(), []);
}

#[test]
fn a_child_that_is_killed_again_and_again_leaves_the_line_to_the_compact_voice() {
    let (speaker, folder) = speaker();
    let engine = fake_engine(folder.path(), "kill -9 $$");
    let mut settings = settings(folder.path());
    settings.engine = Some(engine);
    drop(speaker);
    let (speaker, _) = Speaker::open(settings);
    let takes = all(speaker.takes(&utterances(&LINES[..8])));
    let plain = compact(tempfile::tempdir().unwrap().path());
    assert_eq!(takes, all(plain.takes(&utterances(&LINES[..8]))));
    let notices = speaker.notices();
    assert!(!notices.is_empty() && notices.len() <= 4, "{notices:?}");
    assert!(notices[0].message.contains("compact voice"), "{notices:?}");
}

#[test]
fn a_child_that_hangs_is_killed_and_the_compact_voice_speaks() {
    let folder = tempfile::tempdir().unwrap();
    let pids = folder.path().join("pids");
    let engine = fake_engine(
        folder.path(),
        &format!("echo $$ >> {}\nexec sleep 1000", pids.display()),
    );
    let settings = Settings {
        engine: Some(engine),
        patience: Duration::from_millis(100),
        ..settings(folder.path())
    };
    let (speaker, _) = Speaker::open(settings);
    let take = speaker.take(&utterances(&["Three."])[0]).unwrap();
    check_take("Three.", &take);
    let notices = speaker.notices();
    assert!(notices[0].message.contains("did not answer"), "{notices:?}");
    let pids = fs::read_to_string(pids).unwrap();
    let pids: Vec<u32> = pids.lines().map(|pid| pid.parse().unwrap()).collect();
    assert_eq!(pids.len(), 1, "one that hangs is not asked again");
    wait_until("it is gone", || !pids.iter().any(|pid| alive(*pid)));
}

#[test]
fn a_child_that_answers_nonsense_does_no_harm() {
    let folder = tempfile::tempdir().unwrap();
    let engine = fake_engine(folder.path(), "exec head -c 100000 /dev/urandom");
    let settings = Settings {
        engine: Some(engine),
        ..settings(folder.path())
    };
    let (speaker, _) = Speaker::open(settings);
    let takes = all(speaker.takes(&utterances(&LINES[..4])));
    assert_eq!(takes.len(), 4);
}

#[test]
fn an_idle_child_ends_and_comes_back_when_it_is_needed() {
    let folder = tempfile::tempdir().unwrap();
    let settings = Settings {
        idle: Duration::from_millis(200),
        ..settings(folder.path())
    };
    let (speaker, _) = Speaker::open(settings);
    speaker.take(&utterances(&["One."])[0]).unwrap();
    let child = speaker.engine_process();
    if let Some(child) = child {
        wait_until("the idle child is gone", || !alive(child));
    }
    wait_until("it is known to be gone", || {
        speaker.engine_process().is_none()
    });
    speaker.take(&utterances(&["Two."])[0]).unwrap();
    assert_eq!(speaker.notices(), []);
    drop(speaker);
}

#[test]
fn the_child_ends_with_its_speaker() {
    let (speaker, _folder) = speaker();
    speaker.take(&utterances(&["One."])[0]).unwrap();
    let child = speaker.engine_process().unwrap();
    assert!(alive(child));
    drop(speaker);
    wait_until("the child is gone", || !alive(child));
}

#[test]
fn the_engine_ends_when_its_input_does_and_refuses_wrong_arguments() {
    let engine = |arguments: &[&str]| {
        Command::new(env!("CARGO_BIN_EXE_sidevoice"))
            .arg("speech-engine")
            .args(arguments)
            .stdin(std::process::Stdio::piped())
            .spawn()
            .unwrap()
    };
    let folder = voices().join("hibari");
    let mut child = engine(&["hibari", folder.to_str().unwrap(), "600000"]);
    drop(child.stdin.take());
    assert!(child.wait().unwrap().success());
    assert_eq!(engine(&["nobody"]).wait().unwrap().code(), Some(2));
}

#[test]
fn a_speaker_with_a_hung_engine_is_closed_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let settings = Settings {
        engine: Some(fake_engine(folder.path(), "exec sleep 1000")),
        ..settings(folder.path())
    };
    let (speaker, _) = Speaker::open(settings);
    speaker.prefetch(&utterances(&LINES));
    wait_until("the child runs", || speaker.engine_process().is_some());
    let start = Instant::now();
    drop(speaker);
    assert!(
        start.elapsed() < Duration::from_secs(5),
        "{:?}",
        start.elapsed()
    );
}

#[test]
fn what_is_asked_ahead_is_made_and_what_is_needed_now_comes_first() {
    let (speaker, _folder) = speaker();
    let ahead = utterances(&LINES[..30]);
    speaker.prefetch(&ahead);
    let now = utterances(&["Put the weight down now."]);
    let start = Instant::now();
    all(speaker.takes(&now));
    let urgent = start.elapsed();
    let all_ahead = all(speaker.takes(&ahead));
    assert!(urgent < start.elapsed(), "{urgent:?}");
    assert_eq!(all_ahead.len(), 30);
    speaker.prefetch(&ahead);
    speaker.forget();
}

#[test]
fn a_damaged_entry_of_the_cache_is_made_again() {
    let folder = tempfile::tempdir().unwrap();
    let speaker = compact(folder.path());
    let wanted = utterances(&LINES[..3]);
    let good = all(speaker.takes(&wanted));
    let entries = || fs::read_dir(folder.path().join("cache")).unwrap().flatten();
    for entry in entries() {
        let mut bytes = fs::read(entry.path()).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 1;
        fs::write(entry.path(), bytes).unwrap();
    }
    assert_eq!(all(speaker.takes(&wanted)), good);
    let speaker = compact(folder.path());
    assert_eq!(all(speaker.takes(&wanted)), good);
    assert_eq!(entries().count(), 3);
}

#[test]
fn two_speakers_share_one_cache() {
    let folder = tempfile::tempdir().unwrap();
    let takes: Vec<Vec<Take>> = std::thread::scope(|scope| {
        let work = || all(compact(folder.path()).takes(&utterances(&LINES)));
        let threads: Vec<_> = (0..3).map(|_| scope.spawn(work)).collect();
        threads
            .into_iter()
            .map(|thread| thread.join().unwrap())
            .collect()
    });
    assert!(takes.windows(2).all(|pair| pair[0] == pair[1]));
}

#[test]
fn an_unwritable_cache_is_reported_once_and_all_is_spoken() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, "").unwrap();
    let settings = Settings {
        voice: Some("compact".to_owned()),
        ..settings(&file)
    };
    let (speaker, _) = Speaker::open(settings);
    assert_eq!(all(speaker.takes(&utterances(&LINES[..5]))).len(), 5);
    let notices = speaker.notices();
    assert_eq!(notices.len(), 1, "{notices:?}");
    assert!(notices[0].message.contains("cannot be kept"), "{notices:?}");
}

/// Copies the real voice into a folder where it can be broken.
fn copied_voice(folder: &Path) -> PathBuf {
    let copy = folder.join("voices/hibari");
    fs::create_dir_all(&copy).unwrap();
    for file in library::find("hibari").unwrap().files {
        fs::copy(
            voices().join("hibari").join(&file.name),
            copy.join(&file.name),
        )
        .unwrap();
    }
    copy
}

#[test]
fn a_damaged_model_is_named_with_what_to_do_and_the_compact_voice_speaks() {
    for name in ["hibari.onnx", "vocab.json", "oov.onnx", "oov.json"] {
        let folder = tempfile::tempdir().unwrap();
        let copy = copied_voice(folder.path());
        let path = copy.join(name);
        let mut bytes = fs::read(&path).unwrap();
        let middle = bytes.len() / 2;
        bytes[middle] ^= 1;
        fs::write(&path, bytes).unwrap();
        let settings = Settings {
            voices: Some(folder.path().join("voices")),
            ..settings(folder.path())
        };
        let (speaker, notices) = Speaker::open(settings);
        assert_eq!(notices, [], "the size is right");
        let takes = all(speaker.takes(&utterances(&LINES[..6])));
        assert_eq!(takes.len(), 6);
        let notices = speaker.notices();
        assert_eq!(notices.len(), 1, "{notices:?}");
        let message = &notices[0].message;
        assert!(message.contains(name), "{message}");
        assert!(message.contains("sidevoice voices get hibari"), "{message}");
    }
}

#[test]
fn a_missing_or_cut_model_is_noticed_when_the_voice_is_chosen() {
    let folder = tempfile::tempdir().unwrap();
    let copy = copied_voice(folder.path());
    let opened = |voice: Option<&str>| {
        let settings = Settings {
            voice: voice.map(str::to_owned),
            voices: Some(folder.path().join("voices")),
            ..settings(folder.path())
        };
        let (speaker, notices) = Speaker::open(settings);
        assert_eq!(speaker.name(), "compact");
        assert_eq!(notices.len(), 1, "{notices:?}");
        notices[0].message.clone()
    };
    fs::write(copy.join("oov.onnx"), "cut").unwrap();
    assert!(opened(None).contains("oov.onnx"), "{}", opened(None));
    fs::remove_dir_all(&copy).unwrap();
    let message = opened(Some("hibari"));
    assert!(
        message.contains("missing") && message.contains("voices get hibari"),
        "{message}"
    );
    assert!(opened(Some("nobody")).contains("no voice named nobody"));
}

#[test]
fn a_voice_that_is_there_is_not_fetched_again() {
    let fetched =
        fetch::get_with("no-such-python", Shelf::embedded(), "hibari", &voices()).unwrap();
    assert_eq!(fetched, fetch::Fetched::Already);
}

#[test]
fn a_client_that_cannot_download_leaves_the_old_files_alone() {
    let folder = tempfile::tempdir().unwrap();
    let copy = copied_voice(folder.path());
    fs::write(copy.join("vocab.json"), "{}").unwrap();
    let broken = fake_engine(folder.path(), "echo 'ERROR: no network' >&2; exit 1");
    let python = broken.to_str().unwrap();
    let error = fetch::get_with(
        python,
        Shelf::embedded(),
        "hibari",
        &folder.path().join("voices"),
    )
    .unwrap_err();
    assert!(matches!(error, fetch::FetchError::Download(..)), "{error}");
    assert!(error.to_string().contains("no network"), "{error}");
    assert!(copy.join("hibari.onnx").is_file());
    assert_eq!(
        fs::read_dir(folder.path().join("voices")).unwrap().count(),
        1
    );
}
