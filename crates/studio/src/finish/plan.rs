//! Plans each frame's work: its role, the frames it uses, its recipe, and whether an earlier run has finished it.

use super::look::Frame;
use super::roles::{self, Given, Seen, around, in_time, taken};
use super::run::Tell;
use super::state::{self, Store};
use super::{Event, Request};
use crate::job::{FrameJob, Look, Place, Reference, Work};
use crate::recipe::{Inputs, Recipe};
use crate::report::{Report, Role};
use std::path::{Path, PathBuf};

/// A frame ready to be finished.
pub(super) struct Planned {
    pub order: usize,
    pub stem: String,
    pub job: FrameJob,
    pub empty_is_meant: bool,
    pub notes: Vec<String>,
    pub already: Option<Report>,
}

pub(super) fn plan(
    request: &Request,
    store: &Store,
    references: &References,
    frames: &[Frame],
    tell: Tell,
) -> Vec<Planned> {
    let seen: Vec<Seen> = frames.iter().map(|f| Seen { look: &f.look, told: told(request, &f.path) }).collect();
    let given = roles::roles(&seen);
    let sitting = Sitting::new(frames, &given);
    if sitting.has(Role::Chart) && references.chart_values.is_none() {
        tell(Event::Says("A colour chart was found, but not its values: colour is balanced on the bed. Name them with --chart-values.".into()));
    }
    let planned = |(i, frame): (usize, &Frame)| {
        let job = job(request, store, references, &sitting, i, frame, &given[i]);
        let standing = request.archive.as_ref().is_some_and(|a| a.standing.contains(&job.blake3));
        let stands = |r: &Report| r.recipe_blake3 == job.recipe.key() || (standing && r.frame.role == job.role);
        let mut already = store.finished(&job.outputs, stands);
        if let Some(report) = &mut already {
            moved(report, &job);
        }
        let notes = frame.notes.clone();
        Planned {
            order: frame.order,
            stem: frame.stem.clone(),
            job,
            empty_is_meant: given[i].empty_is_meant,
            notes,
            already,
        }
    };
    frames.iter().enumerate().map(planned).collect()
}

/// An original that lies elsewhere now is the same original; only the report's path to it changes.
fn moved(report: &mut Report, job: &FrameJob) {
    if report.frame.path != job.path_in_report {
        report.frame.path.clone_from(&job.path_in_report);
        // A report that cannot be rewritten here keeps its old path; the frame is finished all the same.
        let _ = state::write_beside(&job.outputs.report.place, report.to_json().as_bytes());
    }
}

fn told(request: &Request, path: &Path) -> Option<Role> {
    let same = |other: &PathBuf| {
        other == path || matches!((other.canonicalize(), path.canonicalize()), (Ok(a), Ok(b)) if a == b)
    };
    let any = |paths: &[PathBuf]| paths.iter().any(same);
    let one = |path: &Option<PathBuf>| path.as_ref().is_some_and(same);
    [
        (any(&request.blanks), Role::Blank),
        (any(&request.backs), Role::Back),
        (one(&request.chart), Role::Chart),
        (one(&request.ambient), Role::Ambient),
    ]
    .into_iter()
    .find_map(|(is, role)| is.then_some(role))
}

/// Confidence above which a first look is trusted: eight parts in ten of all edges.
const SURE: f64 = 0.8;

/// Frames in the order they were taken, so that each finds the blank, chart and flash-off frame nearest to it.
struct Sitting<'a> {
    frames: Vec<&'a Frame>,
    roles: Vec<Role>,
    times: Vec<Option<i64>>,
    place_of: Vec<usize>,
}

impl<'a> Sitting<'a> {
    fn new(frames: &'a [Frame], given: &[Given]) -> Self {
        let order = in_time(&frames.iter().map(|f| &f.look).collect::<Vec<_>>());
        let mut place_of = vec![0; frames.len()];
        order.iter().enumerate().for_each(|(place, &i)| place_of[i] = place);
        Self {
            frames: order.iter().map(|&i| &frames[i]).collect(),
            roles: order.iter().map(|&i| given[i].role).collect(),
            times: order.iter().map(|&i| taken(&frames[i].look)).collect(),
            place_of,
        }
    }

