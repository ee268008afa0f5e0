//! Plans each frame's work: its role, the frames it uses, its recipe, and whether an earlier run has finished it.

use crate::Role;
use crate::first_look::Frame;
use crate::job::SURE;
use crate::job::{FrameJob, Look, Place, Reference, Work};
use crate::named_files::References;
use crate::outcome::Tell;
use crate::recipe::{Beside, Inputs, PartOf, Recipe, What};
use crate::report::Report;
use crate::roles::{self, Given, RoleInput, around, in_time, taken};
use crate::sitting_state::{Memory, Run, changes, for_size};
use crate::store::Store;
use crate::{Event, Request, names};
use base::files::name_of;
use base::files::relative;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// A frame ready to be finished.
pub(crate) struct Planned {
    pub order: usize,
    pub stem: String,
    /// The name of the whole frame.
    pub of_frame: String,
    pub job: FrameJob,
    pub empty_is_meant: bool,
    pub notes: Vec<String>,
    pub already: Option<Report>,
}

pub(crate) fn plan(
    request: &Request,
    store: &Store,
    references: &References,
    memory: &Memory,
    frames: &[Frame],
    work: &dyn Work,
    tell: Tell,
) -> (Vec<Planned>, Run) {
    let named = named_roles(request);
    let told = |f: &Frame| told(&named, &f.path).or_else(|| memory.told(f));
    let seen: Vec<RoleInput> = frames.iter().map(|f| RoleInput { look: &f.look, told: told(f) }).collect();
    let mut given = roles::roles(&seen);
    for (frame, given) in frames.iter().zip(&mut given) {
        if crate::assignment::told(&named, &frame.path).is_none() && memory.told(frame).is_some() {
            given.reason = format!("{} beside it says so", crate::sitting::NAME);
        }
    }
    let open: Vec<bool> = frames.iter().map(|f| told(f).is_none()).collect();
    let asks = from_the_other_side(frames, &open, &mut given, work);
    let run = Run {
        rig: memory.rig(frames, &given),
        lens: memory.lens(frames, &given),
        roles: service(frames, &given),
        chart_values: references.chart_values.clone().or_else(|| memory.chart_values().cloned()),
    };
    let sitting = Sitting::new(frames, &given, memory, &run);
    for (frame, why) in frames.iter().filter_map(|f| Some((f, f.look.ruler_fault.as_ref()?))) {
        tell(Event::Says(format!("{}: The ruler sheet is not used: {why}.", name_of(&frame.path))));
    }
    if sitting.has(Role::Chart) && run.chart_values.is_none() {
        tell(Event::Says(
            "A colour chart was found, but not its reference values, so colour is balanced on the bed. \
                          Give the values with --chart-values."
                .into(),
        ));
    }
    let taken = frames.iter().map(|f| base::files::alike(&f.stem)).collect();
    let planned = |(i, frame, part, stem): (usize, &Frame, Option<PartOf>, String)| {
        let given = of_part(&given[i], told(frame).is_some(), frame, part);
        let mut job = job(request, store, references, &sitting, i, (frame, part, &stem), &given);
        let standing = request.project.as_ref().is_some_and(|a| a.standing.contains_key(&job.blake3));
        let stands = |r: &Report| {
            r.recipe_blake3 == job.recipe.key() || (standing && r.frame.role == job.role && !has_second(&job, r))
        };
        let mut already = store.finished(&job.outputs, stands);
        if standing && already.is_none() {
            // What was said of the frame stays said.
            let before = store.finished(&job.outputs, |r| r.frame.role == job.role);
            job.recipe.by_hand = before.and_then(|r| r.recipe.by_hand);
            job.settings = job.recipe.chosen();
        }
        if let Some(report) = &mut already {
            moved(report, &job);
        }
        let mut notes = frame.notes.clone();
        notes.extend(asks.get(&i).cloned());
        notes.extend(sitting.says(references, &job));
        Planned {
            order: frame.order,
            stem,
            of_frame: frame.stem.clone(),
            job,
            empty_is_meant: given.empty_is_meant,
            notes,
            already,
        }
    };
    let mut all = vec![];
    for (i, frame) in frames.iter().enumerate() {
        match if given[i].role.holds_print() { prints_of(request, frame) } else { 1 } {
            of @ 2.. => {
                let stems = (1..).zip(names::parts(&frame.stem, of, &taken));
                all.extend(stems.map(|(number, stem)| planned((i, frame, Some(PartOf { number, of }), stem))));
            }
            _ => all.push(planned((i, frame, None, frame.stem.clone()))),
        }
    }
    (all, run)
}

