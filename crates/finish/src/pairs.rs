//! Frames of one print taken one after the other without moving it: which front a flash-off frame or one lit from the other side belongs to.

use crate::Role;
use crate::job::{DARK, Look, Place};
use crate::report::CameraWords;

/// Mean distance of corners (share of the print's longer side) within which two frames show a print at one place: a finder errs by less,
/// and the next print is laid by hand, a millimetre or more away.
const SAME_PLACE: f64 = 0.01;
/// A frame of the same print this much darker (stops) may have been taken without the flash: exposures that were meant differ by less.
const OFF: f64 = 2.0;
/// Range of the change of light over the bed's quarters and bands (stops) from which two lights are two: a flash at less power keeps its
/// shape, and its colour to a twentieth.
const OTHER_LIGHT: f64 = 0.1;

/// True where both looks show a print at the same place.
pub(crate) fn same_place(a: &Look, b: &Look) -> bool {
    let size = (a.width, a.height) == (b.width, b.height);
    size && a.place.as_ref().zip(b.place.as_ref()).is_some_and(|(a, b)| at_one_place(a, b))
}

fn at_one_place(a: &Place, b: &Place) -> bool {
    let apart = |p: &[f64; 2], q: &[f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]);
    let side = (0..4).map(|i| apart(&a.corners[i], &a.corners[(i + 1) % 4])).fold(0.0, f64::max);
    // Either may have been found turned by a quarter or a half, where the format allows it.
    let turned = |k: usize| (0..4).map(|i| apart(&a.corners[i], &b.corners[(i + k) % 4])).sum::<f64>() / 4.0;
    (0..4).map(turned).fold(f64::INFINITY, f64::min) < SAME_PLACE * side
}

fn same_settings(a: &CameraWords, b: &CameraWords) -> bool {
    (a.exposure_s, a.f_number, a.iso) == (b.exposure_s, b.f_number, b.iso)
}

/// Stops by which `dim` is darker than `bright`, where both show one print at one place with the same settings and `dim` is dark enough and
/// lit by another light.
fn flash_off(dim: &Look, bright: &Look) -> Option<f64> {
    let under = bright.bed_stops? - dim.bed_stops?;
    let change = dim.quarters.zip(bright.quarters).map(|(d, b)| {
        let all = d.iter().flatten().zip(b.iter().flatten()).map(|(d, b)| d - b);
        let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        high - low
    })?;
    let off = under > OFF && change > OTHER_LIGHT && same_place(dim, bright) && same_settings(&dim.exif, &bright.exif);
    off.then_some(under)
}

/// Frames that show the print of the frame before or after them far darker and in another light: which, and how many stops darker.
/// `order` holds places by time; a frame is open where nobody gave its role.
pub(crate) fn flash_off_frames(looks: &[&Look], roles: &[Role], open: &[bool], order: &[usize]) -> Vec<(usize, f64)> {
    let print = |i: usize| matches!(roles[i], Role::Front | Role::Back);
    let darker = |k: usize| {
        let i = order[k];
        let beside = [k.checked_sub(1), Some(k + 1)].into_iter().flatten().filter_map(|k| order.get(k).copied());
        let under = beside.filter(|&j| print(j)).filter_map(|j| flash_off(looks[i], looks[j])).reduce(f64::max);
        under.filter(|_| open[i] && print(i)).map(|u| (i, u))
    };
    (0..order.len()).filter_map(darker).collect()
}

/// The flash-off frame beside place `k` of a sitting that may show the print of the frame there; `looks` and `roles` are in order of time.
pub(crate) fn flash_off_beside(k: usize, looks: &[&Look], roles: &[Role]) -> Option<usize> {
    let beside = [k.checked_sub(1), Some(k + 1)].into_iter().flatten();
    let off: Vec<usize> = beside.filter(|&j| roles.get(j) == Some(&Role::Ambient)).collect();
    let shown = off.iter().copied().find(|&j| same_place(looks[j], looks[k]));
    shown.or_else(|| off.into_iter().find(|&j| looks[j].place.is_none() && looks[j].mean_level < DARK))
}

