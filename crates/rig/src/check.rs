//! Check a rig from its frames: what is wrong, by how much, and what to move.
//!
//! [`check`] takes a [`Request`], detects what each frame shows (bare bed, ruler sheet, chart, flash off, print), measures it, and
//! compares the figures with the limits of the aim, the tolerance classes of the standards and the plan. The [`Answer`] is plain
//! data; [`text`] formats it. Originals are opened read-only, and nothing is written.

mod ambient;
mod answer;
mod beside;
mod blank;
mod chart;
mod faults;
mod levelling;
mod ruler;
mod see;
mod settings;
pub mod standards;
mod words;

pub use answer::*;
pub use faults::{OWN, Own};
pub use words::text;

use crate::plan;
use crate::plan::Answer as Plan;
use base::Exit;
use base::Failure;
use base::workers::guarded;
use faults::Case;
use finish::Role;
use finish::finding::Aim;
use finish::limit::LIMITS;
use print::flat_field::lamp_and_vignette::Known;
use see::{Frame, Gone};
use std::path::{Path, PathBuf};

/// What to check, and beside what.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Folders and files.
    pub inputs: Vec<PathBuf>,
    /// Frames said to show the ruler sheet.
    pub rulers: Vec<PathBuf>,
    /// Frames said to show the bare bed.
    pub blanks: Vec<PathBuf>,
    /// The frame said to show the chart.
    pub chart: Option<PathBuf>,
    /// The chart's values.
    pub chart_values: Option<PathBuf>,
    /// The frame said to be without flash.
    pub ambient: Option<PathBuf>,
    /// The plan of the rig (see [`read_plan`]).
    pub plan: Option<Plan>,
    /// What the ruler sheet's long bar measures with a real ruler, mm.
    pub bar_mm: Option<f64>,
    /// What the prints are for.
    pub aim: Aim,
}

/// Prints looked at for reflections: three lie in different places, and each costs a frame's search.
const PRINTS: usize = 3;
/// How well a planned elevation is kept on the floor, degrees.
const ELEVATION_KEPT: f64 = 4.0;
/// The print taken for the fall-off where nothing was planned: the commonest, lying sideways as it fits a frame, mm.
const USUAL_PRINT: [f64; 2] = [107.0, 88.0];

/// Reads a plan that `fallside plan --json` wrote.
///
/// # Errors
/// The file cannot be read, is not JSON, or is JSON of another kind.
pub fn read_plan(path: &Path) -> Result<Plan, Failure> {
    let bytes = base::files::regular::read(path).map_err(|e| Failure::reading(&e))?;
    let value: serde_json::Value = serde_json::from_slice(&bytes)
        .map_err(|_| Failure::new("It is not JSON.").with_remedy("Write the plan with fallside plan --json."))?;
    match value["schema"].as_str() {
        Some(plan::SCHEMA) => serde_json::from_value(value).map_err(|e| {
            Failure::new(format!("The plan is damaged: {e}.")).with_remedy("Write it again with fallside plan --json.")
        }),
        other => Err(Failure::new(format!(
            "It is not a plan but {}.",
            other.map_or("JSON of another kind".to_owned(), |s| format!("{s:?}"))
        ))
        .with_remedy("Write the plan with fallside plan --json.")),
    }
}

/// The file of a project that holds what was checked last.
pub const IN_PROJECT: &str = "check.json";

/// The answer in a file; `None` where there is none, or another version wrote it.
pub fn read_answer(place: &Path) -> Option<Answer> {
    let text = base::files::regular::text(place).ok()?;
    serde_json::from_str::<Answer>(&text).ok().filter(|a| a.schema == SCHEMA)
}

/// Writes a result atomically; an existing file that is not the result of a check is not changed.
///
/// # Errors
/// A place that cannot be written, or that holds something else.
pub fn write_answer(place: &Path, answer: &Answer) -> Result<(), Failure> {
    let held = base::files::regular::read(place).ok();
    let ours = |bytes: &[u8]| {
        serde_json::from_slice::<serde_json::Value>(bytes).is_ok_and(|v| v["schema"].as_str() == Some(SCHEMA))
    };
    if held.is_some_and(|h| !ours(&h)) {
        return Err(Failure::new(format!(
            "{} already exists and is not the result of a check, so it was not changed.",
            place.display()
        ))
        .with_remedy("Choose another name with --out."));
    }
    let json = serde_json::to_string_pretty(answer).unwrap_or_default() + "\n";
    let _alone = base::files::exclusive::write_file(place)?;
    base::files::write::sweep_of(place);
    base::files::write::write_beside(place, json.as_bytes())
}

