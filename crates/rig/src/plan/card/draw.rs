//! Drawing to scale: world millimetres to millimetres of paper, as SVG.

use std::fmt::Write;

/// A point of the drawing: millimetres of the world to the right and up, or of paper where it says so.
pub(super) type At = (f64, f64);

/// A drawing in the making.
pub(super) struct Sketch {
    out: String,
    /// Paper position of the world's origin, mm.
    origin: At,
    /// World millimetres per millimetre of paper.
    pub(super) scale: f64,
}

impl Sketch {
    /// A sheet with the world's origin at a paper position.
    pub(super) fn new(origin: At, scale: f64) -> Self {
        Self { out: String::new(), origin, scale }
    }

    /// Paper from world: up is up.
    pub(super) fn paper(&self, p: At) -> At {
        (self.origin.0 + p.0 / self.scale, self.origin.1 - p.1 / self.scale)
    }

    /// A straight line of the world.
    pub(super) fn line(&mut self, class: &str, a: At, b: At) {
        let (a, b) = (self.paper(a), self.paper(b));
        self.paper_line(class, a, b);
    }

    /// A straight line of the paper.
    pub(super) fn paper_line(&mut self, class: &str, a: At, b: At) {
        let _ = writeln!(
            self.out,
            r#"<line class="{class}" x1="{:.2}" y1="{:.2}" x2="{:.2}" y2="{:.2}"/>"#,
            a.0, a.1, b.0, b.1
        );
    }

    /// A closed outline of the world.
    pub(super) fn shape(&mut self, class: &str, points: &[At]) {
        let all: Vec<String> = points
            .iter()
            .map(|&p| {
                let (x, y) = self.paper(p);
                format!("{x:.2},{y:.2}")
            })
            .collect();
        let _ = writeln!(self.out, r#"<polygon class="{class}" points="{}"/>"#, all.join(" "));
    }

    /// A rectangle of the world by its middle and size.
    pub(super) fn rectangle(&mut self, class: &str, middle: At, w: f64, h: f64) {
        let (x, y) = (w / 2.0, h / 2.0);
        let corners = [(-x, y), (x, y), (x, -y), (-x, -y)].map(|(dx, dy)| (middle.0 + dx, middle.1 + dy));
        self.shape(class, &corners);
    }

    /// Words at a paper position; `anchor` is start, middle or end.
    pub(super) fn words(&mut self, class: &str, at: At, anchor: &str, words: &str) {
        self.turned(class, at, anchor, 0.0, words);
    }

    /// Words turned by degrees clockwise.
    pub(super) fn turned(&mut self, class: &str, at: At, anchor: &str, degrees: f64, words: &str) {
        let turn = if degrees == 0.0 {
            String::new()
        } else {
            format!(r#" transform="rotate({degrees:.1} {:.2} {:.2})""#, at.0, at.1)
        };
        let _ = writeln!(
            self.out,
            r#"<text class="{class}" x="{:.2}" y="{:.2}" text-anchor="{anchor}"{turn}>{}</text>"#,
            at.0,
            at.1,
            publish::text::escape(words)
        );
    }

    /// An arc of the paper about a world point, from one angle to another (degrees, counter-clockwise from right).
    pub(super) fn arc(&mut self, class: &str, about: At, radius: f64, from: f64, to: f64) {
        let (cx, cy) = self.paper(about);
        let end = |deg: f64| (cx + radius * deg.to_radians().cos(), cy - radius * deg.to_radians().sin());
        let (a, b) = (end(from), end(to));
        let _ = writeln!(
            self.out,
            r#"<path class="{class}" d="M{:.2} {:.2}A{radius:.2} {radius:.2} 0 0 {} {:.2} {:.2}"/>"#,
            a.0,
            a.1,
            u8::from(to < from),
            b.0,
            b.1
        );
    }

    /// A measure: a paper line between two paper points, ended by ticks square to it.
    pub(super) fn measure(&mut self, a: At, b: At) {
        self.paper_line("dim", a, b);
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let n = dx.hypot(dy).max(1e-9);
        let (tx, ty) = (-dy / n, dx / n);
        for p in [a, b] {
            self.paper_line("dim", (p.0 - tx, p.1 - ty), (p.0 + tx, p.1 + ty));
        }
    }

    /// A small arrow head at a paper point, pointing along degrees counter-clockwise from right.
    pub(super) fn head(&mut self, class: &str, at: At, degrees: f64) {
        let wing = |turn: f64| {
            let a = (degrees + 180.0 + turn).to_radians();
            (at.0 + 2.4 * a.cos(), at.1 - 2.4 * a.sin())
        };
        let (l, r) = (wing(24.0), wing(-24.0));
        let _ = writeln!(
            self.out,
            r#"<polygon class="{class}" points="{:.2},{:.2} {:.2},{:.2} {:.2},{:.2}"/>"#,
            at.0, at.1, l.0, l.1, r.0, r.1
        );
    }

    /// Markup of one's own.
    pub(super) fn raw(&mut self, markup: &str) {
        self.out.push_str(markup);
    }

    /// The finished drawing, `w` by `h` millimetres of paper, said in words for those who cannot see it.
    pub(super) fn finish(self, w: f64, h: f64, says: &str) -> String {
        format!(
            r#"<svg role="img" aria-label="{}" viewBox="0 0 {w} {h}" style="width:{w}mm;height:{h}mm">{}</svg>"#,
            publish::text::escape(says),
            self.out
        )
    }
}

/// Scales that a ruler can be laid on.
const SCALES: [f64; 18] =
    [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0];

/// The largest scale at which a world of this size fits the paper.
pub(super) fn scale_for(world: At, paper: At) -> f64 {
    let least = (world.0 / paper.0).max(world.1 / paper.1);
    SCALES.into_iter().find(|s| *s >= least).unwrap_or_else(|| (least / 50.0).ceil() * 50.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_world_fits_its_paper_at_a_scale_one_can_say() {
        assert_eq!(scale_for((800.0, 300.0), (80.0, 60.0)), 10.0);
        assert_eq!(scale_for((801.0, 300.0), (80.0, 60.0)), 12.0);
        assert_eq!(scale_for((20_000.0, 300.0), (80.0, 60.0)), 250.0);
        let s = Sketch::new((40.0, 50.0), 10.0);
        assert_eq!(s.paper((100.0, 200.0)), (50.0, 30.0));
    }
}
