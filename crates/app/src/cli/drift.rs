//! `check --drift`: what moved during a sitting, as text or JSON.

use base::Exit;
use rig::drift::{Request, drift};
use std::path::{Path, PathBuf};

/// Measures the drift of a folder and prints it on standard output: sentences, or `fallside.drift/1` if `json` is set.
/// Each unreadable file gets one line on standard error.
pub fn run(folder: &Path, blanks: &[PathBuf], json: bool) -> Exit {
    let answer = drift(&Request { folder: folder.to_owned(), blanks: blanks.to_vec() });
    for problem in &answer.problems {
        crate::say(problem);
    }
    if let Some(found) = &answer.drift {
        match json {
            true => crate::out::json(&found.to_json()),
            false => crate::out::text(&found.text()),
        }
    }
    answer.exit
}
