//! Makes a print's files: master, mount, PNG, share and previews, all from one resample.

use super::Seen;
use super::bend::{self, Bend};
use super::beside::Neighbours;
use super::loaded_frame::LoadedFrame;
use super::room::Room;
use super::{chart, recast, shadow_sampling};
use crate::job::{FrameJob, Output, Outputs};
use crate::recipe::MasterEncoding;
use crate::report;
use crate::report::Report;
use base::Failure;
use codec::{Info, icc, jpeg, png, tiff, xmp};
use correct::ambient;
use correct::canvas::{Canvas, Edge, Warp};
use correct::colour::ColourFit;
use correct::flatten::Flat;
use correct::mount::{Encoder, Mount, master_rows};
use correct::rim::Rim;
use correct::shadow_layer::{Layer, RIM_MM, Tail, dither};
use pixels::Primaries;
use pixels::colour::srgb_encode;
use pixels::encoding_eci::lstar_encode;
use pixels::resize::{Columns, Lines, Reducer};
use print::lift::Curl;
use print::shadow::Cast;
use rayon::prelude::*;

/// Bed shown beyond the print's edge at least, mm: enough for the print to lie on something.
const MARGIN: f64 = 8.0;
/// Longer side of the pictures on the page, pixels.
const PREVIEW: usize = 1200;

/// A straightened print with its shadow, from which its files are written.
pub(super) struct Made<'a> {
    pub flat: Flat<'a>,
    pub cast: Cast,
    /// How high its edges stand, and how the shadow of its mount came about.
    pub lift: Option<report::LiftFacts>,
    /// How much the print curls, by outline and shadow.
    pub curl: Option<Curl>,
    pub shadow: report::ShadowFacts,
    layer: Layer,
    edge: Edge,
    /// Sides whose light is not the frame's.
    rim: Option<Rim>,
    bend: Option<Bend>,
}

/// Straightens a print and measures its shadow.
pub(super) fn make<'a>(job: &FrameJob, sight: &'a LoadedFrame, seen: &'a Seen, room: Option<&Room>) -> Made<'a> {
    let warp = Warp::new(&seen.found);
    let size = seen.found.format.outer;
    let mut shadow = shadow_sampling::shadow(sight, seen, &warp, size);
    let (mut lift, curl) = recast::measure(sight, seen, &shadow, job.recipe.lens.as_ref()).unzip();
    if let Some(fill) = room.and_then(|r| r.fill(seen, sight.frame.encoding.primaries.0[1])) {
        ambient::unfill(&mut shadow.shade.darkness, fill);
        // What the room gave is out of the shadow, and of one that is cast anew.
        lift.iter_mut().for_each(|l| l.fill = 0.0);
    }
    let (anew, shadow_facts) = recast::cast(job.settings.light.as_ref(), lift.as_ref(), &(&shadow).into());
    let lift = lift.map(|l| recast::facts(&l, &shadow));
    let shadow_sampling::Shadow { shade, cast, canvas: working, corner_mm, .. } = shadow;
    let scale = round(seen.found.pose.px_per_mm());
    let own = Tail::new(&shade, working.print);
    // A canvas stops where a neighbour begins.
    let room = Neighbours::of(seen).map_or([f64::INFINITY; 4], |n| n.room());
    // The master keeps what it shows of the bed under every light: a canvas grows where a shadow is longer, and never shrinks.
    let longer = anew.as_ref().map_or([0.0; 4], |(tail, _)| tail.reach_mm());
    let reach: [f64; 4] = std::array::from_fn(|i| own.reach_mm()[i].max(longer[i]));
    let reach = reach.map(|m| (m + RIM_MM).clamp(MARGIN, shadow_sampling::SEARCH));
    let (tail, rim) = anew.map_or((own, None), |(tail, rim)| (tail, Some(rim)));
    let canvas = Canvas::around(size, std::array::from_fn(|i| reach[i].min(room[i])), scale);
    let layer = tail.on(&canvas, job.settings.shadow);
    let edge = warp.edge(&seen.found, &canvas).rounded(corner_mm * canvas.px_per_mm);
    // Two lights from opposite sides shade a bend oppositely: the mean of both is free of it.
    let bend = if seen.counter.is_some() {
        None
    } else {
        bend::of(sight, seen, &cast, (job.settings.unbend, job.recipe.lens.is_some()))
    };
    let unbend = bend.as_ref().and_then(|b| b.unbend(&canvas));
    let flat = Flat { unbend, ..seen.flat(sight, canvas, warp) };
    Made { flat, cast, lift, curl, shadow: shadow_facts, layer, edge, rim, bend }
}

/// The scale written to files, rounded to a ten-thousandth, which is much finer than its accuracy.
fn round(px_per_mm: f64) -> f64 {
    (px_per_mm * 1e4).round() / 1e4
}

