//! Names of months, seasons, weekdays and feasts, and the days they mean.

use crate::edtf::{civil, day, month_length};

/// Months, January first.
pub(super) const MONTHS: [&str; 12] = [
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
/// Seasons, as EDTF counts them from 21.
pub(super) const SEASONS: [&str; 4] = ["spring", "summer", "autumn", "winter"];
const WEEKDAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

/// A stretch of the calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Core {
    /// A hundred years: 19 for 1900 to 1999.
    Century(i64),
    /// Ten years: 199 for 1990 to 1999.
    Decade(i64),
    /// A year.
    Year(i64),
    /// A year's season, 21 to 24.
    Season(i64, i64),
    /// A year's month.
    Month(i64, i64),
    /// Year, month and day.
    Day(i64, i64, i64),
}

impl Core {
    /// As EDTF, without marks.
    pub(super) fn text(self) -> String {
        match self {
            Self::Century(c) => format!("{c:02}XX"),
            Self::Decade(d) => format!("{d:03}X"),
            Self::Year(y) => format!("{y:04}"),
            Self::Season(y, n) | Self::Month(y, n) => format!("{y:04}-{n:02}"),
            Self::Day(y, m, d) => format!("{y:04}-{m:02}-{d:02}"),
        }
    }

    /// The same, or its first year: what an interval begins with.
    pub(super) fn first(self) -> Self {
        match self {
            Self::Century(c) => Self::Year(100 * c),
            Self::Decade(d) => Self::Year(10 * d),
            other => other,
        }
    }

    /// The same, or its last year: what an interval ends with.
    pub(super) fn last(self) -> Self {
        match self {
            Self::Century(c) => Self::Year(100 * c + 99),
            Self::Decade(d) => Self::Year(10 * d + 9),
            other => other,
        }
    }

    /// The stretch of the same length before it. A winter has two ends in one year: see `edtf.rs`.
    pub(super) fn before(self) -> Self {
        match self.first() {
            Self::Season(y, 21) => Self::Season(y - 1, 24),
            Self::Season(y, s) => Self::Season(y, s - 1),
            Self::Month(y, 1) => Self::Month(y - 1, 12),
            Self::Month(y, m) => Self::Month(y, m - 1),
            Self::Day(y, m, d) => Self::of(day(y, m, d) - 1),
            Self::Year(y) | Self::Decade(y) | Self::Century(y) => Self::Year(y - 1),
        }
    }

    /// The stretch of the same length after it. After a winter of a year: that year's spring, so that neither winter is meant too late.
    pub(super) fn after(self) -> Self {
        match self.last() {
            Self::Season(y, 24) => Self::Season(y, 21),
            Self::Season(y, s) => Self::Season(y, s + 1),
            Self::Month(y, 12) => Self::Month(y + 1, 1),
            Self::Month(y, m) => Self::Month(y, m + 1),
            Self::Day(y, m, d) => Self::of(day(y, m, d) + 1),
            Self::Year(y) | Self::Decade(y) | Self::Century(y) => Self::Year(y + 1),
        }
    }

    /// The year it lies in, where it lies in one.
    pub(super) fn year(self) -> Option<i64> {
        match self {
            Self::Century(_) | Self::Decade(_) => None,
            Self::Year(y) | Self::Season(y, _) | Self::Month(y, _) | Self::Day(y, ..) => Some(y),
        }
    }

    fn of(days: i64) -> Self {
        let (y, m, d) = civil(days);
        Self::Day(y, m, d)
    }

    /// A part of it: `(first, last)` of `of` equal ones, counted from 0; `None` for a day or a season.
    pub(super) fn part(self, which: i64, of: i64) -> Option<(Self, Self)> {
        let cut = |n: i64, least: i64| (least + which * n / of, least + (which + 1) * n / of - 1);
        match self {
            Self::Century(c) => Some(cut(100, 100 * c)).map(|(a, b)| (Self::Year(a), Self::Year(b))),
            // Early: the years 0 to 3; mid: 4 to 6; late: 7 to 9, as archivists do it.
            Self::Decade(d) if of == 3 => {
                let (a, b) = [(0, 3), (4, 6), (7, 9)][which.clamp(0, 2) as usize];
                Some((Self::Year(10 * d + a), Self::Year(10 * d + b)))
            }
            Self::Decade(d) => Some(cut(10, 10 * d)).map(|(a, b)| (Self::Year(a), Self::Year(b))),
            Self::Year(y) => Some(cut(12, 1)).map(|(a, b)| (Self::Month(y, a), Self::Month(y, b))),
            Self::Month(y, m) => {
                let ends = if of == 2 { [15, 31, 31] } else { [10, 20, 31] };
                let starts = if of == 2 { [1, 16, 16] } else { [1, 11, 21] };
                let i = which.clamp(0, 2) as usize;
                Some((Self::Day(y, m, starts[i]), Self::Day(y, m, ends[i].min(month_length(y, m)))))
            }
            Self::Season(..) | Self::Day(..) => None,
        }
    }
}