/// The front that the frame at place `j`, lit from the other side, belongs to: the nearest at the same place, of two the one before it.
pub(crate) fn front_of(j: usize, looks: &[&Look], roles: &[Role]) -> Option<usize> {
    let fronts = (0..roles.len()).filter(|&k| roles[k] == Role::Front && same_place(looks[k], looks[j]));
    fronts.min_by_key(|k| (k.abs_diff(j), *k))
}

/// The frame lit from the other side that shows the print of the frame at place `k`: the nearest of those that belong to it.
pub(crate) fn counter_of(k: usize, looks: &[&Look], roles: &[Role]) -> Option<usize> {
    let all = (0..roles.len()).filter(|&j| roles[j] == Role::Counter && front_of(j, looks, roles) == Some(k));
    all.min_by_key(|j| j.abs_diff(k))
}

/// A front that may show the print of the front before it lit from the other side: its place in the list of looks, and that one's.
pub(crate) struct OtherSide {
    pub frame: usize,
    pub front: usize,
}

/// Change of light from side to side or from top to foot (stops between the quarters' middles) from which a bed shows where its light
/// stands: a lens's own fall-off is the same on both sides, and an even lamp three metres away changes by less.
const SIDED: f64 = 0.08;
/// Cosine of the angle between two such changes from which two lights stand on opposite sides: within 45° of it.
const OPPOSITE: f64 = -0.7;
/// Exposures further apart than this (stops, at the bed's middle) are two exposures, not one lamp carried around.
const SAME_LIGHT: f64 = 1.0;

/// Fronts that follow one at the very same place, with the same settings, in a light from the opposite side. Whether they show the same
/// print their pictures must tell: where prints are laid against a stop, the first after the flash was moved lies there too.
pub(crate) fn from_the_other_side(looks: &[&Look], roles: &[Role], open: &[bool], order: &[usize]) -> Vec<OtherSide> {
    let front = |i: usize| roles[i] == Role::Front && looks[i].places.len() < 2;
    let pair = |w: &[usize]| {
        let (a, b) = (w[0], w[1]);
        let fits = front(a) && front(b) && open[b] && same_place(looks[a], looks[b]);
        (fits && opposite(looks[a], looks[b])).then_some(OtherSide { frame: b, front: a })
    };
    let mut found: Vec<OtherSide> = order.windows(2).filter_map(pair).collect();
    // Of three in a row with the light going to and fro, the second goes with the first.
    let mut last = None;
    found.retain(|o| last.replace(o.frame) != Some(o.front) || last.take().is_none());
    found
}

fn opposite(a: &Look, b: &Look) -> bool {
    let level = a.bed_stops.zip(b.bed_stops).is_some_and(|(a, b)| (a - b).abs() < SAME_LIGHT);
    let ways = slope(a).zip(slope(b)).is_some_and(|(a, b)| {
        let (la, lb) = (a[0].hypot(a[1]), b[0].hypot(b[1]));
        la.min(lb) > SIDED && (a[0] * b[0] + a[1] * b[1]) < OPPOSITE * la * lb
    });
    level && ways && same_settings(&a.exif, &b.exif)
}

