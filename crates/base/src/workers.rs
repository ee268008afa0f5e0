//! Items worked on side by side, and what a fault in one of them does to the others.

use crate::Failure;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Items in work at a time. Each item's own steps already use every core; a second one fills the gaps of decoding and
/// writing. More would only cost memory.
const IN_WORK: usize = 2;

/// Calls `each` for every item, two at a time; they are started in order.
pub fn in_parallel<T: Sync>(items: &[T], each: impl Fn(&T) + Sync) {
    let next = AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..IN_WORK.min(items.len()) {
            scope.spawn(|| {
                while let Some(item) = items.get(next.fetch_add(1, Ordering::Relaxed)) {
                    each(item);
                }
            });
        }
    });
}

/// Runs `work` and turns a panic, which is an internal error, into a failure of this item only.
///
/// # Errors
/// What `work` fails with, or the panic's message.
pub fn guarded<T>(work: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|fault| {
        let what =
            fault.downcast_ref::<String>().cloned().or_else(|| fault.downcast_ref::<&str>().map(|s| (*s).to_owned()));
        Err(Failure::new(format!(
            "Fallside stopped on this frame because of an internal error: {}.",
            what.unwrap_or_default()
        ))
        .with_remedy("The original is untouched. Please report this line."))
    })
}

/// Locks a mutex even if a thread panicked while it held it: what it guards is plain counts and lists.
pub fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
