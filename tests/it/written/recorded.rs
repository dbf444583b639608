//! `render --from-record`: what the program makes of records, and says of what they lack.
#![expect(clippy::disallowed_methods, reason = "writes records and reads files")]

use super::read_by;
use std::fs;
use std::path::Path;
use std::process::Command;

const BEGAN: &str = r#"{"time":"2026-10-14T18:00:00.125Z","at_ms":0,"frame":0,"event":"began","format":"sidevoice-log/1","version":"0.1.0","voice":"compact","session":"outing","title":"Outing","path":"sessions/outing.toml","hash":"","caution":"brief","works":1,"planned_ms":60000,"language":"en"}"#;
const LINE: &str = r#"{"time":"2026-10-14T18:00:03.000Z","at_ms":2000,"frame":138000,"event":"sounded","what":"line","text":"Sit tall at the catch.","rate":1000,"from_frame":48000,"frames":80000}"#;
const CUT: &str = r#"{"time":"2026-10-14T18:00:05.000Z","at_ms":4000,"frame":234000,"event":"sounded","what":"line","text":"Breathe out as the elbow rises.","rate":1000,"from_frame":144000,"frames":100000,"heard_frames":33600,"fade_frame":32640}"#;
const BEGUN: &str = r#"{"time":"2026-10-14T18:00:06.000Z","at_ms":5000,"frame":282000,"event":"work-begun","work":1,"movement":"press-up","name":"press-up","side":null,"block":1,"round":1,"rounds":1,"planned_ms":20000}"#;
const TONE: &str = r#"{"time":"2026-10-14T18:00:06.225Z","at_ms":5000,"frame":292800,"event":"sounded","what":"start-tone","from_frame":282000,"frames":7200}"#;
const NOTHING: &str = r#"{"time":"2026-10-14T18:00:08.000Z","at_ms":6000,"frame":378000,"event":"sounded","what":"said","text":"\u2026","rate":1000,"from_frame":336000,"frames":24000}"#;
const STOPPED: &str = r#"{"time":"2026-10-14T18:00:09.125Z","at_ms":7000,"frame":432000,"event":"stopped","played_ms":7000}"#;

struct Here {
    folder: tempfile::TempDir,
}

impl Here {
    fn with(records: &[(&str, &[&str])]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("log")).unwrap();
        for (name, lines) in records {
            fs::write(
                folder.path().join("log").join(name),
                lines.join("\n") + "\n",
            )
            .unwrap();
        }
        Self { folder }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    /// Renders; returns the exit code and all that was said.
    fn render(&self, arguments: &[&str]) -> (Option<i32>, String) {
        let output = Command::new(env!("CARGO_BIN_EXE_sidevoice"))
            .arg("render")
            .args(arguments)
            .current_dir(self.path())
            .env("HOME", self.path())
            .env("XDG_CACHE_HOME", self.path().join("cache"))
            .env_remove("SIDEVOICE_LOG")
            .output()
            .unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (
            output.status.code(),
            text(output.stderr) + &text(output.stdout),
        )
    }
}

const WHOLE: [&str; 7] = [BEGAN, LINE, CUT, BEGUN, TONE, NOTHING, STOPPED];

