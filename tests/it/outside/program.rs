//! The program as its user has it: the real binary in folders of its own, and what it wrote.
#![expect(
    clippy::disallowed_methods,
    reason = "reads the files that were written"
)]

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Child;
use std::process::Command;
use std::process::Stdio;
use std::sync::OnceLock;

use serde::Deserialize;
use sha2::Digest;
use sha2::Sha256;
use tempfile::TempDir;

pub const VOICES: [&str; 2] = ["compact", "hibari"];

/// The sessions that are listened to whole: one of brisk rounds, one with long works, time marks
/// and a side at a time.
pub const SESSIONS: [&str; 2] = ["boathouse-five", "cool-down"];

/// Frames a millisecond, at 48 kHz.
pub const MS: i64 = 48;

pub const BINARY: &str = env!("CARGO_BIN_EXE_sidevoice");

/// The starter folder, as `new` writes it, and an empty cache.
pub struct Ground(TempDir);

impl Ground {
    pub fn new() -> Self {
        let ground = Self(tempfile::tempdir().unwrap());
        let made = Command::new(BINARY)
            .arg("new")
            .arg(ground.folder())
            .output();
        assert!(made.unwrap().status.success());
        ground
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// The folder of kept takes in a cache of this name.
    pub fn takes(&self, cache: &str) -> PathBuf {
        self.path(cache).join("sidevoice/voices")
    }

    fn folder(&self) -> PathBuf {
        self.path("boathouse")
    }

    /// Starts a command on a session, with a cache of its own in the ground.
    pub fn start(
        &self,
        cache: &str,
        command: &str,
        session: &str,
        voice: &str,
        more: &[&str],
    ) -> Child {
        Command::new(BINARY)
            .args([command, session, "--voice", voice, "--plain"])
            .args(more)
            .current_dir(self.folder())
            .env("XDG_CACHE_HOME", self.path(cache))
            .env_remove("SIDEVOICE_LOG")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
    }

    /// Returns the plan of a session as JSON.
    pub fn plan(&self, cache: &str, session: &str, voice: &str) -> String {
        done(self.start(cache, "plan", session, voice, &["--format", "json"]))
    }

    /// Writes a session to a sound file and returns its path.
    pub fn render(&self, cache: &str, session: &str, voice: &str) -> PathBuf {
        let path = self.path(&format!("{cache}-{session}-{voice}.wav"));
        done(self.start(cache, "render", session, voice, &["-o", text(&path)]));
        path
    }
}

/// Waits for a command; returns what it printed.
///
/// # Panics
///
/// If it failed, or another voice spoke than the one asked for.
pub fn done(child: Child) -> String {
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.success(), "{said}");
    let spoken = !said.contains("compact voice") && !said.contains("cannot be spoken");
    assert!(spoken, "{said}");
    String::from_utf8(output.stdout).unwrap()
}

pub fn text(path: &Path) -> &str {
    path.to_str().expect("a path of plain text")
}

/// Fails where a voice's files are not here: a test that listens to nothing proves nothing.
pub fn need(voice: &str) {
    #[derive(Deserialize)]
    struct Voice {
        name: String,
        here: bool,
    }
    let output = Command::new(BINARY).args(["voices", "--json"]).output();
    let voices: Vec<Voice> = serde_json::from_slice(&output.unwrap().stdout).unwrap();
    assert!(
        voices.iter().any(|v| v.name == voice && v.here),
        "the voice {voice} is not here: get it with `sidevoice voices get {voice}`"
    );
}

/// A plan as the program prints it, `sidevoice-plan/1`: the parts that can be heard.
#[derive(Deserialize)]
pub struct Plan {
    pub voice: String,
    pub length_ms: i64,
    pub segments: Vec<Segment>,
    pub sounds: Vec<Sound>,
}

#[derive(Deserialize)]
pub struct Segment {
    pub kind: String,
    pub start_ms: i64,
    pub end_ms: i64,
    pub name: Option<String>,
    pub side: Option<String>,
}

#[derive(Deserialize)]
pub struct Sound {
    pub kind: String,
    pub onset_ms: i64,
    pub end_ms: i64,
    pub segment: usize,
    pub text: String,
    pub tone: Option<String>,
    pub cue: Option<String>,
    pub rate: f64,
}

impl Plan {
    pub fn read(json: &str) -> Self {
        serde_json::from_str(json).unwrap()
    }
}

/// A session's plan and its sound.
pub struct Heard {
    pub label: String,
    pub json: String,
    pub plan: Plan,
    /// The left channel.
    pub samples: Vec<i16>,
    /// How many frames differ between left and right.
    pub unequal: usize,
    /// The SHA-256 of the whole file.
    pub hash: Vec<u8>,
}

/// Returns a session with its sound: made once, from an empty cache, the plan first.
pub fn heard(session: &str, voice: &str) -> &'static Heard {
    static ALL: [OnceLock<Heard>; SESSIONS.len() * VOICES.len()] =
        [const { OnceLock::new() }; SESSIONS.len() * VOICES.len()];
    let place = |of: &[&str], name: &str| of.iter().position(|it| *it == name).unwrap();
    let at = place(&SESSIONS, session) * VOICES.len() + place(&VOICES, voice);
    ALL[at].get_or_init(|| {
        need(voice);
        let ground = Ground::new();
        let json = ground.plan("cache", session, voice);
        let path = ground.render("cache", session, voice);
        let (samples, unequal) = read_wav(&path);
        Heard {
            label: format!("{session}, {voice}"),
            plan: Plan::read(&json),
            json,
            samples,
            unequal,
            hash: hash(&path),
        }
    })
}

/// Returns every session that is listened to, in each voice.
pub fn all_heard() -> impl Iterator<Item = &'static Heard> {
    SESSIONS
        .iter()
        .flat_map(|session| VOICES.iter().map(|voice| heard(session, voice)))
}

pub fn hash(path: &Path) -> Vec<u8> {
    Sha256::digest(fs::read(path).unwrap()).to_vec()
}

/// Reads the left channel of a file, and in how many frames the right one differs.
pub fn read_wav(path: &Path) -> (Vec<i16>, usize) {
    let mut reader = hound::WavReader::open(path).unwrap();
    let spec = reader.spec();
    assert_eq!(
        (spec.channels, spec.sample_rate, spec.bits_per_sample),
        (2, 48_000, 16)
    );
    let both: Vec<i16> = reader.samples().map(Result::unwrap).collect();
    let unequal = both.chunks(2).filter(|frame| frame[0] != frame[1]).count();
    (both.into_iter().step_by(2).collect(), unequal)
}

/// Writes samples to both channels of a file.
pub fn write_wav(path: &Path, samples: &[i16]) {
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: 48_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(path, spec).unwrap();
    for sample in samples {
        writer.write_sample(*sample).unwrap();
        writer.write_sample(*sample).unwrap();
    }
    writer.finalize().unwrap();
}
