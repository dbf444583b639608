//! How long `check` takes for a folder of a thousand sessions, from start to exit.

#![expect(
    clippy::disallowed_methods,
    reason = "a bench measures time, and makes the folder it needs"
)]

use std::fs;
use std::path::Path;
use std::process::Command;
use std::process::Stdio;
use std::time::Duration;
use std::time::Instant;

#[path = "row.rs"]
mod row;

use row::row;

const PROGRAM: &str = env!("CARGO_BIN_EXE_sidevoice");
const SESSIONS: usize = 1000;

/// Fills a folder with the starter's movements and its sessions, each many times under a title of
/// its own.
fn fill(folder: &Path) -> std::io::Result<()> {
    let starter = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/starter");
    for part in ["sessions", "movements"] {
        fs::create_dir(folder.join(part))?;
    }
    for entry in fs::read_dir(starter.join("movements"))? {
        let path = entry?.path();
        let name = path.file_name().unwrap_or_default();
        fs::copy(&path, folder.join("movements").join(name))?;
    }
    let mut texts = Vec::new();
    for entry in fs::read_dir(starter.join("sessions"))? {
        texts.push(fs::read_to_string(entry?.path())?);
    }
    texts.sort();
    for (number, text) in (0..SESSIONS).zip(texts.iter().cycle()) {
        let own = text.replacen("title = \"", &format!("title = \"{number}, "), 1);
        fs::write(folder.join(format!("sessions/s{number:04}.toml")), own)?;
    }
    Ok(())
}

fn main() {
    let folder = tempfile::tempdir().expect("a folder for the sessions");
    fill(folder.path()).expect("the sessions can be written");
    let run = |arguments: &[&str]| -> Duration {
        let begun = Instant::now();
        let ended = Command::new(PROGRAM)
            .arg("check")
            .args(arguments)
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        assert!(ended.is_ok_and(|status| status.success()));
        begun.elapsed()
    };
    let best = |arguments: &[&str]| {
        let fastest = (0..5).map(|_| run(arguments)).min();
        fastest.unwrap_or_default().as_secs_f64()
    };
    row(
        "check of a folder of 1,000 sessions: text, JSON",
        "2 s",
        format!("{:.2} s, {:.2} s", best(&[]), best(&["--json"])),
    );
}
