//! Parses quantities as people type them: `70mm`, `2.76in`, `36x24`, `1/200s`, `GN 26`, `f/8`. If a number could mean two things, the
//! message says what to write instead.

/// Millimetres of one unit of length.
const LENGTHS: [(&str, f64); 10] = [
    ("mm", 1.0),
    ("cm", 10.0),
    ("m", 1000.0),
    ("inches", 25.4),
    ("inch", 25.4),
    ("in", 25.4),
    ("\"", 25.4),
    ("″", 25.4),
    ("ft", 304.8),
    ("'", 304.8),
];

/// A number from the front of a text, and the rest without spaces around it.
fn number(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '+')).unwrap_or(text.len());
    let value: f64 = text[..end].parse().ok()?;
    value.is_finite().then_some((value, text[end..].trim()))
}

fn positive(value: f64, text: &str, example: &str) -> Result<f64, String> {
    if value > 0.0 { Ok(value) } else { Err(format!("{} is not greater than zero; write {example}", text.trim())) }
}

fn unit(word: &str) -> Option<f64> {
    LENGTHS.iter().find(|(name, _)| *name == word.to_lowercase()).map(|l| l.1)
}

/// A length in mm: `70mm`, `35cm`, `1.2m`, `2.76in`, `3ft`.
///
/// # Errors
/// Not a number, no unit or not a unit of length, zero or negative.
pub fn length(text: &str) -> Result<f64, String> {
    let Some((value, rest)) = number(text) else {
        return Err(format!("“{text}” is not a length; write 70mm or 2.76in"));
    };
    match unit(rest) {
        Some(mm) => positive(value * mm, text, "70mm or 2.76in"),
        None if rest.is_empty() => Err(format!("{value} what? Write {value}mm, {value}cm or {value}in")),
        None => Err(format!("“{rest}” is not a unit of length; use mm, cm, m, in or ft")),
    }
}

/// A width and a height in mm: `36x24`, `88x107mm`, `4x5in`, `3.5in x 4.2in`. Without a unit millimetres are meant where
/// both sides are too large for inches.
///
/// # Errors
/// Not two lengths, or small ones without a unit.
pub fn size(text: &str) -> Result<[f64; 2], String> {
    let bad = || format!("“{text}” is not a size; write width x height, such as 36x24mm or 4x5in");
    let (w, h) = text.split_once(['x', 'X', '×']).ok_or_else(bad)?;
    let ((w, w_unit), (h, h_unit)) = (number(w).ok_or_else(bad)?, number(h).ok_or_else(bad)?);
    let mm = match (w_unit, h_unit) {
        ("", "") => {
            // The largest picture a stand takes is 20 inches long, the smallest sensor 4 mm: between, nobody can tell.
            if w.min(h) > 0.0 && w.max(h) < 20.0 {
                return Err(format!("{text} what? Write {w}x{h}mm or {w}x{h}in"));
            }
            [1.0, 1.0]
        }
        ("", both) => [unit(both).ok_or_else(bad)?; 2],
        (one, two) => [unit(one).ok_or_else(bad)?, unit(two).ok_or_else(bad)?],
    };
    Ok([positive(w * mm[0], text, "36x24mm")?, positive(h * mm[1], text, "36x24mm")?])
}

/// Pixels across and down: `6000x4000`.
///
/// # Errors
/// Not two whole numbers.
pub fn pixels(text: &str) -> Result<[f64; 2], String> {
    let bad = || format!("“{text}” is not a frame size; write pixels, width x height, such as 6000x4000");
    let (w, h) = text.split_once(['x', 'X', '×']).ok_or_else(bad)?;
    let whole = |t: &str| t.trim().trim_end_matches("px").trim().parse::<u32>().ok().filter(|&v| v > 0).map(f64::from);
    Ok([whole(w).ok_or_else(bad)?, whole(h).ok_or_else(bad)?])
}

