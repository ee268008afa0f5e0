//! The texts of the book: captions, the list of plates, the colophon.

use crate::{Plate, Words};
use dates::says;

/// A caption beside its number: the first line in roman, the second in italic.
pub fn caption(words: &Words) -> [String; 2] {
    let where_when = where_and_when(words);
    if words.title.is_empty() { [where_when, String::new()] } else { [words.title.clone(), where_when] }
}

/// "The ferry (detail)".
pub fn detail(first: &str) -> String {
    if first.is_empty() { "Detail".into() } else { format!("{first} (detail)") }
}

/// "The harbour, July 2009".
pub fn where_and_when(words: &Words) -> String {
    let parts = [words.place.clone(), says(&words.date)];
    parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(", ")
}

/// A line of the list of plates: "The ferry. The harbour, July 2009. 88 × 107 mm". `shadow`: it also says how its shadow came about, where
/// not all of the book's are as they were shot.
pub fn listed(plate: &Plate, shadow: bool) -> String {
    let [w, h] = plate.print_mm();
    let mut parts = vec![plate.words.title.clone(), where_and_when(&plate.words)];
    parts.retain(|p| !p.is_empty());
    parts.push(format!("{w:.0} × {h:.0} mm"));
    if shadow {
        parts.push(format!("Shadow {}", plate.shadow));
    }
    let stop = |p: &String| if p.ends_with(['.', '?', '!']) { p.clone() } else { format!("{p}.") };
    parts.iter().map(stop).collect::<Vec<_>>().join(" ")
}

/// "8 square-integral of 88 × 107 mm, 2 mini-integral of 54 × 86 mm".
pub fn formats(plates: &[Plate]) -> String {
    let mut all: Vec<(String, [i64; 2], usize)> = vec![];
    for plate in plates {
        let size = plate.print_mm().map(|v| v.round() as i64);
        match all.iter_mut().find(|(name, ..)| *name == plate.format) {
            Some((.., n)) => *n += 1,
            None => all.push((plate.format.clone(), size, 1)),
        }
    }
    let line = |(name, [w, h], n): &(String, [i64; 2], usize)| format!("{n} {name} of about {w} × {h} mm");
    all.iter().map(line).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How a shadow came about is said of each plate where it is not the print's own on all of them.
    #[test]
    fn a_plate_says_how_its_shadow_came_about_where_one_was_cast() {
        let mut plate = crate::plate::tests::plate();
        assert_eq!(listed(&plate, false), "88 × 107 mm.");
        assert_eq!(listed(&plate, true), "88 × 107 mm. Shadow as shot.");
        plate.shadow = "cast anew (left, 180°, 45° high, 12° wide; expected error 4 %)".into();
        assert!(
            listed(&plate, true).ends_with("Shadow cast anew (left, 180°, 45° high, 12° wide; expected error 4 %).")
        );
    }

    #[test]
    fn a_caption_says_what_is_known_and_no_more() {
        let words = Words {
            title: "The ferry".into(),
            place: "Old harbour".into(),
            date: "2009-07".into(),
            ..Words::default()
        };
        assert_eq!(caption(&words), ["The ferry".to_owned(), "Old harbour, July 2009".to_owned()]);
        assert_eq!(caption(&Words::default()), [String::new(), String::new()]);
        let place = Words { place: "Quay".into(), ..Words::default() };
        assert_eq!(caption(&place)[0], "Quay");
    }
}
