//! What the book says: captions, the list of plates, the colophon; dates as a person writes them.

use crate::{Plate, Words};

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// A caption beside its number: the first line in roman, the second in italic.
pub fn caption(words: &Words) -> [String; 2] {
    let where_when = where_and_when(words);
    if words.title.is_empty() { [where_when, String::new()] } else { [words.title.clone(), where_when] }
}

/// "The harbour, July 2009".
pub fn where_and_when(words: &Words) -> String {
    let parts = [words.place.clone(), date(&words.date)];
    parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(", ")
}

/// A line of the list of plates: "The ferry. The harbour, July 2009. 88 × 107 mm".
pub fn listed(plate: &Plate) -> String {
    let [w, h] = plate.print_mm();
    let mut parts = vec![plate.words.title.clone(), where_and_when(&plate.words)];
    parts.retain(|p| !p.is_empty());
    parts.push(format!("{w:.0} × {h:.0} mm"));
    let stop = |p: &String| if p.ends_with(['.', '?', '!']) { p.clone() } else { format!("{p}.") };
    parts.iter().map(stop).collect::<Vec<_>>().join(" ")
}

/// An EDTF date (ISO 8601-2, level 1) as it is said: "14 July 2009", "about 2009", "spring 2010", "the 2000s", "2009 to 2011".
/// What is not understood stays as it is written.
pub fn date(edtf: &str) -> String {
    if let Some((from, to)) = edtf.split_once('/') {
        return match (from, to) {
            ("" | "..", to) => format!("before {}", one(to)),
            (from, "" | "..") => format!("since {}", one(from)),
            (from, to) => format!("{} to {}", one(from), one(to)),
        };
    }
    one(edtf)
}

fn one(text: &str) -> String {
    let (bare, mark) = match text.char_indices().last() {
        Some((i, c @ ('?' | '~' | '%'))) => (&text[..i], Some(c)),
        _ => (text, None),
    };
    let parts: Vec<&str> = bare.split('-').collect();
    let month = |m: &str| m.parse::<usize>().ok();
    let plain = match parts[..] {
        [y] if y.len() == 4 && y.ends_with('X') && y[..3].bytes().all(|b| b.is_ascii_digit()) => {
            format!("the {}0s", &y[..3])
        }
        [y, m] => match month(m) {
            Some(m @ 1..=12) => format!("{} {y}", MONTHS[m - 1]),
            Some(s @ 21..=24) => format!("{} {y}", ["spring", "summer", "autumn", "winter"][s - 21]),
            _ => bare.to_owned(),
        },
        [y, m, d] => match (month(m), d.parse::<u8>()) {
            (Some(m @ 1..=12), Ok(d)) => format!("{d} {} {y}", MONTHS[m - 1]),
            _ => bare.to_owned(),
        },
        _ => bare.to_owned(),
    };
    match mark {
        Some('?') => format!("{plain}, perhaps"),
        Some('~') => format!("about {plain}"),
        Some(_) => format!("perhaps about {plain}"),
        None => plain,
    }
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

    #[test]
    fn dates_are_said_as_people_say_them() {
        for (edtf, said) in [
            ("2009", "2009"),
            ("2009-07", "July 2009"),
            ("2009-07-14", "14 July 2009"),
            ("2009-21", "spring 2009"),
            ("200X", "the 2000s"),
            ("2009?", "2009, perhaps"),
            ("2009-07~", "about July 2009"),
            ("2009/2011", "2009 to 2011"),
            ("../2009", "before 2009"),
            ("2009/..", "since 2009"),
            ("", ""),
            ("long ago", "long ago"),
            ("2009-99", "2009-99"),
        ] {
            assert_eq!(date(edtf), said, "{edtf}");
        }
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
