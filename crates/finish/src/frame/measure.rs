//! Measures a frame for the judge, and writes the figures into the report.

use super::Seen;
use super::beside::points;
use super::loaded_frame::LoadedFrame;
use super::make::Made;
use super::window::window;
use crate::measured::{LeftOut, Measured, Side};
use crate::recipe::{Beside, Recipe, What};
use crate::report::{CameraFacts, ExposureFacts, FocusFacts, LightFacts, PrintFacts, Report, VeilFacts};
use base::wording::round;
use geometry::polygon::margins;
use geometry::{Point, Quad, point};
use pixels::{Field, Primaries, lab_from_xyz};
use print::find::Found;
use print::flat_field::paper::PAPER;
use print::lift::{self, Curl};
use print::several::{blanked, grown};
use print::{Rim, blur, flat_field, image_quality};

/// Everything measured in the frame of a finished print.
pub(super) fn measure(sight: &LoadedFrame, seen: &Seen, recipe: &Recipe) -> Measured {
    let found = &seen.found;
    let scale = found.pose.px_per_mm();
    let (w, h) = (sight.frame.width, sight.frame.height);
    let polygon = found.polygon();
    let margins = margins(&polygon, w, h);
    let sides = [Side::Left, Side::Top, Side::Right, Side::Bottom];
    let narrowest = (0..4).min_by(|&a, &b| margins[a].total_cmp(&margins[b])).unwrap_or(0);
    // Half a millimetre past the rim is more than the outline's uncertainty.
    let cropped: Vec<Side> = (0..4).filter(|&i| margins[i] < -0.5 * scale).map(|i| sides[i]).collect();
    let curl = curl(sight, found, recipe);
    let (bed, step) = (&seen.light.bed, sight.step as f64);
    let around = || {
        let clipped = image_quality::clipped(&sight.frame, &polygon);
        // If most of the bed is clipped, its light is a guess, so a difference from it is no evidence of a second print.
        let told = clipped.bed.iter().all(|c| *c < 0.5);
        // If there are several prints, the first one reports everything else in the frame.
        let first = recipe.part.is_none_or(|p| p.number == 1);
        let other = told && first && something_else(sight, seen);
        (clipped, other)
    };
    let on_it = || (blur::edge_width(&sight.frame, bed, found), veil_share(sight, seen));
    // The verdict should come soon, so independent work is done in parallel.
    let ((clipped, other), (covered, (edge_px, veil))) =
        rayon::join(around, || rayon::join(|| image_quality::covered(&sight.proxy, step, bed, found), on_it));
    let level = seen.light.bed.at(w as f64 / 2.0, h as f64 / 2.0);
    let brightest = level.iter().copied().fold(0.0f32, f32::max);
    let ambient = 0.0;
    let distance = seen.light.lamp.distance_mm(scale, ambient, None).map(|d| d.0);
    Measured {
        prints: 1 + u32::from(other && recipe.settings.one),
        left_out: left_out(found, &recipe.beside, other && !recipe.settings.one),
        // Of a back nobody asks before it is shown.
        turn_unknown: !found.back && !upright_known(recipe, found),
        margin_mm: cropped.is_empty().then(|| (margins[narrowest] / scale, sides[narrowest])),
        overhang_mm: (!cropped.is_empty()).then(|| -margins[narrowest] / scale),
        cropped,
        covered: covered.map(|(share, rim)| (share, rim.map(side))),
        tilt_x_deg: Some(found.pose.tilt_x),
        tilt_y_deg: Some(found.pose.tilt_y),
        tilt_sigma_deg: Some(crate::measured::tilt_sigma_deg(&found.pose)),
        edge_px,
        px_per_mm: Some(scale),
        clipped_bed: Some(clipped.bed),
        clipped_print: Some(clipped.print),
        bed_below_white_stops: Some(-f64::from(brightest.max(1e-6)).log2()),
        fall_off_stops: Some(flat_field::fall_off_stops(&seen.light.bed, polygon.iter().map(|p| (p.x, p.y)))),
        light_distance_mm: distance,
        light_azimuth_deg: Some(seen.light.lamp.azimuth_deg),
        evened_by_blank: seen.light.quality.is_none(),
        mixed_delta_e: Some(mixed(&seen.light.bed, sight, &polygon)),
        blank_change_stops: seen.light.level.as_ref().map(|l| l.slope_stops.max(l.misfit / std::f64::consts::LN_2)),
        veil,
        curl_mm: Some(curl.mm),
        curl_sigma_mm: Some(curl.sigma_mm),
        f_number: sight.words.f_number,
        show_through: seen.light.texture.as_ref().map(spread),
        bed_returns: Some(seen.light.returns),
        outline_sigma_mm: Some(found.sigma_mm),
        confidence: Some(found.confidence),
        rig: recipe.rig.clone(),
    }
}

