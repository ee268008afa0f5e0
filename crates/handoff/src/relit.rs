//! Mounts whose shadow is cast anew for what is handed on, in a folder of their own that goes with the hand-off.

use crate::selection::Plates;
use base::Failure;
use base::workers::{in_parallel, lock};
use finish::as_finished;
use finish::light::ShadowLight;
use finish::relight::relight;
use finish::report::Report;
use publish::Plate;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use tempfile::TempDir;

/// Casts the shadows of all plates by a light. Where one stays as shot, or its mount cannot be read, a line in `missing` names it.
///
/// The mounts take as much room as those of all plates; they go with the folder that is returned.
///
/// # Errors
/// The folder cannot be made.
pub(crate) fn cast(plates: &mut Plates, light: Option<&ShadowLight>) -> Result<Option<TempDir>, Failure> {
    let Some(light) = light else { return Ok(None) };
    let folder = tempfile::Builder::new().prefix("fallside-light-").tempdir().map_err(|e| {
        Failure::new(format!(
            "A folder for mounts cast anew cannot be made in {}: {e}.",
            std::env::temp_dir().display()
        ))
        .with_remedy("Make room there, or set TMPDIR to a folder on another disk.")
    })?;
    let fronts: Vec<Plate> = plates.plates.clone();
    let all: Vec<&Plate> = fronts.iter().flat_map(|p| std::iter::once(p).chain(p.back.as_deref())).collect();
    let items: Vec<(usize, &Plate)> = all.iter().copied().enumerate().collect();
    let done: Mutex<BTreeMap<PathBuf, Result<Plate, String>>> = Mutex::default();
    in_parallel(&items, |(k, plate)| {
        let to = folder.path().join(format!("{k}.tif"));
        let made = one(plate, plates.reports.get(&plate.mount), light, &to);
        lock(&done).insert(plate.mount.clone(), made);
    });
    let done = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    for plate in &mut plates.plates {
        let mut lay = |p: &mut Plate| match done.get(&p.mount) {
            Some(Ok(new)) => {
                (p.mount, p.shadow, p.stamp) = (new.mount.clone(), new.shadow.clone(), new.stamp.clone());
                // The share that was made beside the mount has its old shadow.
                (p.blake3, p.share) = (None, None);
            }
            Some(Err(why)) => plates.missing.push(format!("{}: {why}", p.name)),
            None => {}
        };
        lay(plate);
        if let Some(back) = plate.back.as_deref_mut() {
            lay(back);
        }
    }
    Ok(Some(folder))
}

/// The plate with a mount of its own, or why it stays as it is.
fn one(plate: &Plate, report: Option<&Report>, light: &ShadowLight, to: &Path) -> Result<Plate, String> {
    let report = report.ok_or("Its report is gone, so its shadow stays as shot.")?;
    as_finished(&plate.mount, plate.blake3.as_deref()).map_err(|e| e.to_string())?;
    let says = relight(report, &plate.mount, light, to).map_err(|e| e.to_string())?;
    if let Some(why) = says.why {
        return Err(why);
    }
    let stamp = format!("{}-{}", plate.stamp, serde_json::to_string(light).unwrap_or_default());
    let stamp = blake3::hash(stamp.as_bytes()).to_hex().to_string();
    Ok(Plate { mount: to.to_owned(), shadow: says.says(), stamp, ..plate.clone() })
}
