//! Hands finished prints on: shares to post, a gallery of plain files, a book for the press.
//!
//! It is given [`Plate`]s: finished mounts with their true size and their words. Out of scope: where they come from (a
//! catalogue, a folder of results), and every correction of a picture.

pub mod book;
mod plate;

pub use plate::{Plate, Privacy, Words};
