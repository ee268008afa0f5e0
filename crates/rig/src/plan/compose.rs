//! Builds the result from the solved plan, with units and rounding as shown.

use super::answer::{
    Answer, CameraPlan, Direction, ExposurePlan, FocusPlan, ForecastPlan, GlossPlan, LightPlan, PrintPlan, SCHEMA,
    ShadowPlan, StandPlan, Taken, Told, WayPlan,
};
use super::{Known, Request, Units, concerns};
use geometry::{Angle, Length};
use optics::FNumber;
use optics::plan::{Lay, Plan, Top, forecast, stand};

/// Image degrees (clockwise) of a model azimuth (counter-clockwise), 0 to 360.
fn image(azimuth: Angle) -> f64 {
    // Rounded to a millionth so that a whole circle is 0.
    ((-azimuth.to_deg()).rem_euclid(360.0) * 1e6).round() / 1e6 % 360.0
}

fn pair(v: (Length, Length)) -> [f64; 2] {
    [v.0.to_mm(), v.1.to_mm()]
}

/// The answer in plain numbers.
pub(super) fn answer(r: &Request, known: &Known, plan: &Plan, units: Units) -> Answer {
    let stand = stand_of(r, plan);
    let mut concerns: Vec<Told> = plan.concerns.iter().map(|c| concerns::told(c, plan, units)).collect();
    concerns.extend(stand.as_ref().and_then(|s| concerns::tips(s, units)));
    concerns.sort_by_key(|c| !c.breaks_a_wish);
    rounded(Answer {
        schema: SCHEMA.into(),
        aim: r.aim,
        possible: concerns.iter().all(|c| !c.breaks_a_wish),
        concerns,
        taken: taken(r, known, plan),
        print: print(known, plan),
        camera: camera(known, plan),
        focus: focus(known, plan),
        light: light(known, plan, r),
        exposure: exposure(known, plan),
        shadow: shadow(plan),
        gloss: gloss(plan),
        ways: plan.ways.iter().map(way).collect(),
        forecast: r.prints.map(|n| forecast_of(r, known, plan, n)),
        stand,
    })
}

/// Every number to seven figures: no stand is set finer, and what is read back is what was written.
fn rounded(a: Answer) -> Answer {
    let all = serde_json::to_value(&a).map(|mut v| {
        round(&mut v);
        v
    });
    all.and_then(serde_json::from_value).unwrap_or(a)
}

fn round(value: &mut serde_json::Value) {
    use serde_json::Value;
    match value {
        Value::Array(all) => all.iter_mut().for_each(round),
        Value::Object(all) => all.values_mut().for_each(round),
        Value::Number(n) if n.is_f64() => {
            // Through text, so that the last figure is the nearest there is; under a billionth it is nothing.
            let v = n.as_f64().filter(|v| v.abs() > 1e-9).unwrap_or(0.0);
            *value = format!("{v:.6e}").parse::<f64>().map_or(Value::Null, Value::from);
        }
        _ => {}
    }
}

/// What was taken for granted; the elevation is known only now.
fn taken(r: &Request, known: &Known, plan: &Plan) -> Vec<Taken> {
    let elevation = base::wording::degrees(plan.lighting.light.elevation().to_deg());
    let free = r.light_elevation_deg.is_none().then_some(("elevation", elevation));
    let all = known.taken.iter().cloned().chain(free);
    all.map(|(what, value)| Taken { what: what.into(), value }).collect()
}

fn print(known: &Known, plan: &Plan) -> PrintPlan {
    PrintPlan {
        format: known.format.clone(),
        width_mm: known.wish.print.0.to_mm(),
        height_mm: known.wish.print.1.to_mm(),
        curl_mm: known.wish.lift.to_mm(),
        sideways: plan.framing.lay == Lay::Sideways,
        top_towards: match plan.lighting.top {
            Top::Up => Direction::Top,
            Top::Left => Direction::Left,
            Top::Down => Direction::Bottom,
            Top::Right => Direction::Right,
        },
        pixels_gained: plan.framing.gain,
    }
}

fn camera(known: &Known, plan: &Plan) -> CameraPlan {
    let f = &plan.framing;
    CameraPlan {
        sensor_mm: pair(known.wish.sensor),
        pixels: [known.wish.pixels.0, known.wish.pixels.1],
        focal_mm: f.focal.to_mm(),
        focal_chosen: f.focal_chosen,
        magnification: f.magnification,
        ppi: f.ppi,
        px_per_mm: f.ppi / 25.4,
        ppi_asked: known.wish.asked.ppi,
        field_mm: pair(f.field),
        margin_mm: f.margin.to_mm(),
        margin_wanted_mm: f.margin_wanted.to_mm(),
        height_mm: f.height.to_mm(),
        lens_height_mm: f.lens_height.to_mm(),
        lens_front_mm: known.wish.lens_front.to_mm(),
    }
}

fn focus(known: &Known, plan: &Plan) -> FocusPlan {
    let f = &plan.focus;
    FocusPlan {
        f_number: f.set.0,
        working_f_number: f.working.0,
        balanced_f_number: f.balanced.0,
        f_number_range: f.range.map(|(FNumber(a), FNumber(b))| [a, b]),
        focus_height_mm: f.height.to_mm(),
        depth_mm: f.depth.to_mm(),
        depth_one_pixel_mm: f.depth_pixel.to_mm(),
        airy_px: f.airy_px,
        blur_mm: f.blur.to_mm(),
        holds_ppi: f.holds_ppi,
        curl_most_mm: f.lift_most.to_mm(),
        level_deg: f.level.to_deg(),
        shim_mm: known.board.to_mm() * f.level.to_rad().tan(),
        board_mm: known.board.to_mm(),
    }
}

