//! The last pixels of a print under another light.
//!
//! Lens and sensor mix what lies beside an edge into the print's last pixels: the shadow that fell there, or the lit bed. Where
//! another light takes the shadow away, or throws one, that mixture would stay as a line along the edge. There the print's colour is
//! taken from just inside it, along the way inwards.

use crate::canvas::Edge;

/// How far the mixture goes into the print, pixels: beside a shadow of a tenth of the light a sharp frame's last pixel and a half are up to a
/// tenth too dark and the third still by three hundredths; a softer frame's go deeper, and fainter.
const MIXED: f64 = 3.0;

/// The sides whose light changes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Rim {
    /// Left, top, right, bottom.
    pub sides: [bool; 4],
}

impl Rim {
    /// The sides that fall into shadow under one of two lights and not under the other; azimuths on the canvas (0 right, 90 down).
    pub fn between(own_deg: f64, new_deg: f64) -> Self {
        let out = [(-1.0, 0.0), (0.0, -1.0), (1.0, 0.0), (0.0, 1.0)];
        let falls = |deg: f64| {
            let (s, c) = deg.to_radians().sin_cos();
            // A light along a side throws no shadow from it to speak of: three degrees.
            out.map(|(x, y)| -(c * x + s * y) > 0.05)
        };
        let (own, new) = (falls(own_deg), falls(new_deg));
        Self { sides: std::array::from_fn(|i| own[i] != new[i]) }
    }

    /// Where the print's colour at a pixel is taken from; `None` where the pixel's own holds.
    pub fn inside(&self, edge: &Edge, x: usize, y: usize) -> Option<(usize, usize)> {
        let inset = edge.inset(x, y);
        let lacks = |side: usize| if self.sides[side] { (MIXED - inset[side]).max(0.0).ceil() } else { 0.0 };
        let mut by = [lacks(0) - lacks(2), lacks(1) - lacks(3)];
        if let Some((inset, [dx, dy])) = edge.corner(x, y) {
            // At a round corner inwards is towards the arc's middle.
            let near = [if dx > 0.0 { 0 } else { 2 }, if dy > 0.0 { 1 } else { 3 }];
            let lack = (MIXED - inset).max(0.0);
            by = if near.iter().any(|s| self.sides[*s]) {
                [dx * lack, dy * lack].map(|v| v.signum() * v.abs().ceil())
            } else {
                by
            };
        }
        let to = |at: usize, by: f64| (at as f64 + by).max(0.0) as usize;
        (by != [0.0, 0.0]).then(|| (to(x, by[0]), to(y, by[1])))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::canvas::Canvas;
    use geometry::point;

    fn edge(radius: f64) -> Edge {
        let canvas = Canvas::around((10.0, 12.0), [2.0; 4], 10.0);
        let [l, t, r, b] = canvas.print;
        let (a, c, d, e) = (point(l, t), point(r, t), point(r, b), point(l, b));
        Edge::new([vec![a, c], vec![c, d], vec![e, d], vec![a, e]], &canvas).rounded(radius)
    }

    /// By hand: under a light at the left the right side falls into shadow; one at the top instead changes the right side, which is lit,
    /// and the bottom, which is not.
    #[test]
    fn sides_whose_shadow_comes_or_goes() {
        assert_eq!(Rim::between(180.0, 270.0).sides, [false, false, true, true]);
        assert_eq!(Rim::between(180.0, 0.0).sides, [true, false, true, false]);
        assert_eq!(Rim::between(200.0, 210.0).sides, [false; 4]);
        assert_eq!(Rim::between(225.0, 45.0).sides, [true; 4]);
    }

    /// The print is 100 by 120 pixels from (20, 20): its last three columns at the right are taken from the fourth, the others are their own.
    #[test]
    fn the_last_pixels_are_taken_from_inside() {
        let (edge, rim) = (edge(0.0), Rim { sides: [false, false, true, false] });
        let at = |x: usize| rim.inside(&edge, x, 70);
        assert_eq!([at(119), at(118), at(117)], [Some((116, 70)); 3]);
        assert_eq!((at(116), at(20)), (None, None));
        let both = Rim { sides: [true, true, false, false] };
        assert_eq!(both.inside(&edge, 20, 20), Some((23, 23)));
        assert_eq!(both.inside(&edge, 20, 100), Some((23, 100)));
    }

    /// At a round corner every place that is taken lies wholly inside the print.
    #[test]
    fn corners_are_taken_from_inside_too() {
        let (edge, rim) = (edge(15.0), Rim { sides: [true; 4] });
        let mut moved = 0;
        for y in 0..160 {
            for x in 0..140 {
                if edge.cover(x, y) > 0.0
                    && let Some((i, j)) = rim.inside(&edge, x, y)
                {
                    moved += 1;
                    assert_eq!(edge.cover(i, j), 1.0, "{x} {y} from {i} {j}");
                }
            }
        }
        // Three pixels inwards of a circumference of 440 - (8 - 2 pi) 15 = 414: 3 * 414 - 9 pi = 1214, and those cut by it.
        assert!((1150..1350).contains(&moved), "{moved}");
    }
}
