//! The voices of espeak-ng: how they sound, who speaks which language, and what breaks.
//!
//! The program must be installed; `scripts/setup --test` does that.

#![expect(clippy::disallowed_methods, reason = "waits for processes to end")]

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;

use sidevoice::base::wording::Language;
use sidevoice::base::wording::Wording;
use sidevoice::sound::speech::Rate;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Utterance;

use crate::speech::all;
use crate::speech::breaking::alive;
use crate::speech::breaking::fake_engine;
use crate::speech::breaking::wait_until;
use crate::speech::check_take;
use crate::speech::compact;
use crate::speech::levels::check_estimates;
use crate::speech::levels::english;
use crate::speech::lines::LINES;
use crate::speech::named;
use crate::speech::settings;
use crate::speech::tongues::TONGUES;
use crate::speech::utterances;

/// Opens a voice with a stand-in for espeak-ng.
fn with_program(program: PathBuf, folder: &Path) -> Speaker {
    let (speaker, notices) = Speaker::open(Settings {
        voice: Some("espeak-en".to_owned()),
        espeak: Some(program),
        patience: Duration::from_millis(100),
        ..settings(folder)
    });
    assert_eq!(notices, []);
    speaker
}

#[test]
fn each_language_is_spoken_at_our_level_and_estimated_with_caution() {
    let folder = tempfile::tempdir().unwrap();
    for tongue in TONGUES {
        let speaker = named(tongue.voice, folder.path());
        assert_eq!(speaker.info().language, tongue.language);
        let texts = [tongue.lines, tongue.words].concat();
        for (text, take) in texts.iter().zip(all(speaker.takes(&utterances(&texts)))) {
            check_take(text, &take);
            assert_eq!(take.words, [], "it tells no times");
        }
        check_estimates(&speaker, &texts);
        assert_eq!(speaker.notices(), []);
    }
    check_estimates(&named("espeak-en", folder.path()), &english());
}

/// A count word has its second, less the 150 ms that stand between any two sounds.
#[test]
fn the_count_words_of_every_language_fit_their_seconds() {
    let folder = tempfile::tempdir().unwrap();
    for language in Language::ALL {
        let wording = Wording::of(language);
        let speaker = named(&format!("espeak-{}", language.tag()), folder.path());
        let counts = ["count-3", "count-2", "count-1"].map(|id| wording.say(id, &[]));
        let words: Vec<&str> = counts.iter().map(String::as_str).collect();
        for (word, take) in words.iter().zip(all(speaker.takes(&utterances(&words)))) {
            let ms = take.length().ms();
            assert!((100..=700).contains(&ms), "{word} takes {ms} ms");
        }
    }
}

#[test]
fn it_is_as_fast_as_it_is_told_from_0_7_to_2_times() {
    let folder = tempfile::tempdir().unwrap();
    let speaker = named("espeak-en", folder.path());
    let at = |rate| {
        let utterance = Utterance {
            text: "Draw the elbow up past your ribs and lower it slowly".to_owned(),
            rate: Rate::from_per_mille(rate),
        };
        speaker.take(&utterance).unwrap().length().ms() as f64
    };
    let normal = at(1000);
    for rate in [700, 850, 1120, 1400, 2000] {
        let factor = normal / at(rate) * 1000.0 / f64::from(rate);
        assert!((0.92..1.08).contains(&factor), "at {rate}: {factor}");
    }
}

#[test]
fn the_best_voice_here_for_a_language_speaks_and_others_are_told_of() {
    let folder = tempfile::tempdir().unwrap();
    let opened = |language: Option<&str>, voice: Option<&str>, espeak: Option<&str>| {
        let (speaker, notices) = Speaker::open(Settings {
            voice: voice.map(str::to_owned),
            language: language.map(str::to_owned),
            espeak: espeak.map(PathBuf::from),
            ..settings(folder.path())
        });
        let told: Vec<_> = notices.into_iter().map(|notice| notice.message).collect();
        (speaker.name().to_owned(), told.join("|"))
    };
    let quiet = |name: &str| (name.to_owned(), String::new());
    assert_eq!(opened(None, None, None), quiet("hibari"));
    assert_eq!(opened(Some("en-GB"), None, None), quiet("hibari"));
    assert_eq!(opened(Some("de-AT"), None, None), quiet("espeak-de"));
    assert_eq!(opened(Some("pt"), None, None), quiet("espeak-pt"));
    assert_eq!(opened(None, Some("espeak-fr"), None), quiet("espeak-fr"));
    assert_eq!(opened(Some("en"), Some("compact"), None), quiet("compact"));

    let (name, told) = opened(Some("de"), Some("hibari"), None);
    assert_eq!(name, "hibari");
    assert!(
        told.contains("is one for English and speaks German now"),
        "{told}"
    );
    let (name, told) = opened(Some("de"), None, Some("/no/such/program"));
    assert_eq!(name, "compact");
    assert!(told.contains("sudo apt-get install espeak-ng"), "{told}");
    assert!(told.contains("no voice for German"), "{told}");
    assert!(!told.contains('|'), "said once: {told}");
    let (name, told) = opened(None, Some("system"), None);
    assert_eq!(name, "hibari");
    assert!(
        told.contains("built without the voice of the operating system"),
        "{told}"
    );
    let (name, told) = opened(None, Some("espeak-en"), Some("/no/such/program"));
    assert_eq!(name, "hibari");
    assert!(told.ends_with("The hibari voice speaks"), "{told}");
}

