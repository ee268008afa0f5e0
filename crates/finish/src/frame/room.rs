//! The room's own light: what frames with the flash off say of a print's frame.
//!
//! A flash-off frame *of the print in place* at the same exposure is subtracted in linear light (`correct::ambient`). One *of the bare bed*
//! can take nothing from a print, because a print's share of the room's light depends on its own reflectance; it tells how much the room
//! fills the shadow. Which of the two a frame is, is seen in it.

use super::loaded_frame::{self, LoadedFrame};
use super::window::inside;
use super::{ChartKey, Frames, Seen, chart_key, keep};
use crate::job::{DARK, FrameJob, Place, Reference};
use crate::named_files::not_used;
use crate::quad;
use crate::report::{CameraWords, RoomFacts};
use base::wording::{round, stops_measured};
use base::workers::lock;
use correct::ambient;
use correct::colour::ToneCurve;
use geometry::{Homography, Point};
use pixels::{Field, lab_from_xyz};
use print::flat_field::{self, Blank};
use print::register::{Registration, register};
use std::sync::Arc;

/// A bare bed without the flash, kept for the frames to come.
pub(super) type Bare = ((usize, usize), CameraWords, Arc<Blank>);

/// Exposures further apart than this (stops) are two exposures: cameras write thirds of a stop.
const SAME_EXPOSURE: f64 = 0.1;
/// A frame less than a stop under that of its print was lit by more than a room.
const DARKER: f64 = 1.0;
/// Correlation of local contrast from which two frames show the same print. Another print gives about 0; a room of two lights, noise and a
/// mirrored ceiling leave more than half of the contrast in common.
const ALIKE: f64 = 0.35;
/// How far (frame pixels) a print may have moved between its two frames: a pixel leaves a line of the room's share of an edge's contrast, a
/// tenth under a room three stops down.
const MOVED: f64 = 1.0;
/// Room light under this share of the bed's deepens no shadow by as much as a person sees (a hundredth), and is left in it.
const FILL: f64 = 0.01;
/// Misfit from which a bare bed was lit by another room: a twentieth of a light that is an eighth of all itself is under a hundredth.
const OTHER_ROOM: f64 = 0.05;
/// Share of the frame that must show the bed, at the least, to compare two rooms by: a strip of a centimetre beside a print.
const BED_SEEN: f64 = 0.02;
/// Bed (mm) left out around a print where the room alone is measured: no flash, so no shadow but that of contact.
const CLEAR: f64 = 3.0;

/// What the flash-off frames of a print's frame say.
#[derive(Default)]
pub(super) struct Room {
    /// The frame without the room's light.
    pub lit: Option<LoadedFrame>,
    /// The frame that was subtracted.
    off: Option<LoadedFrame>,
    /// What the room alone puts on the bare bed.
    field: Option<Field>,
    facts: RoomFacts,
    /// On frames that are not used, and why.
    pub notes: Vec<String>,
}

/// What a flash-off frame shows.
enum Shows {
    Print(Registration),
    Bed,
}

/// Reads the flash-off frames of a job; `None` where it has none.
pub(super) fn of(frames: &Frames, job: &FrameJob, on: &LoadedFrame, look: Option<&ToneCurve>) -> Option<Room> {
    let key = look.and(chart_key(job));
    let mut given: Vec<&Reference> = job.flash_off.iter().chain(&job.ambient).collect();
    given.dedup_by(|a, b| a.blake3 == b.blake3);
    if !job.role.holds_print() || given.is_empty() {
        return None;
    }
    let mut room = Room::default();
    let mut bare: Option<(Arc<Blank>, &Reference)> = None;
    let mut in_place: Option<(LoadedFrame, Registration, &Reference)> = None;
    for reference in given {
        let result = match known(frames, reference, key.as_ref()) {
            Some((size, words, bed)) => alike(on, size, &words).map(|()| bare = Some((bed, reference))),
            None => match LoadedFrame::read(&reference.path, look) {
                Err(e) => Err(e.to_string()),
                Ok(off) => shows(job, on, &off).map(|seen| match seen {
                    Shows::Print(found) => in_place = Some((off, found, reference)),
                    Shows::Bed => bare = Some((remember(frames, reference, key.as_ref(), &off), reference)),
                }),
            },
        };
        if let Err(why) = result {
            room.notes.push(format!("{}{why}.", not_used(&reference.path, "frame with the flash off")));
        }
    }
    if let Some((off, found, reference)) = in_place {
        room.subtract(job, on, (&off, found, reference), bare.as_ref().map(|b| &b.0));
        // A second frame of the print holds the same room.
        room.off = Some(off).filter(|_| job.counter.is_some());
    } else if let Some((bed, reference)) = &bare {
        room.facts = RoomFacts { shows: "bare-bed".into(), frame: path(job, reference), ..RoomFacts::default() };
        room.field = Some(bed.light.clone());
    }
    Some(room)
}

