//! Ctrl-C and an orderly end from outside: noted, so that work ends cleanly instead of at once.

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
    /// Notes SIGINT and SIGTERM from now on; a second one ends the program at once.
    pub fn noted() -> Self {
        let asked = Arc::new(AtomicBool::new(false));
        for signal in [SIGINT, SIGTERM] {
            // In this order: the first sets the flag, the second finds it set. Where it cannot be
            // registered the signal ends the program as it always does.
            let _ = signal_hook::flag::register_conditional_shutdown(signal, 130, asked.clone());
            let _ = signal_hook::flag::register(signal, asked.clone());
        }
        Self(asked)
    }

    /// Returns whether an end was asked for.
    pub fn asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}
