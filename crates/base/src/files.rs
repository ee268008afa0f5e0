//! Protects files that are not ours: no original is overwritten, and no path read from a file can leave its folder.
//!
//! Every command that writes checks here first. [`Originals`] compares output files with input files by device and inode, so links
//! are recognised. [`is_below`] and [`to_write`] confine paths that were read from a list, a report or a catalogue. [`mod@write`]
//! writes files atomically, and [`exclusive`] allows one run at a time in a folder.

mod confine;
pub mod exclusive;
mod identity;
mod originals;
pub mod regular;
pub mod write;

pub use confine::{is_below, is_plain, is_plain_file, to_write};
pub use identity::{alike, composed, hash, name_of, relative, unchanged};
pub use originals::Originals;

/// Marks a folder as results, and keeps what the next run can reuse.
pub const MARK: &str = ".fallside";