/// Checks the rig that the frames were taken with.
pub fn check(request: &Request) -> Answer {
    let mut a = Answer {
        schema: SCHEMA.into(),
        aim: request.aim,
        faults: vec![],
        problems: vec![],
        notes: vec![],
        frames: vec![],
        ruler: None,
        blank: None,
        chart: None,
        ambient: None,
        veils: vec![],
        standards: vec![],
        plan: vec![],
        exit: Exit::NothingDone,
    };
    if let Some(mm) =
        request.bar_mm.filter(|mm| geometry::ruler::Sheet::measured(geometry::ruler::Paper::A4, *mm).is_none())
    {
        a.problems.push(format!("A bar of 150 mm cannot have been printed {mm} mm long: 135 to 165 is possible."));
        return a;
    }
    let seen = see::all(request);
    a.problems = seen.problems;
    a.notes = seen.notes;
    if seen.frames.is_empty() {
        if a.problems.is_empty() {
            a.problems.push("There are no frames to check. Give a folder or files.".into());
        }
        return a;
    }
    let mut run = Run { request, frames: seen.frames, a };
    run.measure();
    run.a
}

/// Frames being measured into an answer.
struct Run<'a> {
    request: &'a Request,
    frames: Vec<Frame>,
    a: Answer,
}

impl Run<'_> {
    fn measure(&mut self) {
        let later = self.guarded(Role::Ruler, Self::rulers).flatten();
        let bare = self.guarded(Role::Blank, Self::blanks).flatten();
        self.guarded(Role::Ambient, |run| run.ambient(bare.as_ref()));
        self.guarded(Role::Chart, |run| run.chart(bare.as_ref()));
        self.veils(bare.as_ref());
        self.a.frames = self.frames.iter().map(Frame::used).collect();
        let settings = settings::Settings(
            self.frames.iter().filter(|f| f.measured).map(|f| (f.name(), f.look.exif.clone())).collect(),
        );
        let case = Case {
            aim: self.request.aim,
            ruler: self.a.ruler.as_ref(),
            later: later.as_ref(),
            blank: self.a.blank.as_ref(),
            ambient: self.a.ambient.as_ref(),
            veils: &self.a.veils,
            settings: &settings,
            plan: self.request.plan.as_ref(),
        };
        self.a.faults = faults::faults(&case);
        let mut standards = self.a.ruler.as_ref().map(ruler::judged).unwrap_or_default();
        standards.extend(bare.as_ref().map(blank::judged).unwrap_or_default());
        standards.extend(self.a.chart.as_ref().map(chart::judged).unwrap_or_default());
        self.a.standards = standards;
        if let Some(plan) = &self.request.plan {
            let size = self.frames.iter().find(|f| f.measured).map(|f| (f.look.width, f.look.height));
            let (ruler, blank, ambient) = (self.a.ruler.as_ref(), self.a.blank.as_ref(), self.a.ambient.as_ref());
            self.a.plan = beside::beside(plan, &beside::Found { ruler, blank, ambient, settings: &settings, size });
        }
        let measured = self.frames.iter().any(|f| f.measured);
        self.a.exit = match (measured, self.a.problems.is_empty()) {
            (false, _) => Exit::NothingDone,
            (true, false) => Exit::WithProblems,
            (true, true) => Exit::AllDone,
        };
        if !measured && self.a.problems.is_empty() {
            self.a.problems.push(
                "No frame shows a bare bed, a ruler sheet or a chart. Take one of each, and if necessary give them with \
                 --blank, --ruler and --chart.".into(),
            );
        }
    }

    /// Measures the frames of a role. A fault of ours there is a line with the first frame's name, and the others are still checked.
    fn guarded<T>(&mut self, role: Role, measure: impl FnOnce(&mut Self) -> T) -> Option<T> {
        let first = self.of(role).first().copied();
        let measured = guarded(|| Ok(measure(self)));
        measured.map_err(|error| self.gone(first.unwrap_or_default(), &error)).ok()
    }

    fn gone(&mut self, i: usize, error: &Failure) {
        let Some(frame) = self.frames.get_mut(i) else { return };
        frame.measured = false;
        self.a.problems.push(Gone { path: &frame.path, error }.line());
    }

    /// The frames of a role, in time.
    fn of(&self, role: Role) -> Vec<usize> {
        (0..self.frames.len()).filter(|&i| self.frames[i].role == role).collect()
    }

    /// Facts of the first ruler frame; those of the last, where there are two.
    fn rulers(&mut self) -> Option<RulerFacts> {
        let plan = self.request.plan.as_ref();
        let bar_said = self.request.bar_mm.is_some();
        let mut all: Vec<RulerFacts> = vec![];
        for i in self.of(Role::Ruler) {
            let f = &mut self.frames[i];
            let name = f.name();
            let Some(reading) = f.reading.as_mut() else { continue };
            let size = (f.look.width, f.look.height);
            let focal = ruler::image_distance(reading.stand.px_per_mm.value, size, f.focal_px, &f.look.exif, plan);
            if let Some(stand) = focal.and_then(|f| reading.place.stand(f)) {
                (reading.stand, reading.focal_guessed) = (stand, false);
                reading.focal_px = focal.unwrap_or(reading.focal_px);
            }
            f.measured = true;
            all.push(ruler::facts(name, reading, bar_said));
        }
        let first = all.first()?.clone();
        if first.bar_assumed {
            self.a.notes.push(
                "The length of the sheet's bar was not given (--bar-mm), so lengths are only as accurate as the \
                 printer, which is seldom better than 0.5 %."
                    .into(),
            );
        }
        if first.focal_assumed {
            self.a.notes.push(
                "Neither the frames nor a plan give the focal length, so a usual copy lens is assumed; the measured \
                 lean is proportional to it."
                    .into(),
            );
        }
        // Found by trial on bowed sheets (docs/science/ruler.md): flat ones leave under 0.015 px, edges a millimetre up 0.03 and more.
        if first.edge_rms_px > 0.03 {
            self.a.notes.push(format!(
                "The ruler sheet is not flat (residual {:.3} px), so the lean may be off by a tenth of a degree.",
                first.edge_rms_px
            ));
        }
        let later = (all.len() > 1).then(|| all.pop()).flatten();
        self.a.ruler = Some(first);
        later
    }

    fn known(&self) -> Known {
        let plan = self.request.plan.as_ref();
        let by_plan = |p: &Plan| {
            let width = self.frames.first().map_or(p.camera.pixels[0], |f| f.look.width.max(f.look.height) as f64);
            p.camera.px_per_mm * width / p.camera.pixels[0].max(p.camera.pixels[1])
        };
        let px_per_mm = self.a.ruler.as_ref().map(|r| r.px_per_mm.value).or(plan.map(by_plan));
        let elevation = plan.map(|p| (p.light.elevation_deg, ELEVATION_KEPT));
        Known { px_per_mm, elevation_deg: elevation.unwrap_or(Known::default().elevation_deg), ..Known::default() }
    }

    /// Facts of the first bare bed, and how its light changed to the last.
    fn blanks(&mut self) -> Option<blank::Bare> {
        let all = self.of(Role::Blank);
        let (first, last) = (*all.first()?, *all.last()?);
        let known = Known { ambient: self.room_share(first), ..self.known() };
        let sight = self.read(first)?;
        let bare = blank::measure(&sight, &known);
        let print = self.request.plan.as_ref().map_or(USUAL_PRINT, |p| {
            let (w, h) = (p.print.width_mm, p.print.height_mm);
            if p.print.sideways { [h, w] } else { [w, h] }
        });
        let mut facts = blank::facts(self.frames[first].name(), &bare, &known, print);
        if last != first
            && let Some(sight) = self.read(last)
        {
            let then = blank::measure(&sight, &known);
            facts.change = blank::change(self.frames[last].name(), &bare, &then, &sight);
        }
        if known.px_per_mm.is_none() {
            self.a.notes.push(
                "Without a ruler frame or a plan the scale is unknown, so lengths on the bed are not given.".into(),
            );
        }
        self.a.blank = Some(facts);
        Some(bare)
    }

    /// The share of even light, by the flash-off frame's level, and how well it is known. What the room returns of the flash
    /// itself, a hundredth or two, no frame shows.
    fn room_share(&self, blank: usize) -> (f64, f64) {
        let dark = self.of(Role::Ambient).first().map(|&i| self.frames[i].look.mean_level);
        let share = |d: f64| (d / self.frames[blank].look.mean_level.max(1e-9)).clamp(0.0, 0.9);
        dark.map_or(Known::default().ambient, |d| (share(d) + 0.015, 0.015))
    }

    fn ambient(&mut self, bare: Option<&blank::Bare>) {
        let Some(&dark) = self.of(Role::Ambient).first() else { return };
        let Some(&flash) = self.of(Role::Blank).first().filter(|_| bare.is_some()) else {
            self.a.notes.push("A frame with the flash off also needs a bare bed with the flash on (--blank).".into());
            return;
        };
        let (Some(off), Some(on)) = (self.read(dark), self.read(flash)) else { return };
        let between =
            ambient::exposure_between(&self.frames[flash].look.exif, &self.frames[dark].look.exif).unwrap_or(0.0);
        if between.abs() > 0.05 {
            self.a.notes.push(
                "The frame with the flash off has a different exposure from the bare bed; it was scaled \
                               to the same exposure."
                    .into(),
            );
        }
        let (name, beside) = (self.frames[dark].name(), self.frames[flash].name());
        self.a.ambient = Some(ambient::facts(name, &off, beside, &on.proxy, between));
    }

    fn chart(&mut self, bare: Option<&blank::Bare>) {
        let Some(&i) = self.of(Role::Chart).first() else { return };
        let Some(values) = self.request.chart_values.clone() else {
            self.a.notes.push(format!(
                "{} shows a chart. Give its values with --chart-values to check the colour.",
                self.frames[i].name()
            ));
            return;
        };
        let Some(sight) = self.read(i) else { return };
        let blanks: Vec<_> = bare.iter().map(|b| std::sync::Arc::new(b.blank.clone())).collect();
        let fits = bare.is_none_or(|b| b.size == (sight.frame.width, sight.frame.height));
        match chart::facts(self.frames[i].name(), &sight, &values, if fits { &blanks } else { &[] }) {
            Ok(facts) => self.a.chart = Some(facts),
            Err(e) => self.gone(i, &e),
        }
    }

    fn veils(&mut self, bare: Option<&blank::Bare>) {
        let blanks: Vec<_> = bare.iter().map(|b| std::sync::Arc::new(b.blank.clone())).collect();
        for i in self.of(Role::Front).into_iter().take(PRINTS) {
            let Some(sight) = self.read(i) else { continue };
            let own = bare.is_some_and(|b| b.size == (sight.frame.width, sight.frame.height));
            let place = self.frames[i].look.place.as_ref();
            let veil = guarded(|| Ok(see::veil(&sight, if own { &blanks } else { &[] }, place)));
            if let Some((share, at)) = veil.map_err(|error| self.gone(i, &error)).ok().flatten() {
                let towards_deg = at.map(|p| p.angle().to_degrees().rem_euclid(360.0));
                self.a.veils.push(VeilFound { path: self.frames[i].name(), share, towards_deg });
            }
        }
    }

    /// Reads a frame again for its figures; a file that went away since is a problem.
    fn read(&mut self, i: usize) -> Option<finish::frame::loaded_frame::LoadedFrame> {
        match see::read(&self.frames[i].path) {
            Ok(sight) => {
                self.frames[i].measured = true;
                Some(sight)
            }
            Err(e) => {
                self.gone(i, &e);
                None
            }
        }
    }
}