/// How much the print curls, by its outline: the shadow, which says more, is measured after the verdict.
fn curl(sight: &LoadedFrame, found: &Found, recipe: &Recipe) -> Curl {
    let lens = recipe.lens.as_ref().map(|l| (l.k1, l.k1_error));
    lift::curl_by_outline(found, lens, sight.focal_px.is_some())
        .unwrap_or_else(|| Curl { mm: found.pose.lift(), sigma_mm: found.pose.lift_sigma() })
}

/// True where a wide border or a person says which way is up.
fn upright_known(recipe: &Recipe, found: &Found) -> bool {
    let turned = recipe.by_hand.as_ref().is_some_and(|b| b.turn.is_some());
    turned || (found.format.has_foot() && !found.back)
}

/// True if something else as large as a print is in the frame.
fn something_else(sight: &LoadedFrame, seen: &Seen) -> bool {
    let (step, bed, found) = (sight.step as f64, &seen.light.bed, &seen.found);
    if seen.beside.is_empty() {
        return image_quality::another(&sight.proxy, step, bed, found);
    }
    // A neighbour's shadow reaches a few millimetres.
    let clear = 4.0 * found.pose.px_per_mm();
    let known: Vec<Vec<Point>> = seen.beside.iter().map(|b| grown(b, clear)).collect();
    image_quality::another(&blanked(&sight.proxy, step, bed, &known), step, bed, found)
}

/// Unfinished things beside a print that are nearer to it than to the other prints.
fn left_out(found: &Found, beside: &[Beside], unknown: bool) -> Vec<LeftOut> {
    let middle =
        |outline: &[Point]| outline.iter().fold(Point::default(), |a, p| a + *p) * (1.0 / outline.len().max(1) as f64);
    let of = |b: &Beside| middle(&points(&b.outline_px));
    let own = found.outline.corners().0.centre();
    let nearest =
        |p: Point| beside.iter().filter(|b| b.what == What::Print).all(|b| of(b).distance(p) > own.distance(p));
    let left = |b: &Beside| {
        let left = match b.what {
            What::Print => return None,
            What::CutLeft => LeftOut::Cut(Side::Left),
            What::CutTop => LeftOut::Cut(Side::Top),
            What::CutRight => LeftOut::Cut(Side::Right),
            What::CutBottom => LeftOut::Cut(Side::Bottom),
            What::Overlaps => LeftOut::Overlaps,
        };
        nearest(of(b)).then_some(left)
    };
    beside.iter().filter_map(left).chain(unknown.then_some(LeftOut::Unknown)).collect()
}

fn side(rim: Rim) -> Side {
    match rim {
        Rim::Left => Side::Left,
        Rim::Top => Side::Top,
        Rim::Right => Side::Right,
        Rim::Bottom => Side::Bottom,
    }
}

/// Greatest colour difference of the bed's light between the outline's points.
fn mixed(bed: &Field, sight: &LoadedFrame, polygon: &[Point]) -> f64 {
    let places: Vec<(f64, f64)> = polygon.iter().step_by(8).map(|p| (p.x, p.y)).collect();
    colour_difference(bed, &sight.frame.encoding.primaries, (sight.frame.width, sight.frame.height), &places)
}

/// Greatest colour difference of a bed's light between places of a frame of so many pixels: CIEDE2000 without its lightness, each
/// place brought to the same lightness.
pub fn colour_difference(bed: &Field, primaries: &Primaries, size: (usize, usize), places: &[(f64, f64)]) -> f64 {
    let centre = bed.at(size.0 as f64 / 2.0, size.1 as f64 / 2.0).map(f64::from);
    let labs: Vec<[f64; 3]> = places
        .iter()
        .map(|&(x, y)| {
            let v = bed.at(x, y).map(f64::from);
            // Relative to the centre, so that a cast common to all the bed is no mixture; 0.87 is the paper's own Y.
            let r: [f64; 3] = std::array::from_fn(|c| v[c] / centre[c].max(1e-9));
            let y = (r[0] + r[1] + r[2]) / 3.0;
            lab_from_xyz(primaries.xyz(r.map(|x| 0.87 * x / y.max(1e-9))))
        })
        .collect();
    let mut worst = 0.0f64;
    for (i, a) in labs.iter().enumerate() {
        for b in &labs[..i] {
            worst = worst.max(pixels::ciede2000([50.0, a[1], a[2]], [50.0, b[1], b[2]]));
        }
    }
    worst
}

/// Share of a found print's window under a reflection; `None` where it has no window.
pub fn veil_share(sight: &LoadedFrame, seen: &Seen) -> Option<f64> {
    (!seen.found.back).then(|| image_quality::veil(&window(sight, seen)).share)
}

