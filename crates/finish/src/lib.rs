//! Finish: turns folders of frames into a folder of finished prints with reports and one page.
//!
//! Order of work: gather the files, look at each once, give each its role, then finish them two at a time within a budget
//! of memory. Every result is written atomically, the report last, so an existing report means a finished
//! frame; the next run skips such frames while their recipe is unchanged. If a frame fails, one line says why and the run
//! continues. Originals are opened read-only.

mod again;
mod assignment;
mod claim;
mod corners;
pub mod demo;
pub mod finding;
mod first_look;
pub mod frame;
pub mod job;
pub mod judge;
pub mod lift_drawing;
pub mod light;
pub mod limit;
pub mod measured;
mod memory_budget;
mod named_files;
mod names;
pub mod next_step;
mod outcome;
pub mod page;
mod pairs;
pub mod recipe;
pub mod relight;
pub mod report;
mod request;
mod results;
mod role;
pub mod roles;
mod run;
pub mod sitting;
mod sitting_state;
mod sources;
mod store;

pub use again::finished_again;
pub use corners::{Corners, corners, quad};
pub use named_files::NOT_USED;
pub use names::{clean, with_hash};
pub use outcome::{Answer, Entry, Event, Outcome, Tell};
pub use request::{OfProject, Request};
pub use results::{as_finished, outputs, read_report, reports_in};
pub use role::Role;
pub use roles::seconds_of;
pub use run::finish;
pub use sources::{Gathered, Source, gather, is_picture, pair_twins};
