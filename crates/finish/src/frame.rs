//! The work on one frame: look, measure, judge, finish.

pub mod bend;
mod beside;
pub mod chart;
mod counter;
pub mod loaded_frame;
pub mod make;
pub mod measure;
pub mod recast;
pub mod rig_observation;
mod room;
mod ruler;
mod service;
pub(crate) mod shadow_sampling;
#[cfg(test)]
mod ugly;
mod window;

use crate::job::{DARK, SURE};
use crate::job::{Finished, FrameJob, Judged, Look, Reference, Work};
use crate::judge::judge;
use crate::measured::Measured;
use crate::report::{FrameFacts, Previews, Report};
use crate::{Role, quad};
use base::Failure;
use base::workers::lock;
use correct::canvas::{Canvas, Warp};
use correct::colour::ColourFit;
use correct::flatten::Flat;
use loaded_frame::LoadedFrame;
use print::find::Found;
use print::flat_field::{self, Blank};
use print::hints::Drawn;
use print::hints::Hints;
use print::several::Lying;
use print::shadow::{self, Cast};
use room::Room;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// The real work. It remembers what a sitting's frames share: blanks once smoothed and the chart once fitted; and
/// the frame looked at last, which a single frame's finish need not read again, as those of which more prints are finished next.
#[derive(Default)]
pub struct Frames {
    blanks: Mutex<HashMap<(String, Option<ChartKey>), Smooth>>,
    charts: Mutex<HashMap<ChartKey, Arc<ChartFit>>>,
    last: Mutex<Option<(PathBuf, LoadedFrame)>>,
    between: Mutex<Vec<(PathBuf, bool, LoadedFrame)>>,
    /// Bare beds without the flash.
    rooms: Mutex<HashMap<(String, Option<ChartKey>), room::Bare>>,
    /// How alike pairs of frames are, by their files.
    pairs: Mutex<HashMap<(PathBuf, PathBuf), Option<f64>>>,
}

/// A chart as it is fitted: the hashes of its frame, of its values and of the blanks that even it. The same file elsewhere is the same
/// chart, and whichever frame asks first gets the same fit.
type ChartKey = (String, String, Vec<String>);

/// Blanks and charts kept at once. A sitting has a few; a desk that stays open sees the blanks of many.
const KEPT: usize = 24;

/// A blank, and the size of its frame.
type Smooth = ((usize, usize), Arc<Blank>);

impl Work for Frames {
    fn look(&self, path: &Path) -> Result<Look, Failure> {
        let sight = LoadedFrame::read(path, None)?;
        let look = look_at(&sight);
        *lock(&self.last) = Some((path.into(), sight));
        Ok(look)
    }

    fn likeness(&self, one: (&Path, &Look), other: (&Path, &Look)) -> Option<f64> {
        let key = (one.0.to_owned(), other.0.to_owned());
        if let Some(known) = lock(&self.pairs).get(&key) {
            return *known;
        }
        let read = |path: &Path| LoadedFrame::read(path, None).ok();
        let likeness = read(one.0).zip(read(other.0)).and_then(|(a, b)| counter::likeness((&a, one.1), &b));
        keep(&self.pairs, key, likeness);
        likeness
    }

    fn prepare(&self, blank: &Reference) {
        let _ = self.blank(blank, None, None);
    }

    fn check_chart_values(&self, values: &Path) -> Result<(), Failure> {
        chart::values(values)?.map(drop).map_err(|why| Failure::new(format!("These are not chart values: {why}.")))
    }

