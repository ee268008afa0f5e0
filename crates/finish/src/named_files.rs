//! Files given as options of a run (blanks, chart, chart values, flash-off frame), and which of them could not be used.
//!
//! No option is ignored silently: a file that cannot be used is left out of every recipe and reported in one line, and the run ends with
//! the exit code for problems.

use crate::Role;
use crate::first_look::Frame;
use crate::job::{Look, Reference, Work};
use crate::report::Report;
use crate::{Entry, Request};
use base::files::name_of;
use base::workers::guarded;
use std::path::{Path, PathBuf};

/// Frames and files given as options.
pub(crate) struct References {
    pub blanks: Vec<Reference>,
    pub chart: Option<Reference>,
    pub chart_values: Option<Reference>,
    pub ambient: Option<Reference>,
    /// Frames lit from the other side, with what they show.
    pub counters: Vec<(Reference, Look)>,
    counters_given: Vec<Reference>,
    /// Sizes of the blanks, by their hash.
    sizes: Vec<(String, [usize; 2])>,
}

impl References {
    pub fn read(request: &Request) -> Result<Self, String> {
        let read = |path: &PathBuf| match base::files::hash(path) {
            Ok(blake3) => Ok(Reference { path: path.clone(), blake3 }),
            Err(e) => Err(format!("{}: {e}", path.display())),
        };
        let maybe = |path: &Option<PathBuf>| path.as_ref().map(read).transpose();
        Ok(Self {
            blanks: request.blanks.iter().map(read).collect::<Result<_, _>>()?,
            chart: maybe(&request.chart)?,
            chart_values: maybe(&request.chart_values)?,
            ambient: maybe(&request.ambient)?,
            counters: vec![],
            counters_given: request.counters.iter().map(read).collect::<Result<_, _>>()?,
            sizes: vec![],
        })
    }

    /// Preloads the blanks that the frames of a run probably need. Whether a chart requires them in another form is known only after the
    /// chart has been read.
    pub fn prepare(&self, work: &dyn Work) {
        if self.chart_values.is_none() {
            self.blanks.iter().for_each(|b| work.prepare(b));
        }
    }

    /// Removes files that cannot be used, once the frames of the run are known; returns a line for each.
    pub fn leave_out_unusable(&mut self, frames: &[Frame], work: &dyn Work) -> Vec<String> {
        let mut lines = vec![];
        let look = |r: &Reference| look_of(r, frames, work);
        if let Some(values) = &self.chart_values
            && let Err(e) = guarded(|| work.check_chart_values(&values.path))
        {
            lines.push(format!("{}: {e} It is not used, so no chart is.", values.path.display()));
            self.chart_values = None;
        }
        if let Some(Err(line)) = self.ambient.as_ref().map(look) {
            lines.push(format!("{line} It is not used as the frame with the flash off."));
            self.ambient = None;
        }
        for counter in std::mem::take(&mut self.counters_given) {
            match look(&counter) {
                Err(line) => lines.push(format!("{line} It is not used as a frame lit from the other side.")),
                Ok(seen) => self.counters.push((counter, seen)),
            }
        }
        if let Some(Err(line)) = self.chart.as_ref().map(look) {
            lines.push(format!("{line} It is not used as the chart."));
            self.chart = None;
        }
        for blank in std::mem::take(&mut self.blanks) {
            match look(&blank) {
                Err(line) => lines.push(format!("{line} It is not used as the bare bed.")),
                Ok(seen) => {
                    let size = [seen.width, seen.height];
                    let others: Vec<[usize; 2]> = others(frames, &blank).collect();
                    if !others.is_empty() && !others.contains(&size) {
                        lines.push(format!(
                            "{}: given as the bare bed, but it is {} × {} pixels and no other frame has that size. It \
                             is not used.",
                            blank.path.display(),
                            size[0],
                            size[1]
                        ));
                    } else {
                        self.sizes.push((blank.blake3.clone(), size));
                        self.blanks.push(blank);
                    }
                }
            }
        }
        lines
    }

    /// The given blanks that can even a frame of this size.
    pub fn blanks_for(&self, look: &Look) -> Vec<Reference> {
        let size = [look.width, look.height];
        let fits = |b: &&Reference| self.sizes.iter().all(|(hash, of)| *hash != b.blake3 || *of == size);
        self.blanks.iter().filter(fits).cloned().collect()
    }