fn light(known: &Known, plan: &Plan, r: &Request) -> LightPlan {
    let l = &plan.lighting;
    LightPlan {
        azimuth_deg: image(l.light.azimuth()),
        upright_azimuth_deg: image(l.upright_azimuth),
        elevation_deg: l.light.elevation().to_deg(),
        distance_mm: l.light.distance().to_mm(),
        distance_chosen: !l.given,
        height_mm: l.light.position.z,
        aside_mm: l.light.position.plan().norm(),
        source_mm: r.source_mm.clone().unwrap_or_else(|| vec![70.0, 50.0]),
        fall_off_stops: l.fall_off.value(),
        fall_off_asked_stops: known.wish.asked.fall_off.value(),
        distance_for_aim_mm: l.needs.map(|n| n.0.to_mm()),
        cost_stops: l.needs.map(|n| n.1.value()),
        two_lights_fall_off_stops: l.two_fall_off.value(),
        two_lights_distance_mm: l.two_need.map(Length::to_mm),
    }
}

fn exposure(known: &Known, plan: &Plan) -> ExposurePlan {
    let e = &plan.exposing;
    ExposurePlan {
        iso: e.iso,
        shutter_s: e.shutter,
        sync_s: known.wish.sync,
        guide_m: e.flash.map(|f| f.guide.to_metres(100.0)),
        power: e.flash.map(|f| f.power),
        full_power_f_number: e.flash.map(|f| f.full_power_set.0),
        slant_stops: e.slant.value(),
        guide_wanted_m: e.guide_wanted.to_metres(100.0),
        dose_lux_s: e.dose,
        ambient_lux: known.wish.ambient.map(|l| l.0),
        ambient_below_stops: e.ambient_below.map(|s| s.value()),
        ambient_asked_stops: known.wish.asked.ambient.value(),
        ambient_most_lux: e.ambient_most.0,
        shutter_for_ambient_s: e.shutter_for,
    }
}

fn shadow(plan: &Plan) -> ShadowPlan {
    let s = &plan.shadow;
    ShadowPlan {
        azimuth_deg: image(s.falls),
        upright_azimuth_deg: image(s.falls + plan.lighting.top.turn()),
        flat_width_mm: s.flat.centre().to_mm(),
        width_mm: s.lifted.centre().to_mm(),
        umbra_mm: s.lifted.umbra().to_mm(),
        end_mm: s.lifted.end().to_mm(),
        softness_mm: s.lifted.softness().to_mm(),
        depth: s.depth,
    }
}

fn gloss(plan: &Plan) -> GlossPlan {
    let g = &plan.gloss;
    GlossPlan {
        glare_mm: [g.glare.x, -g.glare.y],
        clear_mm: g.clear.to_mm(),
        flat_below_deg: g.flat_below.map(Angle::to_deg),
        curled_below_deg: g.curled_below.map(Angle::to_deg),
        slope_most_deg: g.slope.to_deg(),
        curl_most_mm: g.lift_most.to_mm(),
        card_mm: pair(g.card),
        card_to_light_mm: g.card_to_light.to_mm(),
        card_height_mm: g.card_height.to_mm(),
        hole_mm: g.hole.to_mm(),
        ceiling_mm: pair(g.ceiling),
    }
}

fn way(w: &optics::plan::Way) -> WayPlan {
    WayPlan {
        light: if w.flash { "flash" } else { "lamp" }.into(),
        shots: w.shots,
        ppi: w.ppi,
        useful_ppi: w.useful_ppi,
        whole_colour: w.whole_colour,
        dose_lux_s: w.dose,
        seconds: w.seconds,
        room_below_stops: w.room_below.map(|s| s.value()),
    }
}

fn forecast_of(r: &Request, known: &Known, plan: &Plan, prints: f64) -> ForecastPlan {
    let backs = r.backs.unwrap_or(super::Backs::None).share();
    let f = forecast::forecast(prints, backs, known.wish.pixels, known.wish.print, &plan.framing);
    let both = |v: (f64, f64)| [v.0, v.1];
    ForecastPlan {
        prints: f.prints,
        backs: f.backs,
        hours: both(f.hours),
        hours_with_breaks: both(f.hours_with_breaks),
        frames_gb: both(f.frames_gb),
        finished_gb: both(f.finished_gb),
    }
}

/// The stand, once its base or its arm is spoken of; what is missing is usual: 1.5 kg of camera, an arm that reaches to
/// the middle of the field and a base as deep again.
fn stand_of(r: &Request, plan: &Plan) -> Option<StandPlan> {
    if [r.arm_reach_mm, r.base_mm, r.base_kg, r.camera_kg, r.arm_kg].iter().all(Option::is_none) {
        return None;
    }
    let s = stand::Stand {
        camera_kg: r.camera_kg.unwrap_or(1.5),
        arm_kg: r.arm_kg.unwrap_or(0.0),
        reach: Length::mm(r.arm_reach_mm.unwrap_or(350.0)),
        base: Length::mm(r.base_mm.unwrap_or(500.0)),
        base_kg: r.base_kg,
    };
    Some(StandPlan {
        camera_kg: s.camera_kg,
        arm_reach_mm: s.reach.to_mm(),
        base_mm: s.base.to_mm(),
        margin: s.margin(),
        margin_asked: stand::MARGIN,
        base_kg_wanted: s.base_kg_wanted(),
        arm_reach_most_mm: s.reach_most().map(Length::to_mm),
        pull_n: s.pull(plan.framing.height),
    })
}