#[test]
fn a_run_becomes_sound_captions_and_chapters_the_same_each_time() {
    let here = Here::with(&[("a.jsonl", &WHOLE), ("b.jsonl", &[BEGAN, STOPPED])]);
    let (code, said) = here.render(&["--from-record", "a", "-o", "one.wav"]);
    assert_eq!(code, Some(0), "{said}");
    // Two seconds, the record, and its 9 s.
    assert!(said.contains("one.wav: 0:11 long."), "{said}");
    assert!(
        said.contains("at 2026-10-14T17:59:58.125Z by the clock"),
        "{said}"
    );
    assert!(
        said.contains("cannot say it again, so it is left out at 0:09: \"\u{2026}\""),
        "{said}"
    );
    assert!(
        said.contains("2 of 2 texts are not as long as they were"),
        "{said}"
    );
    let (code, said) = here.render(&["--from-record", "log/a.jsonl", "-o", "two.wav"]);
    assert_eq!(code, Some(0), "{said}");
    let bytes = |name: &str| fs::read(here.path().join(name)).unwrap();
    assert!(bytes("one.wav") == bytes("two.wav"));
    let mut wav = hound::WavReader::open(here.path().join("one.wav")).unwrap();
    let samples: Vec<i16> = wav
        .samples::<i16>()
        .map(Result::unwrap)
        .step_by(2)
        .collect();
    assert_eq!(samples.len(), 11 * 48_000);
    let sounds = |from: usize, to: usize| samples[from..to].iter().any(|it| *it != 0);
    assert!(
        sounds(0, 480) && !sounds(19_200, 144_000),
        "the sync tone and nothing else"
    );
    assert!(sounds(144_000, 150_000), "the line");
    // What was cut ends on the frame on which it was gone.
    assert!(sounds(240_000, 273_500) && !sounds(240_000 + 33_600, 378_000));
    assert!(sounds(378_000, 378_480) && !sounds(386_000, samples.len()));

    for name in ["one.vtt", "one.srt", "one.chapters.vtt"] {
        let (code, said) = here.render(&["--from-record", "a", "-o", name]);
        assert_eq!(code, Some(0), "{said}");
    }
    let captions = String::from_utf8(bytes("one.vtt")).unwrap();
    assert!(
        captions.starts_with("WEBVTT\n\n00:00:00.000 --> 00:00:01.000\n[sync tone]\n"),
        "{captions}"
    );
    assert!(
        captions.contains("[not heard here: \u{2026}]"),
        "{captions}"
    );
    assert!(
        captions.contains("Breathe") && !captions.contains("rises"),
        "{captions}"
    );
    let read = read_by("captions.py", "one.vtt", &captions);
    assert!(read.contains("Sit"), "{read}");
    let chapters = String::from_utf8(bytes("one.chapters.vtt")).unwrap();
    assert_eq!(
        chapters,
        "WEBVTT\n\n00:00:00.000 --> 00:00:07.875\nOpening\n\n00:00:07.875 --> 00:00:11.000\nPress-up\n"
    );
}

#[test]
fn of_music_that_is_gone_or_another_the_file_says_so() {
    let music = r#"{"time":"2026-10-14T18:00:02.500Z","at_ms":0,"frame":60000,"event":"music","block":0,"folder":"tracks","files":"0"}"#;
    let plays = r#"{"time":"2026-10-14T18:00:02.500Z","at_ms":0,"frame":60000,"event":"bed","from_frame":60000,"level":{"from":0.0,"to":0.5,"frames":96000,"left":96000},"gate":{"from":0.0,"to":1.0,"frames":9600,"left":9600},"dip":{"from":0.0,"to":0.0,"frames":1}}"#;
    let here = Here::with(&[("a.jsonl", &[BEGAN, music, plays, LINE, STOPPED])]);
    let render = |name: &str, more: &[&str]| {
        let arguments = [&["--from-record", "a", "-o", name], more].concat();
        let (code, said) = here.render(&arguments);
        assert_eq!(code, Some(0), "{said}");
        said
    };
    let said = render("none.wav", &[]);
    assert!(
        said.contains("there is no music: \"./tracks\" cannot be read"),
        "{said}"
    );
    // What is not heard is not captioned.
    render("none.srt", &[]);
    let captions = fs::read_to_string(here.path().join("none.srt")).unwrap();
    assert!(!captions.contains("[music]"), "{captions}");
    let folder = here.path().join("tracks");
    fs::create_dir(&folder).unwrap();
    let source = "sine=500:d=20";
    let made = Command::new("ffmpeg")
        .args(["-v", "error", "-f", "lavfi", "-i", source])
        .arg(folder.join("a.wav"))
        .status();
    assert!(made.unwrap().success());
    let said = render("other.wav", &["--stems"]);
    assert!(
        said.contains("in \"./tracks\" are other files than when the class ran"),
        "{said}"
    );
    let loudest = |name: &str| {
        let mut wav = hound::WavReader::open(here.path().join(name)).unwrap();
        wav.samples::<i16>()
            .map(|it| it.unwrap().unsigned_abs())
            .max()
    };
    assert!(loudest("other.bed.wav") > Some(500));
    // From wherever it is rendered.
    let away = std::path::absolute(here.path().join("log/a.jsonl")).unwrap();
    let elsewhere = here.path().join("elsewhere.wav");
    let made = Command::new(env!("CARGO_BIN_EXE_sidevoice"))
        .args(["render", "--from-record"])
        .arg(away)
        .arg("-o")
        .arg(&elsewhere)
        .current_dir("/")
        .env("HOME", here.path())
        .env("XDG_CACHE_HOME", here.path().join("cache"))
        .output();
    assert!(made.unwrap().status.success());
    render("here.wav", &[]);
    render("here.srt", &[]);
    let captions = fs::read_to_string(here.path().join("here.srt")).unwrap();
    assert_eq!(captions.matches("[music]").count(), 1, "{captions}");
    let bytes = |name: &str| fs::read(here.path().join(name)).unwrap();
    assert!(bytes("elsewhere.wav") == bytes("here.wav"));
    let said = render("plain.wav", &["--stems", "--no-music"]);
    assert!(
        said.contains("no stem") && !here.path().join("plain.bed.wav").exists(),
        "{said}"
    );
    assert!(bytes("plain.speech.wav") == bytes("other.speech.wav"));
    render("plain.wav", &["--no-music"]);
    assert!(bytes("plain.wav") == bytes("none.wav"));
}