    /// A line for each given file that no report used.
    pub fn unused(&self, entries: &[Entry]) -> Vec<String> {
        let reports: Vec<&Report> = entries.iter().filter_map(|e| e.outcome.report()).collect();
        let prints: Vec<&&Report> = reports.iter().filter(|r| r.canvas.is_some()).collect();
        if prints.is_empty() {
            return vec![];
        }
        let mut lines = vec![];
        lines.extend(self.unused_chart(&reports, &prints));
        lines.extend(self.ambient.iter().filter_map(|off| {
            let uses = |r: &Report| r.room.as_ref().is_some_and(|room| is_named(&room.frame, off));
            unused_second(off, "frame with the flash off", &prints, uses)
        }));
        lines.extend(self.counters.iter().filter_map(|(counter, _)| {
            let uses = |r: &Report| r.counter.as_ref().is_some_and(|c| is_named(&c.frame, counter));
            unused_second(counter, "frame lit from the other side", &prints, uses)
        }));
        for blank in &self.blanks {
            let listed = |r: &&&&Report| r.recipe.inputs.blanks.contains(&blank.blake3);
            let evened = |r: &&Report| r.light.as_ref().is_none_or(|l| l.evened_by.as_deref() != Some("fitted"));
            if prints.iter().any(|r| listed(&r)) && !prints.iter().filter(listed).any(|r| evened(r)) {
                lines.push(format!(
                    "{}: given as the bare bed, but its light differs from the prints, so none of them was evened by it.",
                    blank.path.display()
                ));
            }
        }
        lines
    }

    /// Why the given chart or chart values set the colour of no print.
    fn unused_chart(&self, reports: &[&Report], prints: &[&&Report]) -> Option<String> {
        let values = self.chart_values.as_ref()?;
        let by_chart = |r: &&&Report| r.colour.as_ref().is_none_or(|c| c.method == "chart");
        if prints.iter().any(|r| r.recipe.inputs.chart.is_some() && by_chart(r)) {
            return None;
        }
        let told = |r: &&&Report| r.notes.iter().find_map(|n| n.strip_prefix(NOT_USED)).map(str::to_owned);
        let why = prints.iter().find_map(told);
        let seen = reports.iter().any(|r| r.frame.role == Role::Chart);
        Some(match (&self.chart, why) {
            (Some(chart), Some(why)) => format!("{}: given as the chart, but {why}", chart.path.display()),
            (None, Some(why)) => format!("{} was not used: {why}", values.path.display()),
            (_, None) if seen => return None,
            (_, None) => format!(
                "{}: no frame shows a colour chart, so these values are not used. Give the chart's frame with --chart.",
                values.path.display()
            ),
        })
    }
}

/// True where a report calls a file by this path or name.
fn is_named(in_report: &str, file: &Reference) -> bool {
    Path::new(in_report).file_name() == file.path.file_name()
}

/// Why a second frame that was given served no print.
fn unused_second(file: &Reference, what: &str, prints: &[&&Report], uses: impl Fn(&Report) -> bool) -> Option<String> {
    if prints.iter().any(|r| uses(r)) {
        return None;
    }
    let note = not_used(&file.path, what);
    let told = prints.iter().flat_map(|r| r.notes.iter()).find(|n| n.starts_with(&note)).cloned();
    Some(told.unwrap_or_else(|| format!("{note}no print of this run lies as the one in it.")))
}

/// How a report begins the note on a second frame that did not serve its print.
pub(crate) fn not_used(path: &Path, what: &str) -> String {
    format!("{} is not used as the {what}: ", name_of(path))
}

/// How a report begins the note on a chart that set no colour.
pub const NOT_USED: &str = "The chart was not used: ";

/// The look at a given frame: from the run, otherwise a new one; a line if it is not a picture.
fn look_of(named: &Reference, frames: &[Frame], work: &dyn Work) -> Result<Look, String> {
    if let Some(frame) = frames.iter().find(|f| f.blake3 == named.blake3) {
        return Ok(frame.look.clone());
    }
    guarded(|| work.look(&named.path)).map_err(|e| format!("{}: {e}", named.path.display()))
}

/// Sizes of the frames that a blank could even.
fn others<'a>(frames: &'a [Frame], blank: &'a Reference) -> impl Iterator<Item = [usize; 2]> + 'a {
    frames.iter().filter(|f| f.blake3 != blank.blake3).map(|f| [f.look.width, f.look.height])
}
