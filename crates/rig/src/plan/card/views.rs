//! Side view and top view at the same scale, with dimensions where they apply.

use super::draw::{At, Sketch, scale_for};
use crate::plan::answer::Answer;
use crate::plan::quantity::side_name;
use crate::plan::units::Units;
use base::wording::degrees;

/// Paper of both views together, and the most one may be high, mm.
const PAPER: At = (188.0, 84.0);
/// Paper left free for words around the side view: left, right, top, bottom.
const FREE: [f64; 4] = [6.0, 17.0, 2.0, 8.0];
/// The same around the top view, each side: the words at the arrow's end.
const FREE_TOP: f64 = 7.0;
/// Camera body as drawn, world mm: width and height over the sensor, and below it.
const BODY: (f64, f64, f64) = (130.0, 40.0, 25.0);

/// Half of a rectangle's extent along a direction (degrees).
fn along(w: f64, h: f64, azimuth: f64) -> f64 {
    let (s, c) = azimuth.to_radians().sin_cos();
    (c.abs() * w + s.abs() * h) / 2.0
}

/// The print as it lies: width and height in the frame.
pub(super) fn laid(a: &Answer) -> At {
    let p = &a.print;
    if p.sideways { (p.height_mm, p.width_mm) } else { (p.width_mm, p.height_mm) }
}

/// What both views need to know of the world, mm.
struct World {
    scale: f64,
    /// Reach to the light's side and to the other, and up, seen from the side.
    near: f64,
    far: f64,
    high: f64,
    /// Left, right, bottom and top ends seen from above.
    plan: [f64; 4],
}

fn source(a: &Answer) -> At {
    match a.light.source_mm[..] {
        [w, h, ..] => (w, h),
        [d] => (d, d),
        [] => (70.0, 50.0),
    }
}

fn world(a: &Answer) -> World {
    let (l, g) = (&a.light, &a.gloss);
    let (w, h) = source(a);
    let size = w.max(h) / 2.0 + 60.0;
    let card = along(g.card_mm[0], g.card_mm[1], l.azimuth_deg);
    let (near, far) = ((l.aside_mm + size).max(card), card.max(120.0));
    let high = (l.height_mm + size).max(a.camera.height_mm + BODY.1);
    let at = aside(a);
    let ends = |light: f64, half: f64| [(light - size).min(-half), (light + size).max(half)];
    let (x, y) = (ends(at.0, g.card_mm[0] / 2.0), ends(at.1, g.card_mm[1] / 2.0));
    let free = (PAPER.0 - FREE[0] - FREE[1] - 2.0 * FREE_TOP, PAPER.1 - FREE[2] - FREE[3]);
    let world = (near + far + x[1] - x[0], high.max(y[1] - y[0]));
    World { scale: scale_for(world, free), near, far, high, plan: [x[0], x[1], y[0], y[1]] }
}

/// Where the light stands, seen from above: right and up from the print's middle.
fn aside(a: &Answer) -> At {
    let (sin, cos) = (-a.light.azimuth_deg).to_radians().sin_cos();
    (a.light.aside_mm * cos, a.light.aside_mm * sin)
}

/// The scale of both views, as "1 : 20".
pub(super) fn scale_words(a: &Answer) -> String {
    format!("1 : {}", world(a).scale)
}

/// The plane of light and lens, from the side, the light on the left.
pub(super) fn side(a: &Answer, units: Units) -> String {
    let w = world(a);
    let paper = ((w.near + w.far) / w.scale + FREE[0] + FREE[1], w.high / w.scale + FREE[2] + FREE[3]);
    let mut s = Sketch::new((FREE[0] + w.near / w.scale, paper.1 - FREE[3]), w.scale);
    bed(&mut s, a, &w);
    camera(&mut s, a, units, &w);
    light(&mut s, a, units);
    fall(&mut s, a);
    let says = format!(
        "Side view to scale: the sensor {} over the bed, the light {} from the print at {}.",
        units.set(a.camera.height_mm),
        units.set(a.light.distance_mm),
        degrees(a.light.elevation_deg)
    );
    s.finish(paper.0, paper.1, &says)
}

fn bed(s: &mut Sketch, a: &Answer, w: &World) {
    let (pw, ph) = laid(a);
    let half = along(pw, ph, a.light.azimuth_deg);
    s.line("bed", (-w.near, 0.0), (w.far, 0.0));
    let (l, r) = (s.paper((-half, 0.0)), s.paper((half, 0.0)));
    s.paper_line("print", (l.0, l.1 - 0.35), (r.0, r.1 - 0.35));
}

