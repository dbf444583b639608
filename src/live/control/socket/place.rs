//! Where the socket is: a folder that only the user can enter.

use rustix::process::geteuid;
use std::fs;
use std::fs::DirBuilder;
use std::io;
use std::os::unix::fs::DirBuilderExt;
use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::path::PathBuf;

/// Returns the folder of the socket: in the user's runtime folder or, where the system has none,
/// in the folder of temporary files under the user's number.
pub fn folder() -> PathBuf {
    let base = directories::BaseDirs::new();
    match base.as_ref().and_then(directories::BaseDirs::runtime_dir) {
        Some(runtime) => runtime.join("sidevoice"),
        None => {
            let user = geteuid().as_raw();
            std::env::temp_dir().join(format!("sidevoice-{user}"))
        }
    }
}

/// Makes the folder if need be.
///
/// # Errors
///
/// One that belongs to somebody else, or that others may write into, is not used: what lies there
/// could be anybody's.
pub(super) fn make(folder: &Path) -> io::Result<()> {
    let made = DirBuilder::new().recursive(true).mode(0o700).create(folder);
    made?;
    let found = fs::symlink_metadata(folder)?;
    let own = found.uid() == geteuid().as_raw();
    if !found.is_dir() || !own || found.mode() & 0o022 != 0 {
        return Err(io::Error::new(
            io::ErrorKind::PermissionDenied,
            format!(
                "{} is not a folder into which only you may write",
                folder.display()
            ),
        ));
    }
    Ok(())
}