/// The name in a list that a word is, or shortens to no fewer than three letters ("sept", "tues").
fn named(word: &str, names: &[&str]) -> Option<i64> {
    let begins = |name: &&str| word.len() >= 3 && name.to_lowercase().starts_with(word);
    names.iter().position(begins).map(|i| i as i64)
}

/// A month by its name or its beginning, from 1.
pub(super) fn month(word: &str) -> Option<i64> {
    named(word, &MONTHS).map(|m| m + 1)
}

/// A season by its name, as EDTF counts.
pub(super) fn season(word: &str) -> Option<i64> {
    let word = if word == "fall" { "autumn" } else { word };
    SEASONS.iter().position(|s| *s == word || format!("{s}time") == word).map(|s| s as i64 + 21)
}

/// A weekday, Monday 0.
pub(super) fn weekday(word: &str) -> Option<i64> {
    // "sun" and "mon" name no month, "mar" no weekday.
    named(word, &WEEKDAYS)
}

/// The weekday of a date, Monday 0: 1970-01-01 was a Thursday.
pub(super) fn weekday_of(y: i64, m: i64, d: i64) -> i64 {
    (day(y, m, d) + 3).rem_euclid(7)
}

/// Its name.
pub(super) fn weekday_name(n: i64) -> &'static str {
    WEEKDAYS[n.rem_euclid(7) as usize]
}

/// Ten years by their name: 9 for the nineties.
pub(super) fn decade(word: &str) -> Option<i64> {
    const NAMES: [&str; 9] =
        ["noughties", "tens", "twenties", "thirties", "forties", "fifties", "sixties", "seventies", "eighties"];
    if word == "nineties" {
        return Some(9);
    }
    NAMES.iter().position(|n| *n == word).map(|n| n as i64)
}

/// A feast of a year: its days (several where countries differ), and whether the time about it is meant.
pub(super) fn feast(words: &str, y: i64) -> Option<(Vec<Core>, bool)> {
    let on = |m, d| vec![Core::Day(y, m, d)];
    let from_easter = |days: i64| {
        let (m, d) = easter(y);
        vec![Core::of(day(y, m, d) + days)]
    };
    // The nth of a weekday in a month.
    let nth = |m: i64, weekday: i64, n: i64| {
        let first = (weekday - weekday_of(y, m, 1)).rem_euclid(7) + 1;
        Core::Day(y, m, first + 7 * (n - 1))
    };
    Some(match words {
        "christmas" | "xmas" | "christmas time" | "christmastime" => (on(12, 25), true),
        "christmas day" | "xmas day" => (on(12, 25), false),
        "christmas eve" | "xmas eve" => (on(12, 24), false),
        "boxing day" => (on(12, 26), false),
        "new years eve" | "new year eve" => (on(12, 31), false),
        "new years day" | "new year day" => (on(1, 1), false),
        "new year" | "new years" => (on(1, 1), true),
        "halloween" => (on(10, 31), false),
        "valentines day" | "valentines" => (on(2, 14), false),
        "easter" => (from_easter(0), true),
        "easter sunday" | "easter day" => (from_easter(0), false),
        "easter monday" => (from_easter(1), false),
        "good friday" => (from_easter(-2), false),
        "pentecost" | "whitsun" | "whit sunday" => (from_easter(49), words != "whit sunday"),
        // In the United States the fourth Thursday of November, in Canada the second Monday of October.
        "thanksgiving" | "thanksgiving day" => (vec![nth(11, 3, 4), nth(10, 0, 2)], false),
        _ => return None,
    })
}

/// Month and day of Easter Sunday in the Gregorian calendar, by the anonymous method that `Nature` printed in 1876 (from memory).
pub(super) fn easter(y: i64) -> (i64, i64) {
    let (a, b, c) = (y % 19, y / 100, y % 100);
    let (d, e) = (b / 4, b % 4);
    let g = (b - (b + 8) / 25 + 1) / 3;
    let h = (19 * a + b - d - g + 15) % 30;
    let l = (32 + 2 * e + 2 * (c / 4) - h - c % 4) % 7;
    let m = (a + 11 * h + 22 * l) / 451;
    let n = h + l - 7 * m + 114;
    (n / 31, n % 31 + 1)
}