fn path(job: &FrameJob, reference: &Reference) -> String {
    base::files::relative(&reference.path, job.outputs.report.place.parent().unwrap_or(std::path::Path::new(".")))
}

fn known(frames: &Frames, reference: &Reference, key: Option<&ChartKey>) -> Option<Bare> {
    lock(&frames.rooms).get(&(reference.blake3.clone(), key.cloned())).cloned()
}

fn remember(frames: &Frames, reference: &Reference, key: Option<&ChartKey>, off: &LoadedFrame) -> Arc<Blank> {
    let bed = Arc::new(flat_field::from_blank(&off.proxy, off.step as f64));
    let size = (off.frame.width, off.frame.height);
    keep(&frames.rooms, (reference.blake3.clone(), key.cloned()), (size, off.words.clone(), bed.clone()));
    bed
}

/// Fails with the reason why a frame without the flash does not belong to this one.
fn alike(on: &LoadedFrame, size: (usize, usize), words: &CameraWords) -> Result<(), String> {
    let own = (on.frame.width, on.frame.height);
    if own != size {
        return Err(format!("it is {} × {} pixels, and the frame of the print {} × {}", size.0, size.1, own.0, own.1));
    }
    let apart = exposure(words).zip(exposure(&on.words)).map_or(0.0, |(a, b)| a - b);
    if apart.abs() > SAME_EXPOSURE {
        let way = if apart > 0.0 { "more" } else { "less" };
        return Err(format!("it was exposed {} {way} than the frame of the print", stops_measured(apart.abs())));
    }
    Ok(())
}

/// The exposure by what the camera wrote, stops from 1 s at f/1 and ISO 100.
fn exposure(w: &CameraWords) -> Option<f64> {
    let light = w.exposure_s.unwrap_or(1.0) / w.f_number?.powi(2) * w.iso? / 100.0;
    Some(light.log2()).filter(|v| v.is_finite())
}

/// What a flash-off frame shows, or why it is of no use for `on`.
fn shows(job: &FrameJob, on: &LoadedFrame, off: &LoadedFrame) -> Result<Shows, String> {
    alike(on, (off.frame.width, off.frame.height), &off.words)?;
    let same_kind = on.mosaic.is_some() == off.mosaic.is_some();
    if !same_kind || on.frame.encoding.primaries != off.frame.encoding.primaries {
        return Err("it is a file of another kind or colour space than the frame of the print".into());
    }
    let under = (on.mean_level().max(1e-6) / off.mean_level().max(1e-6)).log2();
    if is_bare(off) {
        return Ok(Shows::Bed);
    }
    let step = on.step as f64;
    let region: Vec<Point> = region(job, on).iter().map(|p| *p * (1.0 / step)).collect();
    let found = register(&on.proxy, &off.proxy, &region).filter(|r| r.likeness > ALIKE && r.error_px * step < MOVED);
    let Some(found) = found else {
        return match off.mean_level() < DARK {
            true => Ok(Shows::Bed),
            false => Err("it does not show this print at its place".into()),
        };
    };
    if under < DARKER {
        return Err(format!("it is only {} darker than the frame of the print", stops_measured(under.max(0.0))));
    }
    let moved = region.iter().map(|p| found.apply(*p).distance(*p)).fold(0.0, f64::max) * step;
    if moved > MOVED + 2.0 * found.error_px * step {
        return Err(format!("the print or the camera moved by {moved:.1} pixels between the two frames"));
    }
    Ok(Shows::Print(found))
}

/// True where nothing lies on the bed. Looked at in squares so large that the noise of a dark frame is averaged out of them.
fn is_bare(off: &LoadedFrame) -> bool {
    let small = off.proxy.reduce(6);
    let step = (6 * off.step) as f64;
    loaded_frame::something_lies_there(&small, step, &flat_field::guess(&small, step).0) < 0.5
}

/// The print's corners in the frame, by hand or from the first look, and its format's name.
fn corners(job: &FrameJob) -> Option<([[f64; 2]; 4], Option<&Place>)> {
    let place = match job.recipe.part {
        Some(part) => job.look.places.get(part.number.saturating_sub(1) as usize),
        None => job.look.place.as_ref(),
    };
    let by_hand = job.recipe.by_hand.as_ref().and_then(|b| b.outline_px);
    by_hand.or(place.map(|p| p.corners)).map(|c| (c, place))
}

