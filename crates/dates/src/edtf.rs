//! Uncertain and partial dates: the Extended Date/Time Format, levels 0 and 1, and the range of days of each date.
//!
//! EDTF is ISO 8601-2:2019 annex A; the forms and examples here are those of the Library of Congress's specification of
//! 4 February 2019. A date is stored exactly as written, together with its first and last day, so that dates of
//! different precision sort and are searched together. `?` (uncertain), `~` (approximate) and `%` (both) are kept and do not
//! widen the range, because the amount is unknown.

use std::fmt;

/// A date as written, with its range of days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edtf {
    text: String,
    from: i64,
    to: i64,
}

/// No first day: an open or unknown beginning.
pub const OPEN_FROM: i64 = -1_000_000_000_000;
/// No last day: an open or unknown end.
pub const OPEN_TO: i64 = 1_000_000_000_000;

/// Why a text is not a date of level 1, with examples of valid dates.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "“{text}” is not a date: {why}. Write 2009, 2009-07, 2009-07-14, 2009-21 (spring; 22 summer, 23 autumn, 24 winter), \
     200X (a year from 2000 to 2009), 2009? (uncertain), 2009~ (approximate), or 2009/2011 (from, to)."
)]
pub struct EdtfError {
    /// What was written.
    pub text: String,
    /// What is wrong with it.
    pub why: &'static str,
}

impl Edtf {
    /// Reads a date or an interval.
    ///
    /// ```
    /// use dates::Edtf;
    /// // EDTF, level 1: a season, and a decade.
    /// assert!(Edtf::parse("2009-21").is_ok() && Edtf::parse("200X").is_ok());
    /// assert!(Edtf::parse("last summer").is_err());
    /// ```
    ///
    /// # Errors
    /// The text is not EDTF of level 0 or 1.
    pub fn parse(text: &str) -> Result<Self, EdtfError> {
        let text = text.trim();
        let range = match text.split_once('/') {
            Some((start, end)) => interval(start, end),
            None => date(text),
        };
        range
            .map(|(from, to)| Self { text: text.to_owned(), from, to })
            .map_err(|why| EdtfError { text: text.to_owned(), why })
    }

    /// The date as written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// First and last day of the date, counted from 1970-01-01, both included; [`OPEN_FROM`] and [`OPEN_TO`] where open.
    ///
    /// ```
    /// use dates::{Edtf, day_text};
    /// let (first, last) = Edtf::parse("2009-07").unwrap().days();
    /// assert_eq!((day_text(first), day_text(last)), ("2009-07-01".into(), "2009-07-31".into()));
    /// ```
    pub fn days(&self) -> (i64, i64) {
        (self.from, self.to)
    }
}

impl fmt::Display for Edtf {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// The day as `YYYY-MM-DD`; years beyond four digits as EDTF's `Y`, open ends as `..`.
pub fn day_text(day: i64) -> String {
    if day <= OPEN_FROM || day >= OPEN_TO {
        return "..".into();
    }
    let (y, m, d) = civil(day);
    match y {
        0..=9999 => format!("{y:04}-{m:02}-{d:02}"),
        -9999..=-1 => format!("-{:04}-{m:02}-{d:02}", -y),
        _ => format!("Y{y}"),
    }
}

type Days = Result<(i64, i64), &'static str>;

fn interval(start: &str, end: &str) -> Days {
    let side = |text: &str| match text {
        "" | ".." => Ok(None),
        _ if text.contains('T') => Err("an interval has dates without a time of day"),
        _ => date(text).map(Some),
    };
    match (side(start)?, side(end)?) {
        (None, None) => Err("beginning and end are both missing"),
        (None, Some((_, to))) => Ok((OPEN_FROM, to)),
        (Some((from, _)), None) => Ok((from, OPEN_TO)),
        (Some((from, _)), Some((_, to))) if from <= to => Ok((from, to)),
        _ => Err("it ends before it begins"),
    }
}

fn date(text: &str) -> Days {
    if let Some((day, time)) = text.split_once('T') {
        return if clock(time) { exact_day(day) } else { Err("its time of day is not in the form 23:20:30") };
    }
    let bare = text.strip_suffix(['?', '~', '%']).unwrap_or(text);
    if let Some(long) = bare.strip_prefix('Y') {
        return long_year(long);
    }
    let (sign, unsigned) = match bare.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, bare),
    };
    let parts: Vec<&str> = unsigned.split('-').collect();
    let (first, last) = year(parts[0])?;
    let years = if sign < 0 { (-last, -first) } else { (first, last) };
    let one = first == last;
    match parts[1..] {
        [] => Ok((day(years.0, 1, 1), day(years.1, 12, 31))),
        _ if !one => Err("an incomplete year cannot have a month or day"),
        ["XX"] | ["XX", "XX"] => Ok((day(years.0, 1, 1), day(years.0, 12, 31))),
        [month] => month_or_season(years.0, month),
        [month, "XX"] => match number(month)? {
            m @ 1..=12 => Ok((day(years.0, m, 1), day(years.0, m, month_length(years.0, m)))),
            _ => Err("a month is from 01 to 12"),
        },
        [month, of_month] => one_day(years.0, month, of_month),
        _ => Err("it has more parts than year, month and day"),
    }
}

