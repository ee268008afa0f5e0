//! What a person says of a print: its outline drawn by hand, and which way is up.

use crate::find::{Candidate, Found, camera, judged};
use crate::format::Format;
use crate::hints::{Drawn, Hints};
use crate::outline::{Outline, Side, Sides};
use crate::sides;
use geometry::fit::Polynomial;
use geometry::{Homography, Quad};
use pixels::{Field, Frame};

/// How far (mm) a measured edge may lie from the drawn line and still be the one that was meant: a hand on a screen is true to
/// two of its pixels, 0.2 mm or so; farther away lies the edge the person did not mean.
const MEANT: f64 = 0.4;
/// How true (mm) a drawn line is where no edge is near it.
const BY_HAND: f64 = 0.15;

/// The print whose outline was drawn: its edges are measured where they lie by the drawn lines, and are those lines elsewhere.
/// Of several formats the one that fits best. `None` where the corners are no print's: on a line, or the wrong way round.
pub fn drawn(frame: &Frame, bed: &Field, formats: &[Format], hints: &Hints, drawn: &Drawn) -> Option<Found> {
    if drawn.corners.area() <= 0.0 {
        return None;
    }
    let all = (0..formats.len()).filter_map(|format| {
        let base = Homography::from_points(&formats[format].outer_quad().0, &drawn.corners.0)?;
        let mut outline = Outline::close_to(frame, bed, &formats[format], base, sides::SHARP);
        outline.outer.sides.iter_mut().for_each(as_meant);
        let candidate = Candidate { format, back: drawn.back, score: 1.0, outer: drawn.corners };
        if drawn.back {
            outline.without_window();
        }
        let pose = camera(&outline, frame, &formats[format], hints);
        Some(judged(outline, pose, formats, &candidate))
    });
    let misfit = |f: &Found| {
        let scale = hints.px_per_mm.map_or(0.0, |s| (f.pose.px_per_mm() / s).ln().abs());
        // A format's width differs from the next one's by a tenth: one per cent of scale weighs as much as 0.1 mm of misfit.
        f.pose.rms + 10.0 * scale
    };
    let best = all.min_by(|a, b| misfit(a).total_cmp(&misfit(b)))?;
    // A person has looked: there is nothing left to be unsure of.
    Some(Found { confidence: 1.0, sigma_mm: best.sigma_mm.min(BY_HAND), ..best })
}

/// A side as measured, if that is the drawn one; the drawn line else.
fn as_meant(side: &mut Side) {
    let near = (-4..=4).all(|k| side.curve.at(f64::from(k) / 4.0).abs() < MEANT);
    if !(side.sure() && near) {
        let points = (0..24).map(|k| ((f64::from(k) + 0.5) / 12.0 - 1.0, 0.0)).collect();
        let curve = Polynomial(vec![0.0]);
        let ends = [BY_HAND; 2];
        *side = Side { curve, spread: BY_HAND, support: 1.0, step: side.step, seen: 1.0, points, ends, rival: 0.0 };
    }
}

impl Found {
    /// The same print with another edge up: turned clockwise by `quarters` quarter turns.
    pub fn turned(self, quarters: usize) -> Self {
        (0..quarters % 4).fold(self, |found, _| found.turned_once())
    }

