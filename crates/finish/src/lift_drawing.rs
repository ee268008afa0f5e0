//! The lift of a print's edges as a drawing: the print's outline, and each edge's height laid outwards from it, with its error as a band.
//!
//! Pure arithmetic, for the page of results and for the desk's page, which draw the same lines.

use crate::report::{EdgeFacts, LiftFacts};
use schemars::JsonSchema;
use serde::Serialize;

/// The drawing, in units of its own: a character of its text is six wide.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LiftDrawing {
    /// Width and height.
    pub size: [f64; 2],
    /// The print: left, top, width, height.
    pub print: [f64; 4],
    /// The edges that were measured: left, top, right, bottom.
    pub edges: Vec<EdgeDrawing>,
    /// A mark as long as a millimetre of height: left end, its line, length.
    pub mark: [f64; 3],
}

/// One edge.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct EdgeDrawing {
    /// True where its own shadow was measured.
    pub seen: bool,
    /// Its height.
    pub line: Vec<[f64; 2]>,
    /// The outline of one standard deviation about it.
    pub band: Vec<[f64; 2]>,
    /// Where its largest height is written.
    pub at: [f64; 2],
    /// `start`, `middle` or `end` of the text lies there.
    pub anchor: &'static str,
    /// The largest height and its error: "1.9 ± 0.2 mm".
    pub label: String,
}

/// The print's longer side: twice the width of a label.
const LONG: f64 = 130.0;
/// Room around the print for the heights.
const ROOM: f64 = 40.0;
/// Most units of a millimetre of height: a flat print's half a millimetre is seen, and is no bend.
const MM: f64 = 12.0;
/// From an edge to its label.
const GAP: f64 = 6.0;
/// Height of the label's capitals.
const CAPITAL: f64 = 8.0;

impl LiftDrawing {
    /// The drawing of a report's lift; `None` where it tells too little of the edges.
    pub fn of(facts: &LiftFacts) -> Option<Self> {
        let [left, top, _, _] = &facts.edges[..] else { return None };
        let (w, h) = (*top.along_mm.last()?, *left.along_mm.last()?);
        let sound = facts.edges.iter().all(|e| {
            let lists = [&e.along_mm, &e.height_mm, &e.sigma_mm];
            lists.iter().all(|l| l.len() >= 2 && l.len() == e.along_mm.len() && l.iter().all(|v| v.is_finite()))
        });
        if !(sound && w > 0.0 && h > 0.0) {
            return None;
        }
        let scale = LONG / w.max(h);
        let print = [ROOM, ROOM, w * scale, h * scale];
        let reach =
            facts.edges.iter().flat_map(|e| e.height_mm.iter().zip(&e.sigma_mm)).fold(0.5f64, |m, (h, s)| m.max(h + s));
        let mm = MM.min((ROOM - 4.0) / reach);
        let edges = facts.edges.iter().enumerate().map(|(k, e)| edge(k, e, print, scale, mm)).collect();
        let size = [print[2] + 2.0 * ROOM, print[3] + 2.0 * ROOM];
        // Beside the corner, where no edge is drawn.
        Some(Self { size, print, edges, mark: [4.0, size[1] - 8.0, mm].map(tenth) }.rounded())
    }

    fn rounded(mut self) -> Self {
        self.size = self.size.map(tenth);
        self.print = self.print.map(tenth);
        self
    }

    /// The drawing as SVG; `says` tells it to who cannot see it and is already escaped.
    pub fn svg(&self, says: &str) -> String {
        let points = |line: &[[f64; 2]]| line.iter().map(|[x, y]| format!("{x},{y}")).collect::<Vec<_>>().join(" ");
        let edge = |e: &EdgeDrawing| {
            format!(
                "<g class=\"{}\"><polygon points=\"{}\"/><polyline points=\"{}\"/><text x=\"{}\" y=\"{}\" text-anchor=\"{}\">{}</text></g>",
                if e.seen { "seen" } else { "told" },
                points(&e.band),
                points(&e.line),
                e.at[0],
                e.at[1],
                e.anchor,
                e.label
            )
        };
        let edges: String = self.edges.iter().map(edge).collect();
        let ([w, h], [x, y, pw, ph], [mx, my, mm]) = (self.size, self.print, self.mark);
        format!(
            "<svg class=\"lift\" viewBox=\"0 0 {w} {h}\" role=\"img\" aria-label=\"{says}\"><rect x=\"{x}\" y=\"{y}\" width=\"{pw}\" \
             height=\"{ph}\"/>{edges}<path d=\"M{mx} {my}h{mm}\"/><text x=\"{}\" y=\"{}\">1 mm</text></svg>",
            tenth(mx + mm + 4.0),
            tenth(my + 3.0)
        )
    }
}

