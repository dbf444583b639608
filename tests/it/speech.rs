//! Speech as a whole: texts in, takes out, with the real voices, whatever breaks in between.
//!
//! The neural voice's files must be where the program looks for them; `scripts/test` gets them.

mod breaking;
pub mod class;
mod espeak;
mod levels;
pub mod lines;
mod shelf;
#[cfg(feature = "os-voice")]
mod system;
pub mod tongues;

use std::path::Path;
use std::path::PathBuf;
use std::sync::LazyLock;
use std::time::Duration;

use sidevoice::base::units::Frames;
use sidevoice::base::units::SampleRate;
use sidevoice::sound::dsp;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Take;
use sidevoice::sound::speech::Utterance;
use sidevoice::sound::speech::VoiceError;
use tempfile::TempDir;

/// The folder of voices, checked.
fn voices() -> PathBuf {
    let folder = Settings::standard().voices.expect("a home folder");
    assert!(
        folder.join("hibari/hibari.onnx").is_file(),
        "the voice hibari is not in {}; run: sidevoice voices get hibari",
        folder.display()
    );
    folder
}

/// Settings that use the real voices and engine, and a cache in `folder`.
fn settings(folder: &Path) -> Settings {
    Settings {
        voice: Some("hibari".to_owned()),
        voices: Some(voices()),
        cache: Some(folder.join("cache")),
        engine: Some(PathBuf::from(env!("CARGO_BIN_EXE_sidevoice"))),
        patience: Duration::from_secs(60),
        // It would start a server that outlives the test; those of `system` have one of their own.
        system: false,
        ..Settings::standard()
    }
}

/// A speaker with the neural voice, and its empty cache.
fn speaker() -> (Speaker, TempDir) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let (speaker, notices) = Speaker::open(settings(folder.path()));
    assert_eq!(notices, []);
    assert_eq!(speaker.name(), "hibari");
    (speaker, folder)
}

fn compact(folder: &Path) -> Speaker {
    named("compact", folder)
}

/// A speaker with the voice of a name, and a cache in `folder`.
pub fn named(voice: &str, folder: &Path) -> Speaker {
    let settings = Settings {
        voice: Some(voice.to_owned()),
        ..settings(folder)
    };
    let (speaker, notices) = Speaker::open(settings);
    assert_eq!(notices, []);
    speaker
}

/// The folder of a cache for tests that are after what is spoken, not after how it is made or kept: each
/// line is made once a run.
pub fn shared() -> &'static Path {
    static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("takes");
        // What an earlier run left may be another's work.
        let _ = std::fs::remove_dir_all(&folder);
        folder
    });
    &FOLDER
}

pub fn utterances(texts: &[&str]) -> Vec<Utterance> {
    texts.iter().map(|text| Utterance::new(*text)).collect()
}

pub fn all(takes: Vec<Result<Take, VoiceError>>) -> Vec<Take> {
    takes
        .into_iter()
        .map(|take| take.expect("a take"))
        .collect()
}

/// Checks what is promised of every take.
fn check_take(text: &str, take: &Take) {
    let samples = &take.samples;
    assert_eq!(samples.first(), Some(&0.0), "{text:?}");
    assert_eq!(samples.last(), Some(&0.0), "{text:?}");
    assert!(samples.iter().all(|sample| sample.is_finite()), "{text:?}");
    // The definition, written out again: the first and last sample above -40 dBFS.
    let loud = |sample: &f32| sample.abs() > 10f32.powf(-40.0 / 20.0);
    let first = samples.iter().position(loud).expect("something is heard");
    let last = samples.iter().rposition(loud).expect("something is heard");
    assert_eq!(take.onset, Frames::new(first as u64), "{text:?}");
    assert_eq!(take.end, Frames::new(last as u64 + 1), "{text:?}");
    assert!(
        first <= 2400,
        "{text:?} begins {first} frames before its onset"
    );
    assert!(samples.len() - last - 1 <= 9600, "{text:?} ends late");
    let peak = dsp::meter::true_peak(samples, SampleRate::OUTPUT).db();
    assert!(peak <= -1.0, "{text:?}: {peak} dBTP");
    let mut before = take.onset;
    for word in &take.words {
        assert!(
            word.onset >= before && word.end >= word.onset,
            "{text:?}: {word:?}"
        );
        assert!(word.end <= take.end, "{text:?}: {word:?}");
        before = word.onset;
    }
}
