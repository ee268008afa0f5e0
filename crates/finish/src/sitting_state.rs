//! What a run knows about its sitting from earlier runs, and what it records for the next run.

use crate::Role;
use crate::finding::Code;
use crate::first_look::Frame;
use crate::job::SURE;
use crate::job::{Look, Reference};
use crate::limit::limit;
use crate::recipe::{LensFacts, RigChange, RigPart};
use crate::roles::{Given, in_time};
use crate::sitting::{Colour, Lens, Light, NAME, Rig, RoleOf, Sitting};
use crate::{Entry, Request};
use base::files::name_of;
use base::files::relative;
use geometry::fit::median;
use std::path::{Path, PathBuf};

/// The content of the sitting files.
#[derive(Default)]
pub(crate) struct Memory {
    /// Roles that the photographer wrote beside the originals.
    told: Vec<(PathBuf, Option<String>, Role)>,
    blanks: Vec<Reference>,
    chart: Option<Reference>,
    chart_values: Option<Reference>,
    ambient: Option<Reference>,
    rig: Option<Rig>,
    lens: Option<Lens>,
    /// The file in the folder of results, to be updated.
    held: Sitting,
}

impl Memory {
    /// Reads the files beside the originals and in the folder of results; the former take precedence. Also returns lines about recorded
    /// files that are missing.
    ///
    /// # Errors
    /// A line about a file that cannot be read.
    pub fn read(folders: &[PathBuf], out: &Path) -> Result<(Self, Vec<String>), String> {
        let held = Sitting::read(out)?;
        let mut memory = Self { held: held.clone().unwrap_or_default(), ..Self::default() };
        let mut says = vec![];
        let mut places: Vec<&PathBuf> = folders.iter().collect();
        places.dedup();
        for folder in places {
            let Some(sitting) = Sitting::read(folder)? else { continue };
            memory.take(&sitting, folder, true, &mut says);
        }
        if let Some(sitting) = held {
            memory.take(&sitting, out, false, &mut says);
        }
        Ok((memory, says))
    }

    /// Adds values that are not yet known from a file in `folder`.
    fn take(&mut self, sitting: &Sitting, folder: &Path, beside_originals: bool, says: &mut Vec<String>) {
        let mut there = |file: PathBuf, blake3: &Option<String>| match base::files::hash(&file) {
            Ok(hash) if blake3.as_ref().is_none_or(|b| *b == hash) => Some(Reference { path: file, blake3: hash }),
            found => {
                let what = if found.is_ok() { "is a different file now" } else { "is no longer there" };
                let place = folder.join(NAME);
                says.push(format!("{}: {} {what}; it is not used.", place.display(), name_of(&file)));
                None
            }
        };
        let mut of = |role: Role| -> Vec<Reference> {
            sitting.files(role, folder).into_iter().filter_map(|(file, blake3)| there(file, &blake3)).collect()
        };
        if self.blanks.is_empty() {
            self.blanks = of(Role::Blank);
        }
        if self.chart.is_none() {
            self.chart = of(Role::Chart).into_iter().next();
        }
        if self.ambient.is_none() {
            self.ambient = of(Role::Ambient).into_iter().next();
        }
        if let (None, Some(c)) = (&self.chart_values, &sitting.colour) {
            self.chart_values = there(folder.join(&c.chart_values), &c.blake3);
        }
        if beside_originals {
            let roles = sitting.roles.iter().map(|r| (folder.join(&r.file), r.blake3.clone(), r.role));
            self.told.extend(roles);
        }
        self.rig = self.rig.take().or(sitting.rig.clone());
        self.lens = self.lens.take().or(sitting.lens.clone());
    }

