//! What a print's shadow says of the light: its direction, reach, softness and depth, side by side.

use super::{BARE, Ground, Shade};
use geometry::fit::{Polynomial, median};
use pixels::filter::dilate;

/// What the shadow says of the light and of the print's edges.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cast {
    /// Direction in which the shadow falls, degrees on the canvas (0 right, 90 down); `None` where no side throws one.
    pub azimuth_deg: Option<f64>,
    /// Standard error of it, degrees.
    pub azimuth_error_deg: f64,
    /// How far it typically reaches in that direction to half its depth, mm.
    pub width_mm: f64,
    /// Width of its soft end across the edge, from nine tenths to one tenth of its depth, mm.
    pub softness_mm: f64,
    /// How much of the light is gone in its core, 0 to 1; the rest is ambient light.
    pub depth: f64,
    /// Light in the core per band over its luminance: the colour of the ambient relative to the flash.
    pub tint: [f64; 3],
    /// Per side, left, top, right, bottom.
    pub sides: [Side; 4],
}

/// The shadow along one side of the print.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Side {
    /// Median reach at right angles to the side, mm; 0 where it throws no shadow.
    pub width_mm: f64,
    /// The same at its two ends, in the direction of x or y, and its standard error.
    pub ends_mm: [(f64, f64); 2],
    /// Median width of the soft end, mm.
    pub softness_mm: f64,
    /// Median darkness of the core.
    pub depth: f64,
    /// Share of the side that throws a shadow, of what is seen of it.
    pub share: f64,
    /// Share of the side beside which the frame shows the bed as far as the shadow could tell.
    pub seen: f64,
}

/// Measures the cast shadow.
///
/// The direction is taken at the corner between the two shadowed sides: the corner has one height, whatever the curl of the
/// sides, so its shadow lies from it by `h cot(elevation)` in the very direction of the light, and the reaches of the two
/// sides there are the components of that.
pub fn measure(g: &Ground, shade: &Shade) -> Cast {
    weigh(g, shade, &profiles(g, shade))
}

/// The shadow's profiles along the left, top, right and bottom, one each millimetre.
pub fn profiles(g: &Ground, shade: &Shade) -> [Vec<Station>; 4] {
    [0, 1, 2, 3].map(|i| stations(g, shade, i))
}

/// What profiles say of the light.
pub fn weigh(g: &Ground, shade: &Shade, stations: &[Vec<Station>; 4]) -> Cast {
    let mut depths: Vec<f64> = stations.iter().flatten().map(|s| s.depth).collect();
    depths.sort_by(f64::total_cmp);
    let depth = depths.get(depths.len() * 9 / 10).copied().unwrap_or(0.0);
    let cast = |s: &Station| depth > FAINT && s.depth > 0.4 * depth && s.width_mm > 0.0;
    let sides = stations.each_ref().map(|s| side(s, cast));
    let (azimuth_deg, azimuth_error_deg) = direction(&sides);
    let wider = |a: usize, b: usize| sides[a].width_mm.max(sides[b].width_mm);
    let width_mm = wider(0, 2).hypot(wider(1, 3));
    let softness: Vec<f64> = stations.iter().flatten().filter(|s| cast(s)).map(|s| s.softness_mm).collect();
    Cast {
        azimuth_deg,
        azimuth_error_deg,
        width_mm,
        softness_mm: median(&mut softness.clone()),
        depth,
        tint: tint(g, shade, depth),
        sides,
    }
}

/// Brings the shadow's own direction and the one that the light's slope gives to one: the direction towards the lamp,
/// its standard error, and true where they disagree so much that the lamp's pattern is uneven (then the shadow is right).
///
/// All in degrees of one space; `lamp` and `shadow` as (towards the lamp, standard error).
pub fn azimuth(lamp: Option<(f64, f64)>, shadow: Option<(f64, f64)>) -> Option<(f64, f64, bool)> {
    // The slope of an even lamp is true to about 2 degrees (a wall nearby bends it). A shadow at a corner 50 mm off the axis
    // sees a lamp at 80 cm from a direction up to 4 degrees off, and the bend of a curled corner adds as much again.
    let lamp = lamp.filter(|l| l.1 < 20.0).map(|(a, e)| (a, e.hypot(2.0)));
    let shadow = shadow.filter(|s| s.1 < 40.0).map(|(a, e)| (a, e.hypot(7.0)));
    let (Some((a, ea)), Some((b, eb))) = (lamp, shadow) else { return lamp.or(shadow).map(|(a, e)| (a, e, false)) };
    let apart = (b - a + 180.0).rem_euclid(360.0) - 180.0;
    if apart.abs() > 2.5 * ea.hypot(eb) {
        return Some((b, eb, true));
    }
    let w = ea * ea / (ea * ea + eb * eb);
    Some(((a + w * apart).rem_euclid(360.0), ea * eb / ea.hypot(eb), false))
}

