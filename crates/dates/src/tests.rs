//! What people write, and what it means.

use super::calendar::{easter, weekday_of};
use super::*;
use proptest::prelude::*;

/// The year the tests count from: what two figures can mean depends on it.
const NOW: i64 = 2026;

fn read(text: &str) -> String {
    match understand(text, NOW) {
        Understood::Date(read) => read.edtf.text().to_owned(),
        Understood::Ask(_, all) => all.iter().map(|r| r.edtf.text()).collect::<Vec<_>>().join(" | "),
        Understood::No(_) => "no".into(),
        Understood::Nothing => "nothing".into(),
    }
}

/// Meanings by plain reading; written forms as the Library of Congress's specification (2019-02-04) has them: `?` uncertain, `~`
/// approximate, seasons 21 to 24, `X` for unknown figures, an empty end of an interval where it is unknown, `..` where it is open.
#[test]
fn dates_as_people_write_them() {
    for (text, edtf) in [
        // The issue's own list.
        ("summer 2009?", "2009-22?"),
        ("July 2009", "2009-07"),
        ("14.7.2009", "2009-07-14"),
        ("about 2009", "2009~"),
        ("1990s", "199X"),
        ("1998–2004", "1998/2004"),
        ("'98", "1998"),
        ("Christmas 2003", "2003-12-25~"),
        ("before 2001", "/2000"),
        // Orders and separators.
        ("14 July 2009", "2009-07-14"),
        ("July 14, 2009", "2009-07-14"),
        ("14th of July, 2009", "2009-07-14"),
        ("2009 July 14", "2009-07-14"),
        ("Tue 14 Jul. 2009", "2009-07-14"),
        ("Tuesday, July 14th 2009", "2009-07-14"),
        ("14-Jul-2009", "2009-07-14"),
        ("14Jul2009", "2009-07-14"),
        ("14. 7. 2009", "2009-07-14"),
        ("14.07.09", "2009-07-14"),
        ("2009.7.14", "2009-07-14"),
        ("2009/7/14", "2009-07-14"),
        ("20090714", "2009-07-14"),
        ("14/7/2009", "2009-07-14"),
        ("7/14/2009", "2009-07-14"),
        ("14-7-2009", "2009-07-14"),
        ("'98 7 14", "1998-07-14"),
        ("7 14 '98", "1998-07-14"),
        ("14 July '98", "1998-07-14"),
        ("14 July 98", "1998-07-14"),
        ("7/2009", "2009-07"),
        ("2009/7", "2009-07"),
        ("7.2009", "2009-07"),
        ("July '09", "2009-07"),
        ("Sept 1999", "1999-09"),
        ("may 2001", "2001-05"),
        ("JULY, 2009", "2009-07"),
        // Seasons and feasts.
        ("the summer of 2009", "2009-22"),
        ("2009 autumn", "2009-23"),
        ("fall 2009", "2009-23"),
        ("springtime 2009", "2009-21"),
        ("winter 2003/04", "2003-24"),
        ("winter 2003–2004", "2003-24"),
        ("Christmas Eve 2003", "2003-12-24"),
        ("New Year's Eve 1999", "1999-12-31"),
        ("New Year’s Day 2000", "2000-01-01"),
        ("Easter Sunday 2009", "2009-04-12"),
        ("Easter 2009", "2009-04-12~"),
        ("Good Friday 2009", "2009-04-10"),
        ("Halloween '98", "1998-10-31"),
        // Doubt.
        ("c. 2009", "2009~"),
        ("c2009", "2009~"),
        ("ca. July 2009", "2009-07~"),
        ("circa 2009?", "2009%"),
        ("maybe 2009", "2009?"),
        ("2009 (?)", "2009?"),
        ("probably about 2009", "2009%"),
        ("2009 or so", "2009~"),
        ("2009-ish", "2009~"),
        ("~2009", "2009~"),
        ("(summer 2009)", "2009-22"),
        ("[1998?]", "1998?"),
        ("sometime in 1998, I think", "1998?"),
        // Decades and parts.
        ("the 1990s", "199X"),
        ("1990's", "199X"),
        ("the '90s", "199X"),
        ("nineties", "199X"),
        ("about the 1990s", "1990~/1999~"),
        ("1990s?", "1990?/1999?"),
        ("early 1990s", "1990~/1993~"),
        ("mid-1990s", "1994~/1996~"),
        ("late '90s", "1997~/1999~"),
        ("early 2009", "2009-01~/2009-04~"),
        ("end of July 2009", "2009-07-21~/2009-07-31~"),
        ("late February 2009", "2009-02-21~/2009-02-28~"),
        ("first half of 2009", "2009-01/2009-06"),
        ("second half of the 1990s", "1995/1999"),
        ("20th century", "19XX"),
        ("200x", "200X"),
        // Intervals.
        ("1998-2004", "1998/2004"),
        ("1998—2004", "1998/2004"),
        ("1998 to 2004", "1998/2004"),
        ("from 1998 until 2004", "1998/2004"),
        ("between 1998 and 2004", "1998/2004"),
        ("1998-99", "1998/1999"),
        ("1998/99", "1998/1999"),
        ("2009-13", "2009/2013"),
        ("1998?–2004~", "1998?/2004~"),
        ("June–August 2009", "2009-06/2009-08"),
        ("14–16 July 2009", "2009-07-14/2009-07-16"),
        ("July 14-16, 2009", "2009-07-14/2009-07-16"),
        ("28 June – 3 July 2009", "2009-06-28/2009-07-03"),
        ("14.7.–16.7.2009", "2009-07-14/2009-07-16"),
        ("spring/summer 2009", "2009-21/2009-22"),
        ("1970s–1980s", "1970/1989"),
        ("2009 or 2010", "2009?/2010?"),
        ("before July 2009", "/2009-06"),
        ("before 1 March 2009", "/2009-02-28"),
        ("before the 1990s", "/1989"),
        ("before about 2001", "/2000~"),
        ("pre-2001", "/2000"),
        ("until 2001", "/2001"),
        ("2001 or earlier", "/2001"),
        ("after 2001", "2002/"),
        ("after Christmas Eve 2003", "2003-12-25/"),
        ("2001 or later", "2001/"),
        ("since 2001", "2001/.."),
        ("from 2001 on", "2001/.."),
        // EDTF itself.
        ("2009-07-14", "2009-07-14"),
        ("2009-22?", "2009-22?"),
        ("1964/2008", "1964/2008"),
        ("../2009", "../2009"),
        ("", "nothing"),
    ] {
        assert_eq!(read(text), edtf, "{text}");
    }
}

