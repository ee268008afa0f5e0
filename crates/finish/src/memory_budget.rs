//! Memory limit shared by the frames in progress.

use crate::job::Look;
use base::workers::lock;
use std::sync::{Condvar, Mutex, PoisonError};

/// Memory that a frame takes in progress. Decoded samples (6 bytes a pixel at 16 bits), the two 16-bit results in
/// strips and coarse fields came to 25 to 30 bytes a pixel when written down; 32 leaves a little.
pub(crate) fn bytes_for(look: &Look) -> u64 {
    32 * look.width as u64 * look.height as u64
}

/// A quarter of the RAM, so that other programs still fit; 2 GB if the size is unknown.
pub(crate) fn quarter_of_memory() -> u64 {
    let text = std::fs::read_to_string("/proc/meminfo").unwrap_or_default();
    let kilobytes =
        text.lines().find_map(|l| l.strip_prefix("MemTotal:")?.trim().strip_suffix("kB")?.trim().parse::<u64>().ok());
    kilobytes.map_or(2 << 30, |kb| kb * 1024 / 4)
}

/// Memory shared by the frames in progress. A frame larger than the whole budget runs alone.
pub(crate) struct Budget {
    all: u64,
    left: Mutex<u64>,
    freed: Condvar,
}

pub(crate) struct Held<'a> {
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
