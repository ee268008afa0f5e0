//! The catalogue: everything known about the prints in one file (prints, frames, results, boxes, edits, hand-offs, and a journal of changes).
//!
//! ```
//! # fn main() -> catalogue::Result<()> {
//! # let folder = tempfile::tempdir().unwrap();
//! use catalogue::{Catalogue, Fact, Order};
//! let mut it = Catalogue::open(&folder.path().join("fallside.db"))?;
//! let print = it.change("A print", |w| w.mint())?;
//! it.describe(&[print], &[(Fact::Place, "Çeşme harbour"), (Fact::Exposed, "2009-07?")])?;
//! assert_eq!(it.search("cesme harb date:2009..2012", Order::Number, 0, 10)?.ids, [print]);
//! it.undo()?;
//! assert!(it.search("place:harbour", Order::Number, 0, 10)?.ids.is_empty());
//! # Ok(())
//! # }
//! ```
//!
//! It is an SQLite database in write-ahead mode. Each change is a transaction and one entry of the journal, which can be undone later.
//! Out of scope: pixels, picture files, and the meaning of the data (`project`).

pub mod colour;
mod edit;
mod error;
mod fact;
mod journal;
mod kinds;
mod lock;
mod query;
mod read;
mod read_only;
mod rooms;
mod saved;
mod schema;
mod search;
mod stack;
mod store;
mod write;

pub use dates::{self, Edtf, day_text};
pub use edit::KINDS;
pub use error::{Error, Result};
pub use fact::{FACTS, Fact, FactLine, Facts, Kind, PRIVACY, list};
pub use kinds::{
    Brief, Edit, Entry, Finding, Finished, Frame, FrameId, HandOff, Holder, InEdit, NewFrame, PartOf, Print, PrintId,
    Row, Sitting, Stack, Stacked, Tally,
};
pub use lock::{Hold, HoldError};
pub use query::{Asks, Field, Part, Query, fields};
pub use rooms::{Rooms, TakenIn};
pub use schema::FORM;
pub use search::{Found, Order};
pub use store::Catalogue;
pub use write::{Writer, named};
