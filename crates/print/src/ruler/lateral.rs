//! Lateral colour: where red and blue see the edges against green.

use super::edges::EdgePoint;
use super::{Place, spots};
use geometry::solve::LeastSquares;
use geometry::{Point, point};

/// One channel against green, as a shift over the frame: `s(p) = a + (m + n r^2) (p - c)`, with r in half diagonals from the
/// principal point c.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shift {
    /// Shift at the principal point, pixels.
    pub centre: Point,
    /// How much larger the channel's picture is, as a share (m).
    pub larger: f64,
    /// Its change towards the corners (n).
    pub bend: f64,
    /// The greatest shift at the frame's middle or a corner, pixels.
    pub worst_px: f64,
    /// Standard error of a shift, by the scatter of the squares, pixels.
    pub error_px: f64,
}

/// Red and blue against green.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lateral {
    /// Red.
    pub red: Shift,
    /// Blue.
    pub blue: Shift,
}

/// Fits both shifts to the edge places.
///
/// A square's shift is half the sum over its four sides of how far out the channel has each times the side's normal: what is
/// common to all sides (a wider blur, ink) falls out.
pub fn lateral(places: &[EdgePoint], place: &Place, size: (usize, usize)) -> Lateral {
    let of = |c: usize| {
        let mut system = LeastSquares::new(4);
        let (mut from, mut seen) = (0, Vec::new());
        while from < places.len() {
            let n = places[from..].iter().take_while(|p| p.edge / 4 == places[from].edge / 4).count();
            if let Some((at, shift)) = square(&places[from..from + n], c) {
                let (q, r2) = from_axis(place, at);
                seen.push((at, shift));
                system.add(&[1.0, 0.0, q.x, q.x * r2], shift.x, 1.0);
                system.add(&[0.0, 1.0, q.y, q.y * r2], shift.y, 1.0);
            }
            from += n;
        }
        let Some(x) = system.solve(1e-12) else { return Shift::default() };
        let at = |p: Point| {
            let (q, r2) = from_axis(place, p);
            point(x[0], x[1]) + q * (x[2] + x[3] * r2)
        };
        let worst_px = spots(size).iter().map(|&p| at(p).norm()).fold(0.0, f64::max);
        // Four terms share the scatter of two places a square.
        let far: f64 = seen.iter().map(|(p, s)| (*s - at(*p)).dot(*s - at(*p))).sum();
        let n = 2.0 * seen.len() as f64;
        let error_px = (far / (n - 4.0).max(1.0) * 4.0 / n.max(1.0)).sqrt();
        Shift { error_px, centre: point(x[0], x[1]), larger: x[2], bend: x[3], worst_px }
    };
    Lateral { red: of(0), blue: of(1) }
}

/// A place from the principal point, pixels, and its squared distance in half diagonals.
fn from_axis(place: &Place, p: Point) -> (Point, f64) {
    let q = p - place.lens.centre;
    (q, q.dot(q) / (place.lens.unit * place.lens.unit))
}

/// A square's middle and the channel's shift there; `None` unless all four sides were seen.
fn square(places: &[EdgePoint], channel: usize) -> Option<(Point, Point)> {
    let mut sides: [(f64, f64, Point); 4] = Default::default();
    let mut middle = Point::default();
    for p in places {
        let s = &mut sides[p.edge % 4];
        *s = (s.0 + 1.0, s.1 + p.apart[channel], p.normal);
        middle = middle + p.frame * (1.0 / places.len() as f64);
    }
    sides.iter().all(|s| s.0 > 0.0).then(|| {
        let shift = sides.iter().fold(Point::default(), |a, s| a + s.2 * (s.1 / s.0 / 2.0));
        (middle, shift)
    })
}
