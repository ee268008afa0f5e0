//! Compares measured figures with the plan, with the correction for each difference.

use super::answer::{AmbientFacts, Beside, BlankFacts, RulerFacts, Value};
use super::levelling::level;
use super::ruler::pitch_mm;
use super::settings::Settings;
use crate::plan::Answer as Plan;
use base::wording::{degrees, length, stops, two};
use geometry::Length;
use optics::closeup;

/// Everything there is to lay beside the plan.
pub(super) struct Found<'a> {
    pub ruler: Option<&'a RulerFacts>,
    pub blank: Option<&'a BlankFacts>,
    pub ambient: Option<&'a AmbientFacts>,
    pub settings: &'a Settings,
    pub size: Option<(usize, usize)>,
}

/// A scale beside the planned one.
pub(super) struct Scale {
    pub measured: f64,
    pub planned: f64,
    /// How far the camera must go up to be where it was planned, mm.
    pub up_mm: f64,
    /// Its height now, mm.
    pub height_mm: f64,
}

/// The measured scale, with the height it means: `h = f (2 + m + 1 / m)` from bed to sensor (thin lens, focused), `m` the scale
/// times the pixel's pitch.
pub(super) fn scale(r: &RulerFacts, plan: &Plan) -> Option<Scale> {
    let size = frame_size(r);
    let pitch = pitch_mm(plan, size);
    let planned = plan.camera.px_per_mm * size.0.max(size.1) as f64 / plan.camera.pixels[0].max(plan.camera.pixels[1]);
    let height = |px_per_mm: f64| {
        let (f, m) = (Length::mm(plan.camera.focal_mm), px_per_mm * pitch);
        (closeup::object_distance_for(f, m) + closeup::image_distance_for(f, m)).to_mm()
    };
    let measured = r.px_per_mm.value;
    let (is, was) = (height(measured), height(planned));
    (is.is_finite() && was.is_finite()).then_some(Scale { measured, planned, up_mm: was - is, height_mm: is })
}

fn frame_size(r: &RulerFacts) -> (usize, usize) {
    (r.frame_px[0], r.frame_px[1])
}

/// From one azimuth to another, -180 to 180 degrees, clockwise as seen where positive.
pub(super) fn turn(to: f64, from: f64) -> f64 {
    (to - from + 180.0).rem_euclid(360.0) - 180.0
}

/// How finely a figure is set by hand or known, beside three of its own errors: past it, plan and rig differ.
fn differs(planned: f64, measured: Value, hand: f64) -> bool {
    let off = (measured.value - planned).abs();
    off > hand && off > 3.0 * measured.error.unwrap_or(0.0)
}

fn row(
    figure: &str,
    planned: f64,
    measured: Value,
    unit: &str,
    hand: f64,
    remedy: impl FnOnce(f64) -> String,
) -> Beside {
    let differs = differs(planned, measured, hand);
    let remedy = differs.then(|| remedy(measured.value - planned));
    Beside { figure: figure.into(), planned, measured, unit: unit.into(), differs, remedy }
}

/// Every figure that both have.
pub(super) fn beside(plan: &Plan, found: &Found) -> Vec<Beside> {
    let mut rows = vec![];
    if let Some(r) = found.ruler {
        camera(plan, r, &mut rows);
    }
    if let Some(b) = found.blank {
        light(plan, b, &mut rows);
    }
    if let Some(a) = found.ambient {
        let planned = plan.exposure.ambient_below_stops.unwrap_or(plan.exposure.ambient_asked_stops);
        // More under the flash than planned is no trouble.
        let mut r =
            row("ambient", planned, a.below, "stops", 0.5, |off| format!("Darken the room by {}.", stops(-off)));
        if a.below.value > planned {
            (r.differs, r.remedy) = (false, None);
        }
        rows.push(r);
    }
    settings(plan, found.settings, &mut rows);
    if let Some((w, h)) = found.size {
        let planned = plan.camera.pixels[0].max(plan.camera.pixels[1]);
        let measured = Value::bare(w.max(h) as f64);
        rows.push(row("pixels", planned, measured, "px", 0.5, |_| {
            "Set the camera to the planned frame size, or make a new plan.".into()
        }));
    }
    rows
}

