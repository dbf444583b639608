//! Decoders of other people's files: one that panics ends its track, and says nothing to the terminal.

use std::cell::Cell;
use std::panic;
use std::panic::AssertUnwindSafe;
use std::sync::Once;

thread_local! {
    /// Whether this thread decodes: a panic is an answer then, and none of our faults.
    static DECODES: Cell<bool> = const { Cell::new(false) };
}

static QUIET: Once = Once::new();

/// Does some work; `None` where it panics.
pub(super) fn guarded<T>(work: impl FnOnce() -> T) -> Option<T> {
    QUIET.call_once(keep_quiet);
    let before = DECODES.replace(true);
    let done = panic::catch_unwind(AssertUnwindSafe(work)).ok();
    DECODES.set(before);
    done
}

/// Lays a hook over the one that is there, which no longer hears of panics in guarded work.
fn keep_quiet() {
    let told = panic::take_hook();
    panic::set_hook(Box::new(move |panic| {
        if !DECODES.get() {
            told(panic);
        }
    }));
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicUsize;
    use std::sync::atomic::Ordering;
    use std::thread;

    #[test]
    fn a_panic_of_a_decoder_is_not_printed_and_any_other_is() {
        static TOLD: AtomicUsize = AtomicUsize::new(0);
        // The hook below is to lie over this one: no other is laid from now on.
        guarded(|| ());
        let before = panic::take_hook();
        panic::set_hook(Box::new(move |panic| {
            // Other tests have threads of their own.
            match thread::current().name() {
                Some("decodes") => {
                    TOLD.fetch_add(1, Ordering::Relaxed);
                }
                _ => before(panic),
            }
        }));
        keep_quiet();
        let named = thread::Builder::new().name("decodes".to_owned());
        let done = named.spawn(|| {
            assert_eq!(guarded(|| panic!("a rate of 0")), None::<()>);
            assert_eq!(TOLD.load(Ordering::Relaxed), 0);
            assert_eq!(guarded(|| 7), Some(7));
            assert!(panic::catch_unwind(|| panic!("a fault of ours")).is_err());
            TOLD.load(Ordering::Relaxed)
        });
        assert_eq!(done.unwrap().join().unwrap(), 1);
    }
}