fn exact_day(text: &str) -> Days {
    match text.split('-').collect::<Vec<_>>()[..] {
        [y, m, d] if y.len() == 4 => one_day(number(y)?, m, d),
        _ => Err("a time of day needs a whole date before it"),
    }
}

fn one_day(y: i64, month: &str, of_month: &str) -> Days {
    let (m, d) = (two(month)?, two(of_month)?);
    match m {
        1..=12 if (1..=month_length(y, m)).contains(&d) => Ok((day(y, m, d), day(y, m, d))),
        1..=12 => Err("the month has no such day"),
        _ => Err("a month is from 01 to 12"),
    }
}

/// Four digits, the last one or two of which may be `X`: first and last year.
fn year(text: &str) -> Result<(i64, i64), &'static str> {
    if text.len() != 4 || !text.is_ascii() {
        return Err("a year has four digits (Y before longer ones)");
    }
    let known = text.trim_end_matches('X');
    let open = 4 - known.len() as u32;
    if open > 2 {
        return Err("at most two digits of a year may be X");
    }
    let scale = 10_i64.pow(open);
    let first = number(known)? * scale;
    Ok((first, first + scale - 1))
}

/// A year of more than four digits after its `Y`.
fn long_year(text: &str) -> Days {
    let digits = text.strip_prefix('-').unwrap_or(text);
    // Nine digits: far beyond anything dated, and well within the count of days.
    if !(5..=9).contains(&digits.len()) || digits.starts_with('0') {
        return Err("Y stands before years of five to nine digits");
    }
    let y = number(digits)? * if text.starts_with('-') { -1 } else { 1 };
    Ok((day(y, 1, 1), day(y, 12, 31)))
}

/// A month, or a season: 21 spring, 22 summer, 23 autumn, 24 winter.
///
/// The standard gives seasons no months. Here they are those of the northern half of the world, by calendar months. A winter
/// has two ends in one year and people mean either, so `2009-24` stands for January 2009 to February 2010: a search may show
/// one print too many, and never loses one.
fn month_or_season(y: i64, text: &str) -> Days {
    let whole = |m: i64, n: i64| Ok((day(y, m, 1), day(y, n, month_length(y, n))));
    match two(text)? {
        m @ 1..=12 => whole(m, m),
        21 => whole(3, 5),
        22 => whole(6, 8),
        23 => whole(9, 11),
        24 => Ok((day(y, 1, 1), day(y + 1, 2, month_length(y + 1, 2)))),
        _ => Err("after the year comes a month from 01 to 12 or a season from 21 to 24"),
    }
}

/// `hh:mm:ss`, then nothing, `Z`, `±hh` or `±hh:mm`.
fn clock(text: &str) -> bool {
    let at = text.find(['Z', '+', '-']).unwrap_or(text.len());
    let (time, zone) = text.split_at(at);
    let within = |text: &str, most: &[i64]| {
        let parts: Vec<&str> = text.split(':').collect();
        parts.len() <= most.len()
            && !parts.is_empty()
            && parts.iter().zip(most).all(|(p, most)| two(p).is_ok_and(|v| v <= *most))
    };
    time.len() == 8 && within(time, &[23, 59, 59]) && (zone.is_empty() || zone == "Z" || within(&zone[1..], &[14, 59]))
}

fn two(text: &str) -> Result<i64, &'static str> {
    if text.len() == 2 { number(text) } else { Err("months and days have two digits") }
}

fn number(text: &str) -> Result<i64, &'static str> {
    let digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if digits { text.parse().map_err(|_| "the number is too long") } else { Err("a digit is expected") }
}