fn camera(s: &mut Sketch, a: &Answer, units: Units, w: &World) {
    let c = &a.camera;
    let (top, lens) = (c.height_mm, c.lens_height_mm);
    let az = a.light.azimuth_deg;
    let see = along(c.field_mm[0], c.field_mm[1], az);
    s.line("sight", (0.0, lens), (-see, 0.0));
    s.line("sight", (0.0, lens), (see, 0.0));
    let card = along(a.gloss.card_mm[0], a.gloss.card_mm[1], az);
    let hole = a.gloss.hole_mm / 2.0;
    if a.gloss.card_to_light_mm > hole {
        s.line("card", (-a.gloss.card_to_light_mm, lens), (-hole, lens));
    }
    s.line("card", (hole, lens), (card, lens));
    let front = c.lens_front_mm;
    s.rectangle("solid", (0.0, (lens + top) / 2.0), front, (top - lens).max(20.0));
    s.rectangle("solid", (0.0, top + (BODY.1 - BODY.2) / 2.0), BODY.0, BODY.1 + BODY.2);
    s.line("sensor", (-BODY.0 / 2.0, top), (BODY.0 / 2.0, top));
    // Heights stand to the right, the lens's inside the sensor's.
    let x = s.paper((w.far, 0.0)).0;
    let (floor, at_lens, at_top) = (s.paper((0.0, 0.0)).1, s.paper((0.0, lens)).1, s.paper((0.0, top)).1);
    let edge = s.paper((card, 0.0)).0;
    s.paper_line("lead", (edge, at_lens), (x + 4.0, at_lens));
    s.paper_line("lead", (s.paper((BODY.0 / 2.0, 0.0)).0, at_top), (x + 11.5, at_top));
    s.measure((x + 3.0, floor), (x + 3.0, at_lens));
    s.measure((x + 10.5, floor), (x + 10.5, at_top));
    let (lens, top) = (format!("lens {}", units.set(lens)), format!("sensor {}", units.set(top)));
    // Upright beside their measures; level beside both where the drawing is too small for that.
    if floor - at_lens > 1.6 * top.chars().count() as f64 {
        s.turned("label", (x + 2.2, (floor + at_lens) / 2.0), "middle", -90.0, &lens);
        s.turned("set", (x + 9.7, (floor + at_top) / 2.0), "middle", -90.0, &top);
    } else {
        s.words("set", (x + 12.3, at_top + 0.9), "start", &top);
        s.words("label", (x + 12.3, (at_top + 0.9 + 3.4).max(at_lens + 0.9)), "start", &lens);
    }
    if card / s.scale > 12.0 {
        let p = (s.paper((card, 0.0)).0, at_lens);
        s.words("label", (p.0 - 0.5, p.1 - 1.2), "end", "card");
    }
}

fn light(s: &mut Sketch, a: &Answer, units: Units) {
    let l = &a.light;
    let at = (-l.aside_mm, l.height_mm);
    let (pw, ph) = laid(a);
    let half = along(pw, ph, l.azimuth_deg);
    s.line("ray", at, (-half, 0.0));
    s.line("ray", at, (half, 0.0));
    let glare = l.aside_mm * a.camera.lens_height_mm / (a.camera.lens_height_mm + l.height_mm);
    s.line("mirror", at, (-glare, 0.0));
    s.line("mirror", (-glare, 0.0), (0.0, a.camera.lens_height_mm));
    s.line("axis", at, (0.0, 0.0));
    flash(s, at, l.elevation_deg, source(a).1.max(source(a).0.min(source(a).1)));
    let (p, o) = (s.paper(at), s.paper((0.0, 0.0)));
    let words = units.set(l.distance_mm);
    let t = free_of_card(s, a, &words);
    let middle = (p.0 + (o.0 - p.0) * t, p.1 + (o.1 - p.1) * t);
    let e = l.elevation_deg.to_radians();
    let off = (middle.0 + 1.3 * e.sin(), middle.1 - 1.3 * e.cos());
    s.turned("set", off, "middle", l.elevation_deg, &words);
    s.arc("dim", (0.0, 0.0), 12.5, 180.0, 180.0 - l.elevation_deg);
    let half_way = (180.0 - l.elevation_deg / 2.0).to_radians();
    s.words("set", (o.0 + 8.6 * half_way.cos(), o.1 - 8.6 * half_way.sin() + 0.9), "middle", &degrees(l.elevation_deg));
    // Height and reach of the light, on the paper below and beside it.
    s.paper_line("lead", p, (p.0, o.1 + 4.0));
    s.measure((p.0, o.1 + 3.2), (o.0, o.1 + 3.2));
    let reach = units.set(l.aside_mm);
    if o.0 - p.0 > 12.0 {
        s.words("label", ((p.0 + o.0) / 2.0, o.1 + 6.4), "middle", &format!("{reach} aside"));
    }
    if o.1 - p.1 > 16.0 {
        s.turned("label", (p.0 - 1.0, (p.1 + o.1) / 2.0), "middle", -90.0, &format!("{} high", units.set(l.height_mm)));
    }
    let g = s.paper((-glare, 0.0));
    s.paper_line("tick", (g.0, g.1 - 1.2), (g.0, g.1 + 1.2));
}

