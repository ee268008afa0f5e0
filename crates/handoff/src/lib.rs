//! Prints handed on: shares, a gallery, a book, an archive.
//!
//! Each command chooses prints (`selection`), puts files into a folder of its own and notes in the project what was handed on.

pub mod book;
mod event;
pub mod gallery;
pub mod pack;
pub mod selection;
pub mod share;

pub use event::Event;