pub(crate) fn month_length(y: i64, m: i64) -> i64 {
    match m {
        2 if y % 4 == 0 && (y % 100 != 0 || y % 400 == 0) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days from 1970-01-01 in the proleptic Gregorian calendar. Years begin in March, so that the leap day comes last, and
/// 400 of them are 146,097 days.
pub(crate) fn day(y: i64, m: i64, d: i64) -> i64 {
    let y = if m <= 2 { y - 1 } else { y };
    let month = (m + 9) % 12;
    365 * y + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400) + (153 * month + 2) / 5 + d - 1 - 719_468
}

/// Year, month and day of a count of days: the inverse of `day`.
pub(crate) fn civil(days: i64) -> (i64, i64, i64) {
    // 365.2425 days a year brings the guess within one year of the truth.
    let mut y = (days as f64 / 365.2425).floor() as i64 + 1970;
    while day(y, 1, 1) > days {
        y -= 1;
    }
    while day(y + 1, 1, 1) <= days {
        y += 1;
    }
    let m = (1..=12).rev().find(|m| day(y, *m, 1) <= days).unwrap_or(1);
    (y, m, days - day(y, m, 1) + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn span(text: &str) -> String {
        let (from, to) = Edtf::parse(text).unwrap().days();
        format!("{} {}", day_text(from), day_text(to))
    }

    /// Examples of the Library of Congress's specification (2019-02-04), as quoted in documentation of general date
    /// libraries; the days beside them are calendar arithmetic.
    #[test]
    fn examples_of_the_specification_stand_for_their_days() {
        for (text, days) in [
            // Level 0
            ("1985-04-12", "1985-04-12 1985-04-12"),
            ("1985-04", "1985-04-01 1985-04-30"),
            ("1985", "1985-01-01 1985-12-31"),
            ("1985-04-12T23:20:30", "1985-04-12 1985-04-12"),
            ("1985-04-12T23:20:30Z", "1985-04-12 1985-04-12"),
            ("1985-04-12T23:20:30-04", "1985-04-12 1985-04-12"),
            ("1985-04-12T23:20:30+04:30", "1985-04-12 1985-04-12"),
            ("1964/2008", "1964-01-01 2008-12-31"),
            ("2004-06/2006-08", "2004-06-01 2006-08-31"),
            ("2004-02-01/2005-02-08", "2004-02-01 2005-02-08"),
            ("2004-02-01/2005-02", "2004-02-01 2005-02-28"),
            ("2005/2006-02", "2005-01-01 2006-02-28"),
            // Level 1
            ("Y170000002", "Y170000002 Y170000002"),
            ("Y-170000002", "Y-170000002 Y-170000002"),
            ("2001-21", "2001-03-01 2001-05-31"),
            ("1984?", "1984-01-01 1984-12-31"),
            ("2004-06~", "2004-06-01 2004-06-30"),
            ("2004-06-11%", "2004-06-11 2004-06-11"),
            ("201X", "2010-01-01 2019-12-31"),
            ("20XX", "2000-01-01 2099-12-31"),
            ("2004-XX", "2004-01-01 2004-12-31"),
            ("1985-04-XX", "1985-04-01 1985-04-30"),
            ("1985-XX-XX", "1985-01-01 1985-12-31"),
            ("1985-04-12/..", "1985-04-12 .."),
            ("1985-04/..", "1985-04-01 .."),
            ("../1985-04-12", ".. 1985-04-12"),
            ("../1985", ".. 1985-12-31"),
            ("1985-04-12/", "1985-04-12 .."),
            ("/1985-04-12", ".. 1985-04-12"),
            ("1984~/2004-06", "1984-01-01 2004-06-30"),
            ("1984?/2004%", "1984-01-01 2004-12-31"),
            ("-1985", "-1985-01-01 -1985-12-31"),
        ] {
            assert_eq!(span(text), days, "{text}");
        }
    }

    /// From the issue's own list, and what a shoebox holds.
    #[test]
    fn dates_of_a_shoebox_are_read() {
        assert_eq!(span("200X"), "2000-01-01 2009-12-31");
        assert_eq!(span("2009-07?"), "2009-07-01 2009-07-31");
        assert_eq!(span("2009-24"), "2009-01-01 2010-02-28");
        assert_eq!(span("2012-02"), "2012-02-01 2012-02-29");
        assert_eq!(Edtf::parse(" 2009-07? ").unwrap().text(), "2009-07?");
    }

    #[test]
    fn what_is_no_date_is_told_with_what_would_be() {
        for text in [
            "",
            "spring 2009",
            "2009-7",
            "2009-13",
            "2009-25",
            "2009-02-29",
            "09",
            "2009/2008",
            "/",
            "../..",
            "200x",
            "2XXX",
            "200X-07",
            "Y2009",
            "2009-07-14T8:00",
            "2009-07T08:00:00",
            "2009??",
            "1900-02-29",
            "２００９",
            "2009-07-14-1",
            "2004-02-01T10:00:00/2005",
            "-",
            "Y",
            "2009-0é",
        ] {
            let error = Edtf::parse(text).unwrap_err();
            assert!(error.to_string().contains("Write 2009,"), "{text}");
        }
    }

    #[test]
    fn days_count_as_calendars_do() {
        // The Unix epoch, the leap day of a 400-year, and the first day of the calendar's era (from memory: 719,468 days
        // lie between 0000-03-01 and 1970-01-01).
        assert_eq!(day(1970, 1, 1), 0);
        assert_eq!(day(2000, 3, 1) - day(2000, 2, 28), 2);
        assert_eq!(day(1900, 3, 1) - day(1900, 2, 28), 1);
        assert_eq!(day(0, 3, 1), -719_468);
    }

    proptest! {
        #[test]
        fn a_day_comes_back(days in -3_000_000_i64..3_000_000) {
            let (y, m, d) = civil(days);
            prop_assert_eq!(day(y, m, d), days);
            prop_assert!((1..=month_length(y, m)).contains(&d));
        }

        #[test]
        fn no_text_makes_it_fall_over(text in "\\PC{0,24}|[-0-9XY/.?~%T:Z]{0,24}") {
            if let Ok(date) = Edtf::parse(&text) {
                let (from, to) = date.days();
                prop_assert!(from <= to);
            }
        }
    }
}