    fn finish(&self, job: &FrameJob, judged: &Judged) -> Result<Finished, Failure> {
        let fit = self.chart(job)?;
        let fit = fit.as_deref();
        let look = fitted(fit).and_then(|f| f.look.as_ref());
        // Whoever comes first empties the slot, so that no frame waits in memory while others are finished.
        let last = lock(&self.last).take().filter(|(path, _)| *path == job.path && look.is_none()).map(|l| l.1);
        let sight = match last.or_else(|| self.kept(&job.path, look.is_some())) {
            Some(sight) => sight,
            None => LoadedFrame::read(&job.path, look)?,
        };
        let mut report = Report::of(facts(job, &sight), job.recipe.clone());
        report.notes = sight.notes.clone();
        report.used = job.used();
        report.previews = Some(Previews { before: job.outputs.before.name.clone(), after: None });
        if let (Some(Err(why)), true) = (fit, job.role.holds_print() && job.recipe.second_of.is_none()) {
            report.notes.push(format!("{}{why}.", crate::named_files::NOT_USED));
        }
        let report = self.finish_role(job, &sight, report, fit, judged)?;
        if job.more {
            lock(&self.between).push((job.path.clone(), look.is_some(), sight));
        }
        Ok(Finished { report })
    }
}

/// What a frame seems to hold.
pub fn look_at(sight: &LoadedFrame) -> Look {
    look_and_find(sight).0
}

/// Light of the bed at the frame's centre, stops from white, mean of the bands.
fn level(bed: &pixels::Field, sight: &LoadedFrame) -> f64 {
    let v = bed.at(sight.frame.width as f64 / 2.0, sight.frame.height as f64 / 2.0);
    f64::from(v.iter().sum::<f32>() / 3.0).max(1e-6).log2()
}

/// Light of the bed at the middles of the frame's quarters, stops from white per band.
fn quarters(bed: &pixels::Field, sight: &LoadedFrame) -> [[f64; 3]; 4] {
    let (w, h) = (sight.frame.width as f64, sight.frame.height as f64);
    [(0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)]
        .map(|(x, y)| bed.at(x * w, y * h).map(|v| base::wording::round(f64::from(v.max(1e-6)).log2(), 1e3)))
}

/// What a frame seems to hold, and the prints found in it.
fn look_and_find(sight: &LoadedFrame) -> (Look, Lying) {
    let (w, h) = (sight.frame.width, sight.frame.height);
    let mean_level = sight.mean_level();
    let chart = || print::chart::find_chart(&sight.proxy, sight.step as f64, None).ok();
    // A frame this dark holds no flash light to look at.
    let dark = mean_level < DARK;
    let (chart, print) = if dark { (chart(), None) } else { rayon::join(chart, || Some(prints_in(sight))) };
    let mut look = Look { width: w, height: h, mean_level, exif: sight.words.clone(), ..Look::default() };
    look.chart_score = chart.as_ref().map_or(0.0, |c| c.score);
    let Some((bed, lying)) = print else { return (look, Lying::default()) };
    let found = loaded_frame::surest(&lying);
    if found.zip(chart.as_ref()).is_some_and(|(f, c)| is_picture_of(f, c)) {
        look.chart_score = 0.0;
    }
    // A grid of patches may be the ruler's squares; a print with its edges is no ruler sheet; whatever else lies there, or
    // nothing, may be one that fills the frame.
    let unsure = found.is_none_or(|f| f.confidence < SURE);
    if look.chart_score >= 0.5 || unsure {
        ruler::shown(sight, &mut look);
    }
    if look.chart_score >= 0.5 || look.ruler_score >= 0.5 {
        return (look, Lying::default());
    }
    look.bed_stops = Some(base::wording::round(level(&bed, sight), 1e3));
    look.quarters = Some(quarters(&bed, sight));
    match found {
        Some(f) => {
            look.print_score = f.confidence.max(0.51);
            look.window_score = if lying.prints.iter().all(|f| f.back) { 0.0 } else { 1.0 };
            loaded_frame::note(&mut look, &lying);
        }
        None => {
            look.print_score = loaded_frame::something_lies_there(&sight.proxy, sight.step as f64, &bed);
            look.window_score = look.print_score;
        }
    }
    (look, lying)
}

/// Confidence from which an outline is a print's where a chart lies clear inside its window: half of all edges. A chart's card may pass
/// for a print, but then its patches reach to the window's rim.
const LIKELY: f64 = 0.5;
/// How far inside the window's rim the patches of a pictured chart lie for [`LIKELY`] to do, as a share of the window's side: the
/// patches of a chart's own card end at the card's border, which would be taken for the window's rim.
const CLEAR: f64 = 0.03;

