//! What several tests share: lengths from a table instead of a voice, the starter folder, files.

use sidevoice::base::diagnostic::any_error;
use sidevoice::base::units::Millis;
use sidevoice::base::utterance::Utterance;
use sidevoice::base::wording::Wording;
use sidevoice::compile;
use sidevoice::folder::Folder;
use sidevoice::planning::plan::Durations;
use sidevoice::planning::plan::Plan;
use sidevoice::planning::plan::Planner;
use sidevoice::planning::script::CautionLength;
use sidevoice::planning::session::Session;
use std::path::Path;
use std::path::PathBuf;

/// Lengths by the number of words, at 2.6 words a second: no engine, the same everywhere.
pub struct Tabled;

impl Durations for Tabled {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        let words = utterance.text.split([' ', '-']).count() as i64;
        Millis::from_ms(words * 1_000_000 / 2600 * 1000 / i64::from(utterance.rate.per_mille()))
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        wanted.iter().map(|u| Some(self.estimate(u))).collect()
    }
}

/// Reads a session of the starter folder.
pub fn starter(id: &str) -> Session {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/starter");
    let file = root.join("sessions").join(format!("{id}.toml"));
    let loaded = Folder::at(root).load(&file);
    assert!(loaded.diagnostics.is_empty(), "{:#?}", loaded.diagnostics);
    loaded.session.expect("the starter's sessions are sound")
}

/// Plans a session with tabled lengths.
pub fn tabled_plan(session: &Session) -> Plan {
    let wording = Wording::of(session.text.language);
    let settings = compile::settings_in(wording, "tabled", CautionLength::Full);
    Planner::new(session, wording, settings, &mut Tabled).finish(&mut Tabled)
}

/// The folder of the project.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Reads a text file that a test stands on.
#[expect(clippy::disallowed_methods, reason = "reads the files of the tests")]
pub fn read_text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// The Python that has what `tests/reference/requirements.txt` lists.
pub fn python() -> PathBuf {
    let own = concat!(env!("CARGO_MANIFEST_DIR"), "/.venv/bin/python");
    let python = std::env::var_os("SIDEVOICE_PYTHON").map_or(PathBuf::from(own), PathBuf::from);
    assert!(
        python.exists(),
        "no Python at {} (SIDEVOICE_PYTHON): make it with `python3 -m venv .venv` and \
         `.venv/bin/pip install -r tests/reference/requirements.txt`",
        python.display()
    );
    python
}

/// A voice whose lengths come from a table: estimates are a little longer, as real ones are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Voice {
    /// 2.6 words a second, the rate of the written-out example session.
    Even,
    /// Between half and one and a half times that, by a hash of the text and this seed: no two
    /// lines alike, and the same on every run. Some are longer than their estimate.
    Uneven(u64),
}

impl Voice {
    fn length(self, utterance: &Utterance) -> Millis {
        let words = utterance.text.split_whitespace().count().max(1) as f64;
        let even = words / 2.6;
        let seconds = match self {
            Voice::Even => even,
            Voice::Uneven(seed) => even * (0.5 + share(&utterance.text, seed)),
        };
        let ms = seconds * 1000.0 / f64::from(utterance.rate.factor());
        // A count is heard for less than the second that it has.
        let most = if words > 1.0 { f64::MAX } else { 700.0 };
        Millis::from_ms(ms.clamp(150.0, most).round() as i64)
    }
}

impl Durations for Voice {
    fn estimate(&self, utterance: &Utterance) -> Millis {
        Millis::from_ms(Voice::Even.length(utterance).ms() * 11 / 10)
    }

    fn measure(&mut self, wanted: &[Utterance]) -> Vec<Option<Millis>> {
        wanted.iter().map(|u| Some(self.length(u))).collect()
    }
}

/// Turns a text into a number from 0 to 1: FNV-1a, which has no state and no salt.
fn share(text: &str, seed: u64) -> f64 {
    let start = 0xcbf2_9ce4_8422_2325 ^ seed;
    let hash = text.bytes().fold(start, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    });
    (hash >> 11) as f64 / (1u64 << 53) as f64
}

/// Reads a session from its text, with the movements of the boathouse.
#[allow(
    clippy::disallowed_methods,
    reason = "writes what it reads; some who share this file may write files anyway"
)]
pub fn boathouse_session(text: &str) -> Session {
    let root = root().join("src/starter");
    let files = tempfile::tempdir().unwrap();
    std::fs::create_dir(files.path().join("sessions")).unwrap();
    std::fs::create_dir(files.path().join("movements")).unwrap();
    for entry in std::fs::read_dir(root.join("movements")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            let name = path.file_name().unwrap();
            std::fs::copy(&path, files.path().join("movements").join(name)).unwrap();
        }
    }
    let file = files.path().join("sessions/own.toml");
    std::fs::write(&file, text).unwrap();
    let loaded = Folder::at(files.path()).load(&file);
    assert!(!any_error(&loaded.diagnostics), "{:#?}", loaded.diagnostics);
    loaded.session.unwrap()
}
