//! Whatever is written: no text makes the readers or the renderer fall over, and each session that is
//! sound has a plan that keeps its rules.

pub mod sessions;
mod texts;

use crate::common::read_text;
use crate::common::root;
use proptest::test_runner::Config;
use proptest::test_runner::RngAlgorithm;
use proptest::test_runner::TestRng;
use proptest::test_runner::TestRunner;
use sidevoice::base::diagnostic::Sources;
use sidevoice::planning::session::Library;
use sidevoice::planning::session::read_movement;
use std::path::Path;
use std::sync::Arc;
use std::sync::LazyLock;

pub fn cases(cases: u32) -> Config {
    Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    }
}

/// Runs so many cases, the same ones each time.
pub fn fixed(number: u32) -> TestRunner {
    let seed = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    TestRunner::new_with_rng(cases(number), seed)
}

/// The texts of the starter folder, by the stem of their files.
fn starter(part: &str) -> Vec<(String, String)> {
    let entries = std::fs::read_dir(root().join("src/starter").join(part)).unwrap();
    let mut files: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.is_file());
    files.sort();
    let stem = |path: &Path| path.file_stem().unwrap().to_str().unwrap().to_owned();
    files
        .iter()
        .map(|path| (stem(path), read_text(path)))
        .collect()
}

pub static LIBRARY: LazyLock<Library> = LazyLock::new(|| {
    let movement = |(id, text): (String, String)| {
        let mut sources = Sources::default();
        let source = sources.add("movement", text);
        let (movement, faults) = read_movement(&id, &sources, source);
        assert_eq!(faults, [], "{id}");
        (id, movement.map(Arc::new))
    };
    starter("movements").into_iter().map(movement).collect()
});