fn tenth(v: f64) -> f64 {
    (v * 10.0).round() / 10.0
}

/// Edge `k` of left, top, right, bottom.
fn edge(k: usize, e: &EdgeFacts, [x, y, w, h]: [f64; 4], scale: f64, mm: f64) -> EdgeDrawing {
    let at = |along: f64, height: f64| {
        let (a, out) = (along * scale, height * mm);
        [[x - out, y + a], [x + a, y - out], [x + w + out, y + a], [x + a, y + h + out]][k].map(tenth)
    };
    let along = |height: &dyn Fn(usize) -> f64| -> Vec<[f64; 2]> {
        (0..e.along_mm.len()).map(|i| at(e.along_mm[i], height(i))).collect()
    };
    let mut band = along(&|i| e.height_mm[i] + e.sigma_mm[i]);
    // What lies under the paper is no height.
    band.extend(along(&|i| (e.height_mm[i] - e.sigma_mm[i]).max(0.0)).into_iter().rev());
    let most = (0..e.height_mm.len()).max_by(|a, b| e.height_mm[*a].total_cmp(&e.height_mm[*b])).unwrap_or(0);
    // Left and right labels at heights of their own: a narrow print has no room for two on one line.
    let (at, anchor) = [
        ([x + GAP, y + 0.42 * h], "start"),
        ([x + w / 2.0, y + GAP + CAPITAL], "middle"),
        ([x + w - GAP, y + 0.62 * h], "end"),
        ([x + w / 2.0, y + h - GAP], "middle"),
    ][k];
    EdgeDrawing {
        seen: e.is_seen(),
        line: along(&|i| e.height_mm[i]),
        band,
        at: at.map(tenth),
        anchor,
        label: format!("{:.1} ± {:.1} mm", e.height_mm[most], e.sigma_mm[most]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn facts(heights: [f64; 4], size: (f64, f64)) -> LiftFacts {
        let sides = ["left", "top", "right", "bottom"];
        let edge = |k: usize| {
            let length = if k.is_multiple_of(2) { size.1 } else { size.0 };
            EdgeFacts {
                side: sides[k].into(),
                told_by: if k == 2 { "bend" } else { "shadow" }.into(),
                along_mm: vec![0.0, length / 2.0, length],
                height_mm: vec![heights[k], heights[k] / 2.0, heights[k]],
                sigma_mm: vec![0.2; 3],
                reach_sigma_mm: vec![0.1; 3],
                seen_mm: vec![],
            }
        };
        LiftFacts { edges: (0..4).map(edge).collect(), ..LiftFacts::default() }
    }

    /// By hand: a square print of 100 mm is 130 units; two millimetres at 12 units each lie 24 units outwards of the edge on all four sides.
    #[test]
    fn heights_are_laid_outwards_to_scale() {
        let d = LiftDrawing::of(&facts([2.0; 4], (100.0, 100.0))).unwrap();
        assert_eq!((d.size, d.print), ([210.0, 210.0], [40.0, 40.0, 130.0, 130.0]));
        let ends: Vec<[f64; 2]> = d.edges.iter().map(|e| e.line[0]).collect();
        assert_eq!(ends, [[16.0, 40.0], [40.0, 16.0], [194.0, 40.0], [40.0, 194.0]]);
        assert_eq!(d.edges[0].band[0], [13.6, 40.0]);
        assert_eq!(d.edges[0].band[5], [18.4, 40.0]);
        assert_eq!((d.edges[0].label.as_str(), d.edges[2].seen), ("2.0 ± 0.2 mm", false));
        assert_eq!(d.mark[2], 12.0);
    }

    /// However high an edge stands, it stays in the drawing; a label of twelve characters of six units has room on a print of any format.
    #[test]
    fn a_high_edge_stays_inside_and_labels_have_room() {
        for size in [(54.0, 86.0), (108.0, 86.0), (88.0, 107.0)] {
            let d = LiftDrawing::of(&facts([9.0, 0.5, 0.5, 4.0], size)).unwrap();
            let all = d.edges.iter().flat_map(|e| e.band.iter());
            assert!(all.flatten().all(|v| *v >= 3.9), "{size:?}");
            assert!(d.print[2] > 12.0 * 6.0 + GAP, "{size:?}");
        }
        assert_eq!(LiftDrawing::of(&LiftFacts::default()), None);
    }

    #[test]
    fn words_say_the_same() {
        let says = facts([2.0, 1.0, 0.6, 0.4], (88.0, 107.0)).says();
        assert!(says.contains("left 1.0 to 2.0 mm ± 0.2 mm, from its shadow; top 0.5 to 1.0 mm"), "{says}");
        assert!(says.contains("right 0.3 to 0.6 mm ± 0.2 mm, from the sheet's form"), "{says}");
    }
}
