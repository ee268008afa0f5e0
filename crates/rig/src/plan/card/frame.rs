//! The frame to scale: the print, the bed around it, and its expected shadow.

use super::draw::{At, Sketch, scale_for};
use super::views::laid;
use crate::plan::answer::{Answer, Direction};
use crate::plan::units::Units;
use std::fmt::Write;

/// Paper of the drawing, mm.
pub(super) const PAPER: At = (84.0, 60.0);

/// Draws the frame.
pub(super) fn frame(a: &Answer, units: Units) -> String {
    let [fw, fh] = a.camera.field_mm;
    let scale = scale_for((fw, fh), (PAPER.0 - 1.0, PAPER.1 - 1.0));
    let (w, h) = (fw / scale + 1.0, fh / scale + 1.0);
    let mut s = Sketch::new((w / 2.0, h / 2.0), scale);
    s.rectangle("bedding", (0.0, 0.0), fw, fh);
    let (pw, ph) = laid(a);
    shadow(&mut s, a, (pw, ph));
    s.rectangle("paper", (0.0, 0.0), pw, ph);
    window(&mut s, a);
    margin(&mut s, a, units, (pw, ph));
    light(&mut s, a, (w, h));
    let says = format!(
        "The frame, to scale: the print {}, its top towards the {}, {} of bed at the narrowest side.",
        if a.print.sideways { "sideways" } else { "upright" },
        a.print.top_towards.word(),
        units.set(a.camera.margin_mm)
    );
    s.finish(w, h, &says)
}

/// The scale, as "1 : 2".
pub(super) fn scale_words(a: &Answer) -> String {
    let [fw, fh] = a.camera.field_mm;
    format!("1 : {}", scale_for((fw, fh), (PAPER.0 - 1.0, PAPER.1 - 1.0)))
}

/// The shadow of the lifted edge: the print's outline moved along the fall and softened by its penumbra. A Gaussian's 5 to
/// 95 % spans 3.3 of its widths.
fn shadow(s: &mut Sketch, a: &Answer, (pw, ph): At) {
    let sh = &a.shadow;
    // Widths are square to the edges; along the fall it is longer by the turn.
    let (sin, cos) = sh.azimuth_deg.to_radians().sin_cos();
    let reach = sh.width_mm / sin.abs().max(cos.abs());
    let (dx, dy) = (reach * cos, -reach * sin);
    let soft = (sh.softness_mm / 3.3 / s.scale).max(0.12);
    let corners = [(-pw, ph), (pw, ph), (pw, -ph), (-pw, -ph)].map(|(x, y)| s.paper((x / 2.0 + dx, y / 2.0 + dy)));
    let all: Vec<String> = corners.iter().map(|(x, y)| format!("{x:.2},{y:.2}")).collect();
    let mut markup = String::new();
    let _ = write!(
        markup,
        r#"<filter id="soft" x="-20%" y="-20%" width="140%" height="140%"><feGaussianBlur stdDeviation="{soft:.3}"/></filter><polygon class="shade" filter="url(#soft)" points="{}"/>"#,
        all.join(" ")
    );
    s.raw(&markup);
}

/// The window of a known format, and the word for the print's top.
fn window(s: &mut Sketch, a: &Answer) {
    let p = &a.print;
    let upright = |x: f64, y: f64| turn((x - p.width_mm / 2.0, p.height_mm / 2.0 - y), p.top_towards);
    if let Some(f) = print::format::known().into_iter().find(|f| f.name == p.format) {
        let (l, t) = f.inset;
        let (r, b) = (l + f.window.0, t + f.window.1);
        s.shape("pane", &[upright(l, t), upright(r, t), upright(r, b), upright(l, b)]);
    }
    // The word stands inside the picture, reading as the print does.
    let at = s.paper(upright(p.width_mm / 2.0, p.height_mm * 0.14));
    let degrees = match p.top_towards {
        Direction::Top => 0.0,
        Direction::Left => -90.0,
        Direction::Bottom => 180.0,
        Direction::Right => 90.0,
    };
    s.turned("label top", at, "middle", degrees, "top");
}

