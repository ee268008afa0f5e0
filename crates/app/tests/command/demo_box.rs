//! The demonstration box, drawn small and finished once for all tests.

use crate::small_project::fallside;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// Its folder: frames, the values of its chart, and results.
pub fn demo() -> &'static Path {
    static DEMO: OnceLock<tempfile::TempDir> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        fallside(&[&"demo", &"--small", &"--out", &folder.path()]);
        folder
    })
    .path()
}

/// Its results.
pub fn results() -> PathBuf {
    demo().join("finished")
}
