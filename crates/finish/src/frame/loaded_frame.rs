//! A frame ready for measuring: decoded, reduced, with the print found on the evened bed.

use super::beside::{points, written};
use super::{Light, Seen};
use crate::job::{Look, Place};
use crate::quad;
use crate::recipe::{Beside, Settings, What};
use crate::report::CameraWords;
use base::Failure;
use codec::raw::Mosaic;
use codec::{Format as File, Limits, Metadata, Unpacked};
use correct::colour::ToneCurve;
use geometry::Point;
use geometry::polygon::spans;
use pixels::{Field, Frame, Picture};
use print::find::{self, Found};
use print::flat_field::{self, Blank, paper};
use print::format::{Format, known};
use print::hints::Hints;
use print::several::{self, Lying, Why, blanked, grown};
use print::{Rim, manual_outline};
use std::path::Path;
use std::sync::Arc;

/// Long side of the proxy that light and bed are measured on: paper structure of half a millimetre still shows, and a pass
/// takes a few milliseconds.
pub(super) const PROXY: f64 = 1500.0;

/// A frame decoded and reduced.
pub struct LoadedFrame {
    /// The decoded samples.
    pub frame: Frame,
    /// The sensor's own readings, of a raw file.
    pub mosaic: Option<Mosaic>,
    /// The reduced frame: at most 1500 pixels on its longer side.
    pub proxy: Picture,
    /// Frame pixels per proxy pixel.
    pub step: usize,
    /// Camera metadata for the report.
    pub words: CameraWords,
    /// Camera metadata to copy into results.
    pub original: Metadata,
    /// Focal length in frame pixels, if the metadata is sufficient.
    pub focal_px: Option<f64>,
    /// The encoding, as a report names it.
    pub encoding: String,
    /// Notes from reading the file.
    pub notes: Vec<String>,
}

impl LoadedFrame {
    /// Reads a frame; `look` undoes the camera's tone curve where its code values carry one.
    pub fn read(path: &Path, look: Option<&ToneCurve>) -> Result<Self, Failure> {
        let (mosaic, decoded) = match codec::unpack(path, &Limits::default())? {
            Unpacked::Sensor { mosaic, format } => {
                let frame = mosaic.develop(mosaic.as_shot, None);
                let metadata = mosaic.metadata.clone();
                (Some(mosaic), codec::Decoded { frame, format, metadata, icc: None, notes: Vec::new() })
            }
            Unpacked::Picture(decoded) => (None, decoded),
        };
        let raw = matches!(decoded.format, File::Dng | File::Raw);
        let (mut frame, mut notes) = (decoded.frame, decoded.notes);
        let mut encoding = if raw {
            "camera"
        } else if frame.encoding.tone.linear {
            "linear-srgb"
        } else {
            "srgb"
        };
        if frame.encoding.display_referred {
            match look {
                Some(look) => {
                    frame.encoding.tone = frame.encoding.tone.then(|v| look.light(v));
                    encoding = "camera";
                    notes.push("The camera's tone curve was measured on the chart and removed.".into());
                }
                None => notes.push(
                    "A JPEG contains the camera's tone curve, which is not documented: tones are as the camera rendered \
                     them."
                        .into(),
                ),
            }
        }
        let step = (frame.width.max(frame.height) as f64 / PROXY).round().max(1.0) as usize;
        let proxy = frame.reduce(step);
        Ok(Self {
            proxy,
            step,
            words: words(&decoded.metadata),
            focal_px: focal_px(&decoded.metadata, frame.width.max(frame.height)),
            original: decoded.metadata,
            encoding: encoding.into(),
            mosaic,
            frame,
            notes,
        })
    }

    /// Mean light of the frame, share of white.
    pub fn mean_level(&self) -> f64 {
        let n = self.proxy.0[1].data.len().max(1) as f64;
        self.proxy.0.iter().map(|p| p.data.iter().map(|v| f64::from(*v)).sum::<f64>() / n).sum::<f64>() / 3.0
    }
}