#[test]
fn a_program_that_crashes_says_nothing_or_nonsense_is_replaced_and_told_of_once() {
    let plain = tempfile::tempdir().unwrap();
    let plain = compact(plain.path());
    let lines = utterances(&LINES[..8]);
    let expected = all(plain.takes(&lines));
    let header = "printf 'RIFF____WAVEfmt \\020\\0\\0\\0\\001\\0\\001\\0\\042\\126\\0\\0____\\002\\0\\020\\0data____'";
    for script in [
        "kill -9 $$",
        "exit 1",
        "cat >/dev/null",
        "cat >/dev/null; head -c 50000 /dev/urandom",
        &format!("cat >/dev/null; {header}; head -c 90000 /dev/zero"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let without = Settings {
            voice: Some("espeak-en".to_owned()),
            espeak: Some(fake_engine(folder.path(), script)),
            // Without its files hibari is not the next one.
            voices: Some(folder.path().join("none")),
            patience: Duration::from_millis(100),
            ..settings(folder.path())
        };
        let (speaker, _) = Speaker::open(without);
        assert_eq!(all(speaker.takes(&lines)), expected, "{script}");
        let notices = speaker.notices();
        assert!((1..=2).contains(&notices.len()), "{script}: {notices:?}");
        assert!(notices[0].message.contains("compact voice"), "{notices:?}");
    }
}

#[test]
fn a_program_that_hangs_is_killed_and_no_line_waits_long() {
    let folder = tempfile::tempdir().unwrap();
    let pids = folder.path().join("pids");
    let script = format!("echo $$ >> {}\nexec sleep 1000", pids.display());
    let speaker = with_program(fake_engine(folder.path(), &script), folder.path());
    let start = Instant::now();
    let takes = all(speaker.takes(&utterances(&["Three.", "Two.", "One.", "Rest.", "Left."])));
    assert_eq!(takes.len(), 5);
    // Given up after three, two at a time: each waits as long as the line would last, at most.
    assert!(
        start.elapsed() < Duration::from_secs(15),
        "{:?}",
        start.elapsed()
    );
    let notices = speaker.notices();
    assert!(notices[0].message.contains("did not answer"), "{notices:?}");
    drop(speaker);
    let pids = fs::read_to_string(pids).unwrap();
    let pids: Vec<u32> = pids.lines().map(|pid| pid.parse().unwrap()).collect();
    wait_until("all are gone", || !pids.iter().any(|pid| alive(*pid)));
}

#[test]
fn the_process_that_waits_ends_when_idle_and_with_its_speaker() {
    let folder = tempfile::tempdir().unwrap();
    let (speaker, _) = Speaker::open(Settings {
        voice: Some("espeak-en".to_owned()),
        idle: Duration::from_millis(200),
        ..settings(folder.path())
    });
    speaker.take(&utterances(&["One."])[0]).unwrap();
    wait_until("none waits", || speaker.engine_process().is_none());
    speaker.take(&utterances(&["Two."])[0]).unwrap();
    drop(speaker);

    let speaker = named("espeak-en", folder.path());
    speaker.take(&utterances(&["Three."])[0]).unwrap();
    let process = speaker
        .engine_process()
        .expect("one waits for the next text");
    assert!(alive(process));
    drop(speaker);
    wait_until("it is gone", || !alive(process));
}

#[test]
fn a_long_line_is_made_in_pieces_and_closing_does_not_wait_for_it() {
    let folder = tempfile::tempdir().unwrap();
    let line = "Hips back, then stand tall and breathe out. ".repeat(114);
    let speaker = named("espeak-en", folder.path());
    let take = speaker.take(&Utterance::new(&line[..5000])).unwrap();
    check_take("the long line", &take);
    assert!(take.length().ms() > 150_000, "{} ms", take.length().ms());

    let slow = fake_engine(folder.path(), "cat >/dev/null; exec sleep 1000");
    let (speaker, _) = Speaker::open(Settings {
        voice: Some("espeak-en".to_owned()),
        espeak: Some(slow),
        cache: None,
        ..settings(folder.path())
    });
    speaker.prefetch(&[Utterance::new(&line[..5000])]);
    wait_until("it is at work", || speaker.engine_process().is_some());
    let start = Instant::now();
    drop(speaker);
    assert!(
        start.elapsed() < Duration::from_secs(5),
        "{:?}",
        start.elapsed()
    );
}

/// Finds the processes that have this in their environment.
fn marked(mark: &str) -> Vec<u32> {
    let all = fs::read_dir("/proc").unwrap().flatten();
    let pids = all.filter_map(|entry| entry.file_name().to_str()?.parse().ok());
    pids.filter(|pid: &u32| {
        let environment = fs::read(format!("/proc/{pid}/environ")).unwrap_or_default();
        String::from_utf8_lossy(&environment).contains(mark)
    })
    .collect()
}

#[test]
fn no_process_outlives_a_program_that_is_killed_or_told_to_end() {
    for signal in ["-9", "-15"] {
        let folder = tempfile::tempdir().unwrap();
        let mark = format!("SIDEVOICE_TEST_MARK={}", folder.path().display());
        let (key, value) = mark.split_once('=').unwrap();
        let bin = env!("CARGO_BIN_EXE_sidevoice");
        let made = Command::new(bin)
            .arg("new")
            .arg(folder.path().join("boathouse"))
            .output();
        assert!(made.unwrap().status.success());
        let mut program = Command::new(bin)
            .args(["render", "boathouse-five", "--voice", "espeak-en", "-o"])
            .arg(folder.path().join("five.wav"))
            .current_dir(folder.path().join("boathouse"))
            .env("XDG_CACHE_HOME", folder.path())
            .env(key, value)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        wait_until("it speaks", || marked(&mark).len() > 1);
        let pid = program.id().to_string();
        let killed = Command::new("kill").args([signal, &pid]).status();
        assert!(killed.unwrap().success());
        program.wait().unwrap();
        wait_until("nothing is left", || marked(&mark).is_empty());
    }
}