/// How much lighter the bed is at the right and at the foot, stops.
fn slope(look: &Look) -> Option<[f64; 2]> {
    let q = look.quarters?.map(|band| band.iter().sum::<f64>() / 3.0);
    Some([(q[1] + q[3] - q[0] - q[2]) / 2.0, (q[2] + q[3] - q[0] - q[1]) / 2.0])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(stops: f64, slope: f64, x: f64) -> Look {
        let corners = [[x, 100.0], [x + 300.0, 100.0], [x + 300.0, 400.0], [x, 400.0]];
        let place = Place {
            format: "square-integral".into(),
            back: false,
            score: 1.0,
            confidence: 1.0,
            corners,
            px_per_mm: 7.0,
            tilt_deg: [0.0; 2],
            tilt_sigma_deg: 0.1,
            rim: vec![],
        };
        let at = |k: f64| [stops + slope * k; 3];
        Look {
            width: 1200,
            height: 800,
            mean_level: 0.5 * stops.exp2(),
            print_score: 0.9,
            window_score: 0.9,
            bed_stops: Some(stops),
            quarters: Some([at(0.0), at(1.0), at(0.0), at(1.0)]),
            place: Some(place),
            ..Look::default()
        }
    }

    fn found(looks: &[Look]) -> Vec<usize> {
        let all: Vec<&Look> = looks.iter().collect();
        let order: Vec<usize> = (0..looks.len()).collect();
        let (roles, open) = (vec![Role::Front; looks.len()], vec![true; looks.len()]);
        flash_off_frames(&all, &roles, &open, &order).into_iter().map(|f| f.0).collect()
    }

    /// Three stops under the flash and evener than it: the room. The same light three stops weaker: an underexposed front.
    #[test]
    fn a_dark_frame_of_the_same_print_in_another_light_is_the_room() {
        let front = || look(-0.3, 0.4, 200.0);
        assert_eq!(found(&[front(), look(-3.3, 0.05, 200.5), look(-0.3, 0.4, 260.0)]), [1]);
        assert_eq!(found(&[front(), look(-3.3, 0.4, 200.5)]), [0usize; 0]);
        assert_eq!(found(&[front(), look(-3.3, 0.05, 220.0)]), [0usize; 0], "another print");
        assert_eq!(found(&[front(), look(-1.5, 0.05, 200.0)]), [0usize; 0], "too bright");
    }

    /// The same place, settings and level, the light from the other side: it may be the same print. Another place, exposure or the same side:
    /// no. Nothing is asked of a light that comes from nowhere.
    #[test]
    fn a_light_carried_to_the_other_side_is_seen_in_the_bed() {
        let found = |looks: &[Look]| -> Vec<(usize, usize)> {
            let all: Vec<&Look> = looks.iter().collect();
            let order: Vec<usize> = (0..looks.len()).collect();
            let roles = vec![Role::Front; looks.len()];
            let all = from_the_other_side(&all, &roles, &vec![true; looks.len()], &order);
            all.into_iter().map(|o| (o.front, o.frame)).collect()
        };
        let (a, b) = (|| look(-0.3, 0.4, 200.0), || look(-0.1, -0.4, 200.5));
        assert_eq!(found(&[a(), b()]), [(0, 1)]);
        assert_eq!(found(&[a(), b(), a()]), [(0, 1)], "the third is a print of its own");
        assert_eq!(found(&[a(), a(), look(-0.1, -0.4, 230.0), look(-0.1, -0.02, 200.0), look(-2.0, -0.4, 200.0)]), []);
    }

    /// Of prints laid against a stop, the frame lit from the other side belongs to the one before it, not to the next.
    #[test]
    fn a_second_frame_belongs_to_one_print() {
        let (a, other, b) = (look(-0.3, 0.4, 200.0), look(-0.1, -0.4, 200.5), look(-0.3, 0.4, 200.0));
        let looks = [&a, &other, &b];
        let roles = [Role::Front, Role::Counter, Role::Front];
        assert_eq!([0, 2].map(|k| counter_of(k, &looks, &roles)), [Some(1), None]);
        assert_eq!(front_of(1, &looks, &roles), Some(0));
    }

    #[test]
    fn a_flash_off_frame_goes_with_the_print_beside_it() {
        let (a, off, b) = (look(-0.3, 0.4, 200.0), look(-3.3, 0.05, 200.5), look(-0.3, 0.4, 260.0));
        let looks = [&a, &off, &b];
        let roles = [Role::Front, Role::Ambient, Role::Front];
        assert_eq!(flash_off_beside(0, &looks, &roles), Some(1));
        assert_eq!(flash_off_beside(2, &looks, &roles), None);
    }
}