/// The polygon in which a print's two frames are compared, frame pixels: its window a little inside the rim, so that the edges that all
/// prints of a format share have no part; without a place the middle of the frame.
fn region(job: &FrameJob, on: &LoadedFrame) -> Vec<Point> {
    let Some((corners, place)) = corners(job) else {
        let (w, h) = (on.frame.width as f64, on.frame.height as f64);
        return [(0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9)].map(|(x, y)| geometry::point(x * w, y * h)).to_vec();
    };
    window_of(corners, place)
}

/// A little inside the rim of the window of the print that lies there, frame pixels; without a format the print itself.
pub(super) fn window_of(corners: [[f64; 2]; 4], place: Option<&Place>) -> Vec<Point> {
    let corners = quad(corners);
    let format = place.and_then(|p| print::format::known().into_iter().find(|f| f.name == p.format && !p.back));
    let inner = format.and_then(|f| {
        let map = Homography::from_points(&f.outer_quad().0, &corners.0)?;
        Some(f.window_quad().map(|p| map.apply(p)))
    });
    inside(&inner.unwrap_or(corners)).to_vec()
}

/// The frame without the light that `off` shows; `None` where the files are not alike.
fn without(on: &LoadedFrame, off: &LoadedFrame) -> Option<LoadedFrame> {
    let (mosaic, frame) = match (&on.mosaic, &off.mosaic) {
        (Some(on), Some(off)) => {
            let left = on.minus(off)?;
            let frame = left.develop(left.as_shot, None);
            (Some(left), frame)
        }
        _ => (None, ambient::subtract(&on.frame, &off.frame)?),
    };
    Some(LoadedFrame {
        proxy: frame.reduce(on.step),
        frame,
        mosaic,
        step: on.step,
        words: on.words.clone(),
        original: on.original.clone(),
        focal_px: on.focal_px,
        encoding: on.encoding.clone(),
        notes: on.notes.clone(),
    })
}

impl Room {
    fn subtract(
        &mut self,
        job: &FrameJob,
        on: &LoadedFrame,
        (off, found, reference): (&LoadedFrame, Registration, &Reference),
        bare: Option<&Arc<Blank>>,
    ) {
        let Some(lit) = without(on, off) else {
            let note = not_used(&reference.path, "frame with the flash off");
            self.notes.push(format!("{note}its readings are of another kind."));
            return;
        };
        let step = off.step as f64;
        let place = corners(job);
        let scale = place.and_then(|(_, p)| p).map_or(on.frame.width as f64 / 150.0, |p| p.px_per_mm);
        let polygons: Vec<Vec<Point>> = place
            .iter()
            .map(|(c, _)| quad(*c).0.to_vec())
            .chain(job.recipe.beside.iter().map(|b| super::beside::points(&b.outline_px)))
            .collect();
        let around = loaded_frame::bare(off, &polygons, CLEAR * scale);
        let is_bed = |x: usize, y: usize| around[y * off.proxy.width() + x];
        let seen = || flat_field::fit(&off.proxy, step, is_bed).0;
        // A bare bed of the same room shows its light under the print too.
        let levelled = bare.map(|b| {
            let mut light = b.light.clone();
            let level = flat_field::level(&mut light, &off.proxy, step, is_bed);
            (light, level)
        });
        self.facts = RoomFacts {
            shows: "print-in-place".into(),
            frame: path(job, reference),
            subtracted: true,
            moved_px: Some(round(found.shift.norm() * step, 1e2)),
            changed_stops: levelled.as_ref().map(|l| round(l.1.stops, 1e2)),
            ..RoomFacts::default()
        };
        let usable = levelled.filter(|l| l.1.misfit < OTHER_ROOM && l.1.bed_share > BED_SEEN).map(|l| l.0);
        self.field = Some(usable.unwrap_or_else(seen));
        self.lit = Some(lit);
    }