#[test]
fn what_cannot_be_written_is_told_with_what_would_help() {
    let old = [BEGAN, BEGUN, STOPPED].map(|line| {
        let (from, to) = (
            line.find(",\"frame\"").unwrap(),
            line.find(",\"event\"").unwrap(),
        );
        line[..from].to_owned() + &line[to..]
    });
    let old = old.each_ref().map(String::as_str);
    let cut = &WHOLE[..4];
    let other = BEGAN.replace("\"compact\"", "\"oarsman\"");
    let other = [other.as_str(), LINE, STOPPED];
    let here = Here::with(&[
        ("old.jsonl", &old),
        ("cut.jsonl", cut),
        ("other.jsonl", &other),
    ]);
    let refused = |run: &str, code: i32, words: &[&str]| {
        let (found, said) = here.render(&["--from-record", run, "-o", "x.wav"]);
        assert_eq!(found, Some(code), "{said}");
        for words in words {
            assert!(said.contains(words), "{words} in {said}");
        }
        assert!(!here.path().join("x.wav").exists());
    };
    refused(
        "old",
        3,
        &[
            "the run old cannot be written",
            "does not tell what sounded",
            "sidevoice render SESSION",
        ],
    );
    refused(
        "none",
        3,
        &[
            "expected `last`, the path of a record",
            "found \"none\"",
            "other",
        ],
    );
    refused("other", 5, &["no voice called \"oarsman\"", "compact"]);
    let (code, said) = here.render(&[
        "--from-record",
        "other",
        "--voice",
        "compact",
        "-o",
        "x.vtt",
    ]);
    assert_eq!(code, Some(0), "{said}");
    let (code, said) = here.render(&["--from-record", "cut", "-o", "cut.vtt"]);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("the record breaks off at 0:07.9"), "{said}");
    let captions = fs::read_to_string(here.path().join("cut.vtt")).unwrap();
    assert!(captions.contains("[the record ends here]"), "{captions}");
    let (code, said) = here.render(&["-o", "x.wav"]);
    assert_eq!(code, Some(64), "{said}");
    assert!(said.contains("SESSION"), "{said}");
    let empty = Here::with(&[]);
    let (code, said) = empty.render(&["--from-record", "last", "-o", "x.wav"]);
    assert_eq!(code, Some(3), "{said}");
    assert!(
        said.contains("There is none: `sidevoice run SESSION` writes one"),
        "{said}"
    );
}
