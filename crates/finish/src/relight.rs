//! A finished mount with its shadow cast anew, from the mount and its report alone: for what is handed on.
//!
//! Beyond the print the new layer takes the place of the old one. Within the print's edge, where a pixel shows print and bed, the
//! difference of the two layers is laid on with the bed's share; the print's own pixels stay, but for the last three along sides
//! whose light changes (`correct::rim`).

use crate::frame::make::encoding;
use crate::frame::recast::{Bed, cast, plan, told};
use crate::frame::shadow_sampling::{SEARCH, WORKING};
use crate::light::ShadowLight;
use crate::report::{LiftFacts, Report, ShadowFacts};
use base::Failure;
use codec::{Info, Limits, tiff};
use correct::canvas::{Canvas, Edge};
use correct::rim::Rim;
use correct::shadow_layer::Layer;
use geometry::{Point, point};
use pixels::Frame;
use rayon::prelude::*;
use std::path::Path;

/// What [`relight`] would make of a report's mount, without reading it; `why` says where it has to stay as it is.
pub fn planned(report: &Report, light: &ShadowLight) -> ShadowFacts {
    let lift = report.lift.as_ref().and_then(told);
    let size = canvas(report).map_or((1.0, 1.0), |c| c.print_size());
    plan(Some(light), lift.as_ref(), depth(report), size).1
}

/// Darkness of the measured shadow's core.
fn depth(report: &Report) -> f64 {
    report.light.as_ref().and_then(|l| l.shadow_depth).unwrap_or(0.0)
}

/// Writes the mount of a report to `to`, its shadow cast by `light`. Where it has to stay as shot nothing is written, and the answer says
/// why.
///
/// # Errors
/// The mount cannot be read or has another size than the report says; the new one cannot be written.
pub fn relight(report: &Report, mount: &Path, light: &ShadowLight, to: &Path) -> Result<ShadowFacts, Failure> {
    let header = codec::probe(mount).map_err(codec::Error::of_result)?;
    let Some(canvas) = canvas(report).filter(|c| (c.width, c.height) == (header.width, header.height)) else {
        return Err(Failure::new(format!("{}: this mount does not match its report.", mount.display()))
            .with_remedy("Finish the print again."));
    };
    let size = canvas.print_size();
    // A mount that was cast anew before holds no shadow as shot, and none is needed.
    let facts = report.lift.as_ref();
    let lift = facts.and_then(told);
    let working = Canvas::around(size, [SEARCH; 4], WORKING.min(canvas.px_per_mm));
    let bed = Bed {
        canvas: &working,
        corner_mm: facts.map_or(0.0, |f| f.corner_mm),
        depth: depth(report),
        unevenness: facts.map_or(0.0, |f| f.unevenness),
    };
    let (tail, says) = cast(Some(light), lift.as_ref(), &bed);
    let (Some((tail, rim)), Some(facts)) = (tail, facts) else { return Ok(says) };
    let layer = tail.on(&canvas, report.recipe.chosen().shadow);
    let edge = edge(facts, &canvas);
    let frame = codec::read(mount, &Limits::default()).map_err(codec::Error::of_result)?.frame;
    let (_, encoder, icc, _) = encoding(report.recipe.settings.encoding);
    let info = Info {
        px_per_mm: Some(canvas.px_per_mm),
        icc: Some(icc),
        description: Some(format!("Mount: the print on white, its shadow {}.", says.says())),
        software: Some(format!("Fallside {}", env!("CARGO_PKG_VERSION"))),
        ..Info::default()
    };
    let w = canvas.width;
    tiff::write(to, w, canvas.height, &info, tiff::Compression::Deflate, |rows| {
        rows.into_par_iter()
            .flat_map_iter(|y| line(&frame, &layer, (&edge, rim), &canvas, y))
            .map(|v| encoder.sixteen(v))
            .collect()
    })?;
    Ok(says)
}

/// One row in linear light.
fn line(frame: &Frame, layer: &Layer, (edge, rim): (&Edge, Rim), canvas: &Canvas, y: usize) -> Vec<f32> {
    let w = canvas.width;
    let mut out = vec![1.0; 3 * w];
    layer.lay(y, 0..0, &mut out);
    for x in edge.covered(y) {
        let cover = edge.cover(x, y);
        if cover == 0.0 {
            continue;
        }
        let new = out[3 * x];
        if let Some((i, j)) = rim.inside(edge, x, y) {
            let print = frame.linear(i, j);
            (0..3).for_each(|c| out[3 * x + c] = (new + (print[c] - new) * cover).clamp(0.0, 1.0));
            continue;
        }
        let own = frame.linear(x, y);
        let change = if cover < 1.0 { (1.0 - cover) * (new - beside(frame, edge, canvas, x, y)) } else { 0.0 };
        (0..3).for_each(|c| out[3 * x + c] = (own[c] + change).clamp(0.0, 1.0));
    }
    out
}

/// The old layer at a pixel of the print's edge: the nearest pixel outwards that shows nothing of the print.
fn beside(frame: &Frame, edge: &Edge, canvas: &Canvas, x: usize, y: usize) -> f32 {
    let [l, t, r, b] = canvas.print;
    let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
    let ways = [(px - l, (-1, 0)), (py - t, (0, -1)), (r - px, (1, 0)), (b - py, (0, 1))];
    let (_, (dx, dy)) = ways.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or_default();
    // A rounded corner is reached within its radius; a bowed side within a pixel or two.
    for k in 1..=(2.5 * canvas.px_per_mm) as isize {
        let (i, j) = (x as isize + k * dx, y as isize + k * dy);
        if i < 0 || j < 0 || i >= canvas.width as isize || j >= canvas.height as isize {
            break;
        }
        let (i, j) = (i as usize, j as usize);
        if edge.cover(i, j) == 0.0 {
            return frame.linear(i, j)[1];
        }
    }
    1.0
}

/// The canvas of a report; `None` where it has none, or its print does not lie on it.
fn canvas(report: &Report) -> Option<Canvas> {
    let c = report.canvas.as_ref()?;
    let [[left, top], _, [right, bottom], _] = c.print_px;
    let canvas =
        Canvas { width: c.width_px, height: c.height_px, px_per_mm: c.px_per_mm, print: [left, top, right, bottom] };
    let on = |from: f64, to: f64, end: usize| from >= 0.0 && to > from && to <= end as f64;
    let sound = on(left, right, c.width_px) && on(top, bottom, c.height_px);
    // A tenth of a millimetre is many pixels on any frame that is finished.
    (sound && c.px_per_mm > 0.1).then_some(canvas)
}

/// The print's edge on the canvas as it is seen.
fn edge(facts: &LiftFacts, canvas: &Canvas) -> Edge {
    let side = |k: usize, back: bool| -> Vec<Point> {
        let seen = facts.edges.get(k).map(|e| e.seen_mm.as_slice()).unwrap_or_default();
        let at =
            |p: &[f64; 2]| point(p[0] * canvas.px_per_mm + canvas.print[0], p[1] * canvas.px_per_mm + canvas.print[1]);
        let mut line: Vec<Point> = seen.iter().map(at).collect();
        if back {
            line.reverse();
        }
        line
    };
    Edge::new([side(1, false), side(2, false), side(3, true), side(0, true)], canvas)
        .rounded(facts.corner_mm * canvas.px_per_mm)
}
