//! Hands finished prints on: shares to post, a gallery of plain files, a book for the press.
//!
//! Its input is [`Plate`]s: finished mounts with their true size and description. Out of scope: where they come from (a
//! catalogue, a folder of results), and corrections of pictures.

mod area;
pub mod book;
mod error;
pub mod gallery;
pub mod mount;
mod plate;
pub mod privacy;
pub mod share;
pub mod text;
pub mod typefaces;

pub use error::{Error, Result};
pub use plate::{Held, Plate, Privacy, Remade, Words};