/// How alike two frames' windows are that certainly show one print: the same picture under two lights agrees in more than nine tenths of its
/// local contrast; another exposure of the same scene, laid at the same place, in less (see `docs/science/second-frame.md`).
const SURELY_ONE: f64 = 0.9;
/// Under this they certainly show two: two pictures have about nothing in common.
const SURELY_TWO: f64 = 0.3;

/// Gives their role to frames that certainly show the print before them lit from the other side; for those that may, what to ask.
fn from_the_other_side(
    frames: &[Frame],
    open: &[bool],
    given: &mut [Given],
    work: &dyn Work,
) -> HashMap<usize, String> {
    let looks: Vec<&Look> = frames.iter().map(|f| &f.look).collect();
    let roles: Vec<Role> = given.iter().map(|g| g.role).collect();
    let order = in_time(&looks);
    let mut asks = HashMap::new();
    for pair in crate::pairs::from_the_other_side(&looks, &roles, open, &order) {
        let (front, frame) = (&frames[pair.front], &frames[pair.frame]);
        let name = name_of(&front.path);
        match work.likeness((&front.path, &front.look), (&frame.path, &frame.look)) {
            Some(likeness) if likeness >= SURELY_ONE => {
                given[pair.frame].role = Role::Counter;
                given[pair.frame].reason =
                    format!("it shows the print of {name} at the same place, lit from the other side");
            }
            Some(likeness) if likeness < SURELY_TWO => {}
            _ => {
                let ask = format!(
                    "This may be the print of {name}, lit from the other side. If it is, name this frame with --counter, and the two are joined."
                );
                asks.insert(pair.frame, ask);
            }
        }
    }
    asks
}

/// True where a frame of the same print has come since the report was made: one lit from the other side, or one with the flash off.
fn has_second(job: &FrameJob, report: &Report) -> bool {
    let (now, before) = (&job.recipe.inputs, &report.recipe.inputs);
    let new = |now: &Option<String>, before: &Option<String>| now.is_some() && before.is_none();
    new(&now.counter, &before.counter)
        || new(&now.flash_off, &before.flash_off)
        || new(&job.recipe.second_of, &report.recipe.second_of)
}

/// The number of prints a frame is finished as: the earlier number if its results are kept, otherwise the number of prints in it.
fn prints_of(request: &Request, frame: &Frame) -> u32 {
    let standing = request.project.as_ref().and_then(|p| p.standing.get(&frame.blake3));
    match standing {
        Some(of) => *of,
        None if request.settings.one => 1,
        None => frame.look.places.len() as u32,
    }
}

/// The role of one print in a frame: fronts and backs can be side by side, unless the user gave a role.
fn of_part(given: &Given, told: bool, frame: &Frame, part: Option<PartOf>) -> Given {
    let place = part.and_then(|p| frame.look.places.get(p.number.saturating_sub(1) as usize));
    match place.filter(|_| !told && matches!(given.role, Role::Front | Role::Back)) {
        Some(p) if p.back => {
            Given { role: Role::Back, reason: "a print without a window is there".into(), ..given.clone() }
        }
        Some(_) => Given { role: Role::Front, reason: "a print with its window is there".into(), ..given.clone() },
        None => given.clone(),
    }
}

/// Everything in a frame beside one of its prints.
fn beside(look: &Look, part: Option<PartOf>) -> Vec<Beside> {
    let other = |(number, _): &(u32, &Place)| part.is_some_and(|p| p.number != *number);
    let of = |(_, p): (u32, &Place)| Beside { what: What::Print, outline_px: p.rim.clone() };
    (1..).zip(&look.places).filter(other).map(of).chain(look.others.iter().cloned()).collect()
}

