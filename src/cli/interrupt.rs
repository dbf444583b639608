//! Ctrl-C, a closed terminal and an orderly end from outside: noted, so that work ends cleanly instead of at once.

use signal_hook::consts::SIGHUP;
use signal_hook::consts::SIGINT;
use signal_hook::consts::SIGTERM;
use signal_hook::consts::SIGXFSZ;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering;

/// Has a file that grows too large for what this user may write told as any other fault, where the signal would
/// end the program without a word.
pub fn outlive_large_files() {
    // Where it cannot be registered it does what it always does.
    let _ = signal_hook::flag::register(SIGXFSZ, Arc::default());
}

/// Whether the user, or the system, asked for an end.
#[derive(Clone)]
pub struct Interrupt(Arc<AtomicBool>);

impl Interrupt {
    /// Notes SIGINT, SIGTERM and SIGHUP from now on; a second of the first two ends the program at once.
    pub fn noted() -> Self {
        let asked = Arc::new(AtomicBool::new(false));
        for signal in [SIGINT, SIGTERM] {
            // In this order: the first sets the flag, the second finds it set. Where it cannot be
            // registered the signal ends the program as it always does.
            let _ = signal_hook::flag::register_conditional_shutdown(signal, 130, asked.clone());
            let _ = signal_hook::flag::register(signal, asked.clone());
        }
        // A terminal that is closed tells it twice, by its shell and by the system. Whoever started this with
        // `nohup` wants it to be heard by nobody.
        if !is_ignored(SIGHUP) {
            let _ = signal_hook::flag::register(SIGHUP, asked.clone());
        }
        Self(asked)
    }

    /// Returns whether an end was asked for.
    pub fn asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Whether the program was started with a signal ignored, where the system tells (proc(5), `SigIgn`).
#[expect(
    clippy::disallowed_methods,
    reason = "asks the system how this process was started"
)]
fn is_ignored(signal: i32) -> bool {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
    let mask = mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok());
    mask.is_some_and(|mask| mask >> (signal - 1) & 1 == 1)
}