/// Writes a print's files into `job.outputs`, and canvas, colour and previews into the report.
pub(super) fn write(
    job: &FrameJob,
    sight: &LoadedFrame,
    made: &Made,
    fit: Option<&ColourFit>,
    report: &mut Report,
) -> Result<(), Failure> {
    let Made { flat, layer, edge, .. } = made;
    let canvas = &flat.canvas;
    if let Some(bend) = &made.bend {
        bend.write_down(report);
    }
    let paper = ColourFit::from_paper(&sight.frame.encoding.primaries);
    let colour = fit.unwrap_or(&paper);
    report.colour = Some(chart::facts(colour));
    let (primaries, encoder, profile, name) = encoding(job.settings.encoding);
    let info = |what: &str, icc: Vec<u8>| info(job, sight, canvas.px_per_mm, what, icc);
    let (absolute, relative) = (colour.absolute(&primaries), colour.media_relative(&primaries));
    let (w, h) = (canvas.width, canvas.height);
    let rim = made.rim.map(|rim| (rim, flat));
    let mount = Mount { canvas, edge, colour: &relative, layer, rim };
    let of_mount = match made.shadow.how.as_str() {
        "as shot" => "Mount: the print on white with its own shadow.".to_owned(),
        _ => format!("Mount: the print on white, its shadow {}.", made.shadow.says()),
    };
    // The share is reduced from the rows of the mount while they are made.
    let size = Reducer::fit((w, h), job.settings.share_px as usize);
    let (mut lines, columns) = (Lines::new(h, size.1, 3 * size.0), Columns::new(w, size.0));
    let mut light = Vec::with_capacity(3 * size.0 * size.1);
    let whole = tiff::write_together(
        [
            (&job.outputs.master.part, &info("Master: faithful, the bed as it was.", profile.clone())),
            (&job.outputs.mount.part, &info(&of_mount, profile)),
        ],
        (w, h),
        tiff::Compression::Deflate,
        |rows| {
            let top = rows.start;
            let rows = flat.rows(rows);
            let light = mount.light(top, &rows);
            let reduced: Vec<Vec<f32>> = light.chunks_exact(3 * w).map(|row| columns.reduced(row)).collect();
            let coded = light.iter().map(|l| encoder.sixteen(*l)).collect();
            ([master_rows(&rows, &absolute, &encoder), coded], reduced)
        },
        |reduced| reduced.iter().for_each(|row| lines.feed(row, |v| v, |sum| light.extend_from_slice(sum))),
    )?;
    let srgb = Encoder::new(srgb_encode);
    let small = |size: (usize, usize), light: &[f32], out: &Output, quality: u8| {
        let mut i = info("Mount, sRGB, reduced.", icc::srgb());
        i.px_per_mm = Some(canvas.px_per_mm * size.0 as f64 / w as f64);
        let rgb = eight(light, size.0, &srgb);
        jpeg::write(&out.part, size.0, size.1, &rgb, quality, jpeg::Subsampling::Full, &i).map_err(Failure::from)
    };
    // The disk takes the large files while the small ones are made.
    let (settled, reduced) = rayon::join(
        || whole.settle(),
        || {
            in_srgb(&primaries, &mut light);
            small(size, &light, &job.outputs.share, 92)?;
            let mut preview = Reducer::new(size, Reducer::fit(size, PREVIEW));
            light.chunks_exact(3 * size.0).for_each(|row| preview.feed(row, |v| v));
            let (size, light) = preview.finish();
            small(size, &light, &job.outputs.after, 88)
        },
    );
    settled?;
    reduced?;
    if let Some(out) = &job.outputs.srgb_png {
        let shown = Mount { canvas, edge, colour: &colour.media_relative(&Primaries::srgb()), layer, rim };
        png::write(&out.part, w, h, &info("Mount, sRGB.", icc::srgb()), |r| {
            shown.rows8(&srgb, r.start, &flat.rows(r))
        })?;
    }
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

pub(crate) fn encoding(e: MasterEncoding) -> (Primaries, Encoder, Vec<u8>, &'static str) {
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

/// Metadata of a result file.
fn info(job: &FrameJob, sight: &LoadedFrame, px_per_mm: f64, what: &str, icc: Vec<u8>) -> Info {
    let software = format!("Fallside {}", job.recipe.fallside);
    let name = base::files::name_of(&job.path);
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

/// Turns linear light of some primaries into linear sRGB.
pub fn in_srgb(from: &Primaries, light: &mut [f32]) {
    let Some(srgb) = Primaries::srgb().rgb_from_xyz().filter(|_| *from != Primaries::srgb()) else { return };
    let m = pixels::matrix::product(&srgb, &from.0);
    light.par_chunks_exact_mut(3).for_each(|px| {
        let v = pixels::matrix::apply(&m, [px[0], px[1], px[2]].map(f64::from));
        (0..3).for_each(|c| px[c] = v[c] as f32);
    });
}

/// Linear light as 8-bit sRGB, dithered; white is white.
pub fn eight(light: &[f32], width: usize, encoder: &Encoder) -> Vec<u8> {
    let mut out = vec![0; light.len()];
    let rows = out.par_chunks_mut(3 * width).zip(light.par_chunks(3 * width));
    rows.enumerate().for_each(|(y, (out, light))| {
        for (i, (o, &l)) in out.iter_mut().zip(light).enumerate() {
            // An area mean of whites is white but for rounding.
            *o = if l >= 1.0 - 1e-6 { 255 } else { dither(encoder.code(l), i / 3, y) };
        }
    });
    out
}

/// Writes the preview of the frame as stored.
pub(super) fn before(sight: &LoadedFrame, outputs: &Outputs) -> Result<(), Failure> {
    let small = &sight.proxy;
    let (w, h) = (small.width(), small.height());
    let mut reducer = Reducer::new((w, h), Reducer::fit((w, h), PREVIEW));
    for y in 0..h {
        let row: Vec<f32> = (0..w).flat_map(|x| small.get(x, y)).collect();
        reducer.feed(&row, |v| v);
    }
    let (size, mut light) = reducer.finish();
    in_srgb(&sight.frame.encoding.primaries, &mut light);
    let rgb = eight(&light, size.0, &Encoder::new(srgb_encode));
    let info = Info { icc: Some(icc::srgb()), ..Info::default() };
    jpeg::write(&outputs.before.part, size.0, size.1, &rgb, 85, jpeg::Subsampling::Quarter, &info)?;
    Ok(())
}
