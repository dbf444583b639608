//! Whether captions say what is heard: the words of a rendered class as whisper tiny.en hears them, against its
//! WebVTT.
//!
//! Needs the voice hibari and, named by `SIDEVOICE_HEARING`, a Python with `tests/bench/requirements.txt`, which
//! `scripts/bench` sets up. Hearing a class takes longer than all other checks of captions together: so it is here.

use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::process::Stdio;

#[path = "row.rs"]
mod row;

use row::row;

const SESSIONS: [&str; 2] = ["boathouse-five", "first-by-ear"];

fn main() {
    let hearing = std::env::var_os("SIDEVOICE_HEARING").map(PathBuf::from);
    let hearing = hearing.expect("SIDEVOICE_HEARING, a Python that hears: see scripts/bench");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().expect("a temporary folder");
    for id in SESSIONS {
        let session = root.join(format!("src/starter/sessions/{id}.toml"));
        let [wav, vtt] = ["wav", "vtt"].map(|ending| {
            let path = folder.path().join(format!("{id}.{ending}"));
            let mut render = Command::new(env!("CARGO_BIN_EXE_sidevoice"));
            render
                .arg("render")
                .arg(&session)
                .args(["--voice", "hibari"]);
            render.args(["--no-music", "-o"]).arg(&path);
            let done = render.stdout(Stdio::null()).status();
            assert!(done.expect("the program").success());
            path
        });
        let script = root.join("tests/bench/transcript.py");
        let mut heard = Command::new(&hearing);
        heard.arg(script).arg(wav).arg(vtt).stderr(Stdio::inherit());
        let heard = heard.output().expect("the Python that hears");
        assert!(heard.status.success(), "it could not hear {id}");
        let text = String::from_utf8(heard.stdout).expect("text");
        let counts: Vec<f64> = text
            .split_whitespace()
            .filter_map(|n| n.parse().ok())
            .collect();
        row(
            &format!(
                "{id} as hibari speaks it: words that whisper tiny.en hears other than the captions have them"
            ),
            "<= 8 %",
            format!("{:.1} % of {}", 100.0 * counts[1] / counts[0], counts[0]),
        );
    }
}
