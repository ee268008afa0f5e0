//! The whole job in the photographer's terms.
//!
//! A request names folders and choices; the answer is a folder of finished prints, a report per frame and a page. Plain
//! structs in, plain structs out: the command line and the page are thin translations of this crate.
//!
//! Out of scope: arguments, terminals, colours on screen (`app`), and every rule about pixels (the crates below).

pub mod book;
pub mod check;
mod clock;
pub mod decoding;
pub mod demo;
pub mod desk;
pub mod drift;
pub mod finding;
pub mod finish;
pub mod frame;
#[doc(hidden)]
pub mod fuzzed;
pub mod gallery;
pub mod handed;
pub mod here;
pub mod job;
pub mod judge;
pub mod limit;
pub mod measured;
pub mod pack;
pub mod page;
pub mod plan;
pub mod plates;
pub mod project;
pub mod recipe;
mod regular;
pub mod report;
pub mod ruler;
mod safe;
pub mod share;
pub mod sitting;
pub mod words;