    fn turned_once(mut self) -> Self {
        let old = &self.format;
        let (w, h) = old.outer;
        let inset = (old.bottom(), old.inset.0);
        self.format = Format::new(&old.name, (h, w), (old.window.1, old.window.0), inset);
        // Turned print (x, y) to print: (y, h - x).
        let print_from_turned = Homography([[0.0, 1.0, 0.0], [-1.0, 0.0, h], [0.0, 0.0, 1.0]]);
        self.outline.frame_from_print = self.outline.frame_from_print.then_after(&print_from_turned);
        // What was at the left is at the top.
        let turn = |sides: &mut Sides, rect: Quad| {
            sides.rect = rect;
            sides.sides.rotate_right(1);
        };
        turn(&mut self.outline.outer, self.format.outer_quad());
        turn(&mut self.outline.window, self.format.window_quad());
        let [a, b, c] = self.pose.curl;
        self.pose.curl = [c, -b, a];
        self.pose.turn += std::f64::consts::FRAC_PI_2;
        self.pose.size = self.format.outer;
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::known;
    use geometry::point;
    use pixels::{Encoding, Picture, Plane, Samples};

    fn apart(a: &Quad, b: &Quad) -> f64 {
        (0..4).map(|i| a.0[i].distance(b.0[i])).fold(0.0, f64::max)
    }

    /// A white print with a dark window on grey bed, 8 px to the millimetre, its top left at (80, 60).
    fn scene() -> (Frame, Field) {
        let (w, h) = (900, 1000);
        let mut data = vec![150u8; 3 * w * h];
        for y in 0..h {
            for x in 0..w {
                let (px, py) = ((x as f64 + 0.5 - 80.0) / 8.0, (y as f64 + 0.5 - 60.0) / 8.0);
                let v = match () {
                    () if !(0.0..88.0).contains(&px) || !(0.0..107.0).contains(&py) => 150,
                    () if (4.5..83.5).contains(&px) && (6.5..85.5).contains(&py) => 60,
                    () => 225,
                };
                data[3 * (y * w + x)..][..3].fill(v);
            }
        }
        let frame = Frame {
            width: w,
            height: h,
            samples: Samples::U8(data),
            encoding: Encoding::new(pixels::Tone::srgb(), pixels::Primaries::srgb()),
        };
        let level = frame.reduce(1).get(5, 5)[0];
        let bed = Field { grid: Picture([0; 3].map(|_| Plane::filled(1, 1, level))), step: w as f64 };
        (frame, bed)
    }

    fn found(corners: Quad) -> Found {
        let (frame, bed) = scene();
        let hints = Hints { px_per_mm: Some(8.0), ..Hints::default() };
        drawn(&frame, &bed, &known(), &hints, &Drawn { corners, back: false }).unwrap()
    }

    #[test]
    fn a_drawn_outline_snaps_to_the_edge_that_was_meant() {
        let truth = Quad::rectangle(704.0, 856.0).map(|p| p + point(80.0, 60.0));
        // Two pixels off, a quarter of a millimetre.
        let hand = Quad([point(82.0, 58.0), point(785.0, 61.5), point(783.0, 917.5), point(79.0, 915.0)]);
        let f = found(hand);
        assert_eq!((f.format.name.as_str(), f.confidence), ("square-integral", 1.0));
        assert!(apart(&f.outline.corners().0, &truth) < 0.8, "{:?}", f.outline.corners().0);
        // A millimetre off is meant so.
        let far = Quad([truth.0[0], truth.0[1] + point(8.0, 0.0), truth.0[2] + point(8.0, 0.0), truth.0[3]]);
        assert!(apart(&found(far).outline.corners().0, &far) < 0.8);
    }

    #[test]
    fn turning_moves_nothing_in_the_frame() {
        let f = found(Quad::rectangle(704.0, 856.0).map(|p| p + point(80.0, 60.0)));
        let (outer, window) = f.outline.corners();
        let place = f.pose.frame(point(10.0, 20.0));
        let once = f.clone().turned(1);
        assert_eq!((once.format.outer, once.format.inset), ((107.0, 88.0), (21.5, 4.5)));
        // Clockwise: the bottom left is the new top left.
        assert!(apart(&once.outline.corners().0, &outer.rolled(3)) < 1e-6);
        assert!(apart(&once.outline.corners().1, &window.rolled(3)) < 1e-6);
        // Old (10, 20) is new (107 - 20, 10).
        assert!(once.pose.frame(point(87.0, 10.0)).distance(place) < 1e-6);
        let round = f.clone().turned(4);
        assert!(apart(&round.outline.corners().0, &outer) < 1e-6);
        assert_eq!(round.format, f.format);
    }
}
