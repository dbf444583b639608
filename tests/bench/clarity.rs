//! How well speech is understood in noise: word error rates of whisper tiny.en, plain and shaped.
//!
//! Run with `cargo bench --bench clarity`; needs the voice hibari and, named by `SIDEVOICE_HEARING`, a
//! Python with `tests/bench/requirements.txt`, which `scripts/bench` sets up.

#![expect(clippy::disallowed_methods, reason = "a bench runs other programs")]

use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

use hound::SampleFormat;
use hound::WavSpec;
use hound::WavWriter;
use sidevoice::base::utterance::Clarity;
use sidevoice::sound::speech::Rate;
use sidevoice::sound::speech::Settings;
use sidevoice::sound::speech::Speaker;
use sidevoice::sound::speech::Utterance;

#[path = "row.rs"]
mod row;

use row::row;

/// Cues as coaches give them, in words that are written in one way only.
const LINES: [&str; 25] = [
    "Draw the elbow up past your ribs, then lower slowly.",
    "Push the floor away and stand tall.",
    "Keep your back long and bend at the hips.",
    "Sit back until you touch the bench, then stand.",
    "Breathe out as you rise, breathe in as you sink.",
    "Right hand takes the weight from the floor.",
    "Put the weight down at the end of the bench.",
    "Both knees follow the line of your feet.",
    "Let your shoulders drop away from your ears.",
    "Lower your chest towards the edge of the bench.",
    "Step one foot back and plant it firmly.",
    "Hold the handle close to your chest.",
    "Walk a little and let your breath settle.",
    "Stop at once if you feel pain or faintness.",
    "Check the space above your head before you press.",
    "One long line from your head to your heels.",
    "Change sides and take the same position.",
    "Squeeze the muscles behind your hips at the top.",
    "Turn your feet out a little and open your knees.",
    "Lift the left knee to the height of your hip.",
    "Keep the ribs down and the neck long.",
    "The next movement is the bridge on the mat.",
    "Lie on your back with your feet flat.",
    "Reach both arms forward and round your upper back.",
    "Press through the middle of your foot.",
];

fn main() {
    let hearing = std::env::var_os("SIDEVOICE_HEARING").map(PathBuf::from);
    let hearing = hearing.expect("SIDEVOICE_HEARING, a Python that hears: see scripts/bench");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let voices = ["hibari", "compact"];
    for voice in voices {
        for (word, clarity) in Clarity::WORDS {
            speak(folder.path(), voice, word, clarity, Rate::NORMAL);
        }
    }
    let all = ["hibari", "compact", "espeak_en"];
    speak(folder.path(), all[2], "plain", Clarity::Plain, Rate::NORMAL);
    for voice in all {
        let fast = Rate::from_per_mille(1400);
        speak(folder.path(), voice, "fast", Clarity::Plain, fast);
    }
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/hear.py");
    let heard = Command::new(hearing)
        .arg(script)
        .arg(folder.path())
        .output();
    let heard = heard.expect("the Python that hears");
    assert!(
        heard.status.success(),
        "{}",
        String::from_utf8_lossy(&heard.stderr)
    );
    let text = String::from_utf8(heard.stdout).expect("text");
    let rate = |voice: &str, how: &str, noise: &str| {
        let wanted = format!("{voice}\t{how}\t{noise}\t");
        let line = text.lines().find_map(|l| l.strip_prefix(wanted.as_str()));
        line.expect("a line of each kind").to_owned()
    };
    for voice in all {
        row(
            &format!(
                "{} in quiet, words misheard: at its own speed, 1.4 times as fast",
                voice.replace('_', "-")
            ),
            "no more than 3 points more",
            format!(
                "{} %, {} %",
                rate(voice, "plain", "quiet"),
                rate(voice, "fast", "quiet")
            ),
        );
    }
    for voice in voices {
        for (noise, aim) in [
            ("quiet", "no more than 2 points more"),
            ("pink noise at -5 dB", "at most half of plain"),
            ("music-like noise at 0 dB", "at most half of plain"),
        ] {
            let rate = |clarity: &str| rate(voice, clarity, noise);
            row(
                &format!("{voice} in {noise}: words misheard by whisper tiny.en: plain, room, gym"),
                aim,
                format!("{} %, {} %, {} %", rate("plain"), rate("room"), rate("gym")),
            );
        }
    }
}

/// Writes each line as a file, its words beside it.
fn speak(folder: &Path, voice: &str, word: &str, clarity: Clarity, rate: Rate) {
    let (speaker, notices) = Speaker::open(Settings {
        voice: Some(voice.replace('_', "-")),
        clarity,
        cache: None,
        engine: Some(PathBuf::from(env!("CARGO_BIN_EXE_sidevoice"))),
        ..Settings::standard()
    });
    assert!(notices.len() <= 1, "{notices:?}");
    let spec = WavSpec {
        channels: 1,
        sample_rate: 48_000,
        bits_per_sample: 32,
        sample_format: SampleFormat::Float,
    };
    for (nth, line) in LINES.iter().enumerate() {
        let text = (*line).to_owned();
        let take = speaker.take(&Utterance { text, rate }).expect("a take");
        let path = folder.join(format!("{voice}-{word}-{nth:02}.wav"));
        let mut file = WavWriter::create(&path, spec).expect("a file");
        for sample in take.samples.iter() {
            file.write_sample(*sample).expect("a sample");
        }
        file.finalize().expect("a file");
        std::fs::write(path.with_extension("txt"), line).expect("its words");
    }
}
