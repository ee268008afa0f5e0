//! Whether a bent print's own shading is divided out of it, and what the report says of that.

use super::Seen;
use super::loaded_frame::LoadedFrame;
use crate::report::{BendFacts, Report};
use base::wording::{length, round, stops_measured};
use correct::canvas::{Canvas, Warp};
use correct::unbend::Unbend;
use geometry::Point;
use print::shading::{self, Left, Shading};
use print::shadow::Cast;

/// Scale (pixels per mm) at which the border is read: three readings across the narrowest.
const SCALE: f64 = 1.5;
/// Border left out at the edge and at the window's rim, mm: the lens mixes what lies there.
const CLEAR: f64 = 0.8;
/// Error of the light's direction (degrees) from which it is not known well enough to say which side is shaded.
const VAGUE: f64 = 20.0;

/// The decision on a print's shading.
pub(super) struct Bend {
    pub shading: Result<Shading, Left>,
    lift: f64,
    lift_sigma: f64,
    asked: Option<bool>,
}

/// Estimates a print's shading, unless the photographer wants it left.
pub(super) fn of(
    sight: &LoadedFrame,
    seen: &Seen,
    cast: &Cast,
    (asked, lens_known): (Option<bool>, bool),
) -> Option<Bend> {
    if asked == Some(false) {
        return None;
    }
    let pose = &seen.found.pose;
    let light = light(seen, cast, lens_known);
    // A flat print's border is not read.
    let shading = match shading::estimate(pose, light, &[]) {
        Err(Left::Flat) if pose.lift() < shading::LEAST_LIFT => Err(Left::Flat),
        _ => shading::estimate(pose, light, &border(sight, seen)),
    };
    Some(Bend { shading, lift: pose.lift(), lift_sigma: pose.lift_sigma(), asked })
}

/// The light on the upright print.
fn light(seen: &Seen, cast: &Cast, lens_known: bool) -> Option<shading::Light> {
    let (towards, error, _) = seen.towards_light(cast)?;
    let distance_mm = seen.light.lamp.distance_mm(seen.found.pose.px_per_mm(), 0.0, None).map(|d| d.0);
    (error < VAGUE).then(|| shading::Light {
        azimuth: (towards - seen.found.outline.turn_deg()).to_radians(),
        distance_mm,
        lens_known,
    })
}

/// Readings of the border over the bed, by place.
fn border(sight: &LoadedFrame, seen: &Seen) -> Vec<(Point, f64)> {
    let format = &seen.found.format;
    if !format.has_window() || seen.found.back {
        return vec![];
    }
    let canvas = Canvas::around(format.outer, [1.0; 4], SCALE);
    let flat = seen.flat(sight, canvas, Warp::new(&seen.found));
    let (outer, window) = (format.outer_quad(), format.window_quad());
    let places = (0..canvas.width * canvas.height).map(|k| (k % canvas.width, k / canvas.width));
    places
        .filter_map(|(x, y)| {
            let p = canvas.print_from_canvas(x as f64 + 0.5, y as f64 + 0.5);
            if outer.inset(p) < CLEAR || window.inset(p) > -CLEAR {
                return None;
            }
            let v = flat.at(x, y);
            (!v[0].is_nan()).then(|| (p, f64::from(v.iter().sum::<f32>() / 3.0)))
        })
        .collect()
}

impl Bend {
    /// What divides it out on a canvas.
    pub fn unbend(&self, canvas: &Canvas) -> Option<Unbend> {
        self.shading.as_ref().ok().map(|s| Unbend::new(s, canvas))
    }

    /// Writes what was done into the report. Nothing is said of a flat print that nobody asked about.
    pub fn write_down(&self, report: &mut Report) {
        if let Ok(shading) = &self.shading {
            let (most, sigma) = shading.most();
            let stops = |share: f64| round(share / std::f64::consts::LN_2, 1e3);
            report.unbend = Some(BendFacts {
                most_stops: stops(most),
                sigma_stops: stops(sigma),
                by: if shading.by_border { "bend-and-border" } else { "bend" }.into(),
                lift_sigma_mm: round(self.lift_sigma, 1e2),
            });
            return;
        }
        let why = match self.shading {
            Err(Left::Vague) => "its bend is not known well enough",
            Err(Left::NoLight) => "the direction of the light is not known",
            Err(Left::Contradicted) => "its border is not lit as its bend says",
            _ if self.asked == Some(true) => "it is flat, or is not darker anywhere for its bend",
            _ => return,
        };
        report.notes.push(format!(
            "The shading of the curled print (lift {} ± {}) was left as it is: {why}.",
            length(self.lift),
            length(self.lift_sigma)
        ));
    }
}

/// The line of the page.
pub fn words(facts: &BendFacts) -> String {
    format!("divided out: {} to a corner, ± {}", stops_measured(facts.most_stops), stops_measured(facts.sigma_stops))
}
