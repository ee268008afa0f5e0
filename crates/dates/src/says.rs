//! EDTF in words.

use super::calendar::{MONTHS, SEASONS};

/// "2009-22?" as "summer 2009, perhaps"; what is not EDTF stays as it is. A part of a date that is not known ("2009-07-XX") is left out.
///
/// ```
/// assert_eq!(dates::says("/2000"), "2000 or earlier");
/// ```
pub fn says(edtf: &str) -> String {
    match edtf.split_once('/') {
        Some(("", to)) => format!("{} or earlier", one(to)),
        Some((from, "")) => format!("{} or later", one(from)),
        Some(("..", to)) => format!("until {}", one(to)),
        Some((from, "..")) => format!("from {} on", one(from)),
        Some((from, to)) => format!("{} to {}", one(from), one(to)),
        None => one(edtf),
    }
}

fn one(date: &str) -> String {
    let plain = date.trim_end_matches(['?', '~', '%']);
    let text = calendar(plain).unwrap_or_else(|| plain.to_owned());
    match &date[plain.len()..] {
        "?" => format!("{text}, perhaps"),
        "~" => format!("about {text}"),
        "%" => format!("about {text}, perhaps"),
        _ => text,
    }
}

fn calendar(date: &str) -> Option<String> {
    let (date, time) = date.split_once('T').map_or((date, ""), |(d, t)| (d, t));
    let before = date.strip_prefix('-').map_or("", |_| "−");
    let mut parts = date.trim_start_matches('-').splitn(3, '-');
    let year = parts.next()?;
    if let Some(long) = year.strip_prefix('Y') {
        return Some(format!("the year {long}"));
    }
    let year = match year.strip_suffix("XX").map(|c| (c, "00s")).or(year.strip_suffix('X').map(|d| (d, "0s"))) {
        // 200X is the ten years from 2000, 20XX the hundred.
        Some((start, "0s")) if start.ends_with('0') => format!("{before}{start}0 to {before}{start}9"),
        Some((start, end)) => format!("the {before}{start}{end}"),
        None => format!("{before}{year}"),
    };
    let Some(month) = parts.next() else { return Some(year) };
    let day = parts.next();
    if month == "XX" {
        return Some(year);
    }
    let number: usize = month.parse().ok().filter(|n| *n > 0)?;
    let name = MONTHS.get(number - 1).or(SEASONS.get(number.wrapping_sub(21)))?;
    let clock = if time.is_empty() { String::new() } else { format!(", {time}") };
    Some(match day {
        None | Some("XX") => format!("{name} {year}"),
        Some(day) => format!("{} {name} {year}{clock}", day.trim_start_matches('0')),
    })
}
