//! What a frame without a print is used for, or why it cannot be used.

use super::ChartFit;
use super::loaded_frame::LoadedFrame;
use crate::Role;
use crate::job::{DARK, FrameJob};
use base::wording::percent;

/// Share of the bare bed at full scale above which its light cannot be measured: the same half as for the bed around a print.
const CLIPPED_BED: f64 = 0.5;
/// Light, share of full scale, above which a point counts as clipped: as for the bed around a print.
const FULL: f32 = 0.985;

/// A sentence: what the frame is used for, or why it cannot be used.
pub(super) fn of(job: &FrameJob, sight: &LoadedFrame, fit: Option<&ChartFit>) -> Result<String, String> {
    match job.role {
        Role::Blank => blank(sight, job.recipe.prints_frame_px),
        Role::Chart => chart(fit),
        Role::Ruler => match &job.look.ruler_fault {
            None => Ok("It measures the lens for the prints.".into()),
            Some(why) => Err(format!("The ruler sheet cannot be measured: {why}.")),
        },
        Role::Counter => {
            Ok("It is the second frame of a print, lit from the other side, and is joined with the first.".into())
        }
        _ if job.look.place.is_some() => Ok("Its light is taken out of the frame of the same print.".into()),
        _ => Ok("It shows the ambient light: how much of the shadow it fills, and in what colour.".into()),
    }
}

fn blank(sight: &LoadedFrame, prints: Option<[usize; 2]>) -> Result<String, String> {
    if let Some([w, h]) = prints {
        let (own_w, own_h) = (sight.frame.width, sight.frame.height);
        return Err(format!(
            "It is {own_w} × {own_h} pixels, but the frames of the prints are {w} × {h}, so it cannot even their light. \
             Take it again with the camera settings used for the prints."
        ));
    }
    let clipped = clipped(sight);
    if sight.mean_level() < DARK {
        return Err(
            "The frame is black, so it cannot even the light of the prints. Take it again with the flash on.".into()
        );
    }
    if clipped > CLIPPED_BED {
        let share = percent(clipped);
        return Err(format!(
            "{share} of the bare bed is clipped, so the light cannot be measured. Take it again with less light."
        ));
    }
    Ok("It evens the light of the prints.".into())
}

/// Share of the frame with a band at full scale.
fn clipped(sight: &LoadedFrame) -> f64 {
    let [r, g, b] = &sight.proxy.0;
    let all = r.data.iter().zip(&g.data).zip(&b.data);
    all.filter(|((r, g), b)| r.max(**g).max(**b) >= FULL).count() as f64 / r.data.len().max(1) as f64
}

fn chart(fit: Option<&ChartFit>) -> Result<String, String> {
    match fit {
        None => Err("Its values are not known. Give them with --chart-values.".into()),
        Some(Err(why)) => Err(format!("The chart cannot be used: {why}.")),
        Some(Ok(_)) => Ok("It sets the colour of the prints.".into()),
    }
}