/// How far along the light's axis its words can stand without crossing the card: 0 at the light, 1 at the print.
fn free_of_card(s: &Sketch, a: &Answer, words: &str) -> f64 {
    let l = &a.light;
    let card = along(a.gloss.card_mm[0], a.gloss.card_mm[1], l.azimuth_deg);
    // Half the words' length, about 1.5 mm of paper a letter, as world millimetres of height, with a little air.
    let half = (words.chars().count() as f64 * 0.8 + 2.0) * s.scale * l.elevation_deg.to_radians().sin();
    let clear = |t: f64| {
        let (x, z) = (l.aside_mm * (1.0 - t), l.height_mm * (1.0 - t));
        x > card + half || (z - a.camera.lens_height_mm).abs() > half
    };
    [0.42, 0.34, 0.5, 0.26, 0.6, 0.68].into_iter().find(|&t| clear(t)).unwrap_or(0.42)
}

/// A flash from the side.
fn flash(s: &mut Sketch, at: At, elevation: f64, face: f64) {
    let (sin, cos) = elevation.to_radians().sin_cos();
    body(s, at, (-cos, sin), face);
}

/// A flash: its face square to the axis, its body behind, `out` the direction away from the print. A hand flash is about 55 mm
/// deep and 60 mm wide behind its face (common practice, no source).
fn body(s: &mut Sketch, at: At, out: At, face: f64) {
    let along = (out.1, -out.0);
    let corner = |o: f64, f: f64| (at.0 + out.0 * o + along.0 * f, at.1 + out.1 * o + along.1 * f);
    let (f, b) = (face / 2.0, (face / 2.0).clamp(15.0, 30.0));
    s.shape(
        "solid",
        &[corner(0.0, -f), corner(0.0, f), corner(30.0, b), corner(55.0, b), corner(55.0, -b), corner(30.0, -b)],
    );
    s.line("face", corner(0.0, -f), corner(0.0, f));
}

fn fall(s: &mut Sketch, a: &Answer) {
    let o = s.paper((0.0, 0.0));
    let from = (o.0 + 4.0, o.1 + 3.2);
    let to = (from.0 + 12.0, from.1);
    s.paper_line("axis", from, (to.0 - 2.0, to.1));
    s.head("head", to, 0.0);
    let words = format!("shadow falls: frame's {}", side_name(a.shadow.azimuth_deg).replace('-', " "));
    s.words("label", (from.0, from.1 + 3.4), "start", &words);
}

