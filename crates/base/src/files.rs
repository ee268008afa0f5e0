//! Keeps files that are not ours safe: no original is written over, and no path that a file names leads out of its folder.
//!
//! Every command that writes asks here first. [`Originals`] compares what will be written with what is read, by device and
//! inode, so that links count; [`is_below`] and [`to_write`] confine a path that was read from a list, a report or a catalogue;
//! [`mod@write`] writes files whole, and [`exclusive`] lets one run at a time into a folder.

mod confine;
pub mod exclusive;
mod identity;
mod originals;
pub mod regular;
pub mod write;

pub use confine::{is_below, is_plain, is_plain_file, to_write};
pub use identity::{hash, name_of, relative, unchanged};
pub use originals::Originals;

/// Marks a folder as results, and holds what the next run can use.
pub const MARK: &str = ".fallside";
