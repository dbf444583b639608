//! Sessions from texts of the tests' own, and the texts of the starter folder.
#![expect(clippy::disallowed_methods, reason = "reads the starter folder")]

use std::fs;
use std::path::Path;
use std::sync::Arc;

use sidevoice::base::diagnostic::Diagnostic;
use sidevoice::base::diagnostic::Level;
use sidevoice::base::diagnostic::Sources;
use sidevoice::planning::session::Library;
use sidevoice::planning::session::Session;
use sidevoice::planning::session::read_movement;
use sidevoice::planning::session::read_session;
use sidevoice::planning::session::resolve;

/// Reads a session from its text and its movements, each an id and a text.
///
/// # Panics
///
/// If a text is at fault.
pub fn session(path: &str, text: &str, movements: &[(String, String)]) -> Session {
    let mut sources = Sources::default();
    let mut found: Vec<Diagnostic> = Vec::new();
    let mut library = Library::new();
    for (id, text) in movements {
        let source = sources.add(format!("movements/{id}.toml"), text.as_str());
        let (movement, said) = read_movement(id, &sources, source);
        library.insert(id.clone(), movement.map(Arc::new));
        found.extend(said);
    }
    let source = sources.add(path, text);
    let (read, said) = read_session(&sources, source);
    found.extend(said);
    let joined = read.and_then(|read| {
        let (session, said) = resolve(read, &library);
        found.extend(said);
        session
    });
    let faults: Vec<_> = found.iter().filter(|d| d.level == Level::Error).collect();
    match joined {
        Some(session) if faults.is_empty() => session,
        _ => panic!("{path}: {found:?}"),
    }
}

/// Reads every movement of the starter folder: its id and its text, in order.
pub fn starter_movements() -> Vec<(String, String)> {
    stems("movements")
        .into_iter()
        .map(|id| {
            let text = starter_text(&format!("movements/{id}.toml"));
            (id, text)
        })
        .collect()
}

/// Lists the names, without their ending, of the files in a part of the starter folder.
pub fn stems(part: &str) -> Vec<String> {
    let mut stems: Vec<String> = fs::read_dir(Path::new(STARTER).join(part))
        .expect("the starter folder has both parts")
        .map(|entry| entry.expect("it can be listed").path())
        .filter(|path| path.is_file())
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    stems.sort();
    stems
}

const STARTER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/starter");

fn starter_text(path: &str) -> String {
    fs::read_to_string(Path::new(STARTER).join(path)).expect("a file of the starter folder")
}