    /// The role of a frame in the photographer's sitting file.
    pub fn told(&self, frame: &Frame) -> Option<Role> {
        let same = |path: &Path| {
            path == frame.path || matches!((path.canonicalize(), frame.path.canonicalize()), (Ok(a), Ok(b)) if a == b)
        };
        let named = |(path, blake3, _): &&(PathBuf, Option<String>, Role)| {
            blake3.as_ref().map_or_else(|| same(path), |b| *b == frame.blake3)
        };
        self.told.iter().find(named).map(|t| t.2)
    }

    /// The chart values, if none were given.
    pub fn chart_values(&self) -> Option<&Reference> {
        self.chart_values.as_ref()
    }

    /// Frames of a role from an earlier run.
    pub fn frames(&self, role: Role) -> Vec<Reference> {
        match role {
            Role::Blank => self.blanks.clone(),
            Role::Chart => self.chart.iter().cloned().collect(),
            Role::Ambient => self.ambient.iter().cloned().collect(),
            _ => vec![],
        }
    }

    /// The lens: from the first ruler frame of the run, otherwise from the sitting file.
    pub fn lens(&self, frames: &[Frame], given: &[Given]) -> Option<Lens> {
        let ruler = in_time(&frames.iter().map(|f| &f.look).collect::<Vec<_>>())
            .into_iter()
            .find_map(|i| Some((&frames[i], frames[i].look.ruled.as_ref().filter(|_| given[i].role == Role::Ruler)?)));
        let of = |(frame, ruled): (&Frame, &crate::job::Ruled)| Lens {
            file: frame.path.to_string_lossy().into_owned(),
            facts: ruled.lens.clone(),
        };
        ruler.map(of).or_else(|| self.lens.clone())
    }

    /// The reference rig: from the sitting file, otherwise from the majority of the run's frames.
    pub fn rig(&self, frames: &[Frame], given: &[Given]) -> Rig {
        self.rig.clone().unwrap_or_else(|| usual(frames, given))
    }

    /// The updated sitting: the recorded values plus those from the frames and reports of this run.
    pub fn sitting(&self, request: &Request, run: &Run, entries: &[Entry]) -> Sitting {
        let mut sitting = self.held.clone();
        sitting.rig = Some(run.rig.clone()).filter(|r| *r != Rig::default());
        let from_out = |path: &Path| relative(path, &request.out);
        sitting.lens = run.lens.clone().map(|l| Lens { file: from_out(Path::new(&l.file)), ..l });
        let mut roles: Vec<RoleOf> = run
            .roles
            .iter()
            .map(|(role, r)| RoleOf { role: *role, file: from_out(&r.path), blake3: Some(r.blake3.clone()) })
            .collect();
        // Keep frames from earlier runs if this run has none with the same role.
        roles.extend(sitting.roles.iter().filter(|r| run.roles.iter().all(|(role, _)| *role != r.role)).cloned());
        sitting.roles = roles;
        let reports = || entries.iter().filter_map(|e| e.outcome.report());
        if let Some(values) = &run.chart_values {
            let delta_e_mean =
                reports().filter(|r| r.frame.role == Role::Chart).find_map(|r| r.colour.as_ref()?.delta_e_mean);
            let chart_values = from_out(&values.path);
            sitting.colour = Some(Colour { chart_values, blake3: Some(values.blake3.clone()), delta_e_mean });
        }
        let lights: Vec<_> = reports().filter_map(|r| r.light.as_ref()).collect();
        if !lights.is_empty() {
            sitting.light = Some(light(&lights));
        }
        sitting
    }
}

/// What a run learned about its sitting, for the next run.
pub(crate) struct Run {
    pub rig: Rig,
    pub lens: Option<Lens>,
    pub roles: Vec<(Role, Reference)>,
    pub chart_values: Option<Reference>,
}

