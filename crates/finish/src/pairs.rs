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

/// The frame lit from the other side that shows the print of the frame at place `k`: the nearest.
pub(crate) fn counter_of(k: usize, looks: &[&Look], roles: &[Role]) -> Option<usize> {
    let all = (0..roles.len()).filter(|&j| j != k && roles[j] == Role::Counter && same_place(looks[j], looks[k]));
    all.min_by_key(|j| j.abs_diff(k))
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

    #[test]
    fn a_flash_off_frame_goes_with_the_print_beside_it() {
        let (a, off, b) = (look(-0.3, 0.4, 200.0), look(-3.3, 0.05, 200.5), look(-0.3, 0.4, 260.0));
        let looks = [&a, &off, &b];
        let roles = [Role::Front, Role::Ambient, Role::Front];
        assert_eq!(flash_off_beside(0, &looks, &roles), Some(1));
        assert_eq!(flash_off_beside(2, &looks, &roles), None);
    }
}