#[test]
fn what_has_several_meanings_is_asked() {
    for (text, choices) in [
        ("03/04/2005", "2005-04-03 | 2005-03-04"),
        ("3-4-2005", "2005-04-03 | 2005-03-04"),
        ("03/04/05", "2005-04-03 | 2005-03-04 | 2003-04-05"),
        ("2001–02", "2001-02 | 2001/2002"),
        ("2003/04", "2003-04 | 2003/2004"),
        // Neither century has had instant prints.
        ("'35", "1935 | 2035"),
        ("the '30s", "193X | 203X"),
        ("1900s", "190X | 19XX"),
        ("2000s", "200X | 20XX"),
        ("Thanksgiving 2009", "2009-11-26 | 2009-10-12"),
    ] {
        assert_eq!(read(text), choices, "{text}");
    }
    // The same day whichever comes first, and a day that is no month.
    assert_eq!((read("4/4/2005"), read("13/4/2005")), ("2005-04-04".into(), "2005-04-13".into()));
    let Understood::Ask(says, _) = understand("03/04/2005", NOW) else { panic!() };
    assert_eq!(says, "“03/04/2005” can be 3 April 2005 or 4 March 2005.");
    assert!(one("03/04/2005", NOW).unwrap_err().ends_with("Write 2005-04-03 or 2005-03-04."));
}

#[test]
fn what_is_not_understood_says_why() {
    for (text, why) in [
        ("31 June 2009", "June 2009 has 30 days."),
        ("29.2.2009", "February 2009 has 28 days."),
        // A calendar of 2009 has 14 July on a Tuesday.
        ("Monday 14 July 2009", "14 July 2009 was a Tuesday, not a Monday. Check the day."),
        ("July", "Add the year."),
        ("Christmas", "Add the year."),
        ("98", "98 can be a day or a year. Write ’98 or 1998 for the year."),
        ("last summer", "Write the year."),
        ("unknown", "Leave the date empty"),
        ("n.d.", "Leave the date empty"),
        ("2004 to 1998", "not understood"),
        ("the harbour", "not understood"),
        ("1998s", "not understood"),
        ("14.7", "not understood"),
        ("2009-02-30", "February 2009 has 28 days."),
        ("💥 2009", "not understood"),
    ] {
        let Understood::No(says) = understand(text, NOW) else { panic!("{text}: {}", read(text)) };
        assert!(says.contains(why), "{text}: {says}");
    }
}