/// True where the chart seen is part of a print's picture: the print is found, and the chart's grid lies wholly in its window.
fn is_picture_of(print: &Found, chart: &print::chart::ChartPlace) -> bool {
    let Some(window) = print.window() else { return false };
    let depth = chart.grid().0.iter().map(|c| window.inset(*c)).fold(f64::INFINITY, f64::min);
    let side = window.area().abs().sqrt();
    // Corners of patches that reach the window's rim may lie a hundredth of it outside by their own error.
    (print.confidence > SURE && depth > -0.01 * side) || (print.confidence > LIKELY && depth > CLEAR * side)
}

/// The bed as a first look has it, and the prints on it.
fn prints_in(sight: &LoadedFrame) -> (pixels::Field, Lying) {
    let (bed, _) = flat_field::guess(&sight.proxy, sight.step as f64);
    let lying = loaded_frame::lying(sight, &bed);
    (bed, lying)
}

impl Frames {
    /// A frame of which a print was finished before, and more are to come.
    fn kept(&self, path: &Path, by_look: bool) -> Option<LoadedFrame> {
        let mut between = lock(&self.between);
        let at = between.iter().position(|(p, look, _)| p == path && *look == by_look)?;
        Some(between.swap_remove(at).2)
    }

    /// What a frame's role asks for.
    fn finish_role(
        &self,
        job: &FrameJob,
        sight: &LoadedFrame,
        mut report: Report,
        fit: Option<&ChartFit>,
        judged: &Judged,
    ) -> Result<Report, Failure> {
        if job.role.holds_print() && job.recipe.second_of.is_none() {
            let room = room::of(self, job, sight, fitted(fit).and_then(|f| f.look.as_ref()));
            let blanks = self.blanks(job, sight, fitted(fit))?;
            return self.finish_print(job, (sight, room.as_ref()), blanks, report, fitted(fit), judged);
        }
        match job.role {
            Role::Chart => report.colour = fitted(fit).map(chart::facts),
            Role::Ruler => ruler::write_down(&mut report, &job.look),
            // An empty bed that is a surprise is judged by the run, which knows what came before and after.
            _ => {}
        }
        report.serves(service::of(job, sight, fit));
        make::before(sight, &job.outputs)?;
        Ok(report)
    }

    fn finish_print(
        &self,
        job: &FrameJob,
        (stored, room): (&LoadedFrame, Option<&Room>),
        blanks: Vec<Arc<Blank>>,
        mut report: Report,
        fit: Option<&ColourFit>,
        judged: &Judged,
    ) -> Result<Report, Failure> {
        let sight = room.and_then(|r| r.lit.as_ref()).unwrap_or(stored);
        let blanks = match room {
            Some(room) => room.blanks(blanks),
            None => blanks,
        };
        report.notes.extend(room.iter().flat_map(|r| r.notes.iter().cloned()));
        let formats = loaded_frame::formats(&job.settings);
        let by_hand = job.recipe.by_hand.clone().unwrap_or_default();
        let hints = Hints {
            focal_px: sight.focal_px,
            px_per_mm: job.recipe.sitting_px_per_mm,
            lens: job.recipe.lens.as_ref().map(|l| l.lens()),
            drawn: by_hand.outline_px.map(|c| Drawn { corners: quad(c), back: job.role == Role::Back }),
        };
        let place = match job.recipe.part {
            Some(part) => job.look.places.get(part.number.saturating_sub(1) as usize),
            None => job.look.place.as_ref(),
        };
        let Some(mut seen) = loaded_frame::see(sight, &blanks, &formats, &hints, place, &job.recipe.beside) else {
            let measured = Measured { prints: 0, ..Measured::default() };
            let report = report.judged(judge(&measured, job.settings.aim));
            judged(&report);
            make::before(stored, &job.outputs)?;
            return Ok(report);
        };
        seen.found = seen.found.turned(usize::from(by_hand.turn.unwrap_or(0)));
        match counter::of(self, job, (sight, &seen, room), (&formats, &hints), &blanks) {
            Some(Ok(mut counter)) => {
                counter.facts.veil_before = measure::veil_share(sight, &seen).map(|v| base::wording::round(v, 1e4));
                report.counter = Some(counter.facts.clone());
                seen.counter = Some(Box::new(counter));
            }
            Some(Err(why)) => report.notes.push(why),
            None => {}
        }
        // The verdict is waited for, the pictures are not.
        let mut measured = measure::measure(sight, &seen, &job.recipe);
        let findings = judge(&measured, job.settings.aim);
        judged(&report.clone().judged(findings));
        report.room = room.and_then(|r| r.facts(stored, &seen));
        seen.develop(sight);
        // Much of the shadow's measuring is one core's work: the preview of the frame is made beside it.
        let (made, previewed) =
            rayon::join(|| make::make(job, sight, &seen, room), || make::before(stored, &job.outputs));
        previewed?;
        // The shadow says more of a curl than the outline did.
        if let Some(curl) = made.curl {
            (measured.curl_mm, measured.curl_sigma_mm) = (Some(curl.mm), Some(curl.sigma_mm));
        }
        make::write(job, sight, &made, fit, &mut report)?;
        measure::write_down(&mut report, sight, &seen, &made, &measured);
        Ok(report.judged(judge(&measured, job.settings.aim)))
    }