    /// The blanks as the flash alone lights them, where the frame is.
    pub fn blanks(&self, blanks: Vec<Arc<Blank>>) -> Vec<Arc<Blank>> {
        let (Some(_), Some(room)) = (&self.lit, &self.field) else { return blanks };
        let alone = |blank: &Arc<Blank>| {
            let mut blank = Blank::clone(blank);
            let light = blank.light.clone();
            blank.light.scale(|x, y| {
                let (all, dim) = (light.at(x, y), room.at(x, y));
                // A blank is at least half the flash's; where it is not it was exposed otherwise, and is left as it is.
                std::array::from_fn(|c| 1.0 - f64::from(dim[c] / all[c].max(1e-6)).clamp(0.0, 0.5))
            });
            Arc::new(blank)
        };
        blanks.iter().map(alone).collect()
    }

    /// Another frame of the same print in place, without the room's light.
    pub fn take_from(&self, other: LoadedFrame) -> LoadedFrame {
        let own = (other.frame.width, other.frame.height);
        let off = self.off.as_ref().filter(|_| self.lit.is_some());
        let off = off.filter(|off| alike(off, own, &other.words).is_ok());
        off.and_then(|off| without(&other, off)).unwrap_or(other)
    }

    /// The share of the bed's light that the room has at a place of the frame, by its luminance.
    fn share(&self, seen: &Seen, luma: [f64; 3], p: Point) -> Option<f64> {
        let weigh = |v: [f32; 3]| v.iter().zip(luma).map(|(v, l)| f64::from(*v) * l).sum::<f64>();
        let (room, bed) = (weigh(self.field.as_ref()?.at(p.x, p.y)), weigh(seen.light.bed.at(p.x, p.y)));
        let all = if self.lit.is_some() { bed + room } else { bed };
        Some((room / all.max(1e-9)).clamp(0.0, 0.9))
    }

    /// What the room's light takes from the depth of the shadow, as a share, where the frame still holds that light; `None` where it is
    /// too little to matter.
    pub fn fill(&self, seen: &Seen, luma: [f64; 3]) -> Option<f64> {
        let middle = seen.found.outline.corners().0.centre();
        self.lit.is_none().then(|| self.share(seen, luma, middle)).flatten().filter(|f| *f > FILL)
    }

    /// What the report says of it.
    pub fn facts(&self, stored: &LoadedFrame, seen: &Seen) -> Option<RoomFacts> {
        let room = self.field.as_ref()?;
        let primaries = &stored.frame.encoding.primaries;
        let p = seen.found.outline.corners().0.centre();
        let dim = room.at(p.x, p.y).map(f64::from);
        let bed = seen.light.bed.at(p.x, p.y).map(f64::from);
        let flash: [f64; 3] =
            std::array::from_fn(|c| if self.lit.is_some() { bed[c] } else { (bed[c] - dim[c]).max(1e-6) });
        let mean = |v: [f64; 3]| v.iter().sum::<f64>() / 3.0;
        // White paper under the room alone, balanced as the flash is, at the paper's own luminance.
        let ratio: [f64; 3] = std::array::from_fn(|c| dim[c] / flash[c].max(1e-6));
        let even = mean(ratio).max(1e-12);
        let [_, a, b] = lab_from_xyz(primaries.xyz(ratio.map(|r| 0.87 * r / even)));
        let mut facts = RoomFacts {
            below_flash_stops: Some(round((mean(flash).max(1e-6) / mean(dim).max(1e-6)).log2(), 1e2)),
            bed_share: Some(std::array::from_fn(|c| round(dim[c] / (flash[c] + dim[c]).max(1e-6), 1e4))),
            colour_ab: Some([round(a, 10.0), round(b, 10.0)]),
            ..self.facts.clone()
        };
        if self.lit.is_some() {
            self.compare(stored, seen, &mut facts);
        } else {
            facts.shadow_fill = self.fill(seen, primaries.0[1]).map(|f| round(f, 1e4));
        }
        Some(facts)
    }

    /// The window before and after.
    fn compare(&self, stored: &LoadedFrame, seen: &Seen, facts: &mut RoomFacts) {
        let (Some(lit), Some(room)) = (&self.lit, &self.field) else { return };
        let mut both = seen.light.bed.clone();
        both.scale(|x, y| {
            let (flash, dim) = (seen.light.bed.at(x, y), room.at(x, y));
            std::array::from_fn(|c| f64::from(1.0 + dim[c] / flash[c].max(1e-6)))
        });
        let before = super::window::window_light(stored, seen, &both);
        let after = super::window::window_light(lit, seen, &seen.light.bed);
        let (Some(before), Some(after)) = (before, after) else { return };
        facts.window_stops = Some(round((before.raw / after.raw.max(1e-9)).log2(), 1e3));
        facts.veil_before = Some(round(before.veil, 1e4));
        facts.veil_after = Some(round(after.veil, 1e4));
    }
}