/// A lens: focal length in mm, and whether it is made for close work: `70mm`, `70mm-macro`.
///
/// # Errors
/// No focal length with its unit, or another word behind it than `macro`.
pub fn lens(text: &str) -> Result<(f64, bool), String> {
    let lower = text.trim().to_lowercase();
    let (front, close) = match lower.strip_suffix("macro") {
        Some(front) => (front.trim_end_matches(['-', ' ']), true),
        None => (lower.as_str(), false),
    };
    match number(front) {
        Some((v, "")) => Err(format!("{v} what? Write {v}mm, or {v}mm-macro for a macro lens")),
        Some((v, rest)) if unit(rest).is_some() => length(front).map(|mm| (mm, close)).map_err(|e| {
            if v > 0.0 { e } else { format!("A focal length of {} is not greater than zero; write 70mm", front.trim()) }
        }),
        _ => Err(format!("“{text}” is not a lens; write its focal length as 70mm, or 70mm-macro for a macro lens")),
    }
}

/// A guide number in metres at ISO 100: `26`, `GN 26`, `26m`, `85ft`, `37 at ISO 200`. Flashes are marked in metres unless
/// they say feet.
///
/// # Errors
/// No number, or an unknown unit.
pub fn guide(text: &str) -> Result<f64, String> {
    let bad = || format!("“{text}” is not a guide number; write metres at ISO 100 such as 26, or 85ft, or 37@ISO200");
    let lower = text.to_lowercase();
    let (value, speed) = match lower.split_once("iso") {
        Some((v, s)) => {
            (v.trim().trim_end_matches("at").trim().trim_end_matches('@').trim(), number(s).ok_or_else(bad)?.0)
        }
        None => (lower.as_str(), 100.0),
    };
    let (value, rest) = number(value.trim().trim_start_matches("gn").trim()).ok_or_else(bad)?;
    let metres = match rest {
        "" | "m" => value,
        "ft" | "'" => value * 0.3048,
        _ => return Err(bad()),
    };
    let speed = positive(speed, text, "26, or 37@ISO200")?;
    positive(metres * (100.0 / speed).sqrt(), text, "26, or 85ft")
}

/// A time in seconds: `1/200s`, `1/200`, `5ms`, `0.5s`.
///
/// # Errors
/// No time, or a whole number without its unit.
pub fn time(text: &str) -> Result<f64, String> {
    let bad = || format!("“{text}” is not an exposure time; write 1/200s, 0.5s or 5ms");
    if let Some((one, rest)) = text.split_once('/') {
        let (top, (below, unit)) = (one.trim().parse::<f64>().map_err(|_| bad())?, number(rest).ok_or_else(bad)?);
        if !matches!(unit, "" | "s" | "sec") {
            return Err(bad());
        }
        // A division by nothing is caught as a time that is no number.
        return positive(top / below, text, "1/200s").and_then(|t| if t.is_finite() { Ok(t) } else { Err(bad()) });
    }
    match number(text).ok_or_else(bad)? {
        (v, "s" | "sec") => positive(v, text, "1/200s"),
        (v, "ms") => positive(v / 1000.0, text, "5ms"),
        (v, "") => Err(format!("{v} what? Write 1/{v}s or {v}s")),
        _ => Err(bad()),
    }
}

/// An f-number: `8`, `f8`, `f/5.6`.
///
/// # Errors
/// No number, nothing or less.
pub fn f_number(text: &str) -> Result<f64, String> {
    let bare = text.trim().trim_start_matches(['f', 'F']).trim_start_matches('/');
    match number(bare) {
        Some((v, "")) => positive(v, text, "f/8"),
        _ => Err(format!("“{text}” is not an f-number; write f/8")),
    }
}

/// A plain number with one allowed word around it: `100`, `ISO 100`, `600ppi`.
fn with_word(text: &str, words: &[&str], what: &str, example: &str) -> Result<f64, String> {
    let lower = text.trim().to_lowercase();
    let front = words.iter().find_map(|w| lower.strip_prefix(w)).unwrap_or(&lower);
    match number(front) {
        Some((v, rest)) if rest.is_empty() || words.contains(&rest) => positive(v, text, example),
        _ => Err(format!("“{text}” is not a valid {what}; write {example}")),
    }
}

/// An ISO speed: `100`, `ISO 100`.
///
/// # Errors
/// No number, nothing or less.
pub fn iso(text: &str) -> Result<f64, String> {
    with_word(text, &["iso"], "ISO speed", "100")
}

/// Pixels per inch: `600`, `600ppi`, `24px/mm`.
///
/// # Errors
/// No number, nothing or less.
pub fn ppi(text: &str) -> Result<f64, String> {
    match number(text) {
        Some((v, "px/mm")) => positive(v * 25.4, text, "600ppi"),
        _ => with_word(text, &["ppi"], "resolution", "600ppi or 24px/mm"),
    }
}

