//! `new`: writes a session folder to begin with.

use super::Done;
use super::Failure;
use super::print;
use crate::starter;
use std::path::Path;

pub fn run(folder: &Path) -> Done {
    let written = starter::write(folder).map_err(|e| Failure::File(e.to_string()))?;
    let shown = folder.display();
    print(&format!(
        "{shown}: {} sessions and {} movements written, and {} in German and Spanish",
        written.sessions, written.movements, written.texts
    ))?;
    if written.kept > 0 {
        print(&format!(", {} files kept as they were", written.kept))?;
    }
    print(&format!(
        ".\nHear one:  sidevoice run {shown}/sessions/boathouse-five.toml\n"
    ))
}
