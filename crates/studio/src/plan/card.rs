//! The rig card.

use super::answer::Answer;
use super::say::Units;
use crate::job::FrameError;
use std::path::Path;

/// The card as one self-contained page.
pub fn card(_a: &Answer, _units: Units) -> String {
    String::new()
}

/// What a card's file holds near its beginning, so that nothing else is ever overwritten by one.
const MARK: &str = r#"<meta name="description" content="fallside rig card">"#;

/// Writes the card.
///
/// # Errors
/// The name is none of a web page's, another file has it, or it cannot be written.
pub fn write_card(place: &Path, a: &Answer, units: Units) -> Result<(), FrameError> {
    let ending = place.extension().map(|e| e.to_string_lossy().to_lowercase());
    if !matches!(ending.as_deref(), Some("html" | "htm")) {
        return Err(FrameError::new(format!(
            "A rig card is a web page: give it a name like rig.html, not {}.",
            place.display()
        )));
    }
    // Only a card of ours may be replaced.
    if place.exists() && !std::fs::read_to_string(place).is_ok_and(|held| held.contains(MARK)) {
        return Err(FrameError::new(format!(
            "{} is there and is no rig card; it is left alone. Choose another name.",
            place.display()
        )));
    }
    crate::finish::write_beside(place, card(a, units).as_bytes())
}