fn words(m: &Metadata) -> CameraWords {
    let taken = m.taken.as_ref().map(|t| {
        // Exif writes `YYYY:MM:DD HH:MM:SS`.
        let (day, time) = t.split_once(' ').unwrap_or((t, ""));
        format!("{}T{time}", day.replace(':', "-"))
    });
    CameraWords {
        camera: m.model.clone(),
        lens: m.lens.clone(),
        taken,
        exposure_s: m.exposure_s,
        f_number: m.f_number,
        iso: m.iso.map(f64::from),
        focal_mm: m.focal_length_mm,
        orientation: m.orientation.map(u32::from),
    }
}

/// Focal length in frame pixels: by the pixel pitch where the camera gives it, else by the 35 mm equivalent on a 36 mm wide
/// frame (Exif 2.32, FocalLengthIn35mmFilm), else by the focal length as if the frame were 36 mm wide.
fn focal_px(m: &Metadata, long_side: usize) -> Option<f64> {
    let on_film = m.focal_length_35_mm.or(m.focal_length_mm).map(|f| f / 36.0 * long_side as f64);
    match (m.focal_length_mm, m.pixel_pitch_um) {
        (Some(focal), Some(pitch)) if pitch > 0.0 => Some(focal / (pitch / 1000.0)),
        _ => on_film,
    }
}

/// The formats to look for.
pub fn formats(settings: &Settings) -> Vec<Format> {
    let mut all = known();
    if !settings.formats.is_empty() {
        all.retain(|f| settings.formats.contains(&f.name));
    }
    if let Some([w, h]) = settings.plain_mm {
        all.push(Format::new("plain", (w, h), (w, h), (0.0, 0.0)));
    }
    all
}

/// Confidence that something other than bare bed is in the frame, 0 to 1, when no print was found.
///
/// The share of the frame that differs from the bed by more than the strongest desk pattern (a twelfth), over 4 %: the
/// smallest print covers that. Pixels at full scale are unknown and are not counted.
pub(super) fn something_lies_there(proxy: &Picture, step: f64, bed: &Field) -> f64 {
    let (w, h) = (proxy.width(), proxy.height());
    let open = |&(x, y): &(usize, usize)| proxy.get(x, y).iter().all(|v| *v < 0.985);
    let known = (0..h).flat_map(|y| (0..w).map(move |x| (x, y))).filter(open);
    let other = known
        .filter(|&(x, y)| {
            let b = bed.at((x as f64 + 0.5) * step, (y as f64 + 0.5) * step);
            let p = proxy.get(x, y);
            (0..3).any(|c| (p[c] / b[c].max(1e-6) - 1.0).abs() > 0.085)
        })
        .count() as f64
        / (w * h) as f64;
    (0.5 * other / 0.04).min(1.0)
}

/// A found print, in the form stored with a look.
pub(super) fn place(found: &Found) -> Place {
    let p = found.place();
    Place {
        format: p.format,
        back: p.back,
        score: p.score,
        confidence: found.confidence,
        corners: p.corners.0.map(|c| [c.x, c.y]),
        px_per_mm: found.pose.px_per_mm(),
        tilt_deg: [found.pose.tilt_x, found.pose.tilt_y].map(|v| (v * 1e3).round() / 1e3),
        tilt_sigma_deg: base::wording::round(crate::measured::tilt_sigma_deg(&found.pose), 1e3),
        rim: vec![],
    }
}

/// Records everything in a frame: the most certain print, and if there are several, each one in reading order.
pub(super) fn note(look: &mut Look, lying: &Lying) {
    look.place = surest(lying).map(place);
    if lying.prints.len() > 1 {
        let each = |f: &Found| Place { rim: written(&f.polygon()), ..place(f) };
        look.places = lying.prints.iter().map(each).collect();
    }
    let what = |why: &Why| match why {
        Why::Cut(Rim::Left) => What::CutLeft,
        Why::Cut(Rim::Top) => What::CutTop,
        Why::Cut(Rim::Right) => What::CutRight,
        Why::Cut(Rim::Bottom) => What::CutBottom,
        Why::Overlaps => What::Overlaps,
    };
    look.others = lying.others.iter().map(|o| Beside { what: what(&o.why), outline_px: written(&o.outline) }).collect();
}