/// Share of the window over which a reflection is strong, and how far to the right and down of the window's middle it lies, frame
/// pixels.
pub fn veil(sight: &LoadedFrame, seen: &Seen) -> Option<(f64, Option<Point>)> {
    let veil = (!seen.found.back).then(|| image_quality::veil(&window(sight, seen)))?;
    let Quad([a, b, c, d]) = seen.found.outline.corners().1;
    let at = |p: Point| a.lerp(b, p.x).lerp(d.lerp(c, p.x), p.y);
    Some((veil.reach, veil.middle.map(|p| at(p) - at(point(0.5, 0.5)))))
}

/// Standard deviation over mean of the bed's own structure.
fn spread(texture: &Field) -> f64 {
    let v = &texture.grid.0[1].data;
    let n = v.len().max(1) as f64;
    let mean = v.iter().map(|x| f64::from(*x)).sum::<f64>() / n;
    (v.iter().map(|x| (f64::from(*x) - mean).powi(2)).sum::<f64>() / n).sqrt() / mean.max(1e-9)
}

/// Writes the figures into the report.
pub(super) fn write_down(report: &mut Report, sight: &LoadedFrame, seen: &Seen, made: &Made, m: &Measured) {
    let found = &seen.found;
    let (corners, upright) = found.corners();
    let upright_known = upright_known(&report.recipe, found);
    report.print = Some(PrintFacts {
        format: found.format.name.clone(),
        confidence: round(found.confidence, 1e3),
        outline_px: crate::corners(&corners),
        window_px: found.window().map(|q| crate::corners(&q)),
        upright_corner: upright,
        upright_known,
        size_mm: [found.format.outer.0, found.format.outer.1],
        curl_mm: m.curl_mm.map(|v| round(v, 1e2)),
        curl_sigma_mm: m.curl_sigma_mm.map(|v| round(v, 1e2)),
        outline_sigma_mm: m.outline_sigma_mm.map(|v| round(v, 1e3)),
        prints_in_frame: Some(report.recipe.part.map_or(m.prints, |p| p.of)),
        number_in_frame: report.recipe.part.map(|p| p.number),
    });
    report.camera = Some(CameraFacts {
        px_per_mm: round(found.pose.px_per_mm(), 1e4),
        tilt_x_deg: m.tilt_x_deg.map(|v| round(v, 1e3)),
        tilt_y_deg: m.tilt_y_deg.map(|v| round(v, 1e3)),
        tilt_sigma_deg: m.tilt_sigma_deg.map(|v| round(v, 1e3)),
        rotation_deg: Some(round(found.outline.turn_deg(), 1e3)),
    });
    let cast = &made.cast;
    let towards = seen.towards_light(cast).map(|a| a.0);
    report.light = Some(LightFacts {
        azimuth_deg: towards.map(|a| round(a.rem_euclid(360.0), 10.0)),
        elevation_deg: None,
        distance_mm: m.light_distance_mm.map(|v| v.round()),
        fall_off_stops: m.fall_off_stops.map(|v| round(v, 1e3)),
        evened_by: (seen.light.returns >= PAPER).then(|| if m.evened_by_blank { "blank" } else { "fitted" }.into()),
        shadow_azimuth_deg: towards.map(|a| round((a + 180.0).rem_euclid(360.0), 10.0)),
        shadow_width_mm: Some(round(cast.width_mm, 1e2)),
        shadow_softness_mm: Some(round(cast.softness_mm, 1e2)),
        shadow_depth: Some(round(cast.depth, 1e3)),
        mixed_delta_e: m.mixed_delta_e.map(|v| round(v, 1e2)),
        blank_change_stops: m.blank_change_stops.map(|v| round(v, 1e3)),
        show_through: m.show_through.map(|v| round(v, 1e4)),
    });
    report.lift = made.lift.clone();
    report.notes.extend(made.shadow.why.clone());
    report.shadow = Some(made.shadow.clone());
    report.veil = m.veil.map(|share| VeilFacts { window_share: round(share, 1e4), box_px: None });
    report.exposure = Some(ExposureFacts {
        bed_below_white_stops: m.bed_below_white_stops.map(|v| round(v, 1e2)),
        clipped_bed: m.clipped_bed.map(|v| v.map(|s| round(s, 1e5))),
        clipped_print: m.clipped_print.map(|v| v.map(|s| round(s, 1e5))),
    });
    report.focus =
        m.edge_px.map(|e| FocusFacts { edge_px: round(e, 1e2), edge_mm: round(e / found.pose.px_per_mm(), 1e3) });
    if !upright_known && found.back {
        report.notes.push("Nothing on this back shows which way is up, so its orientation is unknown.".into());
    }
    if sight.focal_px.is_none() {
        report.notes.push("The frame does not record the focal length, so the tilt assumes a usual copy lens.".into());
    }
}
