//! Mounts whose shadow is cast anew for what is handed on: each is made when it is read, and goes afterwards, so that a hand-off needs room
//! for as many mounts as it reads at a time.

use crate::selection::Plates;
use finish::as_finished;
use finish::light::ShadowLight;
use finish::relight::{planned, relight};
use finish::report::Report;
use publish::{Held, Plate, Remade};
use std::path::Path;
use std::sync::Arc;

/// Has the shadows of all plates cast by a light when their mounts are read. Where one stays as it is a line in `missing` names it.
pub(crate) fn cast(plates: &mut Plates, light: Option<&ShadowLight>) {
    let Some(light) = light else { return };
    let Plates { plates, reports, missing, .. } = plates;
    let mut lay = |p: &mut Plate| {
        if let Err(why) = one(p, reports.get(&p.mount), light) {
            missing.push(format!("{}: {why}", p.name));
        }
    };
    for plate in plates {
        lay(plate);
        if let Some(back) = plate.back.as_deref_mut() {
            lay(back);
        }
    }
}

/// Has one plate's shadow cast, or says why it stays as it is.
fn one(plate: &mut Plate, report: Option<&Report>, light: &ShadowLight) -> Result<(), String> {
    let report = report.ok_or("Its report is gone, so its shadow stays as shot.")?;
    let says = planned(report, light);
    if let Some(why) = says.why {
        return Err(why);
    }
    let work = Arc::new((report.clone(), plate.mount.clone(), light.clone()));
    let hash = plate.blake3.clone();
    plate.remade = Some(Remade::new(move || {
        let (report, mount, light) = &*work;
        as_finished(mount, hash.as_deref()).map_err(|e| e.to_string())?;
        made(report, mount, light)
    }));
    plate.shadow = says.says();
    let stamp = format!("{}-{}", plate.stamp, serde_json::to_string(light).unwrap_or_default());
    plate.stamp = blake3::hash(stamp.as_bytes()).to_hex().to_string();
    // The share that was made beside the mount has its old shadow.
    plate.share = None;
    Ok(())
}

/// A mount cast anew, in a file that goes when it was read.
fn made(report: &Report, mount: &Path, light: &ShadowLight) -> Result<Held, String> {
    let file = tempfile::Builder::new().prefix("fallside-light-").suffix(".tif").tempfile().map_err(|e| {
        format!(
            "A mount cast anew cannot be written in {}: {e}. Make room there, or set TMPDIR to a folder on another disk.",
            std::env::temp_dir().display()
        )
    })?;
    let place = file.into_temp_path();
    match relight(report, mount, light, &place).map_err(|e| e.to_string())?.why {
        Some(why) => Err(why),
        None => Ok(Box::new(place)),
    }
}