#[test]
fn dates_are_said_in_words() {
    for (edtf, words) in [
        ("2009-07-04", "4 July 2009"),
        ("2009-22?", "summer 2009, perhaps"),
        ("2009~", "about 2009"),
        ("2009%", "about 2009, perhaps"),
        ("199X", "the 1990s"),
        ("200X", "2000 to 2009"),
        ("19XX", "the 1900s"),
        ("1998/2004-07", "1998 to July 2004"),
        ("/2000", "2000 or earlier"),
        ("2002/", "2002 or later"),
        ("2001/..", "from 2001 on"),
        ("../2001", "until 2001"),
        ("2004-XX", "2004"),
        ("1985-04-XX", "April 1985"),
        ("1985-04-12T23:20:30", "12 April 1985, 23:20:30"),
        ("Y170000002", "the year 170000002"),
        ("-1985", "−1985"),
    ] {
        assert_eq!(says(edtf), words, "{edtf}");
    }
}

/// Easter Sundays of almanacs (from memory), among them the earliest and the latest of two centuries; weekdays of well-known days:
/// 1 January 2000 was a Saturday, 20 July 1969 a Sunday, 4 July 1976 a Sunday.
#[test]
fn the_calendar_is_that_of_almanacs() {
    for (y, m, d) in
        [(1943, 4, 25), (1961, 4, 2), (2000, 4, 23), (2008, 3, 23), (2009, 4, 12), (2024, 3, 31), (2038, 4, 25)]
    {
        assert_eq!(easter(y), (m, d), "{y}");
    }
    assert_eq!((weekday_of(2000, 1, 1), weekday_of(1969, 7, 20), weekday_of(1976, 7, 4)), (5, 6, 6));
}

const MONTH: [&str; 12] =
    ["Jan", "February", "mar.", "APRIL", "May", "june", "Jul", "Aug.", "Sept", "October", "nov", "December"];

proptest! {
    /// No text panics, and what is understood is EDTF that has a first and a last day.
    #[test]
    fn what_is_understood_is_edtf(text in "\\PC{0,40}|[-0-9a-z'’ ./?~–]{0,24}|((about|before|early|c\\.|between|or|and|the|from|to|July|summer|Easter|Mon|century|'9|199|2009|14|7|03|s|th|[-–/.?,]) ?){1,9}") {
        match understand(&text, NOW) {
            Understood::Date(read) => {
                let again = Edtf::parse(read.edtf.text()).unwrap();
                prop_assert!(again.days().0 <= again.days().1, "{}", text);
                prop_assert!(!read.says.is_empty());
            }
            Understood::Ask(_, all) => prop_assert!(all.len() > 1 && all.iter().all(|r| Edtf::parse(r.edtf.text()).is_ok())),
            Understood::No(says) => prop_assert!(!says.is_empty()),
            Understood::Nothing => prop_assert!(text.trim().is_empty()),
        }
    }

    /// Every day of instant prints, in the orders that people write, comes back.
    #[test]
    fn a_day_written_out_comes_back(n in -8000_i64..20_000) {
        let (y, m, d) = crate::edtf::civil(n);
        let (edtf, name) = (format!("{y:04}-{m:02}-{d:02}"), MONTH[m as usize - 1]);
        for text in [
            format!("{d} {name} {y}"), format!("{name} {d}, {y}"), format!("{d}. {name} {y}"), format!("{y} {name} {d}"),
            format!("{d}.{m}.{y}"), format!("{d:02}.{m:02}.{y}"), format!("{y}/{m}/{d}"), format!("{y}.{m}.{d}"),
        ] {
            prop_assert_eq!(read(&text), edtf.clone(), "{}", text);
        }
        let slashed = read(&format!("{d}/{m}/{y}"));
        prop_assert_eq!(slashed.split(" | ").next().unwrap(), edtf.as_str());
        prop_assert_eq!(slashed.contains('|'), d <= 12 && d != m);
    }
}
