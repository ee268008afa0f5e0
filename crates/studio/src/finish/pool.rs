//! Frames in work side by side: how many, within how much memory, and what a fault in one of them does.

use crate::job::{FrameError, Look};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// Frames in work at a time. Each frame's own steps already use every core; a second one fills the gaps of decoding and
/// writing. More would only cost memory.
const IN_WORK: usize = 2;

pub(crate) fn in_parallel<T: Sync>(items: &[T], each: impl Fn(&T) + Sync) {
    let next = std::sync::atomic::AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for _ in 0..IN_WORK.min(items.len()) {
            scope.spawn(|| {
                while let Some(item) = items.get(next.fetch_add(1, std::sync::atomic::Ordering::Relaxed)) {
                    each(item);
                }
            });
        }
    });
}

/// A fault of ours in one frame is that frame's line, not the end of the run.
pub(crate) fn guarded<T>(work: impl FnOnce() -> Result<T, FrameError>) -> Result<T, FrameError> {
    std::panic::catch_unwind(std::panic::AssertUnwindSafe(work)).unwrap_or_else(|fault| {
        let what =
            fault.downcast_ref::<String>().cloned().or_else(|| fault.downcast_ref::<&str>().map(|s| (*s).to_owned()));
        Err(FrameError::new(format!(
            "Fallside stopped on this frame, which is its own fault: {}.",
            what.unwrap_or_default()
        ))
        .with_remedy("The original is untouched. Please report it with this line."))
    })
}

/// Memory a frame takes while it is worked on. Decoded samples (6 bytes a pixel at 16 bits), the two 16-bit results in
/// strips and coarse fields came to 25 to 30 bytes a pixel when written down; 32 leaves a little.
pub(super) fn bytes_for(look: &Look) -> u64 {
    32 * look.width as u64 * look.height as u64
}

/// A quarter of the machine's memory, so that a frame and everything else on the desk still fit; 2 GB where it does not say.
pub(super) fn quarter_of_memory() -> u64 {
    let text = std::fs::read_to_string("/proc/meminfo").unwrap_or_default();
    let kilobytes =
        text.lines().find_map(|l| l.strip_prefix("MemTotal:")?.trim().strip_suffix("kB")?.trim().parse::<u64>().ok());
    kilobytes.map_or(2 << 30, |kb| kb * 1024 / 4)
}

/// Memory shared by the frames in work. A frame larger than all of it works alone.
pub(super) struct Budget {
    all: u64,
    left: Mutex<u64>,
    freed: Condvar,
}

pub(super) struct Held<'a> {
    budget: &'a Budget,
    bytes: u64,
}

impl Budget {
    pub fn new(bytes: u64) -> Self {
        Self { all: bytes, left: Mutex::new(bytes), freed: Condvar::new() }
    }
    pub fn take(&self, bytes: u64) -> Held<'_> {
        let bytes = bytes.min(self.all);
        let mut left = lock(&self.left);
        while *left < bytes {
            left = self.freed.wait(left).unwrap_or_else(PoisonError::into_inner);
        }
        *left -= bytes;
        Held { budget: self, bytes }
    }
}

impl Drop for Held<'_> {
    fn drop(&mut self) {
        *lock(&self.budget.left) += self.bytes;
        self.budget.freed.notify_all();
    }
}

/// A lock that a fault elsewhere cannot take away: what it guards is plain counts and lists.
pub(crate) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
