//! Lengths, times and powers as a plan says them, in millimetres, in inches, or in both.

use base::wording::two;

/// In which units lengths are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Units {
    /// Millimetres, centimetres, metres.
    #[default]
    Metric,
    /// Inches and feet.
    Inches,
    /// Millimetres, and inches in brackets.
    Both,
}

impl Units {
    fn each(self, mm: String, inches: String) -> String {
        match self {
            Self::Metric => mm,
            Self::Inches => inches,
            Self::Both => format!("{mm} ({inches})"),
        }
    }

    /// A length to set something by: whole millimetres from 10 mm up, metres from 1 m.
    pub fn set(self, mm: f64) -> String {
        self.each(metric(mm), imperial(mm))
    }

    /// The same of a length.
    pub(super) fn len(self, length: geometry::Length) -> String {
        self.set(length.to_mm())
    }

    /// A width and a height.
    pub fn area(self, w: f64, h: f64) -> String {
        let metric = match w.max(h) {
            v if v >= 1000.0 => format!("{} × {} m", three(w / 1000.0), three(h / 1000.0)),
            _ => format!("{} × {} mm", round(w), round(h)),
        };
        self.each(metric, format!("{} × {} in", three(w / 25.4), three(h / 25.4)))
    }
}

fn round(mm: f64) -> String {
    if mm < 10.0 { two(mm) } else { format!("{mm:.0}") }
}

fn metric(mm: f64) -> String {
    match mm.abs() {
        v if v < 10.0 => format!("{} mm", two(mm)),
        v if v < 1000.0 => format!("{mm:.0} mm"),
        _ => format!("{} m", three(mm / 1000.0)),
    }
}

fn imperial(mm: f64) -> String {
    let inches = mm / 25.4;
    if inches.abs() < 72.0 {
        format!("{} in", if inches.abs() < 1.0 { two(inches) } else { three(inches) })
    } else {
        format!("{} ft", three(inches / 12.0))
    }
}

/// Three significant figures, no trailing zeros behind the point.
pub(super) fn three(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".into();
    }
    let digits = (2 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// "f/5.6": the marks on lenses are the thirds of a stop rounded by habit.
pub(super) fn f_stop(n: f64) -> String {
    const MARKS: [f64; 34] = [
        1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0, 10.0, 11.0,
        13.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 29.0, 32.0, 36.0, 40.0, 45.0,
    ];
    let near = MARKS.into_iter().min_by(|a, b| (a / n).ln().abs().total_cmp(&(b / n).ln().abs())).unwrap_or(n);
    // A sixth of a stop either way is the mark.
    if (near / n).log2().abs() < 1.0 / 11.0 { format!("f/{near}") } else { format!("f/{}", two(n)) }
}

/// "1/200 s", "0.5 s".
pub(super) fn time(seconds: f64) -> String {
    if seconds < 0.3 { format!("1/{} s", two_whole(1.0 / seconds)) } else { format!("{} s", two(seconds)) }
}

/// Below a hundredth as shutters are marked, else two figures.
fn two_whole(v: f64) -> String {
    const MARKS: [f64; 10] = [100.0, 125.0, 160.0, 180.0, 200.0, 250.0, 320.0, 500.0, 640.0, 1250.0];
    match MARKS.into_iter().find(|m| (m / v - 1.0).abs() < 0.01) {
        Some(mark) => format!("{mark:.0}"),
        None if v < 100.0 => format!("{v:.0}"),
        None => two(v),
    }
}

/// "1/4 power", "1/8 +⅓ power", "full power": halvings as flashes are marked, thirds between.
pub(super) fn power(share: f64) -> String {
    let thirds = (share.log2() * 3.0).round() as i32;
    if thirds >= 0 {
        return "full power".into();
    }
    // The next halving below, and thirds above it.
    let (down, up) = (-(thirds.div_euclid(3)), thirds.rem_euclid(3));
    let extra = ["", " +⅓", " +⅔"][up as usize];
    format!("1/{}{extra} power", 1u64 << down.min(40))
}

/// "1,500": thousands apart.
pub(super) fn thousands(v: f64) -> String {
    let digits = format!("{:.0}", v.abs());
    let mut out = String::new();
    for (i, c) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(c);
    }
    out
}

/// A range of two figures each, said once where they are the same: "8.3 to 13 hours".
pub(super) fn range((a, b): (f64, f64), unit: &str) -> String {
    let say = |v: f64| if v >= 1000.0 { thousands(v) } else { two(v) };
    if say(a) == say(b) { format!("{} {unit}", say(a)) } else { format!("{} to {} {unit}", say(a), say(b)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_in_both_systems() {
        assert_eq!(Units::Metric.set(483.4), "483 mm");
        assert_eq!(Units::Metric.set(1350.0), "1.35 m");
        assert_eq!(Units::Metric.set(0.42), "0.42 mm");
        assert_eq!(Units::Inches.set(508.0), "20 in");
        assert_eq!(Units::Inches.set(4.0), "0.16 in");
        assert_eq!(Units::Both.set(254.0), "254 mm (10 in)");
        assert_eq!(Units::Both.area(101.6, 127.0), "102 × 127 mm (4 × 5 in)");
    }

    #[test]
    fn settings_as_they_are_marked() {
        // Marks of f-numbers: common practice of lens makers (thirds of a stop, ISO 517 full stops).
        assert_eq!((f_stop(5.657), f_stop(7.127), f_stop(12.7)), ("f/5.6".into(), "f/7.1".into(), "f/13".into()));
        assert_eq!((time(1.0 / 200.0), time(0.5)), ("1/200 s".into(), "0.5 s".into()));
        assert_eq!(
            (power(0.25), power(0.157), power(0.2), power(1.0)),
            ("1/4 power".into(), "1/8 +⅓ power".into(), "1/8 +⅔ power".into(), "full power".into())
        );
        assert_eq!(thousands(1_234_567.0), "1,234,567");
        assert_eq!(range((8.33, 12.5), "hours"), "8.3 to 13 hours");
    }
}
