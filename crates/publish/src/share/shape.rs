//! Parses the shape and size of a sheet.

/// A sheet's shape: width to height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shape {
    width: f64,
    height: f64,
}

impl Shape {
    /// A shape of two parts, as 4 to 5.
    pub const fn new(width: f64, height: f64) -> Self {
        Self { width, height }
    }

    /// "4:5", "1.91:1".
    ///
    /// ```
    /// use publish::share::Shape;
    /// assert!((Shape::parse("5:7").unwrap().ratio() - 5.0 / 7.0).abs() < 1e-9);
    /// assert!(Shape::parse("round").is_err());
    /// ```
    ///
    /// # Errors
    /// Not a valid ratio. The message lists what is.
    pub fn parse(text: &str) -> Result<Self, String> {
        let parts = || {
            let (w, h) = text.split_once([':', '/', 'x', '×'])?;
            let part = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.is_finite() && *v > 0.0);
            let shape = Self::new(part(w)?, part(h)?);
            // Ten to one is a ribbon: a print on it would be lost.
            ((0.1..=10.0).contains(&shape.ratio())).then_some(shape)
        };
        parts().ok_or_else(|| "give width to height, such as 1:1, 4:5, 3:2, 9:16 or 1.91:1, at most 10 to 1".into())
    }

    /// Width over height.
    pub fn ratio(self) -> f64 {
        self.width / self.height
    }

    /// For a file's name: "4x5".
    pub fn name(self) -> String {
        format!("{}x{}", self.width, self.height)
    }
}

impl std::fmt::Display for Shape {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        write!(f, "{}:{}", self.width, self.height)
    }
}

/// A sheet's size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pixels {
    /// Its longer side.
    Long(usize),
    /// Both sides exactly.
    Sheet([usize; 2]),
}

/// Sides that make sense: a thumbnail's, and the most that JPEG can hold four-fold less.
const SIDES: std::ops::RangeInclusive<usize> = 64..=16_000;

impl Pixels {
    /// "1350" for the longer side, "1080x1350" for both.
    ///
    /// # Errors
    /// Not a valid size. The message lists what is.
    pub fn parse(text: &str) -> Result<Self, String> {
        let side = |t: &str| t.trim().parse::<usize>().ok().filter(|n| SIDES.contains(n));
        let parsed = match text.split_once(['x', '×']) {
            Some((w, h)) => side(w).zip(side(h)).map(|(w, h)| Self::Sheet([w, h])),
            None => side(text).map(Self::Long),
        };
        parsed
            .ok_or_else(|| "give the longer side, such as 1350, or both, such as 1080x1350; 64 to 16000 pixels".into())
    }

    /// Columns and rows of a sheet of a shape.
    pub fn size(self, shape: Shape) -> [usize; 2] {
        let side = |long: f64| (long.round() as usize).max(1);
        match self {
            Self::Sheet(size) => size,
            Self::Long(n) if shape.ratio() >= 1.0 => [n, side(n as f64 / shape.ratio())],
            Self::Long(n) => [side(n as f64 * shape.ratio()), n],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shapes_and_sizes_are_read() {
        for (text, size) in [("1:1", [1350, 1350]), ("4:5", [1080, 1350]), ("3:2", [1350, 900]), ("9:16", [759, 1350])]
        {
            let shape = Shape::parse(text).unwrap();
            assert_eq!(Pixels::Long(1350).size(shape), size, "{text}");
            assert_eq!(shape.to_string(), text);
        }
        assert_eq!(Shape::parse("1.91:1").unwrap().name(), "1.91x1");
        for bad in ["", "4", "4:0", "-1:2", "a:b", "100:1", "inf:1", "NaN:1"] {
            assert!(Shape::parse(bad).is_err(), "{bad}");
        }
        assert_eq!(Pixels::parse("1080x1350"), Ok(Pixels::Sheet([1080, 1350])));
        for bad in ["0", "12", "99999", "x", "1080x", "1080x9"] {
            assert!(Pixels::parse(bad).is_err(), "{bad}");
        }
    }
}
