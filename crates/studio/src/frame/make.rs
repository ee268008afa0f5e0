//! Makes a print's files: master, mount, PNG, share and previews, all from one resample.

use super::Seen;
use super::chart;
use super::sight::Sight;
use crate::job::{FrameError, FrameJob, Outputs};
use crate::recipe::MasterEncoding;
use crate::report::{self, Previews, Report};
use codec::{Info, icc, jpeg, png, tiff, xmp};
use correct::canvas::{Canvas, Warp};
use correct::colour::ColourFit;
use correct::flatten::{Flat, flatten};
use correct::mount::{Encoder, Mount, master_rows};
use correct::white::{Layer, RIM_MM, Tail, dither};
use pixels::colour::srgb_encode;
use pixels::encoding_eci::lstar_encode;
use pixels::resize::Reducer;
use pixels::{Frame, Picture, Plane, Primaries};
use print::edge::Reader;
use print::shadow::{self, Cast, Ground, Shade};
use rayon::prelude::*;

/// Bed shown beyond the print's edge at least, mm: enough for the print to lie on something.
const MARGIN: f64 = 8.0;
/// Bed searched for shadow beyond the print's edge, mm: the shadow of an edge lifted 6 mm under a light 30 degrees high ends
/// within it (h / tan e = 10.4 mm, and softness).
const SEARCH: f64 = 18.0;
/// Scale at which the shadow is measured, pixels per mm: a contact shadow of 0.3 mm is three of them.
const WORKING: f64 = 12.0;
/// Longer side of the pictures on the page, pixels.
const PREVIEW: usize = 1200;

/// What was made, for the measurements that need the canvas.
pub(super) struct Made {
    pub canvas: Canvas,
    pub flat: Flat,
    pub cast: Cast,
}

/// Finishes a print into `job.outputs` and writes canvas, colour and previews into the report.
pub(super) fn make(
    job: &FrameJob,
    sight: &Sight,
    seen: &Seen,
    fit: Option<&ColourFit>,
    report: &mut Report,
) -> Result<Made, FrameError> {
    let warp = Warp::new(&seen.found);
    let size = seen.found.format.outer;
    let paper = ColourFit::from_paper(&sight.frame.encoding.primaries);
    let colour = fit.unwrap_or(&paper);
    report.colour = Some(chart::facts(colour));
    let (shade, cast, ground) = shadow(sight, seen, &warp, size);
    let scale = round(seen.found.pose.px_per_mm());
    let tail = Tail::new(&shade, ground.print);
    let canvas = Canvas::around(size, tail.reach_mm().map(|m| (m + RIM_MM).clamp(MARGIN, SEARCH)), scale);
    let layer = tail.on(&canvas, job.settings.shadow);
    let frame = seen.developed.as_ref().unwrap_or(&sight.frame);
    let even = seen.even.as_ref().unwrap_or(&seen.bed);
    let flat = flatten(frame, even, seen.texture.as_ref(), &canvas, &warp);
    write(job, sight, &flat, colour, &layer, report)?;
    Ok(Made { canvas, flat, cast })
}

/// The scale written to files: to a ten-thousandth, far finer than it is known, so that its decimals can be read out.
fn round(px_per_mm: f64) -> f64 {
    (px_per_mm * 1e4).round() / 1e4
}