    fn has(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    /// The scale that the sitting's frames of this size agree on, frame pixels per millimetre, where this frame's own look
    /// leaves doubt: a good frame never depends on others.
    fn scale(&self, look: &Look) -> Option<f64> {
        let size = |l: &Look| (l.width, l.height);
        // Only a print with all its edges speaks for the sitting.
        let speaks = |p: &&Place| p.confidence > SURE && !p.back;
        let places =
            self.frames.iter().map(|f| &f.look).filter(|l| size(l) == size(look)).filter_map(|l| l.place.as_ref());
        let mut all: Vec<f64> = places.filter(speaks).map(|p| p.px_per_mm).collect();
        all.sort_by(f64::total_cmp);
        let middle = *all.get(all.len() / 2)?;
        // Three frames and most of them within two per cent: one rig. Otherwise frames of several rigs are mixed.
        let agree = all.iter().filter(|s| (**s / middle - 1.0).abs() < 0.02).count();
        let own = look.place.as_ref().filter(|p| p.confidence > SURE && (p.px_per_mm / middle - 1.0).abs() < 0.03);
        // A hundredth of a pixel: a frame more in the sitting must not change the recipes of the others.
        (all.len() >= 3 && agree * 3 >= all.len() * 2 && own.is_none()).then_some((middle * 100.0).round() / 100.0)
    }

    /// The nearest frames of a role around frame `i`: at most one before and one after.
    fn near(&self, i: usize, role: Role) -> Vec<Reference> {
        let places: Vec<usize> = (0..self.roles.len()).filter(|&p| self.roles[p] == role).collect();
        around(self.place_of[i], &places, &self.times).into_iter().map(|p| self.frames[p].reference()).collect()
    }
}

fn job(
    request: &Request,
    store: &Store,
    references: &References,
    sitting: &Sitting,
    i: usize,
    frame: &Frame,
    given: &Given,
) -> FrameJob {
    let prints = given.role.holds_print();
    let usable = |named: &[Reference], role: Role| match (prints, named.is_empty()) {
        (false, _) => vec![],
        (true, true) => sitting.near(i, role),
        (true, false) => named.to_vec(),
    };
    let named = |one: &Option<Reference>| one.iter().cloned().collect::<Vec<_>>();
    let blanks = usable(&references.blanks, Role::Blank);
    let ambient = usable(&named(&references.ambient), Role::Ambient).into_iter().next();
    // A chart without its values cannot be used; the chart's own frame is judged with them.
    let chart_values = (prints || given.role == Role::Chart).then(|| references.chart_values.clone()).flatten();
    let chart = chart_values.as_ref().and_then(|_| usable(&named(&references.chart), Role::Chart).into_iter().next());
    let hash_of = |r: &Option<Reference>| r.as_ref().map(|r| r.blake3.clone());
    let inputs = Inputs {
        frame: frame.blake3.clone(),
        blanks: blanks.iter().map(|b| b.blake3.clone()).collect(),
        chart: hash_of(&chart),
        chart_values: hash_of(&chart_values),
        ambient: hash_of(&ambient),
    };
    let mut recipe = Recipe::new(given.role, request.settings.clone(), inputs);
    recipe.empty_is_meant = given.empty_is_meant;
    recipe.sitting_px_per_mm = sitting.scale(&frame.look).filter(|_| prints);
    let outputs = store.outputs(&frame.stem, request.settings.srgb_png);
    FrameJob {
        path: frame.path.clone(),
        path_in_report: relative(&frame.path, outputs.report.place.parent().unwrap_or(&store.out)),
        blake3: frame.blake3.clone(),
        role: given.role,
        role_reason: given.reason.clone(),
        look: frame.look.clone(),
        blanks,
        chart,
        chart_values,
        ambient,
        settings: request.settings.clone(),
        outputs,
        recipe,
    }
}

/// `path` as seen from `folder`, with `/` between parts; absolute where they share no root.
fn relative(path: &Path, folder: &Path) -> String {
    let (Ok(path), Ok(folder)) = (path.canonicalize(), folder.canonicalize()) else {
        return path.to_string_lossy().into_owned();
    };
    let shared = path.components().zip(folder.components()).take_while(|(a, b)| a == b).count();
    let up = folder.components().skip(shared).map(|_| "..".into());
    let down = path.components().skip(shared).map(|c| c.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<String>>().join("/")
}

/// Frames and files that the photographer named.
pub(super) struct References {
    blanks: Vec<Reference>,
    chart: Option<Reference>,
    chart_values: Option<Reference>,
    ambient: Option<Reference>,
}

impl References {
    pub fn read(request: &Request) -> Result<Self, String> {
        let read = |path: &PathBuf| match state::hash(path) {
            Ok(blake3) => Ok(Reference { path: path.clone(), blake3 }),
            Err(e) => Err(format!("{}: {e}", path.display())),
        };
        let maybe = |path: &Option<PathBuf>| path.as_ref().map(read).transpose();
        Ok(Self {
            blanks: request.blanks.iter().map(read).collect::<Result<_, _>>()?,
            chart: maybe(&request.chart)?,
            chart_values: maybe(&request.chart_values)?,
            ambient: maybe(&request.ambient)?,
        })
    }

    /// Has the blanks read that the frames of a run are likely to want. Whether a chart asks for another reading of them is
    /// known only once the chart is read.
    pub fn prepare(&self, work: &dyn Work) {
        if self.chart_values.is_none() {
            self.blanks.iter().for_each(|b| work.prepare(&b.path));
        }
    }
}
