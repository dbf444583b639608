//! Work on many files at a time.

use std::sync::LazyLock;
use std::sync::atomic::AtomicUsize;
use std::sync::atomic::Ordering;
use std::thread;

/// Asked for once: the answer stands in several files.
static CORES: LazyLock<usize> =
    LazyLock::new(|| thread::available_parallelism().map_or(1, usize::from));

/// Does the work for each item, on all cores where there are so many that they are worth threads; the
/// order is that of the items.
pub fn on_all_cores<A: Sync, B: Send>(
    items: &[A],
    many: usize,
    work: impl Fn(&A) -> B + Sync,
) -> Vec<B> {
    let cores = *CORES;
    if items.len() < many || cores == 1 {
        return items.iter().map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let some = || {
        let mut done = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            match items.get(index) {
                Some(item) => done.push((index, work(item))),
                None => return done,
            }
        }
    };
    let mut all = thread::scope(|scope| {
        let helpers: Vec<_> = (1..cores).map(|_| scope.spawn(some)).collect();
        let mut all = some();
        for helper in helpers {
            match helper.join() {
                Ok(done) => all.extend(done),
                Err(bug) => std::panic::resume_unwind(bug),
            }
        }
        all
    });
    all.sort_by_key(|(index, _)| *index);
    all.into_iter().map(|(_, done)| done).collect()
}