/// A count of prints.
///
/// # Errors
/// Not a whole number above 0.
pub fn prints(text: &str) -> Result<f64, String> {
    let whole = text.trim().parse::<u32>().ok().filter(|&n| n > 0);
    whole.map(f64::from).ok_or_else(|| format!("“{text}” is not a number of prints; write 140"))
}

/// Light on a surface in lux: `300lx`, `300 lux`, or an incident reading at ISO 100 as `7EV`.
///
/// # Errors
/// No number, or no unit.
pub fn lux(text: &str) -> Result<f64, String> {
    let lower = text.trim().to_lowercase();
    match number(&lower) {
        Some((v, "lx" | "lux")) => positive(v, text, "300lx"),
        Some((v, "ev")) => Ok(optics::exposure::illuminance(optics::Ev(v)).0),
        Some((v, "")) => Err(format!("{v} what? Write {v}lx, or {v}EV for an incident reading at ISO 100")),
        _ => Err(format!("“{text}” is not an illuminance; write 300lx, or 7EV for an incident reading at ISO 100")),
    }
}

/// A mass in kg: `1.4kg`, `800g`, `3lb`.
///
/// # Errors
/// No number, or no unit of mass.
pub fn mass(text: &str) -> Result<f64, String> {
    match number(text) {
        Some((v, "kg")) => positive(v, text, "1.4kg"),
        Some((v, "g")) => positive(v / 1000.0, text, "1.4kg"),
        // International pound, 1959 agreement.
        Some((v, "lb" | "lbs")) => positive(v * 0.453_592_37, text, "3lb"),
        Some((v, "")) => Err(format!("{v} what? Write {v}kg, {v}g or {v}lb")),
        _ => Err(format!("“{text}” is no mass; write 1.4kg, 800g or 3lb")),
    }
}

/// An angle in degrees: `45`, `45deg`, `45°`.
///
/// # Errors
/// No number, or another unit.
pub fn angle(text: &str) -> Result<f64, String> {
    match number(text) {
        Some((v, "" | "°" | "deg")) => Ok(v),
        _ => Err(format!("“{text}” is no angle; write 45deg")),
    }
}

/// A light's face in mm: `70x50mm`, or a round one by its diameter, `60cm`.
///
/// # Errors
/// Neither a size nor a length.
pub fn face(text: &str) -> Result<Vec<f64>, String> {
    if text.contains(['x', 'X', '×']) { size(text).map(|s| s.to_vec()) } else { length(text).map(|d| vec![d]) }
}

/// Sides and corners of the frame, and their azimuth in the image: degrees from right, clockwise as seen.
const SIDES: [(&str, f64); 8] = [
    ("right", 0.0),
    ("lower-right", 45.0),
    ("bottom", 90.0),
    ("lower-left", 135.0),
    ("left", 180.0),
    ("upper-left", 225.0),
    ("top", 270.0),
    ("upper-right", 315.0),
];

/// Where in the frame something stands: a side or a corner by name, or degrees from right, clockwise (90 is the bottom).
///
/// # Errors
/// Neither.
pub fn side(text: &str) -> Result<f64, String> {
    let word = text.trim().to_lowercase().replace(' ', "-");
    let named = SIDES.iter().find(|s| s.0 == word).map(|s| s.1);
    named.ok_or(()).or_else(|()| angle(text)).map_err(|_| {
        format!("“{text}” is no side of the frame; write left, upper-left, top, …, or degrees clockwise from right")
    })
}