/// The reference page of the limits that faults are named by.
pub fn reference() -> String {
    let mut text = String::from(
        "# What a check calls a fault\n\nMade from `crates/rig/src/check/faults.rs` by `cargo xtask gen`; do not \
         edit.\n\nIf finished frames have a limit for the same quantity ([limits](limits.md)), the check uses its first \
         step. The check's own limits are:\n\n| code | measured | unit | web | book | archive \
         |\n|---|---|---|---|---|---|\n",
    );
    for o in &OWN {
        let than = if o.wants_more { "less than" } else { "more than" };
        let [web, book, archive] = o.by_aim;
        text += &format!("| `{}` | {}, {than} | {} | {web} | {book} | {archive} |\n", o.code, o.quantity, o.unit);
    }
    text += "\n## Why\n\n";
    OWN.iter().for_each(|o| text += &format!("- `{}`: {}\n", o.code, o.why));
    let shared = [
        "camera.tilt",
        "light.near",
        "light.moved",
        "light.mixed",
        "veil",
        "exposure.clipped",
        "exposure.low",
        "bed.show_through",
    ];
    let names: Vec<String> = shared.iter().map(|s| format!("`{s}`")).collect();
    text + &format!("\nTaken from the limits of finished frames ({} of them): {}.\n", LIMITS.len(), names.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_in_one_role_is_a_line_and_the_others_are_measured() {
        let top = tempfile::tempdir().unwrap();
        let place = top.path().join("grey.png");
        let grey = |rows: std::ops::Range<usize>| vec![180u8; 3 * 90 * rows.len()];
        codec::png::write(&place, 90, 60, &codec::Info::default(), grey).unwrap();
        let request = Request { inputs: vec![place.clone()], blanks: vec![place], ..Request::default() };
        let a = check(&Request::default());
        let mut run = Run { request: &request, frames: see::all(&request).frames, a };
        run.a.problems.clear();
        let gone: Option<()> = run.guarded(Role::Blank, |_| panic!("an index ran out"));
        assert_eq!(gone, None);
        let line = run.a.problems.join(" ");
        assert!(line.contains("grey.png") && line.contains("internal error: an index ran out"), "{line}");
        assert_eq!(run.guarded(Role::Chart, |_| 7), Some(7));
        assert_eq!(run.a.problems.len(), 1);
    }
}