/// The most certain print.
pub(super) fn surest(lying: &Lying) -> Option<&Found> {
    lying.prints.iter().max_by(|a, b| a.confidence.total_cmp(&b.confidence))
}

/// Everything that a first look found in a frame.
pub(super) fn lying(sight: &LoadedFrame, bed: &Field) -> Lying {
    let hints = Hints { focal_px: sight.focal_px, ..Hints::default() };
    let formats = formats(&Settings::default());
    several::look(&sight.frame, &sight.proxy, sight.step, bed, &formats, &hints)
}

/// Finds the print, near the position of the first look if that is certain, and the light on the bed: a blank adapted to the bed around
/// the print if one fits, otherwise a fit to the visible bed.
pub fn see(
    sight: &LoadedFrame,
    blanks: &[Arc<Blank>],
    formats: &[Format],
    hints: &Hints,
    place: Option<&Place>,
    beside: &[Beside],
) -> Option<Seen> {
    let step = sight.step as f64;
    let beside: Vec<Vec<Point>> = beside.iter().map(|b| points(&b.outline_px)).collect();
    let first = blanks.first().map_or_else(|| flat_field::guess(&sight.proxy, step).0, |b| b.light.clone());
    let again = |p: &Place| {
        let place = find::Place { format: p.format.clone(), back: p.back, score: p.score, corners: quad(p.corners) };
        find::find_again(&sight.frame, &first, formats, hints, &place)
    };
    // Other prints are painted over, including the width of a contact shadow: a sixtieth of the size is a millimetre for the smallest.
    let alone = (!beside.is_empty()).then(|| {
        let wide = |o: &Vec<Point>| grown(o, spread(o) / 60.0);
        blanked(&sight.proxy, step, &first, &beside.iter().map(wide).collect::<Vec<_>>())
    });
    let proxy = alone.as_ref().unwrap_or(&sight.proxy);
    let look = |hints: &Hints| find::find(&sight.frame, proxy, sight.step, &first, formats, hints);
    let search = || match (look(&Hints { px_per_mm: None, ..*hints }), hints.px_per_mm) {
        (Some(f), Some(s)) if f.confidence < 0.8 || (f.pose.px_per_mm() / s - 1.0).abs() > 0.03 => {
            look(hints).filter(|h| h.confidence > 0.3).or(Some(f))
        }
        (None, Some(_)) => look(hints),
        (found, _) => found,
    };
    let found = match &hints.drawn {
        Some(by_hand) => manual_outline::drawn(&sight.frame, &first, formats, hints, by_hand),
        None => place.and_then(again).or_else(search),
    };
    // One of several prints must be found at its known position: if the search found another, measure its edges there.
    let elsewhere =
        |p: &&Place| found.as_ref().is_none_or(|f| !quad(p.corners).contains(f.outline.corners().0.centre()));
    let found = match place.filter(|p| hints.drawn.is_none() && !p.rim.is_empty()).filter(elsewhere) {
        Some(p) => at_place(sight, &first, formats, hints, p),
        None => found,
    }?;
    // A millimetre clear of the prints, for the contact shadow and the error of the outline.
    let scale = found.pose.px_per_mm();
    let prints: Vec<Vec<Point>> = std::iter::once(found.polygon()).chain(beside.iter().cloned()).collect();
    let light = light(sight, blanks, &prints, scale);
    Some(Seen { found, light, beside, developed: None, even: None, counter: None })
}

