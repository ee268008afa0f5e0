//! Readers of this crate that nothing public calls alone, for tests that feed them arbitrary bytes (`fuzz/`). No part of what the crate
//! offers.

use crate::handed::{self, Handed, LIST};
use crate::safe::Originals;
use std::collections::BTreeSet;
use std::path::Path;

/// A sidecar with the catalogue's words in it.
pub fn sidecar(text: &str) {
    let _ = crate::project::is_sidecar(text);
}

/// A folder that was handed on with these lines in its list, of the kind numbered so: opened, cleared of all that is no longer wanted,
/// closed.
pub fn handed_on(root: &Path, kind: u8, lines: &str) {
    let kind = [handed::SHARES, handed::GALLERY, handed::DEMONSTRATION][usize::from(kind) % 3];
    if std::fs::write(root.join(LIST), format!("{}\n{lines}", handed::first_line(kind))).is_err() {
        return;
    }
    if let Ok(open) = Handed::open(root, kind, &Originals::default(), &[]) {
        open.keep_only(&BTreeSet::new());
        let _ = open.close();
    }
}

/// An archive that packing would go on with.
pub fn packing(root: &Path) {
    let _ = crate::pack::can_go_on(root);
}
