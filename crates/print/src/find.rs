//! Finds the print: a first look turned into hypotheses, the best of them refined, and how sure all that is.

use crate::edge::Reader;
use crate::edge_evidence::{EdgeEvidence, Turned};
use crate::flat_field::paper;
use crate::format::Format;
use crate::hints::Hints;
use crate::outline::{Outline, from_top_left};
use crate::pose::Pose;
use crate::template::Breadth;
use crate::{agree, ends, orient, sides, sure, template};
use geometry::{Homography, Quad};
use pixels::{Field, Frame, Picture};

/// A print found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Its format.
    pub format: Format,
    /// True where there is no window: a back.
    pub back: bool,
    /// Outline and window about the base map.
    pub outline: Outline,
    /// Camera and curl.
    pub pose: Pose,
    /// Evidence of the first look, 0 to 1.
    pub score: f32,
    /// How sure outline and format are, 0 to 1.
    pub confidence: f64,
    /// Standard uncertainty of the outline, mm.
    pub sigma_mm: f64,
}

impl Found {
    /// Outer corners clockwise from the one nearest the frame's top left, and the upright print's top-left corner in them.
    pub fn corners(&self) -> (Quad, usize) {
        from_top_left(self.outline.corners().0)
    }

    /// Window corners in the order of [`Found::corners`].
    pub fn window(&self) -> Option<Quad> {
        let (_, upright) = self.corners();
        (!self.back).then(|| self.outline.corners().1.rolled((4 - upright) % 4))
    }

    /// Where it lies, to find it again.
    pub fn place(&self) -> Place {
        // A hundredth of a pixel is finer than a place needs.
        let corners =
            self.outline.corners().0.map(|p| geometry::point((p.x * 100.0).round(), (p.y * 100.0).round()) * 0.01);
        Place { format: self.format.name.clone(), back: self.back, score: self.score, corners }
    }

    /// The bed-side polygon of the outline in frame pixels, clockwise.
    pub fn polygon(&self) -> Vec<geometry::Point> {
        (0..4).flat_map(|i| self.outline.polyline(i, 25).into_iter().take(24)).collect()
    }
}

/// Long side of the picture the first look works on: about 3 px per mm for a print that fills half the frame, so that the
/// narrowest border (4 mm) is a dozen pixels.
const FIRST_LOOK: usize = 480;

/// The focal length assumed where the camera did not say: 80 mm on a 36 mm wide frame, a usual copy lens (common practice,
/// no source). A wrong one scales the tilt in proportion and leaves the outline alone.
pub(crate) const USUAL_FOCAL: f64 = 80.0 / 36.0;

/// Finds the best print in a frame. `proxy` is the frame reduced by `step`; `bed` what the bare bed would read.
///
/// Returns `None` where nothing on the bed has the edges of a known format.
pub fn find(
    frame: &Frame,
    proxy: &Picture,
    step: usize,
    bed: &Field,
    formats: &[Format],
    hints: &Hints,
) -> Option<Found> {
    let k = (proxy.width().max(proxy.height()) as f64 / FIRST_LOOK as f64).round().max(1.0) as usize;
    let bed = paper::reference(frame, bed);
    let look = EdgeEvidence::new(&proxy.reduce(k), (step * k) as f64, &bed);
    find_in(frame, &look, &bed, formats, hints)
}

/// Where a print was found, in a few plain words that outlive the frame's pixels.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Name of its format.
    pub format: String,
    /// True where no window was seen.
    pub back: bool,
    /// Evidence of the first look, 0 to 1.
    pub score: f32,
    /// Corners in frame pixels, clockwise from the upright print's top left.
    pub corners: Quad,
}

/// Finds a print again at its `place`, under a better bed; `None` where it is not as sure as it was, and must be looked for.
pub fn find_again(frame: &Frame, bed: &Field, formats: &[Format], hints: &Hints, place: &Place) -> Option<Found> {
    let format = formats.iter().position(|f| f.name == place.format)?;
    let base = Homography::from_points(&formats[format].outer_quad().0, &place.corners.0)?;
    let candidate = Candidate { format, back: place.back, score: place.score, outer: place.corners };
    let mut outline = Outline::close_to(frame, &paper::reference(frame, bed), &formats[format], base, sides::SHARP);
    let pose = agreed(&mut outline, frame, &formats[format], hints, &candidate);
    Some(judged(outline, pose, formats, &candidate)).filter(|f| f.confidence > SURE)
}