/// Measures the shadow on a canvas of its own scale.
fn shadow(sight: &Sight, seen: &Seen, warp: &Warp, size: (f64, f64)) -> (Shade, Cast, Canvas) {
    let native = seen.found.pose.px_per_mm();
    let ground = Canvas::around(size, [SEARCH; 4], WORKING.min(native));
    let (reader, bed_way) = (Reader::new(&sight.frame), warp.of_bed());
    // Each working pixel is the mean of what it covers: samples a frame pixel apart or closer.
    let fine = (native / ground.px_per_mm).ceil().max(1.0) as usize + 1;
    let [left, top, right, bottom] = ground.print;
    // Under the print nothing is asked but close to its edge.
    let deep = 3.0 * ground.px_per_mm;
    let under = |x: f64, y: f64| x > left + deep && x < right - deep && y > top + deep && y < bottom - deep;
    let at = |x: usize, y: usize| -> Option<[f32; 3]> {
        let (cx, cy) = (x as f64 + 0.5, y as f64 + 0.5);
        if under(cx, cy) {
            return Some([1.0; 3]);
        }
        let place = |dx: f64, dy: f64| bed_way.frame(ground.print_from_canvas(cx + dx, cy + dy));
        let p = place(0.0, 0.0);
        let (across, down) = (place(0.5, 0.0) - p, place(0.0, 0.5) - p);
        let part = |k: usize| (2 * k + 1) as f64 / fine as f64 - 1.0;
        let mut sum = [0f32; 3];
        for j in 0..fine {
            for i in 0..fine {
                let v = reader.at(p + across * part(i) + down * part(j))?;
                (0..3).for_each(|c| sum[c] += v[c]);
            }
        }
        let bed = seen.bed.at(p.x, p.y);
        let texture = seen.texture.as_ref().map_or([1.0; 3], |t| t.at(p.x, p.y));
        let n = (fine * fine) as f32;
        Some(std::array::from_fn(|c| sum[c] / n / (bed[c] * texture[c]).max(1e-6)))
    };
    let rows: Vec<[f32; 3]> = (0..ground.height)
        .into_par_iter()
        .flat_map_iter(|y| (0..ground.width).map(|x| at(x, y).unwrap_or([f32::NAN; 3])).collect::<Vec<_>>())
        .collect();
    let plane =
        |c: usize| Plane { width: ground.width, height: ground.height, data: rows.iter().map(|v| v[c]).collect() };
    let ratio = Picture([plane(0), plane(1), plane(2)]);
    let cover = warp.cover(&seen.found, &ground);
    let luma = sight.frame.encoding.primaries.0[1].map(|v| v as f32);
    // A sharp lens mixes print and bed over about two pixels of the frame.
    let blur_mm = 2.5 / native;
    let g = Ground { ratio: &ratio, luma, cover: &cover, print: ground.print, px_per_mm: ground.px_per_mm, blur_mm };
    let mut shade = shadow::shade(&g);
    // What the frame does not show throws no shadow that anyone has seen.
    shade.darkness.data.iter_mut().zip(&rows).filter(|(_, v)| v[0].is_nan()).for_each(|(d, _)| *d = 0.0);
    let cast = shadow::measure(&g, &shade);
    (shade, cast, ground)
}

fn write(
    job: &FrameJob,
    sight: &Sight,
    flat: &Flat,
    colour: &ColourFit,
    layer: &Layer,
    report: &mut Report,
) -> Result<(), FrameError> {
    let canvas = &flat.canvas;
    let (primaries, encoder, profile, name) = encoding(job.settings.encoding);
    let info = |what: &str, icc: Vec<u8>| info(job, sight, canvas.px_per_mm, what, icc);
    let (absolute, relative) = (colour.absolute(&primaries), colour.media_relative(&primaries));
    let in_srgb = colour.media_relative(&Primaries::srgb());
    let (w, h) = (canvas.width, canvas.height);
    let deflate = tiff::Compression::Deflate;
    tiff::write(
        &job.outputs.master.part,
        w,
        h,
        &info("Master: faithful, the bed as it was.", profile.clone()),
        deflate,
        |r| master_rows(flat, &absolute, &encoder, r),
    )?;
    let mount = Mount { flat, colour: &relative, layer };
    tiff::write(
        &job.outputs.mount.part,
        w,
        h,
        &info("Mount: the print on white with its own shadow.", profile),
        deflate,
        |r| mount.rows16(&encoder, r),
    )?;
    let shown = Mount { flat, colour: &in_srgb, layer };
    let srgb = Encoder::new(srgb_encode);
    if let Some(out) = &job.outputs.srgb_png {
        png::write(&out.part, w, h, &info("Mount, sRGB.", icc::srgb()), |r| shown.rows8(&srgb, r))?;
    }
    let small = |most: usize, out: &crate::job::Output, quality: u8| {
        let (size, light) = reduced(&shown, h, Reducer::fit((w, h), most));
        let rgb = eight(&light, size.0, &srgb);
        let mut i = info("Mount, sRGB, reduced.", icc::srgb());
        i.px_per_mm = Some(canvas.px_per_mm * size.0 as f64 / w as f64);
        jpeg::write(&out.part, size.0, size.1, &rgb, quality, jpeg::Subsampling::Full, &i).map_err(FrameError::from)
    };
    small(job.settings.share_px as usize, &job.outputs.share, 92)?;
    small(PREVIEW, &job.outputs.after, 88)?;
    report.canvas = Some(report::Canvas {
        master: job.outputs.master.name.clone(),
        mount: job.outputs.mount.name.clone(),
        srgb_png: job.outputs.srgb_png.as_ref().map(|o| o.name.clone()),
        share: Some(job.outputs.share.name.clone()),
        width_px: w,
        height_px: h,
        px_per_mm: canvas.px_per_mm,
        print_px: canvas.corners(),
        encoding: Some(name.into()),
    });
    if let Some(p) = &mut report.previews {
        p.after = Some(job.outputs.after.name.clone());
    }
    Ok(())
}

