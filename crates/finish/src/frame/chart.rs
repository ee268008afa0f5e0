//! Reads a chart frame and fits its colour.

use super::loaded_frame::{self, LoadedFrame};
use crate::report::ColourFacts;
use base::Failure;
use correct::colour::ColourFit;
use pixels::ChartValues;
use print::chart::{self, ChartReading, Patch};
use print::flat_field::Blank;
use std::path::Path;
use std::sync::Arc;

/// Fits the colour to the chart in a frame with the reference values in the file `values`. If the chart cannot be used, a sentence says
/// why, and the frames are finished without it.
///
/// # Errors
/// The values cannot be read.
pub(super) fn fit(
    sight: &LoadedFrame,
    values: &Path,
    blanks: &[Arc<Blank>],
) -> Result<Result<ColourFit, String>, Failure> {
    let encoding = &sight.frame.encoding;
    let fitted = |r: Read| {
        ColourFit::from_chart(&r.reading, &r.values, &encoding.primaries, encoding.display_referred)
            .map_err(|e| e.to_string())
    };
    Ok(read(sight, values, blanks)?.and_then(fitted))
}

/// The patches of a chart with their reference values.
pub struct Read {
    /// Position and light of each patch.
    pub reading: ChartReading,
    /// Reference values of the patches.
    pub values: ChartValues,
}

/// Reads the chart in a frame and matches it with the reference values in the file `values`; if it cannot be used, a sentence says why.
///
/// # Errors
/// The values cannot be read.
pub fn read(sight: &LoadedFrame, values: &Path, blanks: &[Arc<Blank>]) -> Result<Result<Read, String>, Failure> {
    let values = match self::values(values)? {
        Ok(v) => v,
        Err(e) => return Ok(Err(format!("{}: {e}", values.display()))),
    };
    let read = || {
        let place = chart::find_chart(&sight.proxy, sight.step as f64, values.grid).map_err(|e| e.to_string())?;
        // A chart taken under a different light from the blank must not be divided by it.
        let light = loaded_frame::light(sight, blanks, &[place.card().0.to_vec()], 0.0);
        let reading = place.read_frame(&sight.frame, Some(&light.bed));
        whole(&reading, (sight.frame.width, sight.frame.height))?;
        chart::arrange(&reading, &values).map_err(|e| e.to_string())
    };
    Ok(read().map(|reading| Read { reading, values }))
}

/// The reference values in a file, or a sentence that says why there are none.
///
/// # Errors
/// It cannot be read.
pub(super) fn values(path: &Path) -> Result<Result<ChartValues, String>, Failure> {
    let bytes = base::files::regular::read(path).map_err(|e| Failure::reading(&e))?;
    Ok(codec::cgats::chart_values(&bytes).map_err(|e| e.to_string()))
}

/// Rejects a chart with patches outside the frame.
fn whole(reading: &ChartReading, (w, h): (usize, usize)) -> Result<(), String> {
    let inside = |p: &Patch| p.quad.0.iter().all(|c| c.x >= 0.0 && c.y >= 0.0 && c.x <= w as f64 && c.y <= h as f64);
    let seen = reading.patches.iter().filter(|p| inside(p)).count();
    if seen == reading.patches.len() {
        return Ok(());
    }
    Err(format!(
        "only {seen} of the chart's {} patches are in the frame; place the whole chart in the frame, clear of its edges",
        reading.patches.len()
    ))
}

/// How colour was set.
pub(super) fn facts(fit: &ColourFit) -> ColourFacts {
    let Some(r) = &fit.report else {
        return ColourFacts { method: "bed".into(), ..ColourFacts::default() };
    };
    ColourFacts {
        method: "chart".into(),
        patches: Some(r.used.0 as u32),
        delta_e_mean: Some(r.left_out.mean),
        delta_e_p90: Some(r.left_out.p90),
        delta_e_worst: Some(r.left_out.worst),
    }
}