/// An arrow at the frame's rim, from where the light comes.
fn light(s: &mut Sketch, a: &Answer, (w, h): At) {
    let (sin, cos) = a.light.azimuth_deg.to_radians().sin_cos();
    // From the rim inwards, along the light.
    let rim = ((w / 2.0 - 1.5) / cos.abs().max(1e-9)).min((h / 2.0 - 1.5) / sin.abs().max(1e-9));
    let at = |r: f64| (w / 2.0 + r * cos, h / 2.0 + r * sin);
    // It ends short of the print.
    let (pw, ph) = laid(a);
    let print = (pw / 2.0 / cos.abs().max(1e-9)).min(ph / 2.0 / sin.abs().max(1e-9)) / s.scale;
    let end = (rim - 7.5).max(print + 0.8).min(rim - 3.0);
    s.paper_line("axis", at(rim), at(end + 2.0));
    s.head("head", at(end), 180.0 - a.light.azimuth_deg);
    // Beside the shaft, on the side that has more frame.
    let (nx, ny) = if sin.abs() > cos.abs() { (2.0, 0.9) } else { (0.0, if sin > 0.0 { -2.2 } else { 3.8 }) };
    let middle = at(rim - 3.0);
    let anchor = if sin.abs() > cos.abs() { "start" } else { "middle" };
    s.words("label", (middle.0 + nx, middle.1 + ny), anchor, "light");
}

/// The upright print's coordinates (right, up, from its middle) as it lies in the frame.
fn turn((x, y): At, top: Direction) -> At {
    match top {
        Direction::Top => (x, y),
        Direction::Left => (-y, x),
        Direction::Bottom => (-x, -y),
        Direction::Right => (y, -x),
    }
}

/// The narrowest bed, measured where it is.
fn margin(s: &mut Sketch, a: &Answer, units: Units, (pw, ph): At) {
    let [fw, fh] = a.camera.field_mm;
    let words = units.set(a.camera.margin_mm);
    if (fh - ph) <= (fw - pw) {
        // On the light's side, where there is no shadow to cross.
        let up = if a.shadow.azimuth_deg.to_radians().sin() > 0.0 { 1.0 } else { -1.0 };
        let x = if a.light.azimuth_deg.to_radians().cos() > 0.1 { -0.3 * pw } else { 0.3 * pw };
        let (p, q) = (s.paper((x, up * ph / 2.0)), s.paper((x, up * fh / 2.0)));
        s.measure(p, q);
        s.words("set", (p.0 + 1.4, (p.1 + q.1) / 2.0 + 0.9), "start", &words);
    } else {
        let right = if a.shadow.azimuth_deg.to_radians().cos() < 0.0 { 1.0 } else { -1.0 };
        let y = if a.light.azimuth_deg.to_radians().sin() < -0.1 { -0.3 * ph } else { 0.3 * ph };
        let (p, q) = (s.paper((right * pw / 2.0, y)), s.paper((right * fw / 2.0, y)));
        s.measure(p, q);
        // Along the gap: it is seldom wide enough for words across it.
        s.turned("set", ((p.0 + q.0) / 2.0 - 0.9, p.1 + 2.0), "start", 90.0, &words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_top_of_the_print_points_where_it_is_said() {
        assert_eq!(turn((0.0, 1.0), Direction::Left), (-1.0, 0.0));
        assert_eq!(turn((0.0, 1.0), Direction::Right), (1.0, 0.0));
        assert_eq!(turn((0.0, 1.0), Direction::Bottom), (0.0, -1.0));
        // A quarter turn, not a mirror image: the upright print's right lies at the frame's top where its top is left.
        assert_eq!(turn((1.0, 0.0), Direction::Left), (0.0, 1.0));
    }
}