fn light(lights: &[&crate::report::LightFacts]) -> Light {
    let middle = |of: &dyn Fn(&crate::report::LightFacts) -> Option<f64>, steps: f64| {
        let mut all: Vec<f64> = lights.iter().filter_map(|l| of(l)).collect();
        (!all.is_empty()).then(|| (median(&mut all) * steps).round() / steps)
    };
    // Angles wrap around, so average them as vectors.
    let arrows = lights.iter().filter_map(|l| l.azimuth_deg).map(|a| a.to_radians().sin_cos());
    let (y, x) = arrows.fold((0.0, 0.0), |(y, x), (s, c)| (y + s, x + c));
    Light {
        azimuth_deg: (x != 0.0 || y != 0.0).then(|| (y.atan2(x).to_degrees().rem_euclid(360.0) * 10.0).round() / 10.0),
        distance_mm: middle(&|l| l.distance_mm, 1.0),
        fall_off_stops: middle(&|l| l.fall_off_stops, 1e3),
    }
}

/// Number of frames that must agree to represent the sitting.
const SPEAK: usize = 3;
/// The rig of the majority of frames with a print.
fn usual(frames: &[Frame], given: &[Given]) -> Rig {
    let looks: Vec<&Look> =
        frames.iter().zip(given).filter(|(_, g)| g.role.holds_print()).map(|(f, _)| &f.look).collect();
    let words = |of: &dyn Fn(&Look) -> Option<String>| most(looks.iter().filter_map(|l| of(l)));
    let number = |of: &dyn Fn(&Look) -> Option<f64>| {
        most(looks.iter().filter_map(|l| of(l)).map(f64::to_bits)).map(f64::from_bits)
    };
    let ruler = frames.iter().zip(given).find_map(|(f, g)| f.look.ruled.as_ref().filter(|_| g.role == Role::Ruler));
    Rig {
        camera: words(&|l| l.exif.camera.clone()),
        lens: words(&|l| l.exif.lens.clone()),
        focal_mm: number(&|l| l.exif.focal_mm),
        f_number: number(&|l| l.exif.f_number),
        iso: number(&|l| l.exif.iso),
        frame_px: most(looks.iter().map(|l| [l.width, l.height])),
        px_per_mm: agreed(looks.iter().filter_map(|l| scale(l)), 0.02),
        tilt_deg: ruler.map(|r| r.tilt_deg),
        // Two thirds within an eighth of a stop of their middle: about 9 % of the light.
        bed_below_white_stops: agreed(looks.iter().filter_map(|l| l.bed_stops).map(|s| (-s).exp2()), 0.09)
            .map(|v| (v.log2() * 100.0).round() / 100.0),
    }
}

fn scale(look: &Look) -> Option<f64> {
    look.place.as_ref().filter(|p| p.confidence > SURE && !p.back).map(|p| p.px_per_mm)
}

/// The most frequent value, with at least three occurrences; the first in order if tied.
fn most<T: Ord + Clone>(values: impl Iterator<Item = T>) -> Option<T> {
    let mut counts = std::collections::BTreeMap::new();
    values.for_each(|v| *counts.entry(v).or_insert(0) += 1);
    counts.into_iter().rev().max_by_key(|(_, n)| *n).filter(|(_, n)| *n >= SPEAK).map(|(v, _)| v)
}

/// The median, if at least three values and two thirds of them are within a tolerance of it; rounded to a thousandth.
fn agreed(values: impl Iterator<Item = f64>, within: f64) -> Option<f64> {
    let mut all: Vec<f64> = values.collect();
    let middle = median(&mut all);
    let agree = all.iter().filter(|v| (**v / middle - 1.0).abs() < within).count();
    (agree >= SPEAK && agree * 3 >= all.len() * 2).then(|| (middle * 1e3).round() / 1e3)
}

