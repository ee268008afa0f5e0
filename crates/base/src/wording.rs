//! Formats numbers for people: two significant figures, thirds of a stop, always with a unit.

/// True for a character that must not reach a terminal unescaped: every control, and those that change the text direction or end a
/// line (Unicode 16, categories Cc, Zl and Zp, and the property Bidi_Control).
pub fn is_unsafe(c: char) -> bool {
    let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    c.is_control() || turns || matches!(c, '\u{2028}' | '\u{2029}')
}

/// A text as one line for a terminal: unsafe characters become readable escapes, such as `\n` or `\u{1b}`.
///
/// ```
/// // Nothing that a file is called steers a terminal.
/// assert!(!base::wording::plain("a\u{1b}[2Jb").contains('\u{1b}'));
/// ```
pub fn plain(text: &str) -> String {
    let shown = |c: char| if is_unsafe(c) { c.escape_default().to_string() } else { c.to_string() };
    match text.contains(is_unsafe) {
        true => text.chars().map(shown).collect(),
        false => text.to_owned(),
    }
}

/// "0.4 mm", "12 mm", "45 cm", "1.2 m": metres and centimetres from 10 cm up.
///
/// ```
/// assert_eq!(base::wording::length(420.0), "42 cm");
/// ```
pub fn length(mm: f64) -> String {
    match mm.abs() {
        v if v < 100.0 => format!("{} mm", two(mm)),
        v if v < 1000.0 => format!("{} cm", two(mm / 10.0)),
        _ => format!("{} m", two(mm / 1000.0)),
    }
}

/// "1⅓ stops", "⅔ stop", "2 stops" to the nearest third; below half a third "0.12 stop".
pub fn stops(value: f64) -> String {
    let thirds = (value.abs() * 3.0).round() as i64;
    let sign = if value < 0.0 && thirds > 0 { "\u{2212}" } else { "" };
    let fraction = ["", "⅓", "⅔"][(thirds % 3) as usize];
    match thirds {
        0 => format!("{} stop", two(value.abs())),
        1..=3 if thirds == 3 => format!("{sign}1 stop"),
        1 | 2 => format!("{sign}{fraction} stop"),
        _ => format!("{sign}{}{fraction} stops", thirds / 3),
    }
}

/// "0.41 stop": a measured difference, not a setting.
pub fn stops_measured(value: f64) -> String {
    format!("{} stop{}", two(value), if value.abs() > 1.0 { "s" } else { "" })
}

/// "0.7°".
pub fn degrees(value: f64) -> String {
    format!("{}°", two(value))
}

/// A share of something: "a tenth", "a third", "4 %", "0.2 %".
pub fn share(value: f64) -> String {
    let plain = [(0.1, "a tenth"), (0.2, "a fifth"), (0.25, "a quarter"), (1.0 / 3.0, "a third"), (0.5, "half")];
    match plain.iter().find(|(v, _)| (value / v - 1.0).abs() < 0.06) {
        Some((_, word)) => (*word).to_owned(),
        None => percent(value),
    }
}

/// "4 %", "0.2 %", "100 %".
pub fn percent(value: f64) -> String {
    format!("{} %", two(value * 100.0))
}

/// Two significant figures, no exponent, no trailing zeros after whole numbers: 0.41, 1.2, 12, 140.
pub fn two(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return if value == 0.0 { "0".into() } else { "unknown".into() };
    }
    let digits = 1 - value.abs().log10().floor() as i32;
    let scale = 10f64.powi(digits);
    let rounded = (value * scale).round() / scale;
    let text = format!("{:.*}", digits.max(0) as usize, rounded);
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    text.replace('-', "\u{2212}")
}

/// A number to the nearest of so many steps to the unit, as reports hold it: `round(0.12345, 1e3)` is 0.123.
///
/// ```
/// // To hundredths.
/// assert_eq!(base::wording::round(2.718, 100.0), 2.72);
/// ```
pub fn round(value: f64, steps: f64) -> f64 {
    (value * steps).round() / steps
}

/// A text with a capital at its head.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

/// "1 print", "12 prints".
///
/// ```
/// use base::wording::count;
/// assert_eq!(count(1, "print", "prints"), "1 print");
/// assert_eq!(count(3, "print", "prints"), "3 prints");
/// ```
pub fn count(n: usize, one: &str, many: &str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {many}") }
}

/// "12 seconds", "3 minutes", "1 hour 20 minutes".
pub fn duration(seconds: f64) -> String {
    let s = seconds.max(0.0);
    if s < 90.0 {
        return count(s.round() as usize, "second", "seconds");
    }
    let minutes = (s / 60.0).round() as usize;
    if minutes < 90 {
        return count(minutes, "minute", "minutes");
    }
    let rest = minutes % 60;
    let hours = count(minutes / 60, "hour", "hours");
    if rest == 0 { hours } else { format!("{hours} {}", count(rest, "minute", "minutes")) }
}

/// "left", "left and top", "left, top and right".
///
/// ```
/// assert_eq!(base::wording::list(&["blank", "chart", "ruler"]), "blank, chart and ruler");
/// ```
pub fn list(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// The first `most` of many words, and how many more there are: "P0001, P0002 and 12 more". One more is as short to name as to count.
///
/// ```
/// assert_eq!(base::wording::some(&["a", "b", "c", "d"], 2), "a, b and 2 more");
/// assert_eq!(base::wording::some(&["a", "b", "c"], 2), "a, b and c");
/// ```
pub fn some(words: &[&str], most: usize) -> String {
    match words.len().saturating_sub(most) {
        0 | 1 => list(words),
        more => format!("{} and {more} more", words[..most].join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_keep_two_figures_and_the_unit_that_fits() {
        assert_eq!(length(0.42), "0.42 mm");
        assert_eq!(length(3.0), "3 mm");
        assert_eq!(length(3.04), "3 mm");
        assert_eq!(length(12.4), "12 mm");
        assert_eq!(length(450.0), "45 cm");
        assert_eq!(length(1234.0), "1.2 m");
        assert_eq!(length(99.6), "100 mm");
    }

    #[test]
    fn stops_are_said_in_thirds() {
        assert_eq!(stops(2.0), "2 stops");
        assert_eq!(stops(1.34), "1⅓ stops");
        assert_eq!(stops(0.66), "⅔ stop");
        assert_eq!(stops(1.0), "1 stop");
        assert_eq!(stops(0.12), "0.12 stop");
        assert_eq!(stops_measured(0.412), "0.41 stop");
        assert_eq!(stops_measured(1.25), "1.3 stops");
    }

    #[test]
    fn shares_are_said_plainly_where_they_are_plain() {
        assert_eq!(share(0.101), "a tenth");
        assert_eq!(share(0.04), "4 %");
        assert_eq!(share(0.0021), "0.21 %");
        assert_eq!(percent(0.5), "50 %");
    }

    #[test]
    fn times_and_lists() {
        assert_eq!(duration(35.0), "35 seconds");
        assert_eq!(duration(2100.0), "35 minutes");
        assert_eq!(duration(7200.0), "2 hours");
        assert_eq!(list(&["left", "top", "right"]), "left, top and right");
        assert_eq!(two(-0.5), "\u{2212}0.5");
    }
}
