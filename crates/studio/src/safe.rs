//! Keeps files that are not ours safe: no original is written over, and no path that a file names leads out of its folder.
//!
//! Every command that writes asks here first. [`Originals`] compares what will be written with what is read, by device and
//! inode, so that links count; [`inside`] and [`to_write`] confine a path that was read from a list, a report or a catalogue.

mod inside;
mod originals;

pub(crate) use inside::{is_below, to_write};
pub(crate) use originals::Originals;