/// Frames that other frames use, in the given order.
fn service(frames: &[Frame], given: &[Given]) -> Vec<(Role, Reference)> {
    let of = |(f, g): (&Frame, &Given)| {
        // A flash-off frame of a print in place is that print's alone.
        let own = g.role == Role::Ambient && f.look.place.is_some();
        let kept =
            matches!(g.role, Role::Blank | Role::Chart | Role::Ruler | Role::Ambient) && g.empty_is_meant && !own;
        kept.then(|| (g.role, f.reference()))
    };
    frames.iter().zip(given).filter_map(of).collect()
}

/// An original that was moved is still the same original; only its path in the report changes.
fn moved(report: &mut Report, job: &FrameJob) {
    if report.frame.path != job.path_in_report {
        report.frame.path.clone_from(&job.path_in_report);
        // A report that cannot be rewritten keeps its old path; the frame is still finished.
        let _ = base::files::write::write_beside(&job.outputs.report.place, report.to_json().as_bytes());
    }
}

/// The roles of files given as options, by the given path and by the canonical path.
fn named_roles(request: &Request) -> HashMap<PathBuf, Role> {
    let mut roles = HashMap::new();
    let all = [
        (request.blanks.as_slice(), Role::Blank),
        (request.backs.as_slice(), Role::Back),
        (request.chart.as_slice(), Role::Chart),
        (request.ambient.as_slice(), Role::Ambient),
        (request.counters.as_slice(), Role::Counter),
    ];
    for (path, role) in all.into_iter().flat_map(|(paths, role)| paths.iter().map(move |p| (p, role))) {
        // If a file has two roles, the first one is used.
        roles.entry(path.clone()).or_insert(role);
        if let Ok(real) = path.canonicalize() {
            roles.entry(real).or_insert(role);
        }
    }
    roles
}

fn told(named: &HashMap<PathBuf, Role>, path: &Path) -> Option<Role> {
    if named.is_empty() {
        return None;
    }
    let real = || path.canonicalize().ok().and_then(|real| named.get(&real).copied());
    named.get(path).copied().or_else(real)
}

/// Frames in the order they were taken, so that each finds the blank, chart and flash-off frame nearest to it.
struct Sitting<'a> {
    frames: Vec<&'a Frame>,
    roles: Vec<Role>,
    times: Vec<Option<i64>>,
    place_of: Vec<usize>,
    memory: &'a Memory,
    run: &'a Run,
    /// The scale that the frames of each size agree on, if they do.
    scales: HashMap<(usize, usize), Option<f64>>,
}

impl<'a> Sitting<'a> {
    fn new(frames: &'a [Frame], given: &[Given], memory: &'a Memory, run: &'a Run) -> Self {
        let order = in_time(&frames.iter().map(|f| &f.look).collect::<Vec<_>>());
        let mut place_of = vec![0; frames.len()];
        order.iter().enumerate().for_each(|(place, &i)| place_of[i] = place);
        Self {
            frames: order.iter().map(|&i| &frames[i]).collect(),
            roles: order.iter().map(|&i| given[i].role).collect(),
            times: order.iter().map(|&i| taken(&frames[i].look)).collect(),
            place_of,
            memory,
            run,
            scales: scales(frames),
        }
    }

    fn has(&self, role: Role) -> bool {
        self.roles.contains(&role)
    }

    /// The scale that the sitting's frames of this size agree on, frame pixels per millimetre. It is used only if the first look at
    /// this frame is uncertain: a good frame never depends on others.
    fn scale(&self, look: &Look) -> Option<f64> {
        let middle = (*self.scales.get(&(look.width, look.height))?)?;
        let own = look.place.as_ref().filter(|p| p.confidence > SURE && (p.px_per_mm / middle - 1.0).abs() < 0.03);
        // Rounded to a hundredth of a pixel: one more frame in the sitting must not change the recipes of the others.
        own.is_none().then_some((middle * 100.0).round() / 100.0)
    }

    /// The size of the first frame with a print, if no frame with a print has this frame's size.
    fn unlike_prints(&self, look: &Look) -> Option<[usize; 2]> {
        let prints = || self.frames.iter().zip(&self.roles).filter(|(_, r)| r.holds_print());
        let sizes = || prints().map(|(f, _)| [f.look.width, f.look.height]);
        sizes().next().filter(|_| !sizes().any(|s| s == [look.width, look.height]))
    }