/// Darkness of the core up to which there is no cast shadow: contact and ambient light darken the bed as much on every side.
pub const FAINT: f64 = 0.12;

/// One profile across the edge.
#[derive(Clone, Copy, Debug, Default)]
pub struct Station {
    /// Along the side, mm from its left or top end.
    pub along_mm: f64,
    length_mm: f64,
    /// Darkness of its core.
    pub depth: f64,
    /// From the edge to where the shadow is half gone, mm; 0 where there is none.
    pub width_mm: f64,
    /// Width of its soft end, nine tenths to one tenth, mm.
    pub softness_mm: f64,
    /// How far from the edge the frame shows the bed, mm.
    pub seen_mm: f64,
}

/// A profile every millimetre along side `i` (left, top, right, bottom), each the mean of a millimetre.
fn stations(g: &Ground, shade: &Shade, i: usize) -> Vec<Station> {
    let q = g.px_per_mm;
    let d = &shade.darkness;
    let upright = i == 0 || i == 2;
    let (from, to) = if upright { (g.print[1], g.print[3]) } else { (g.print[0], g.print[2]) };
    let room = [g.print[0], g.print[1], d.width as f64 - g.print[2], d.height as f64 - g.print[3]][i];
    let length_mm = (to - from) / q;
    let n = (room - 1.0).max(0.0) as usize;
    let place = |k: usize, s: f64, u: usize| {
        let across = if i < 2 { g.print[i] - u as f64 - 0.5 } else { g.print[i] + u as f64 + 0.5 };
        let along = from + (k as f64 + s) * q;
        if upright { (across, along) } else { (along, across) }
    };
    // Under the print's own rim nothing is asked: the frame is looked at from its edge outwards.
    let seen = |k: usize| {
        (0..n)
            .take_while(|u| {
                let (x, y) = place(k, 0.5, *u);
                g.ratio.0[1].clamped(x as isize, y as isize).is_finite()
            })
            .count()
    };
    (0..length_mm as usize)
        .map(|k| {
            let profile: Vec<f64> = (0..n)
                .map(|u| {
                    let at = |s: f64| {
                        let (x, y) = place(k, s, u);
                        f64::from(d.bilinear(x, y))
                    };
                    [0.1, 0.3, 0.5, 0.7, 0.9].map(at).iter().sum::<f64>() / 5.0
                })
                .collect();
            let depth = profile.iter().copied().fold(0.0, f64::max);
            let end = |share: f64| last_above(&profile, share * depth) / q;
            let softness_mm = end(0.1) - end(0.9);
            let seen_mm = seen(k) as f64 / q;
            Station { along_mm: k as f64 + 0.5, length_mm, depth, width_mm: end(0.5), softness_mm, seen_mm }
        })
        .collect()
}

/// Where a profile last falls through `level`, in samples from its start (sample k is at k + 0.5).
fn last_above(p: &[f64], level: f64) -> f64 {
    let Some(k) = p.iter().rposition(|v| *v >= level).filter(|_| level > 0.0) else { return 0.0 };
    let next = p.get(k + 1).copied().unwrap_or(0.0);
    k as f64 + 0.5 + if p[k] > next { (p[k] - level) / (p[k] - next) } else { 0.0 }
}

/// Bed beside a side that must be seen for its shadow, or the want of one, to be known, mm.
const LEAST_SEEN: f64 = 2.0;

impl Station {
    /// True where the frame shows the bed past the shadow's end: one that is cut tells no width.
    pub fn whole(&self) -> bool {
        self.seen_mm > LEAST_SEEN.max(self.width_mm + self.softness_mm)
    }
}

fn side(stations: &[Station], cast: impl Fn(&Station) -> bool) -> Side {
    let whole: Vec<&Station> = stations.iter().filter(|s| s.whole()).collect();
    let seen = whole.len() as f64 / stations.len().max(1) as f64;
    let on: Vec<&Station> = whole.iter().filter(|s| cast(s)).copied().collect();
    let share = on.len() as f64 / whole.len().max(1) as f64;
    // A side that throws a shadow throws it along most of itself; less is the end of a neighbour's, or a bent corner.
    if on.len() < 8 || share < 0.25 {
        return Side { share, seen, ..Side::default() };
    }
    let mid = |f: fn(&Station) -> f64| median(&mut on.iter().map(|s| f(s)).collect::<Vec<_>>());
    let length = stations.first().map_or(0.0, |s| s.length_mm);
    Side {
        width_mm: mid(|s| s.width_mm),
        ends_mm: [end(&on, 0.0), end(&on, length)],
        softness_mm: mid(|s| s.softness_mm),
        depth: mid(|s| s.depth),
        share,
        seen,
    }
}

