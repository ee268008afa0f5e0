//! The book: finished prints at their true size on pages of white, as a file for the press.

pub mod face;
pub mod layout;
pub mod model;
pub mod paper;
pub mod press;
pub mod sheet;