/// The bed from above, as the frame shows it.
pub(super) fn top(a: &Answer, units: Units) -> String {
    let w = world(a);
    let l = &a.light;
    let at = aside(a);
    let card = (a.gloss.card_mm[0] / 2.0, a.gloss.card_mm[1] / 2.0);
    let [left, right, bottom, top] = w.plan;
    let paper = ((right - left) / w.scale + 2.0 * FREE_TOP, (top - bottom) / w.scale + 2.0 * FREE_TOP);
    let mut s = Sketch::new((FREE_TOP - left / w.scale, FREE_TOP + top / w.scale), w.scale);
    let (pw, ph) = laid(a);
    s.rectangle("cut", (0.0, 0.0), card.0 * 2.0, card.1 * 2.0);
    s.rectangle("field", (0.0, 0.0), a.camera.field_mm[0], a.camera.field_mm[1]);
    s.rectangle("paper", (0.0, 0.0), pw, ph);
    s.line("axis", at, (0.0, 0.0));
    lamp(&mut s, at, source(a).0);
    let (o, p) = (s.paper((0.0, 0.0)), s.paper(at));
    // Words along the axis, never upside down, on the side away from the print.
    let along = (p.1 - o.1).atan2(p.0 - o.0).to_degrees();
    let turn = if along.abs() > 90.0 { along + 180.0 } else { along };
    let mid = (o.0 + (p.0 - o.0) * 0.6, o.1 + (p.1 - o.1) * 0.6);
    let up = turn.to_radians();
    if (p.0 - o.0).hypot(p.1 - o.1) > 14.0 {
        s.turned(
            "set",
            (mid.0 + 1.3 * up.sin(), mid.1 - 1.3 * up.cos()),
            "middle",
            turn,
            &format!("{} aside", units.set(l.aside_mm)),
        );
    }
    // The fall side, opposite: an arrow from the print's edge outwards.
    let (dx, dy) =
        ((o.0 - p.0) / (o.0 - p.0).hypot(o.1 - p.1).max(1e-9), (o.1 - p.1) / (o.0 - p.0).hypot(o.1 - p.1).max(1e-9));
    let start = along_edge(pw, ph, dx, dy) / s.scale + 1.5;
    let (a0, a1) = ((o.0 + dx * start, o.1 + dy * start), (o.0 + dx * (start + 9.0), o.1 + dy * (start + 9.0)));
    s.paper_line("axis", a0, (a1.0 - dx * 2.0, a1.1 - dy * 2.0));
    s.head("head", a1, (-dy).atan2(dx).to_degrees());
    if dy.abs() < 0.4 {
        let middle = ((a0.0 + a1.0) / 2.0, a0.1 + 3.6);
        s.words("label", middle, "middle", "fall side");
    } else {
        // Straight up or down the words stand beside the arrow, else at its end.
        let (at, anchor) = match dx {
            v if v.abs() < 0.3 => ((a1.0 + 1.8, (a0.1 + a1.1) / 2.0 + 1.0), "start"),
            v => ((a1.0 + v * 1.5, a1.1 + if dy < 0.0 { -1.0 } else { 3.6 }), if v > 0.0 { "start" } else { "end" }),
        };
        s.words("label", at, anchor, "fall side");
    }
    card_words(&mut s, card, (dx, dy));
    let says = format!(
        "Top view to scale: the light at the frame's {}, {} aside.",
        side_name(l.azimuth_deg),
        units.set(l.aside_mm)
    );
    s.finish(paper.0, paper.1, &says)
}

/// "card at the lens", where neither the light nor the arrow of its fall is: `fall` on paper.
fn card_words(s: &mut Sketch, card: At, fall: At) {
    let words = "card at the lens";
    // Where light and fall leave the card by its sides, its top is free, and the other way round; on the diagonal the
    // corners are taken.
    if fall.1.abs() * 1.2 < fall.0.abs() {
        let c = s.paper((-card.0, card.1));
        s.words("label", (c.0, c.1 - 1.0), "start", words);
    } else if fall.0.abs() * 1.2 < fall.1.abs() {
        let c = s.paper((card.0, 0.0));
        s.turned("label", (c.0 + 1.2, c.1), "middle", 90.0, words);
    } else {
        // On the fall's side of the card, away from where it falls: the light comes in by the corner opposite.
        let up = fall.1 < 0.0;
        let c = s.paper((0.0, if up { card.1 } else { -card.1 }));
        let anchor = if fall.0 > 0.0 { "end" } else { "start" };
        s.words("label", (c.0, c.1 + if up { -1.0 } else { 3.2 }), anchor, words);
    }
}

/// From the middle of a rectangle to its edge along a direction.
fn along_edge(w: f64, h: f64, cos: f64, sin: f64) -> f64 {
    (w / 2.0 / cos.abs().max(1e-9)).min(h / 2.0 / sin.abs().max(1e-9))
}

/// A flash from above: its face towards the print.
fn lamp(s: &mut Sketch, at: At, face: f64) {
    let n = at.0.hypot(at.1).max(1e-9);
    body(s, at, (at.0 / n, at.1 / n), face);
}