    /// The blanks of a job that are of its frame's size.
    fn blanks(&self, job: &FrameJob, sight: &LoadedFrame, fit: Option<&ColourFit>) -> Result<Vec<Arc<Blank>>, Failure> {
        let look = fit.and_then(|f| f.look.as_ref());
        let size = (sight.frame.width, sight.frame.height);
        let key = look.and(chart_key(job));
        let read: Result<Vec<_>, _> = job.blanks.iter().map(|b| self.blank(b, look, key.as_ref())).collect();
        Ok(read?.into_iter().filter(|(of, _)| *of == size).map(|(_, blank)| blank).collect())
    }

    /// A blank smoothed, and its frame's size; read by the look that the chart of this key gave.
    fn blank(
        &self,
        blank: &Reference,
        look: Option<&correct::colour::ToneCurve>,
        by: Option<&ChartKey>,
    ) -> Result<Smooth, Failure> {
        let key = (blank.blake3.clone(), by.cloned());
        if let Some(known) = lock(&self.blanks).get(&key) {
            return Ok(known.clone());
        }
        let blank = LoadedFrame::read(&blank.path, look)?;
        let size = (blank.frame.width, blank.frame.height);
        let smooth = (size, Arc::new(flat_field::from_blank(&blank.proxy, blank.step as f64)));
        keep(&self.blanks, key, smooth.clone());
        Ok(smooth)
    }

    /// The chart's fit, or why it could not be made; `None` where there is no chart or nobody gave its values.
    fn chart(&self, job: &FrameJob) -> Result<Option<Arc<ChartFit>>, Failure> {
        let own = (job.role == Role::Chart).then_some(&job.path);
        let (Some(frame), Some(values)) = (job.chart.as_ref().map(|c| &c.path).or(own), &job.chart_values) else {
            return Ok(None);
        };
        let Some(key) = chart_key(job) else { return Ok(None) };
        if let Some(f) = lock(&self.charts).get(&key) {
            return Ok(Some(f.clone()));
        }
        let sight = LoadedFrame::read(frame, None)?;
        // In an order of their own: of two that fit as well the first is taken.
        let mut job = job.clone();
        job.blanks.sort_by(|a, b| a.blake3.cmp(&b.blake3));
        let blanks = self.blanks(&job, &sight, None)?;
        let fit = Arc::new(chart::fit(&sight, &values.path, &blanks)?);
        keep(&self.charts, key, fit.clone());
        Ok(Some(fit))
    }
}

