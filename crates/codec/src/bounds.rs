//! Memory and time limits of a decoding process.
//!
//! The process starts with memory for itself and for the bytes of the file. Once the size in the header has passed the limits, it may use
//! four times what the pixels need. The operating system enforces the limit (address space), whatever a library does.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// Time that may pass while a picture's pixels are waited for. The largest picture allowed (300 MP) takes under 20 s on one
/// core of a laptop.
pub(crate) const TIME: Duration = Duration::from_secs(60);
/// The program itself, its threads' stacks and the allocator's reserve.
const OWN: u64 = 512 << 20;
/// Room for each byte that the pixels need: a library may hold a picture as stored, unpacked, and cropped.
const TIMES: u64 = 4;
/// Threads of a decoding process; a picture's strips gain nothing from more, and each costs address space.
pub(crate) const THREADS: usize = 8;

/// Bytes that are allowed now; 0 in every process that is not bounded.
static ALLOWED: AtomicU64 = AtomicU64::new(0);
/// Bytes allowed before the pixels' need is known.
static FLOOR: AtomicU64 = AtomicU64::new(0);

/// Bounds this process for good, before it reads a file of `length` bytes.
pub(crate) fn begin(length: u64) {
    // The file is held once by us and once by a library.
    let floor = OWN.saturating_add(length.saturating_mul(2));
    FLOOR.store(floor, Ordering::Relaxed);
    ALLOWED.store(floor, Ordering::Relaxed);
    limits::memory(floor);
    limits::others();
}

/// Lets pixels that need `bytes` be decoded, where this process is bounded.
pub(crate) fn allow(bytes: u64) {
    let floor = FLOOR.load(Ordering::Relaxed);
    let wanted = floor.saturating_add(bytes.saturating_mul(TIMES));
    if floor > 0 && ALLOWED.fetch_max(wanted, Ordering::Relaxed) < wanted {
        limits::memory(wanted);
    }
}

#[cfg(unix)]
mod limits {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};

    /// Only the soft limit moves: what stood above it stays. A system without this limit goes on without.
    pub fn memory(bytes: u64) {
        let hard = getrlimit(Resource::As).maximum;
        let bytes = hard.map_or(bytes, |h| h.min(bytes));
        let _ = setrlimit(Resource::As, Rlimit { current: Some(bytes), maximum: hard });
    }

    /// Forbids writing files and core dumps, and limits processor time in case nobody waits any more.
    pub fn others() {
        let seconds = super::TIME.as_secs() * super::THREADS as u64;
        for (what, most) in [(Resource::Fsize, 0), (Resource::Core, 0), (Resource::Cpu, seconds)] {
            let _ = setrlimit(what, Rlimit { current: Some(most), maximum: Some(most) });
        }
    }
}

#[cfg(not(unix))]
mod limits {
    pub fn memory(_: u64) {}
    pub fn others() {}
}