fn encoding(e: MasterEncoding) -> (Primaries, Encoder, Vec<u8>, &'static str) {
    match e {
        MasterEncoding::EciRgbV2 => {
            (Primaries::eci_rgb_v2(), Encoder::new(lstar_encode), icc::eci_rgb_v2(), "eciRGBv2 (ISO 22028-4)")
        }
        MasterEncoding::Romm => (
            Primaries::romm(),
            Encoder::new(|v| v),
            icc::linear(&Primaries::romm(), "linear ROMM RGB primaries (ISO 22028-2)"),
            "linear light, ROMM RGB primaries (ISO 22028-2)",
        ),
        MasterEncoding::Srgb => (Primaries::srgb(), Encoder::new(srgb_encode), icc::srgb(), "sRGB (IEC 61966-2-1)"),
    }
}

/// What a file says about itself.
fn info(job: &FrameJob, sight: &Sight, px_per_mm: f64, what: &str, icc: Vec<u8>) -> Info {
    let software = format!("Fallside {}", job.recipe.fallside);
    let name = job.path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    let packet = xmp::packet(&xmp::Packet {
        description: Some(what.into()),
        creator_tool: Some(software.clone()),
        digitised: sight.words.taken.clone(),
        derived_from: Some((name, format!("blake3:{}", job.blake3))),
        ..xmp::Packet::default()
    });
    Info {
        px_per_mm: Some(px_per_mm),
        icc: Some(icc),
        xmp: Some(packet),
        description: Some(format!("{what} Recipe blake3:{}", job.recipe.key())),
        software: Some(software),
        original: Some(sight.original.clone()),
    }
}

fn reduced(mount: &Mount<'_>, height: usize, to: (usize, usize)) -> ((usize, usize), Vec<f32>) {
    let mut reducer = Reducer::new((mount.flat.canvas.width, height), to);
    // Rows are made in parallel, a band at a time, and reduced in order.
    for from in (0..height).step_by(64) {
        let band: Vec<Vec<f32>> = (from..(from + 64).min(height)).into_par_iter().map(|y| mount.light(y)).collect();
        band.iter().for_each(|row| reducer.feed(row));
    }
    reducer.finish()
}

fn eight(light: &[f32], width: usize, encoder: &Encoder) -> Vec<u8> {
    light
        .iter()
        .enumerate()
        .map(|(i, &l)| {
            let px = i / 3;
            // An area mean of whites is white but for rounding.
            if l >= 1.0 - 1e-6 { 255 } else { dither(encoder.code(l), px % width, px / width) }
        })
        .collect()
}

/// Writes the preview of the frame as stored.
pub(super) fn before(frame: &Frame, outputs: &Outputs) -> Result<Previews, FrameError> {
    let factor = (frame.width.max(frame.height) / PREVIEW).max(1);
    let small = frame.reduce(factor);
    let (w, h) = (small.width(), small.height());
    let mut reducer = Reducer::new((w, h), Reducer::fit((w, h), PREVIEW));
    let primaries = Primaries::srgb().rgb_from_xyz();
    let native = frame.encoding.primaries;
    for y in 0..h {
        let row: Vec<f32> = (0..w)
            .flat_map(|x| {
                let v = small.get(x, y);
                match primaries.filter(|_| native != Primaries::srgb()) {
                    Some(m) => pixels::matrix::apply(&m, native.xyz(v.map(f64::from))).map(|l| l as f32),
                    None => v,
                }
            })
            .collect();
        reducer.feed(&row);
    }
    let (size, light) = reducer.finish();
    let rgb = eight(&light, size.0, &Encoder::new(srgb_encode));
    let info = Info { icc: Some(icc::srgb()), ..Info::default() };
    jpeg::write(&outputs.before.part, size.0, size.1, &rgb, 85, jpeg::Subsampling::Quarter, &info)?;
    Ok(Previews { before: outputs.before.name.clone(), after: None })
}
