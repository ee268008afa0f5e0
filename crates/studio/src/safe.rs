//! Keeps files that are not ours safe: no original is written over, and no path that a file names leads out of its folder.
//!
//! Every command that writes asks here first. [`Originals`] compares what will be written with what is read, by device and
//! inode, so that links count; [`is_below`] and [`to_write`] confine a path that was read from a list, a report or a catalogue;
//! [`beside`] writes files whole, and [`turn`] lets one run at a time into a folder.

pub(crate) mod beside;
mod inside;
mod originals;
pub(crate) mod turn;

pub(crate) use inside::{is_below, is_plain, is_plain_file, to_write};
pub(crate) use originals::Originals;
