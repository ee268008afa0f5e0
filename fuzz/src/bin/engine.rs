//! One target, named by FALLSIDE_FUZZ, under the coverage-guided engine. Run by `scripts/fuzz`.

#![no_main]

use fuzz::{Target, hear_faults, on_one_thread};
use std::sync::LazyLock;

static TARGET: LazyLock<Target> = LazyLock::new(|| {
    on_one_thread();
    hear_faults(|what| {
        eprintln!("FAULT {what}");
        std::process::abort();
    });
    let name = std::env::var("FALLSIDE_FUZZ").unwrap_or_default();
    Target::named(&name).unwrap_or_else(|| {
        eprintln!("FALLSIDE_FUZZ names no target: {name:?}");
        std::process::exit(2);
    })
});

libfuzzer_sys::fuzz_target!(|data: &[u8]| TARGET.feed(data));