/// Reach at an end of a side, and its standard error, mm.
///
/// The last 25 mm, without the two next to the corner where the shadow turns, are drawn on to the corner by a line. A curled
/// side is no line: what a parabola says otherwise there is the error of either, and so is what the samples scatter.
fn end(on: &[&Station], at: f64) -> (f64, f64) {
    let near = on.iter().filter(|s| (2.0..25.0).contains(&(s.along_mm - at).abs()));
    let samples: Vec<_> = near.map(|s| (s.along_mm - at, s.width_mm, 1.0)).collect();
    let fit = |degree| Polynomial::fit(&samples, degree, 0.02).map(|f| (f.0.at(0.0).max(0.0), f.1));
    match (samples.len() >= 6).then(|| (fit(1), fit(2))) {
        Some((Some((line, scatter)), Some((parabola, _)))) => {
            (line, (line - parabola).abs().hypot(scatter).hypot(REACH))
        }
        // Too little is seen near the corner.
        _ => (0.0, f64::INFINITY),
    }
}

/// Reach to half depth is known to about so much, mm: a working pixel, and the print's thickness under the edge.
const REACH: f64 = 0.1;

/// Direction and its standard error, from the sides' widths at the corner that the shadow falls from.
fn direction(sides: &[Side; 4]) -> (Option<f64>, f64) {
    // The wider of each pair of opposite sides is the shadowed one.
    let pick = |a: usize, b: usize| if sides[a].width_mm >= sides[b].width_mm { a } else { b };
    let (h, v) = (pick(0, 2), pick(1, 3));
    // A side at or past the frame's edge may hide the shadow: then the other of its pair throws it, or nobody knows.
    let known = |k: usize, other: usize| sides[k].width_mm > 0.0 || (sides[k].seen > 0.5 && sides[other].seen > 0.5);
    if !known(h, 2 - h) || !known(v, 4 - v) {
        return (None, 180.0);
    }
    let at = |k: usize, end: usize| if sides[k].width_mm > 0.0 { sides[k].ends_mm[end] } else { (0.0, REACH) };
    // The corner between them: the horizontal side's end towards `v`, the vertical side's end towards `h`.
    let (x, y) = match (sides[h].width_mm > 0.0, sides[v].width_mm > 0.0) {
        (true, true) => (at(h, (v == 3) as usize), at(v, (h == 2) as usize)),
        (true, false) => ((sides[h].width_mm, REACH), (0.0, REACH)),
        (false, true) => ((0.0, REACH), (sides[v].width_mm, REACH)),
        (false, false) => return (None, 180.0),
    };
    let ((x, ex), (y, ey)) = (x, y);
    let reach = x.hypot(y);
    // The error of the direction is the error across it.
    let across = (x * ey).hypot(y * ex) / reach.max(1e-9);
    if reach < REACH || !across.is_finite() {
        return (None, 180.0);
    }
    let (x, y) = (if h == 0 { -x } else { x }, if v == 1 { -y } else { y });
    (Some(y.atan2(x).to_degrees().rem_euclid(360.0)), (across / reach).atan().to_degrees())
}

/// The bands' light in the core of the shadow over its luminance.
fn tint(g: &Ground, shade: &Shade, depth: f64) -> [f64; 3] {
    let core = |k: &usize| shade.darkness.data[*k] as f64 > 0.9 * depth && g.cover.data[*k] <= BARE;
    // Away from the edge, where the print's own colour is thrown on the bed and mixed in by the lens.
    let print = dilate(g.cover, (1.5 * g.blur_mm * g.px_per_mm).ceil() as usize);
    let mut sum = [0.0f64; 3];
    for k in (0..print.data.len()).filter(core).filter(|k| print.data[*k] <= BARE) {
        (0..3).for_each(|b| sum[b] += g.ratio.0[b].data[k] as f64);
    }
    let y: f64 = (0..3).map(|b| g.luma[b] as f64 * sum[b]).sum();
    if y > 0.0 && depth > FAINT { sum.map(|s| s / y) } else { [1.0; 3] }
}
