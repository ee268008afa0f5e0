//! The result files of one frame: their paths and hashes, moving them to their final names, and reading them.

use crate::job::{Output, Outputs};
use crate::report::{FileFacts, Report};
use base::Failure;
use base::files::hash;
use base::files::write::{part_of, sync_folder};
use std::io::Write;
use std::path::{Path, PathBuf};

/// The page of a result folder.
pub(crate) const PAGE: &str = "index.html";

/// Results by kind: masters for the archive, shares to send, each in a folder of its own.
pub(crate) const FOLDERS: [&str; 5] = ["reports", "masters", "mounts", "shares", "previews"];

/// Where a frame's results go in a result folder.
pub fn outputs(out: &Path, stem: &str, srgb_png: bool) -> Outputs {
    let output = |folder: &str, file: String| Output {
        name: if folder == "reports" { file.clone() } else { format!("../{folder}/{file}") },
        part: out.join(folder).join(part_of(&file)),
        place: out.join(folder).join(file),
    };
    Outputs {
        master: output("masters", format!("{stem}.master.tif")),
        mount: output("mounts", format!("{stem}.mount.tif")),
        srgb_png: srgb_png.then(|| output("mounts", format!("{stem}.mount.png"))),
        share: output("shares", format!("{stem}.jpg")),
        before: output("previews", format!("{stem}.before.jpg")),
        after: output("previews", format!("{stem}.after.jpg")),
        report: output("reports", format!("{stem}.report.json")),
    }
}

/// Reads a report; `None` if the file is missing or not a report.
pub fn read_report(path: &Path) -> Option<Report> {
    serde_json::from_str(&base::files::regular::text(path).ok()?).ok()
}

/// The reports of a result folder, ordered by name; empty if it is not one.
pub fn reports_in(out: &Path) -> Vec<Report> {
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(out.join("reports")).into_iter().flatten().flatten().map(|e| e.path()).collect();
    files.sort();
    files.iter().filter(|f| f.to_string_lossy().ends_with(".report.json")).filter_map(|f| read_report(f)).collect()
}

/// Every file a report names.
pub(crate) fn named(report: &Report) -> Vec<&str> {
    let canvas = report.canvas.iter().flat_map(|c| {
        [Some(c.master.as_str()), Some(c.mount.as_str()), c.srgb_png.as_deref(), c.share.as_deref()]
            .into_iter()
            .flatten()
    });
    let previews =
        report.previews.iter().flat_map(|p| [Some(p.before.as_str()), p.after.as_deref()].into_iter().flatten());
    canvas.chain(previews).collect()
}

/// Writes a part and waits until it is on the disk.
fn written(part: &Path, bytes: &[u8]) -> std::io::Result<()> {
    let mut file = std::fs::File::create(part)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Writes the hash of every file that was made, and that the report names, into the report.
pub(crate) fn seal(outputs: &Outputs, report: &mut Report) -> Result<(), Failure> {
    let is_named = |o: &&Output| named(report).contains(&o.name.as_str());
    let facts = |o: &Output| Ok(FileFacts { path: o.name.clone(), blake3: hash(&o.part)? });
    report.files = outputs.all().filter(is_named).map(facts).collect::<Result<_, Failure>>()?;
    Ok(())
}

/// Fails if a finished file no longer matches the hash in its report. Without a hash nothing is checked.
pub fn as_finished(place: &Path, blake3: Option<&str>) -> Result<(), Failure> {
    let Some(blake3) = blake3 else { return Ok(()) };
    let found = hash(place).map_err(|e| Failure::new(format!("{}: {e}", place.display())))?;
    if found == blake3 {
        return Ok(());
    }
    Err(Failure::new(format!("{} is damaged or was changed since it was finished.", place.display()))
        .with_remedy("Finish its frame again, or restore the file from a copy."))
}

/// Renames all parts to their final names, the report last. The pictures' bytes are on disk when their parts are complete; their names are
/// on disk before the report gets its name.
pub(crate) fn settle(outputs: &Outputs, report: &Report) -> Result<(), Failure> {
    let report_file = &outputs.report;
    written(&report_file.part, report.to_json().as_bytes()).map_err(|e| Failure::writing(&report_file.place, &e))?;
    // If this is interrupted, an older report must not remain beside newer pictures.
    if std::fs::remove_file(&report_file.place).is_ok() {
        sync_folder(base::files::write::folder_of(&report_file.place));
    }
    for output in outputs.all() {
        if output == report_file {
            named_on_disk(outputs);
        }
        match std::fs::rename(&output.part, &output.place) {
            // Not made this time: a file from an earlier recipe would be mistaken for this one's.
            Err(e) if e.kind() == std::io::ErrorKind::NotFound && !named(report).contains(&output.name.as_str()) => {
                let _ = std::fs::remove_file(&output.place);
            }
            other => other.map_err(|e| Failure::writing(&output.place, &e))?,
        }
    }
    sync_folder(base::files::write::folder_of(&report_file.place));
    Ok(())
}

/// Flushes the names of a frame's pictures.
fn named_on_disk(outputs: &Outputs) {
    let folders: std::collections::BTreeSet<&Path> = outputs.all().filter_map(|o| o.place.parent()).collect();
    folders.into_iter().for_each(sync_folder);
}

/// Removes the parts of a failed frame.
pub(crate) fn clear(outputs: &Outputs) {
    outputs.all().for_each(|o| drop(std::fs::remove_file(&o.part)));
}