/// Differences of a frame from the rig of the sitting that exceed the limit for a note.
pub(crate) fn changes(rig: &Rig, look: &Look) -> Vec<RigChange> {
    // Frames of another size do not belong to the rig of this sitting.
    if rig.frame_px.is_some_and(|s| s != [look.width, look.height]) {
        return vec![];
    }
    let words = &look.exif;
    let pair = |part: RigPart, was: Option<f64>, is: Option<f64>| Some(RigChange { part, was: was?, is: is? });
    // Brightness change caused by the settings only.
    let ratio = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) if a > 0.0 && b > 0.0 => (a / b).log2(),
        _ => 0.0,
    };
    let settings = ratio(words.iso, rig.iso) - 2.0 * ratio(words.f_number, rig.f_number);
    let tilt = look.place.as_ref().filter(|p| p.confidence > SURE && !p.back).and_then(|p| {
        let [x, y] = rig.tilt_deg?;
        let off = (p.tilt_deg[0] - x).hypot(p.tilt_deg[1] - y);
        (off > 3.0 * p.tilt_sigma_deg).then_some(off)
    });
    let hundredths = |v: f64| (v * 100.0).round() / 100.0;
    let all = [
        pair(RigPart::Scale, rig.px_per_mm, scale(look).map(hundredths)),
        pair(RigPart::Tilt, Some(0.0), tilt.map(hundredths)),
        pair(RigPart::Aperture, rig.f_number, words.f_number),
        pair(RigPart::FocalLength, rig.focal_mm, words.focal_mm),
        pair(RigPart::Flash, rig.bed_below_white_stops.map(|v| -v), look.bed_stops.map(|v| hundredths(v - settings))),
    ];
    // The limits of a note are the same for every aim.
    let told = |c: &RigChange| {
        let sound = c.is.is_finite() && (c.is > 0.0 || matches!(c.part, RigPart::Flash | RigPart::Tilt));
        sound && limit(Code::RigChanged, Some(c.part.word())).judge(crate::finding::Aim::Book, c.size()).is_some()
    };
    all.into_iter().flatten().filter(told).collect()
}

/// The lens, if it is valid for a frame of this size.
pub(crate) fn for_size(lens: Option<&Lens>, look: &Look) -> Option<LensFacts> {
    lens.map(|l| &l.facts).filter(|f| f.frame_px == [look.width, look.height]).cloned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::CameraWords;

    fn look(f_number: f64, bed_stops: f64) -> Look {
        let exif =
            CameraWords { f_number: Some(f_number), iso: Some(100.0), focal_mm: Some(70.0), ..CameraWords::default() };
        Look { width: 600, height: 400, exif, bed_stops: Some(bed_stops), ..Look::default() }
    }

    /// f/8 to f/11 is one stop of aperture (ISO 517's series) and no change of the flash, whose light fell by as much.
    #[test]
    fn an_aperture_is_told_and_not_taken_for_the_flash() {
        let rig = Rig {
            f_number: Some(8.0),
            iso: Some(100.0),
            focal_mm: Some(70.0),
            bed_below_white_stops: Some(0.3),
            frame_px: Some([600, 400]),
            ..Rig::default()
        };
        assert_eq!(changes(&rig, &look(8.0, -0.35)), []);
        let parts = |l: &Look| changes(&rig, l).iter().map(|c| c.part).collect::<Vec<_>>();
        assert_eq!(parts(&look(11.0, -1.22)), [RigPart::Aperture]);
        assert_eq!(parts(&look(8.0, -1.3)), [RigPart::Flash]);
        assert_eq!(changes(&rig, &Look { width: 10, ..look(11.0, -3.0) }), [], "another frame size is another camera");
    }

    #[test]
    fn three_must_agree_to_speak_for_a_sitting() {
        assert_eq!(most([8.0f64, 8.0, 11.0, 8.0].map(f64::to_bits).into_iter()).map(f64::from_bits), Some(8.0));
        assert_eq!(most([1, 1, 2, 2].into_iter()), None);
        assert_eq!(agreed([10.0, 10.1, 9.98, 14.0].into_iter(), 0.02), Some(10.05));
        assert_eq!(agreed([10.0, 12.0, 14.0].into_iter(), 0.02), None);
    }
}
