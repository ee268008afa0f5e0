//! Writes the ink model's profile: a printing condition to try a book with, and for the judges to read it by.
//!
//!     cargo run -p publish --example press -- press.icc

fn main() -> std::io::Result<()> {
    let place = std::env::args().nth(1).unwrap_or_else(|| "press.icc".into());
    std::fs::write(place, publish::book::model::profile())
}
