//! Hands prints on: shares, a gallery, a book, an archive.
//!
//! Each command chooses prints (`selection`), writes files into a separate folder, and records the hand-off in the project.

pub mod book;
mod earlier;
mod event;
pub mod gallery;
pub mod pack;
pub mod preview;
pub mod ready;
mod relit;
pub mod selection;
pub mod share;

pub use event::Event;
pub use finish::light;
