//! Formats EDTF level 1 dates (ISO 8601-2) for people.

/// "2009-07?" as "July 2009, perhaps"; what is not understood stays as it is.
///
/// ```
/// assert_eq!(publish::dates::spoken("2009-07"), "July 2009");
/// ```
pub fn spoken(edtf: &str) -> String {
    match edtf.split_once('/') {
        Some(("" | "..", to)) => format!("until {}", one(to)),
        Some((from, "" | "..")) => format!("{} or later", one(from)),
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
    // EDTF writes seasons as months 21 to 24.
    const SEASONS: [&str; 4] = ["spring", "summer", "autumn", "winter"];
    let mut parts = date.splitn(3, '-');
    let year = parts.next().filter(|y| y.len() == 4)?;
    let year = match year.strip_suffix("XX").map(|c| (c, "00")).or(year.strip_suffix('X').map(|d| (d, "0"))) {
        Some((start, zeros)) => format!("the {start}{zeros}s"),
        None => year.to_owned(),
    };
    let Some(month) = parts.next() else { return Some(year) };
    let number: usize = month.parse().ok().filter(|n| *n > 0)?;
    let name = MONTHS.get(number - 1).or(SEASONS.get(number.wrapping_sub(21)))?;
    match parts.next().map(str::parse::<u8>) {
        None => Some(format!("{name} {year}")),
        Some(Ok(day)) => Some(format!("{day} {name} {year}")),
        Some(Err(_)) => Some(format!("{name} {year}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_said_in_words() {
        for (edtf, words) in [
            ("2009", "2009"),
            ("2009-07", "July 2009"),
            ("2009-07-14", "14 July 2009"),
            ("2009-21~", "about spring 2009"),
            ("200X", "the 2000s"),
            ("19XX", "the 1900s"),
            ("2009?", "2009, perhaps"),
            ("2009/2011-05", "2009 to May 2011"),
            ("../2009", "until 2009"),
            ("2009-07-XX", "July 2009"),
            ("Y-17000", "Y-17000"),
            ("", ""),
        ] {
            assert_eq!(spoken(edtf), words, "{edtf}");
        }
    }
}
