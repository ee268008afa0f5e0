//! Reads a chart frame and fits its colour.

use super::sight::{self, Sight};
use crate::job::FrameError;
use crate::report::ColourFacts;
use correct::colour::ColourFit;
use print::bed::Blank;
use print::chart;
use std::path::Path;
use std::sync::Arc;

/// Fits colour to the chart in a frame by the values in the file `values`; what keeps a chart from being used is a sentence,
/// and the frames are finished without it.
///
/// # Errors
/// The values cannot be read.
pub(super) fn fit(
    sight: &Sight,
    values: &Path,
    blanks: &[Arc<Blank>],
) -> Result<Result<ColourFit, String>, FrameError> {
    let bytes = std::fs::read(values).map_err(|e| FrameError::reading(&e))?;
    let values = match codec::cgats::chart_values(&bytes) {
        Ok(v) => v,
        Err(e) => return Ok(Err(format!("{}: {e}", values.display()))),
    };
    let read = || {
        let place = chart::find_chart(&sight.proxy, sight.step as f64, values.grid).map_err(|e| e.to_string())?;
        // A chart shot under another light than the blank must not be divided by it.
        let light = sight::light(sight, blanks, &place.card().0, 0.0);
        let reading = place.read_frame(&sight.frame, Some(&light.bed));
        let reading = chart::arrange(&reading, &values).map_err(|e| e.to_string())?;
        let encoding = &sight.frame.encoding;
        ColourFit::from_chart(&reading, &values, &encoding.primaries, encoding.display_referred)
            .map_err(|e| e.to_string())
    };
    Ok(read())
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