/// Nine parts in ten of all edges found: nothing else can be better.
const SURE: f64 = 0.9;

/// Finds the best print in a first look already made.
pub fn find_in(frame: &Frame, look: &EdgeEvidence, bed: &Field, formats: &[Format], hints: &Hints) -> Option<Found> {
    let mut best: Option<Found> = None;
    let mut tried: Vec<Candidate> = Vec::new();
    let mut outlines: Vec<(f64, Quad)> = Vec::new();
    // What the next outline's rank must pass beside the best one's.
    let mut least = f64::NEG_INFINITY;
    for breadth in [template::USUAL, template::WIDE] {
        for c in candidates(look, formats, hints, breadth) {
            if tried.iter().any(|t| t.same(&c)) {
                continue;
            }
            let found = refine(frame, bed, formats, hints, &c);
            tried.push(c);
            let chance = if least.is_finite() { BY_CHANCE } else { 0.0 };
            outlines.extend(found.as_ref().map(|f| (rank(f) - chance, f.corners().0)));
            let better = |f: &Found| rank(f) > least && best.as_ref().is_none_or(|b| rank(f) > rank(b));
            if let Some(found) = found.filter(better) {
                best = Some(found);
            }
            if best.as_ref().is_some_and(|b| b.confidence > SURE) {
                return best;
            }
        }
        if best.as_ref().is_some_and(|b| b.confidence > DOUBTED) {
            break;
        }
        least = best.as_ref().map_or(least, |b| rank(b) + BY_CHANCE);
    }
    let mut best = best.filter(|b| b.confidence > 0.25)?;
    if best.confidence < DOUBTED {
        best.sigma_mm = best.sigma_mm.hypot(disagreement(&best, &outlines));
    }
    Some(best)
}

/// How far (mm) another explanation of a doubted frame lies away, times how likely it is: half where it ranks alike, a third of
/// that a tenth lower.
fn disagreement(best: &Found, outlines: &[(f64, Quad)]) -> f64 {
    let (scale, rank) = (best.pose.px_per_mm().max(1e-6), rank(best));
    let corners = best.corners().0;
    let far =
        |(other, at): &(f64, Quad)| corners.mean_distance(at).0 / scale * 0.5 * ((other - rank) / 0.1).exp().min(1.0);
    outlines.iter().map(far).fold(0.0, f64::max)
}

/// What the best of several times as many hypotheses gains in rank where all of them are chance lines (seeds 9000 to 9299 of the
/// drawn frames: wrong ones rose by up to 0.14, right ones by 0.18 and more).
const BY_CHANCE: f64 = 0.15;

/// Under this confidence a quarter of the edges is missing or the model does not hold: grain may have raised other lines over the
/// print's, and more of them are tried. Prints found right in grain have seldom less; a higher value costs time.
const DOUBTED: f64 = 0.6;

/// Edges found, weighed with the first look's evidence.
fn rank(f: &Found) -> f64 {
    f.confidence + 0.5 * f64::from(f.score)
}

/// A hypothesis with its corners in frame pixels.
pub(crate) struct Candidate {
    pub format: usize,
    pub back: bool,
    pub score: f32,
    pub outer: Quad,
}

impl Candidate {
    /// True where another says the same of the same place: two millimetres of 100.
    fn same(&self, c: &Self) -> bool {
        self.format == c.format
            && self.back == c.back
            && self.outer.mean_distance(&c.outer).0 < 0.02 * c.outer.area().abs().sqrt()
    }
}

