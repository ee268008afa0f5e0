//! Feeds arbitrary bytes to every reader of foreign files: one [`Target`] a reader.
//!
//! `tests/replay.rs` replays the corpus and a bounded number of mutations of it on every run of the tests; `scripts/fuzz` runs the
//! same targets for as long as wanted under an engine guided by coverage. What was run and found: `docs/reference/fuzzing.md`.

pub mod mutate;
pub mod pack;
pub mod seeds;
mod targets;

use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind};
use std::path::PathBuf;

/// A reader of foreign bytes.
#[derive(Clone, Copy, Debug)]
pub struct Target {
    /// Its name, and that of its corpus.
    pub name: &'static str,
    /// Longest input that makes sense, bytes: libraries' own limits lie beyond, and short inputs are tried more often.
    pub longest: usize,
    run: fn(&[u8]),
}

/// Every target, in the order in which they are run.
pub const TARGETS: &[Target] = targets::ALL;

impl Target {
    /// The one of this name.
    pub fn named(name: &str) -> Option<Self> {
        TARGETS.iter().find(|t| t.name == name).copied()
    }

    /// Feeds it `bytes`. A panic inside a library is contained, as the program contains it: its decoding process does the same.
    pub fn feed(&self, bytes: &[u8]) {
        let _ = catch_unwind(AssertUnwindSafe(|| (self.run)(&bytes[..bytes.len().min(self.longest)])));
    }

    /// Where its corpus lies.
    pub fn corpus(&self) -> PathBuf {
        PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("corpus").join(format!("{}.pack", self.name))
    }
}

/// From now on works on one thread: inputs are small, and waking others takes longer than reading them.
pub fn on_one_thread() {
    // Where threads were begun before, they stay: slower, and nothing else.
    let _ = rayon::ThreadPoolBuilder::new().num_threads(1).build_global();
}

/// From now on tells `hear` of every panic in our own code, with its place. Libraries' panics are contained where they are used, and
/// are not told.
pub fn hear_faults(hear: impl Fn(&str) + Send + Sync + 'static) {
    std::panic::set_hook(Box::new(move |info: &PanicHookInfo| {
        // Sources of libraries lie in the registry's folder.
        let theirs = info.location().is_some_and(|l| l.file().contains("/registry/src/"));
        if !theirs {
            hear(&info.to_string());
        }
    }));
}