/// The name of the side or corner nearest to an azimuth in the image.
pub fn side_name(azimuth_deg: f64) -> &'static str {
    SIDES[(azimuth_deg.rem_euclid(360.0) / 45.0).round() as usize % 8].0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn quantities_are_read_in_either_system() {
        assert_eq!(length("70mm"), Ok(70.0));
        assert_eq!(length(" 35 cm"), Ok(350.0));
        assert_eq!(length("2in"), Ok(50.8));
        assert!((length("2.76in").unwrap() - 70.104).abs() < 1e-9);
        assert_eq!(length("1ft"), Ok(304.8));
        assert_eq!(size("36x24"), Ok([36.0, 24.0]));
        assert_eq!(size("4x5in"), Ok([101.6, 127.0]));
        assert_eq!(size("23.5 × 15.6 mm"), Ok([23.5, 15.6]));
        assert_eq!(pixels("6000x4000"), Ok([6000.0, 4000.0]));
        assert_eq!(lens("70mm-macro"), Ok((70.0, true)));
        assert_eq!(lens("70mm"), Ok((70.0, false)));
        assert_eq!((guide("GN 26"), guide("26m"), guide("26")), (Ok(26.0), Ok(26.0), Ok(26.0)));
        assert_eq!((time("1/200s"), time("1/200"), time("5ms")), (Ok(0.005), Ok(0.005), Ok(0.005)));
        assert_eq!((f_number("f/5.6"), f_number("f8"), f_number("11")), (Ok(5.6), Ok(8.0), Ok(11.0)));
        assert_eq!(
            (iso("ISO 400"), iso("100"), ppi("600ppi"), ppi("10px/mm")),
            (Ok(400.0), Ok(100.0), Ok(600.0), Ok(254.0))
        );
        assert_eq!((mass("800g"), angle("45°"), side("upper left")), (Ok(0.8), Ok(45.0), Ok(225.0)));
        assert_eq!((face("60cm"), face("70x50mm")), (Ok(vec![600.0]), Ok(vec![70.0, 50.0])));
        assert_eq!(side_name(-44.0), "upper-right");
        // Exposure-value tables (ISO 2720 constants): 10 EV is 2,560 lx.
        assert_eq!((lux("300 lux"), lux("10EV")), (Ok(300.0), Ok(2560.0)));
        // A guide number at ISO 200 is the root of two larger: G3, GN 40 at ISO 100 is 56 at ISO 200.
        assert!((guide("56.57 at ISO 200").unwrap() - 40.0).abs() < 0.01);
        assert!((guide("85ft").unwrap() - 25.9).abs() < 0.01);
    }

    #[test]
    fn what_could_mean_two_things_is_asked_back() {
        for (answer, says) in [
            (length("70").unwrap_err(), "70mm"),
            (lens("70").unwrap_err(), "70mm-macro"),
            (size("4x5").unwrap_err(), "4x5in"),
            (time("200").unwrap_err(), "1/200s"),
            (lux("300").unwrap_err(), "300lx"),
            (mass("2").unwrap_err(), "2kg"),
        ] {
            assert!(answer.contains("what? Write") && answer.contains(says), "{answer}");
        }
    }

    #[test]
    fn nonsense_gets_an_example() {
        let all: [fn(&str) -> Option<String>; 14] = [
            |t| length(t).err(),
            |t| size(t).err(),
            |t| pixels(t).err(),
            |t| lens(t).err(),
            |t| guide(t).err(),
            |t| time(t).err(),
            |t| f_number(t).err(),
            |t| iso(t).err(),
            |t| ppi(t).err(),
            |t| prints(t).err(),
            |t| lux(t).err(),
            |t| mass(t).err(),
            |t| face(t).err(),
            |t| side(t).err(),
        ];
        for read in all {
            for text in ["", "NaN", "inf", "a lot", "-", "x", "1e999", "mm", "--5mm", "…"] {
                let says = read(text).unwrap_or_else(|| panic!("{text} was read"));
                assert!(["write", "Write", "use "].iter().any(|w| says.contains(w)), "{says}");
            }
        }
        for text in ["0mm", "-3mm", "0.0in"] {
            assert!(length(text).unwrap_err().contains("not greater than zero"));
        }
        assert!(time("1/0").is_err() && time("0/200s").is_err() && size("0x24").is_err() && f_number("-8").is_err());
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "\\PC{0,12}") {
            let _ = (length(&text), size(&text), pixels(&text), lens(&text), guide(&text), time(&text), f_number(&text));
            let _ = (iso(&text), ppi(&text), prints(&text), lux(&text), mass(&text), face(&text), side(&text));
        }

        #[test]
        fn inches_and_millimetres_say_the_same(mm in 0.1f64..5000.0) {
            let inches = length(&format!("{}in", mm / 25.4)).unwrap();
            let millimetres = length(&format!("{mm}mm")).unwrap();
            prop_assert!((inches / millimetres - 1.0).abs() < 1e-12);
        }
    }
}
