//! The book: finished prints at their true size on pages of white, as a file for the press.

pub mod layout;
pub mod sheet;
