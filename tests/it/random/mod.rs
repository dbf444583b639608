//! Whatever is written: no text makes the readers or the renderer fall over, and each session that is
//! sound has a plan that keeps its rules.

mod sessions;
mod texts;

use crate::common::read_text;
use crate::common::root;
use proptest::test_runner::Config;
use sidevoice::base::diagnostic::Sources;
use sidevoice::planning::session::Library;
use sidevoice::planning::session::read_movement;
use std::path::Path;
use std::sync::Arc;
use std::sync::LazyLock;

fn cases(cases: u32) -> Config {
    Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    }
}

/// The texts of the starter folder, by the stem of their files.
fn starter(part: &str) -> Vec<(String, String)> {
    let entries = std::fs::read_dir(root().join("src/starter").join(part)).unwrap();
    let mut files: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let stem = |path: &Path| path.file_stem().unwrap().to_str().unwrap().to_owned();
    files
        .iter()
        .map(|path| (stem(path), read_text(path)))
        .collect()
}

static LIBRARY: LazyLock<Library> = LazyLock::new(|| {
    let movement = |(id, text): (String, String)| {
        let mut sources = Sources::default();
        let source = sources.add("movement", text);
        let (movement, faults) = read_movement(&id, &sources, source);
        assert_eq!(faults, [], "{id}");
        (id, movement.map(Arc::new))
    };
    starter("movements").into_iter().map(movement).collect()
});
