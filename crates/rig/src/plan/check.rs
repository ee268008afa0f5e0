//! Checks that every number is possible, and fills in defaults.

use super::units::Units;
use super::{Known, Problem, Request, wish};
use base::wording::capital;
use geometry::Length;
use print::format;

/// A number's name, its value, and the least and most that a stand can have, with the unit to say them in.
type Bound = (&'static str, Option<f64>, f64, f64, &'static str);

/// Reasons for the bounds: wider than any copy stand, flash or print that was ever made, and narrow enough that a slipped
/// digit or a wrong unit is caught.
fn bounds(r: &Request) -> Vec<Bound> {
    let side = |v: Option<[f64; 2]>, i: usize| v.map(|v| v[i]);
    let face = |i: usize| r.source_mm.as_ref().and_then(|f| f.get(i).copied());
    vec![
        ("the print's width", side(r.print_mm, 0), 5.0, 1000.0, "mm"),
        ("the print's height", side(r.print_mm, 1), 5.0, 1000.0, "mm"),
        ("the curl", r.curl_mm, 0.1, 50.0, "mm"),
        ("the sensor's width", side(r.sensor_mm, 0), 3.0, 150.0, "mm"),
        ("the sensor's height", side(r.sensor_mm, 1), 3.0, 150.0, "mm"),
        ("the frame's width", side(r.pixels, 0), 100.0, 65_000.0, "pixels"),
        ("the frame's height", side(r.pixels, 1), 100.0, 65_000.0, "pixels"),
        ("the focal length", r.lens_mm, 4.0, 1000.0, "mm"),
        ("the closest focus", r.closest_focus_mm, 20.0, 10_000.0, "mm"),
        ("the lens's front", r.lens_front_mm, 5.0, 300.0, "mm"),
        ("the resolution", r.ppi, 20.0, 10_000.0, "ppi"),
        ("the field", r.field_mm, 5.0, 5000.0, "mm"),
        ("the camera's height", r.height_mm, 50.0, 5000.0, "mm"),
        ("the f-number", r.f_number, 0.7, 128.0, ""),
        ("the ISO speed", r.iso, 6.0, 500_000.0, ""),
        ("the guide number", r.guide_m, 0.5, 500.0, "m"),
        ("the sync time", r.sync_s, 1.0 / 32_000.0, 1.0, "s"),
        ("the exposure time", r.shutter_s, 1.0 / 32_000.0, 60.0, "s"),
        ("the light's place", r.light_azimuth_deg, -360.0, 360.0, "degrees"),
        ("the light's elevation", r.light_elevation_deg, 5.0, 89.0, "degrees"),
        ("the light's distance", r.light_distance_mm, 50.0, 20_000.0, "mm"),
        ("the room for the light", r.light_reach_mm, 50.0, 20_000.0, "mm"),
        ("the light's width", face(0), 1.0, 3000.0, "mm"),
        ("the light's height", face(1), 1.0, 3000.0, "mm"),
        ("the room's light", r.ambient_lux, 0.01, 200_000.0, "lx"),
        ("the lamp's light", r.lamp_lux, 1.0, 200_000.0, "lx"),
        ("the board", r.board_mm, 20.0, 3000.0, "mm"),
        ("the camera's mass", r.camera_kg, 0.05, 50.0, "kg"),
        ("the arm's mass", r.arm_kg, 0.01, 100.0, "kg"),
        ("the arm's reach", r.arm_reach_mm, 10.0, 3000.0, "mm"),
        ("the base", r.base_mm, 50.0, 3000.0, "mm"),
        ("the base's mass", r.base_kg, 0.1, 1000.0, "kg"),
        ("the number of prints", r.prints, 1.0, 10_000_000.0, ""),
    ]
}