fn candidates(look: &EdgeEvidence, formats: &[Format], hints: &Hints, breadth: Breadth) -> Vec<Candidate> {
    // Curl and thickness change the scale on the print by up to two per cent of the bed's.
    let scales = hints.px_per_mm.map(|s| (s / look.scale * 0.975, s / look.scale * 1.025));
    let mut all: Vec<Candidate> = Vec::new();
    'angles: for angle in orient::angles(look, 3) {
        let turned = Turned::new(look, angle);
        for back in [false, true] {
            for h in template::search(&turned, formats, scales, back, breadth).into_iter().take(breadth.taken) {
                let outer = h.quads(&formats[h.format]).0.map(|p| turned.proxy(p) * look.scale);
                all.push(Candidate { format: h.format, back, score: h.score - if back { BACK } else { 0.0 }, outer });
            }
            // A hypothesis this strong has all eight edges: neither a back nor other angles need be tried.
            if all.iter().any(|c| c.score > 0.55 && !c.back) {
                break 'angles;
            }
        }
    }
    all.sort_by(|a, b| b.score.total_cmp(&a.score));
    let mut kept: Vec<Candidate> = Vec::new();
    for c in all {
        let alike = kept.iter().filter(|k| k.format == c.format && k.back == c.back).count();
        // Formats differ by a few per cent in shape, which only the refined sides tell: each has its turn.
        if kept.len() < breadth.kept && alike < breadth.alike && !kept.iter().any(|k| k.same(&c)) {
            kept.push(c);
        }
    }
    kept
}

/// What an outline without a window must be better by: it has half the edges to prove itself with.
const BACK: f32 = 0.3;

/// The candidate refined as in a sharp frame, and where half the edges do not show so, as in one out of focus.
fn refine(frame: &Frame, bed: &Field, formats: &[Format], hints: &Hints, c: &Candidate) -> Option<Found> {
    let by = |step_px: f64| {
        let mut outline = Outline::refine(frame, bed, &formats[c.format], c.outer, step_px)?;
        let pose = agreed(&mut outline, frame, &formats[c.format], hints, c);
        Some(judged(outline, pose, formats, c))
    };
    let sharp = by(sides::SHARP);
    // With half the edges found the frame is sharp enough, and the second way is not worth its time.
    if sharp.as_ref().is_some_and(|f| f.confidence > 0.5) {
        return sharp;
    }
    let soft = by(sides::SOFT);
    sharp.into_iter().chain(soft).max_by(|a, b| a.confidence.total_cmp(&b.confidence))
}

/// Camera and curl by an outline.
pub(crate) fn camera(outline: &Outline, frame: &Frame, format: &Format, hints: &Hints) -> Pose {
    let focal = hints.focal_px.unwrap_or(USUAL_FOCAL * frame.width.max(frame.height) as f64);
    let mut pose = Pose::fit(outline, format, focal, (frame.width, frame.height), hints.lens);
    if hints.focal_px.is_none() {
        pose.tilt_sigma = pose.tilt_sigma.hypot(FOCAL * pose.tilt_x.hypot(pose.tilt_y));
    }
    pose
}

/// How far an assumed focal length may be off, as a share: copies are taken with 50 to 105 mm on a 36 mm frame.
const FOCAL: f64 = 0.3;

/// Camera and curl by an outline of which the sides that the window contradicts were given up.
fn agreed(outline: &mut Outline, frame: &Frame, format: &Format, hints: &Hints, c: &Candidate) -> Pose {
    if c.back {
        outline.without_window();
    }
    if !c.back {
        ends::give_up_rims(outline, &Reader::new(frame));
    }
    let pose = camera(outline, frame, format, hints);
    let contradicted = pose.rms > agree::AT_ONE && !c.back;
    match contradicted.then(|| agree::window_only(outline)).flatten() {
        Some(only) if agree::give_up_strays(outline, &camera(&only, frame, format, hints)) => {
            camera(outline, frame, format, hints)
        }
        _ => pose,
    }
}

/// What an outline measured for a candidate amounts to.
pub(crate) fn judged(mut outline: Outline, pose: Pose, formats: &[Format], c: &Candidate) -> Found {
    complete(&mut outline, &pose);
    let (confidence, sigma_mm) = (sure::confidence(&outline, &pose, c.back), sure::sigma(&outline, &pose));
    Found { format: formats[c.format].clone(), back: c.back, outline, pose, score: c.score, confidence, sigma_mm }
}

/// Puts the model's line where a side was not found.
fn complete(outline: &mut Outline, pose: &Pose) {
    for i in 0..4 {
        let (outer, window) =
            (agree::placed(outline, &outline.outer, i, pose), agree::placed(outline, &outline.window, i, pose));
        for (side, curve) in [(&mut outline.outer.sides[i], outer), (&mut outline.window.sides[i], window)] {
            if let Some(curve) = curve.filter(|_| !side.sure()) {
                side.curve = curve;
            }
        }
    }
}
