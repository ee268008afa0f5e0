//! What every command shares: files that are written whole and never over an original, locks, workers, exit codes and wording.
//!
//! Out of scope: prints, projects and anything that a picture shows (the crates above).

pub mod clock;
pub mod decoding;
mod error;
mod exit;
pub mod files;
pub mod output_folder;
pub mod wording;
pub mod workers;

pub use error::Failure;
pub use exit::Exit;