/// The root of the area that a polygon's bounds take.
fn spread(polygon: &[Point]) -> f64 {
    let bounds = |of: fn(&Point) -> f64| {
        let (low, high) = polygon.iter().map(of).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        (high - low).max(0.0)
    };
    (bounds(|p| p.x) * bounds(|p| p.y)).sqrt()
}

/// Measures the print at its known position, with at most the confidence of the first look.
fn at_place(sight: &LoadedFrame, bed: &Field, formats: &[Format], hints: &Hints, place: &Place) -> Option<Found> {
    let own: Vec<Format> = formats.iter().filter(|f| f.name == place.format).cloned().collect();
    let outline = print::hints::Drawn { corners: quad(place.corners), back: place.back };
    let found = manual_outline::drawn(&sight.frame, bed, &own, hints, &outline)?;
    Some(Found { confidence: place.confidence, ..found })
}

impl Seen {
    /// Evens and develops the sensor readings of a raw file for the final pictures. A verdict does not need this.
    pub(super) fn develop(&mut self, sight: &LoadedFrame) {
        let Some(m) = &sight.mosaic else { return };
        self.developed = Some(m.develop(m.as_shot, Some(self.light.on_paper())));
        let grid = Picture([0; 3].map(|_| pixels::Plane::filled(1, 1, codec::raw::BED)));
        self.even = Some(Field { grid, step: sight.frame.width as f64 });
    }
}

/// The light on the bed farther than `clear` pixels from `polygons` (frame pixels): the best fitting blank, adapted to the bed, if one
/// fits; otherwise a fit to the visible bed.
pub fn light(sight: &LoadedFrame, blanks: &[Arc<Blank>], polygons: &[Vec<Point>], clear: f64) -> Light {
    let step = sight.step as f64;
    let bare = bare(sight, polygons, clear);
    let is_bed = |x: usize, y: usize| bare[y * sight.proxy.width() + x];
    let mut best: Option<(Field, flat_field::Level, &Blank)> = None;
    for blank in blanks {
        let mut light = blank.light.clone();
        let level = flat_field::level(&mut light, &sight.proxy, step, is_bed);
        // A blank that holds comes before one that fits a moved lamp better, such as that of the light at the other side.
        let better = |b: &flat_field::Level| (level.holds(), -level.misfit) > (b.holds(), -b.misfit);
        if best.as_ref().is_none_or(|b| better(&b.1)) {
            best = Some((light, level, blank));
        }
    }
    let level = best.as_ref().map(|b| b.1);
    let (bed, texture, quality, lamp) = match best.filter(|b| b.1.holds()) {
        Some((bed, _, blank)) => (bed, Some(blank.texture.clone()), None, blank.lamp),
        None => {
            let (bed, quality) = flat_field::fit(&sight.proxy, step, is_bed);
            (bed, None, Some(quality), quality.lamp)
        }
    };
    let returns = paper::returned(&sight.proxy, step, &bed);
    let instead = paper::instead(&sight.proxy, step, &bed, returns, polygons);
    Light { bed, texture, level, quality, lamp, returns, instead }
}

/// The proxy pixels that are bed by position: farther than `clear` pixels outside all polygons.
pub(super) fn bare(sight: &LoadedFrame, polygons: &[Vec<Point>], clear: f64) -> Vec<bool> {
    let (w, h, step) = (sight.proxy.width(), sight.proxy.height(), sight.step as f64);
    let wide = |p: &Vec<Point>| -> Vec<Point> { grown(p, clear).iter().map(|&p| p * (1.0 / step)).collect() };
    let polygons: Vec<Vec<Point>> = polygons.iter().map(wide).collect();
    let mut bare = vec![true; w * h];
    for (y, row) in bare.chunks_exact_mut(w).enumerate() {
        for (from, to) in polygons.iter().flat_map(|p| spans(p, y as f64 + 0.5)) {
            // The pixels whose centres lie between.
            let at = |x: f64| (x + 0.5).clamp(0.0, w as f64) as usize;
            row[at(from)..at(to)].fill(false);
        }
    }
    bare
}
