//! The book: finished prints at true size on white pages, as a press-ready file.
//!
//! [`make`] takes plates and [`Settings`] and writes a PDF as its pictures become ready. Beside it go a flat plan, a dummy, a
//! proof sheet, a working deck and a soft proof ([`beside`]), all from the same pages and pictures.

pub mod beside;
pub mod cover;
mod flate;
pub mod imposed;
mod in_order;
pub mod layout;
pub mod leaves;
pub mod make;
pub mod markdown;
pub mod model;
pub mod pages;
pub mod paper;
pub mod pdf;
pub mod picture;
pub mod planned;
pub mod press;
mod reduced;
pub mod sheet;
pub mod small;
pub mod text_pages;
pub mod typesetting;
pub mod words;

pub use layout::Arrangement;
pub use make::{Fault, Made, Settings, make};
pub use paper::Certificate;
pub use picture::Kept;
pub use sheet::Sheet;
pub use small::Smalls;