/// The chart that a job uses, or is.
fn chart_key(job: &FrameJob) -> Option<ChartKey> {
    let own = (job.role == Role::Chart).then_some(&job.blake3);
    let frame = job.chart.as_ref().map(|c| &c.blake3).or(own)?;
    let mut blanks: Vec<String> = job.blanks.iter().map(|b| b.blake3.clone()).collect();
    blanks.sort();
    Some((frame.clone(), job.chart_values.as_ref()?.blake3.clone(), blanks))
}

/// Keeps a value for the frames to come; those of earlier sittings go.
fn keep<K: std::hash::Hash + Eq, V>(of: &Mutex<HashMap<K, V>>, key: K, value: V) {
    let mut of = lock(of);
    if of.len() >= KEPT {
        of.clear();
    }
    of.insert(key, value);
}

/// A chart's fit, or a sentence on why it could not be made.
type ChartFit = Result<ColourFit, String>;

fn fitted(fit: Option<&ChartFit>) -> Option<&ColourFit> {
    fit.and_then(|f| f.as_ref().ok())
}

fn facts(job: &FrameJob, sight: &LoadedFrame) -> FrameFacts {
    FrameFacts {
        path: job.path_in_report.clone(),
        blake3: job.blake3.clone(),
        width_px: sight.frame.width,
        height_px: sight.frame.height,
        role: job.role,
        role_reason: job.role_reason.clone(),
        encoding: sight.encoding.clone(),
        bits: Some(sight.frame.bits()),
        exif: sight.words.clone(),
    }
}

/// A print found in a frame, with the bed's light.
pub struct Seen {
    found: Found,
    light: Light,
    /// Outlines of what else lies in the frame, frame pixels.
    beside: Vec<Vec<geometry::Point>>,
    /// The frame to finish, where it is not the one looked at: a raw file evened before its demosaic.
    developed: Option<pixels::Frame>,
    /// What the bare bed reads in `developed`.
    even: Option<pixels::Field>,
    /// The same print lit from the other side.
    counter: Option<Box<counter::Counter>>,
}

impl Seen {
    /// Towards the light in the frame, degrees, from the slope of its light and from the shadow `cast`, with the error and whether the two
    /// agree, as [`print::shadow::azimuth`] says it.
    fn towards_light(&self, cast: &Cast) -> Option<(f64, f64, bool)> {
        let lamp = &self.light.lamp;
        // The canvas is turned from the frame by the print's own turn.
        let own = cast.azimuth_deg.map(|a| (a + 180.0 + self.found.outline.turn_deg(), cast.azimuth_error_deg));
        shadow::azimuth(Some((lamp.azimuth_deg, lamp.azimuth_error_deg)), own)
    }

    /// The print straightened onto a canvas of its own.
    fn flat<'a>(&'a self, sight: &'a LoadedFrame, canvas: Canvas, warp: Warp) -> Flat<'a> {
        Flat {
            frame: self.developed.as_ref().unwrap_or(&sight.frame),
            bed: self.even.as_ref().unwrap_or(self.light.on_paper()),
            texture: self.light.texture.as_ref().filter(|_| self.light.returns >= flat_field::paper::PAPER),
            unbend: None,
            second: self.counter.as_ref().map(|c| c.on(canvas)),
            canvas,
            warp,
        }
    }
}

/// The light on the bed of a frame.
pub struct Light {
    /// What the bare bed would read in the frame.
    bed: pixels::Field,
    /// The bed's own structure, where a blank shows it.
    texture: Option<pixels::Field>,
    /// How the blanks fitted, where there were any.
    level: Option<flat_field::Level>,
    /// How a fit to the bed went, where no blank held.
    quality: Option<flat_field::Quality>,
    lamp: flat_field::Lamp,
    /// What the bed returns of the light, of what the brightest of the frame does.
    returns: f64,
    /// The light to see the print by, where it is not the bed's.
    instead: Option<pixels::Field>,
}

impl Light {
    /// What white paper would read in the frame: what the print is divided by.
    fn on_paper(&self) -> &pixels::Field {
        self.instead.as_ref().unwrap_or(&self.bed)
    }
}