    /// Notes on what a job uses from elsewhere: the lens from a ruler frame, and values from earlier runs.
    fn says(&self, references: &References, job: &FrameJob) -> Vec<String> {
        let mut says = vec![];
        if !job.role.holds_print() {
            return says;
        }
        if let (Some(lens), Some(_)) = (&self.run.lens, &job.recipe.lens) {
            says.push(format!(
                "The lens distortion is corrected from the ruler frame {}.",
                name_of(Path::new(&lens.file))
            ));
        }
        let remembered = |r: &Reference, role: Role| {
            let own = || self.frames.iter().any(|f| f.blake3 == r.blake3);
            (self.memory.frames(role).contains(r) && !own()).then(|| name_of(&r.path))
        };
        if references.blanks.is_empty() {
            let names: Vec<String> = job.blanks.iter().filter_map(|b| remembered(b, Role::Blank)).collect();
            if !names.is_empty() {
                let names: Vec<&str> = names.iter().map(String::as_str).collect();
                says.push(format!(
                    "The light is evened by the sitting's bare bed, {}, as {} has it.",
                    base::wording::list(&names),
                    crate::sitting::NAME
                ));
            }
        }
        let chart = job.chart.as_ref().filter(|_| references.chart.is_none());
        if let Some(name) = chart.and_then(|c| remembered(c, Role::Chart)) {
            says.push(format!("Colour is set by the sitting's chart, {name}, as {} has it.", crate::sitting::NAME));
        } else if job.chart.is_some() && references.chart_values.is_none() {
            says.push(format!("The chart's values are those given in {}.", crate::sitting::NAME));
        }
        says
    }

    /// The flash-off frame beside frame `i` that may show its print in place.
    fn flash_off(&self, i: usize) -> Option<Reference> {
        let looks: Vec<&Look> = self.frames.iter().map(|f| &f.look).collect();
        let beside = crate::pairs::flash_off_beside(self.place_of[i], &looks, &self.roles)?;
        Some(self.frames[beside].reference())
    }

    /// The frame that shows the print of frame `i` lit from the other side: from the run, otherwise one of those given.
    fn counter(&self, i: usize, given: &[(Reference, Look)]) -> Option<Reference> {
        let looks: Vec<&Look> = self.frames.iter().map(|f| &f.look).collect();
        let place = self.place_of[i];
        let own = crate::pairs::counter_of(place, &looks, &self.roles).map(|k| self.frames[k].reference());
        let other = || given.iter().find(|(_, look)| crate::pairs::same_place(look, looks[place]));
        own.or_else(|| other().map(|(r, _)| r.clone()))
    }

    /// The front that frame `i`, lit from the other side, is joined with.
    fn second_of(&self, i: usize) -> Option<String> {
        let looks: Vec<&Look> = self.frames.iter().map(|f| &f.look).collect();
        let place = self.place_of[i];
        let front = crate::pairs::front_of(place, &looks, &self.roles)?;
        let joined = crate::pairs::counter_of(front, &looks, &self.roles) == Some(place);
        joined.then(|| self.frames[front].blake3.clone())
    }

    /// The nearest frames of a role around frame `i`: at most one before and one after; if the run has none, the sitting's.
    fn near(&self, i: usize, role: Role) -> Vec<Reference> {
        if !self.has(role) {
            return self.memory.frames(role);
        }
        // A bare bed of a different size cannot even this frame.
        let size = |p: usize| (self.frames[p].look.width, self.frames[p].look.height);
        let own = size(self.place_of[i]);
        // A flash-off frame with a print in place belongs to that print alone.
        let holds = |p: usize| role == Role::Ambient && self.frames[p].look.place.is_some();
        let fits = |&p: &usize| self.roles[p] == role && (role != Role::Blank || size(p) == own) && !holds(p);
        let places: Vec<usize> = (0..self.roles.len()).filter(fits).collect();
        around(self.place_of[i], &places, &self.times).into_iter().map(|p| self.frames[p].reference()).collect()
    }
}

