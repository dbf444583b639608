//! What the program logs: to standard error, which is also how it reaches the journal.
//!
//! systemd reads standard error and takes `<4>` at the start of a line as its level (sd-daemon(3)),
//! so a line needs no library and no second way; times are the journal's own.

use std::io;
use std::io::Write;
use tracing::Level;
use tracing::Metadata;
use tracing_subscriber::EnvFilter;
use tracing_subscriber::fmt::MakeWriter;

/// Starts to log, as much as `SIDEVOICE_LOG` says.
pub fn start() {
    let filter =
        EnvFilter::try_from_env("SIDEVOICE_LOG").unwrap_or_else(|_| EnvFilter::new("warn"));
    let log = tracing_subscriber::fmt().with_env_filter(filter);
    if into_journal() {
        let log = log.without_time().with_level(false);
        log.with_writer(Journal).init();
    } else {
        log.with_writer(io::stderr).init();
    }
}

/// Returns whether standard error is read by the journal: systemd names its device and number.
#[cfg(unix)]
fn into_journal() -> bool {
    use std::os::fd::AsFd;
    use std::os::unix::fs::MetadataExt;
    let Some(named) = std::env::var_os("JOURNAL_STREAM") else {
        return false;
    };
    let ours = io::stderr().as_fd().try_clone_to_owned();
    let ours = ours.and_then(|ours| std::fs::File::from(ours).metadata());
    ours.is_ok_and(|ours| named == *format!("{}:{}", ours.dev(), ours.ino()))
}

#[cfg(not(unix))]
fn into_journal() -> bool {
    false
}

/// Standard error with each line's level before it.
struct Journal;

impl MakeWriter<'_> for Journal {
    type Writer = io::Stderr;

    fn make_writer(&self) -> Self::Writer {
        io::stderr()
    }

    fn make_writer_for(&self, meta: &Metadata<'_>) -> Self::Writer {
        // The levels of syslog(3).
        let level: &[u8] = match *meta.level() {
            Level::ERROR => b"<3>",
            Level::WARN => b"<4>",
            Level::INFO => b"<6>",
            Level::DEBUG | Level::TRACE => b"<7>",
        };
        let mut err = io::stderr();
        // Where it cannot be written there is nobody to tell.
        let _ = err.write_all(level);
        err
    }
}