fn camera(plan: &Plan, r: &RulerFacts, rows: &mut Vec<Beside>) {
    if let Some(s) = scale(r, plan) {
        let share = r.px_per_mm.error.unwrap_or(0.0) / s.measured;
        let up = format!(
            "{} the camera by {} and focus again.",
            if s.up_mm > 0.0 { "Raise" } else { "Lower" },
            length(s.up_mm.abs())
        );
        // A hundredth: a height is read off a column to some millimetres.
        rows.push(row("scale", s.planned, r.px_per_mm, "px/mm", 0.01 * s.planned, |_| up.clone()));
        rows.push(row(
            "height",
            s.height_mm + s.up_mm,
            Value::with(s.height_mm, share * s.height_mm),
            "mm",
            0.01 * s.height_mm,
            |_| up,
        ));
        let field = Value::with(r.frame_px[0] as f64 / s.measured, share * r.frame_px[0] as f64 / s.measured);
        rows.push(row("field", plan.camera.field_mm[0], field, "mm", 0.01 * field.value, |off| {
            format!(
                "The frame shows {} {} bed across: correct the height.",
                length(off.abs()),
                if off > 0.0 { "more" } else { "less" }
            )
        }));
    }
    let most = plan.focus.level_deg;
    let over = r.tilt_deg.value > most + 2.0 * r.tilt_deg.error.unwrap_or(0.0);
    rows.push(Beside {
        figure: "level".into(),
        planned: most,
        measured: r.tilt_deg,
        unit: "deg".into(),
        differs: over,
        remedy: over.then(|| level(r.tilt_x_deg.value, r.tilt_y_deg.value, plan.focus.board_mm)),
    });
}

fn light(plan: &Plan, b: &BlankFacts, rows: &mut Vec<Beside>) {
    let l = &plan.light;
    if let Some(a) = b.light_azimuth_deg {
        // Beside the planned angle without a jump at a whole circle.
        let near = Value { value: l.azimuth_deg + turn(a.value, l.azimuth_deg), ..a };
        rows.push(row("light-azimuth", l.azimuth_deg, near, "deg", 5.0, |off| {
            format!(
                "Turn the flash {} {} round the frame.",
                degrees(off.abs()),
                if off > 0.0 { "counter-clockwise" } else { "clockwise" }
            )
        }));
    }
    if let Some(e) = b.light_elevation_deg {
        let aside = l.distance_mm;
        rows.push(row("light-elevation", l.elevation_deg, e, "deg", 5.0, |off| {
            let up = aside * (l.elevation_deg.to_radians().sin() - (l.elevation_deg + off).to_radians().sin());
            format!("{} the flash by {}.", if up > 0.0 { "Raise" } else { "Lower" }, length(up.abs()))
        }));
    }
    if let Some(d) = b.light_distance_mm {
        rows.push(row("light-distance", l.distance_mm, d, "mm", 0.08 * l.distance_mm, |off| {
            format!(
                "Put the flash {} {} and {} {}.",
                length(off.abs()),
                if off < 0.0 { "further" } else { "nearer" },
                if off < 0.0 { "open" } else { "close" },
                stops(optics::small_lamp::stops_lost((l.distance_mm + off).max(1.0), l.distance_mm).abs())
            )
        }));
    }
    if let Some(f) = b.fall_off_print_stops {
        let mut r = row("fall-off", l.fall_off_stops, Value::bare(f), "stops", 0.05, |_| {
            "More than planned: the flash is nearer or lower than planned; correct its distance.".into()
        });
        // The lens's own fall-off is in the measured figure: what it takes off the corners of the print is not the flash's fault.
        if f < l.fall_off_stops {
            (r.differs, r.remedy) = (false, None);
        }
        rows.push(r);
    }
}

fn settings(plan: &Plan, s: &Settings, rows: &mut Vec<Beside>) {
    let third = |planned: f64| 0.1 * planned;
    if let Some(n) = s.usual(|w| w.f_number) {
        let planned = plan.focus.f_number;
        rows.push(row("f-number", planned, Value::bare(n), "", third(planned), |off| {
            format!("{} from f/{} to f/{}.", if off > 0.0 { "Open" } else { "Close" }, two(planned + off), two(planned))
        }));
    }
    if let Some(iso) = s.usual(|w| w.iso) {
        rows.push(row("iso", plan.exposure.iso, Value::bare(iso), "", third(plan.exposure.iso), |_| {
            format!("Set ISO {:.0}.", plan.exposure.iso)
        }));
    }
    if let Some(t) = s.usual(|w| w.exposure_s) {
        let planned = plan.exposure.shutter_s;
        rows.push(row("shutter", planned, Value::bare(t), "s", third(planned), |_| {
            format!("Set 1/{:.0} s.", 1.0 / planned)
        }));
    }
    if let Some(f) = s.usual(|w| w.focal_mm) {
        let planned = plan.camera.focal_mm;
        rows.push(row("focal-length", planned, Value::bare(f), "mm", 0.03 * planned, |_| {
            format!("The plan is for {planned} mm: make a new plan for this lens.")
        }));
    }
}