/// The scale that the frames of each size agree on, pixels per millimetre.
fn scales(frames: &[Frame]) -> HashMap<(usize, usize), Option<f64>> {
    let mut all: HashMap<(usize, usize), Vec<f64>> = HashMap::new();
    for look in frames.iter().map(|f| &f.look) {
        // Only a print with all its edges is representative of the sitting.
        let place = look.place.as_ref().filter(|p| p.confidence > SURE && !p.back);
        all.entry((look.width, look.height)).or_default().extend(place.map(|p| p.px_per_mm));
    }
    all.into_iter().map(|(size, scales)| (size, agreed(scales))).collect()
}

/// The median scale if the frames agree: at least three frames, most of them within two per cent, are one rig. Otherwise frames of
/// several rigs are mixed.
fn agreed(mut all: Vec<f64>) -> Option<f64> {
    all.sort_by(f64::total_cmp);
    let middle = *all.get(all.len() / 2)?;
    let agree = all.iter().filter(|s| (**s / middle - 1.0).abs() < 0.02).count();
    (all.len() >= 3 && agree * 3 >= all.len() * 2).then_some(middle)
}

fn job(
    request: &Request,
    store: &Store,
    references: &References,
    sitting: &Sitting,
    i: usize,
    (frame, part, stem): (&Frame, Option<PartOf>, &str),
    given: &Given,
) -> FrameJob {
    let prints = given.role.holds_print();
    let usable = |named: &[Reference], role: Role| match (prints, named.is_empty()) {
        (false, _) => vec![],
        (true, true) => sitting.near(i, role),
        (true, false) => named.to_vec(),
    };
    let named = |one: &Option<Reference>| one.iter().cloned().collect::<Vec<_>>();
    // The chart frame is evened like the frames of prints.
    let blanks = match (prints || given.role == Role::Chart, references.blanks.is_empty()) {
        (false, _) => vec![],
        (true, true) => sitting.near(i, Role::Blank),
        (true, false) => references.blanks_for(&frame.look),
    };
    let ambient = usable(&named(&references.ambient), Role::Ambient).into_iter().next();
    let flash_off =
        sitting.flash_off(i).filter(|r| prints && references.ambient.is_none() && Some(r) != ambient.as_ref());
    let counter = if given.role == Role::Front { sitting.counter(i, &references.counters) } else { None };
    // A chart without reference values cannot be used; the chart frame itself is judged with them.
    let chart_values = (prints || given.role == Role::Chart).then(|| sitting.run.chart_values.clone()).flatten();
    let chart = chart_values.as_ref().and_then(|_| usable(&named(&references.chart), Role::Chart).into_iter().next());
    let hash_of = |r: &Option<Reference>| r.as_ref().map(|r| r.blake3.clone());
    let inputs = Inputs {
        frame: frame.blake3.clone(),
        blanks: blanks.iter().map(|b| b.blake3.clone()).collect(),
        chart: hash_of(&chart),
        chart_values: hash_of(&chart_values),
        ambient: hash_of(&ambient),
        flash_off: hash_of(&flash_off),
        counter: hash_of(&counter),
    };
    let mut recipe = Recipe::new(given.role, request.settings.clone(), inputs);
    recipe.empty_is_meant = given.empty_is_meant;
    recipe.sitting_px_per_mm = sitting.scale(&frame.look).filter(|_| prints);
    recipe.lens = for_size(sitting.run.lens.as_ref(), &frame.look).filter(|_| prints);
    recipe.rig = if prints { changes(&sitting.run.rig, &frame.look) } else { vec![] };
    recipe.prints_frame_px = (given.role == Role::Blank).then(|| sitting.unlike_prints(&frame.look)).flatten();
    recipe.part = part;
    recipe.second_of = (given.role == Role::Counter && part.is_none()).then(|| sitting.second_of(i)).flatten();
    recipe.beside = if prints && !request.settings.one { beside(&frame.look, part) } else { vec![] };
    let outputs = store.outputs(stem, request.settings.srgb_png);
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
        flash_off,
        counter,
        settings: request.settings.clone(),
        outputs,
        recipe,
        more: false,
    }
}
