//! Dust: specks and fibres on the sensor, the bed or a print.

use crate::noise::Rng;
use geometry::{Angle, Length, Point, point};

/// Where a speck lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lies {
    /// On the sensor: the place as a share of the frame's width and height.
    Sensor(Point),
    /// On the bed, world mm.
    Bed(Point),
    /// On a sheet, print mm.
    Print(usize, Point),
}

/// A speck (length near its width) or a fibre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Speck {
    /// Its middle.
    pub at: Lies,
    /// Length.
    pub length: Length,
    /// Width.
    pub width: Length,
    /// Direction, counter-clockwise from image right.
    pub angle: Angle,
    /// How far a fibre's middle stands off its chord.
    pub bend: Length,
    /// How much of what lies under it it hides.
    pub opacity: f64,
    /// Its own reflectance; for the sensor a shade.
    pub tone: f64,
}

/// `count` specks and fibres over a rectangle around the origin of bed or print.
pub fn scatter(rng: &mut Rng, count: usize, width: Length, height: Length, on: impl Fn(Point) -> Lies) -> Vec<Speck> {
    (0..count)
        .map(|_| {
            let at = point(rng.between(-0.5, 0.5) * width.to_mm(), rng.between(-0.5, 0.5) * height.to_mm());
            let fibre = rng.chance(0.4);
            let w = if fibre { rng.between(0.03, 0.07) } else { rng.between(0.08, 0.3) };
            let stretch = if fibre { rng.between(15.0, 50.0) } else { rng.between(1.0, 1.6) };
            let length = w * stretch;
            Speck {
                at: on(at),
                length: Length::mm(length),
                width: Length::mm(w),
                angle: Angle::deg(rng.between(0.0, 180.0)),
                bend: Length::mm(if fibre { length * rng.between(-0.3, 0.3) } else { 0.0 }),
                opacity: rng.between(0.4, 0.9),
                tone: if rng.chance(0.65) { rng.between(0.05, 0.25) } else { rng.between(0.6, 0.85) },
            }
        })
        .collect()
}

/// `count` soft shades on the sensor's cover, the same place in every frame of a sitting.
pub fn on_sensor(rng: &mut Rng, count: usize) -> Vec<Speck> {
    (0..count)
        .map(|_| {
            let size = Length::mm(rng.between(0.1, 0.4));
            Speck {
                at: Lies::Sensor(point(rng.unit(), rng.unit())),
                length: size,
                width: size,
                angle: Angle::default(),
                bend: Length::default(),
                opacity: rng.between(0.05, 0.3),
                tone: 0.0,
            }
        })
        .collect()
}

/// A speck as the frame sees it: a polyline with a width, pixels.
#[derive(Clone, Debug)]
pub struct Mark {
    points: Vec<Point>,
    half: f64,
    soft: f64,
    /// How much it hides.
    pub opacity: f32,
    /// Its reflectance; `None` shades instead.
    pub tone: Option<f32>,
}

impl Mark {
    /// A speck whose middle falls on frame position `at`, at `px_per_mm`.
    pub fn new(speck: &Speck, at: Point, px_per_mm: f64) -> Self {
        let on_sensor = matches!(speck.at, Lies::Sensor(_));
        let (length, width) = (speck.length.to_mm() * px_per_mm, speck.width.to_mm() * px_per_mm);
        let along = Point::at_angle(-speck.angle.to_rad());
        let (reach, bend) = ((length - width).max(0.0) / 2.0, speck.bend.to_mm() * px_per_mm);
        let points = (0..=6)
            .map(|i| {
                let t = f64::from(i) / 3.0 - 1.0;
                at + along * (reach * t) + along.quarter_turn() * (bend * (1.0 - t * t))
            })
            .collect();
        let soft = if on_sensor { width * 0.8 } else { 1.0 };
        let tone = (!on_sensor).then_some(speck.tone as f32);
        Self { points, half: width / 2.0, soft: soft.max(1.0), opacity: speck.opacity as f32, tone }
    }
    /// Rows and columns it may touch.
    pub fn bounds(&self) -> (Point, Point) {
        let r = self.half + self.soft;
        let low = self.points.iter().fold(point(f64::MAX, f64::MAX), |a, p| point(a.x.min(p.x), a.y.min(p.y)));
        let high = self.points.iter().fold(point(f64::MIN, f64::MIN), |a, p| point(a.x.max(p.x), a.y.max(p.y)));
        (low - point(r, r), high + point(r, r))
    }
    /// Covered share at a pixel's centre.
    pub fn cover(&self, p: Point) -> f32 {
        let far = self
            .points
            .windows(2)
            .map(|s| {
                let d = s[1] - s[0];
                let t = ((p - s[0]).dot(d) / d.dot(d).max(1e-12)).clamp(0.0, 1.0);
                p.distance(s[0] + d * t)
            })
            .fold(f64::INFINITY, f64::min);
        // Thinner than a pixel a line covers in proportion to its width.
        let thin = (2.0 * self.half).min(1.0);
        (((self.half.max(0.5) - far) / self.soft + 0.5).clamp(0.0, 1.0) * thin) as f32
    }
}