/// A number as typed, without a tail of digits.
fn plain(v: f64) -> String {
    if v == 0.0 || (0.001..1e7).contains(&v.abs()) {
        let text = format!("{v:.4}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        format!("{v:e}")
    }
}

fn within(r: &Request) -> Result<(), Problem> {
    for (name, value, least, most, unit) in bounds(r) {
        let Some(v) = value else { continue };
        let space = if unit.is_empty() { "" } else { " " };
        let say = |v: f64| {
            if unit == "s" && v < 0.1 {
                format!("1/{} s", plain((1.0 / v).round()))
            } else {
                format!("{}{space}{unit}", plain(v))
            }
        };
        // Written so that what is no number is outside too.
        if !(v >= least && v <= most) {
            return Err(Problem(format!(
                "{} must be between {} and {}; it was given as {}.",
                capital(name),
                say(least),
                say(most),
                say(v)
            )));
        }
    }
    Ok(())
}

/// The request made whole.
pub(super) fn known(r: &Request, units: Units) -> Result<Known, Problem> {
    within(r)?;
    let mut taken: Vec<(&'static str, String)> = vec![];
    let (format, print) = print_size(r, &mut taken)?;
    let (sensor, pixels) = camera(r, &mut taken)?;
    contradictions(r)?;
    let mut assume = |said: bool, name: &'static str, value: &str| {
        if !said {
            taken.push((name, value.to_owned()));
        }
    };
    assume(r.curl_mm.is_some(), "curl", &units.set(3.0));
    assume(r.source_mm.is_some(), "source", &format!("a bare flash, {}", units.area(70.0, 50.0)));
    assume(r.sync_s.is_some(), "sync", "1/200 s");
    assume(r.lamp_lux.is_some(), "lamp", "1,000 lx");
    assume(r.board_mm.is_some(), "board", &units.set(400.0));
    let wish = wish(r, print, sensor, pixels);
    Ok(Known { wish, format, taken, board: Length::mm(r.board_mm.unwrap_or(400.0)) })
}

type Taken = Vec<(&'static str, String)>;

fn print_size(r: &Request, taken: &mut Taken) -> Result<(String, [f64; 2]), Problem> {
    match (r.format.as_deref(), r.print_mm) {
        (None | Some("plain"), Some(size)) => Ok(("plain".into(), size)),
        (Some("plain"), None) => Err(Problem("A plain original needs a size: give it as --print 100x150mm.".into())),
        (Some(name), Some(_)) => {
            Err(Problem(format!("The format {name} has a fixed size: leave out --print, or use --format plain.")))
        }
        (name, None) => {
            if name.is_none() {
                taken.push(("format", "square-integral".into()));
            }
            let name = name.unwrap_or("square-integral");
            let all = format::known();
            let found = all.iter().find(|f| f.name == name).map(|f| (f.name.clone(), [f.outer.0, f.outer.1]));
            found.ok_or_else(|| {
                let names: Vec<&str> = all.iter().map(|f| f.name.as_str()).collect();
                Problem(format!(
                    "There is no format “{name}”. Use one of {}, or give a size as --print 100x150mm.",
                    names.join(", ")
                ))
            })
        }
    }
}

/// Sensor and pixels: what is missing follows from the other, both from the commonest camera.
fn camera(r: &Request, taken: &mut Taken) -> Result<([f64; 2], [f64; 2]), Problem> {
    let assumed = |v: [f64; 2], unit: &str| format!("{} × {}{unit}", v[0].round(), v[1].round());
    match (r.sensor_mm, r.pixels) {
        (Some(s), Some(p)) => {
            // Two per cent: makers round both.
            if ((s[0] / s[1]) / (p[0] / p[1]) - 1.0).abs() > 0.02 {
                return Err(Problem(format!(
                    "A sensor of {} × {} mm and {} × {} pixels have different shapes ({:.2} and {:.2} to 1). Check both \
                     in the camera's manual, width first.",
                    plain(s[0]),
                    plain(s[1]),
                    p[0],
                    p[1],
                    s[0] / s[1],
                    p[0] / p[1]
                )));
            }
            Ok((s, p))
        }
        (Some(s), None) => {
            let long = s[0].max(s[1]);
            let p = [(6000.0 * s[0] / long).round(), (6000.0 * s[1] / long).round()];
            taken.push(("pixels", assumed(p, "")));
            Ok((s, p))
        }
        (None, Some(p)) => {
            let long = p[0].max(p[1]);
            let s = [36.0 * p[0] / long, 36.0 * p[1] / long];
            taken.push(("sensor", assumed(s, " mm")));
            Ok((s, p))
        }
        (None, None) => {
            taken.push(("sensor", "36 × 24 mm".into()));
            taken.push(("pixels", "6000 × 4000".into()));
            Ok(([36.0, 24.0], [6000.0, 4000.0]))
        }
    }
}

/// Numbers that cannot both be.
fn contradictions(r: &Request) -> Result<(), Problem> {
    if let (Some(at), Some(room)) = (r.light_distance_mm, r.light_reach_mm)
        && at > room
    {
        return Err(Problem(format!(
            "The light distance is {} mm, but the room allows at most {} mm. Leave out --light-distance or \
             --light-reach.",
            plain(at),
            plain(room)
        )));
    }
    if let (Some(close), Some(f)) = (r.closest_focus_mm, r.lens_mm)
        && close < 4.0 * f
        && !r.close_lens
    {
        // 4 f is the least distance from object to image of any thin lens; internal focusing shortens f.
        return Err(Problem(format!(
            "A {} mm lens cannot focus at {} mm from the sensor unless it is a macro lens: the minimum is four focal \
             lengths. Check the mark on the lens, or use --lens {}mm-macro.",
            plain(f),
            plain(close),
            plain(f)
        )));
    }
    Ok(())
}
