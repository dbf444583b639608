//! The session folder that `new` writes: a rowing club's off-season circuits in its boathouse.
#![expect(
    clippy::disallowed_methods,
    reason = "reads what is there before it writes beside it"
)]

use include_dir::Dir;
use include_dir::include_dir;
use std::fs;
use std::io;
use std::path::Path;

static SESSIONS: Dir = include_dir!("$CARGO_MANIFEST_DIR/src/starter/sessions");
static MOVEMENTS: Dir = include_dir!("$CARGO_MANIFEST_DIR/src/starter/movements");

/// What was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written {
    pub sessions: usize,
    pub movements: usize,
    /// Files with the texts of a movement in another language.
    pub texts: usize,
    /// Files that were there already and were kept as they are.
    pub kept: usize,
}

/// Writes the starter folder; a file that is there already is kept as it is.
///
/// # Errors
///
/// What the system says, with the path.
pub fn write(folder: &Path) -> Result<Written, io::Error> {
    let (sessions, kept_sessions) = write_part(&SESSIONS, &folder.join("sessions"), |_| true)?;
    let (movements, mut kept) = write_part(&MOVEMENTS, &folder.join("movements"), |_| true)?;
    let mut texts = 0;
    // A folder for each language that some of them were translated into.
    for language in MOVEMENTS.dirs() {
        let into = folder.join("movements").join(language.path());
        // Of a movement of the user's own they may not be the words.
        let (written, kept_here) = write_part(language, &into, |name| {
            let ours = MOVEMENTS.get_file(name).map(include_dir::File::contents);
            fs::read(folder.join("movements").join(name))
                .ok()
                .as_deref()
                == ours
        })?;
        texts += written;
        kept += kept_here;
    }
    Ok(Written {
        sessions,
        movements,
        texts,
        kept: kept_sessions + kept,
    })
}

fn write_part(
    part: &Dir,
    folder: &Path,
    wanted: impl Fn(&Path) -> bool,
) -> Result<(usize, usize), io::Error> {
    let named = |error: io::Error, path: &Path| {
        io::Error::new(error.kind(), format!("{}: {error}", path.display()))
    };
    fs::create_dir_all(folder).map_err(|e| named(e, folder))?;
    let (mut written, mut kept) = (0, 0);
    for file in part.files() {
        let name = Path::new(file.path().file_name().unwrap_or_default());
        if !wanted(name) {
            continue;
        }
        let path = folder.join(name);
        let made = fs::OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&path)
            .and_then(|mut out| {
                let whole = io::Write::write_all(&mut out, file.contents());
                if whole.is_err() {
                    // A part of a file would be kept as the user's own the next time.
                    drop(fs::remove_file(&path));
                }
                whole
            });
        match made {
            Ok(()) => written += 1,
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => kept += 1,
            Err(error) => return Err(named(error, &path)),
        }
    }
    Ok((written, kept))
}
