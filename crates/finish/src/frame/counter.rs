//! The same print lit from the other side: found in its own frame, registered to the front, and joined with it.

use super::loaded_frame::{self, LoadedFrame};
use super::room::Room;
use super::window::inside;
use super::{Frames, Seen, fitted};
use crate::job::{FrameJob, Look};
use crate::named_files::not_used;
use crate::report::CounterFacts;
use base::files::name_of;
use base::wording::{degrees, round};
use correct::canvas::{Canvas, Warp};
use correct::counter::{Merge, sampling};
use correct::flatten::{Flat, Second};
use geometry::Point;
use pixels::{Picture, Plane};
use print::flat_field::Blank;
use print::format::Format;
use print::hints::Hints;
use print::register::{Registration, register};
use std::sync::Arc;

/// Samples along the window's longer side at which the two are registered: a tenth of a frame's pixel is a hundredth to a thirtieth of one.
const SAMPLES: f64 = 1000.0;
/// The two must be registered to this, frame pixels.
const REGISTERED: f64 = 0.1;
/// Correlation of local contrast from which two frames show the same print: another gives about 0.
const ALIKE: f64 = 0.5;
/// The two lights must stand at least this far apart (degrees), so that a reflection lies elsewhere.
const APART: f64 = 60.0;

/// The other frame of a print, ready to be joined.
pub struct Counter {
    sight: LoadedFrame,
    seen: Seen,
    /// From the front's straightened print to the other's, print millimetres.
    moved: Registration,
    merge: Merge,
    pub facts: CounterFacts,
}

/// What a job's counter frame gives; `None` where it has none.
///
/// # Errors
/// A sentence on why it is not used.
pub(super) fn of(
    frames: &Frames,
    job: &FrameJob,
    (sight, seen, room): (&LoadedFrame, &Seen, Option<&Room>),
    (formats, hints): (&[Format], &Hints),
    blanks: &[Arc<Blank>],
) -> Option<Result<Counter, String>> {
    let reference = job.counter.as_ref()?;
    let not_used = |why: String| format!("{}{why}.", not_used(&reference.path, "frame lit from the other side"));
    let chart = frames.chart(job).ok().flatten();
    let look = fitted(chart.as_deref()).and_then(|f| f.look.as_ref());
    let other = match LoadedFrame::read(&reference.path, look) {
        Ok(other) => other,
        Err(e) => return Some(Err(not_used(e.to_string()))),
    };
    let same = (other.frame.width, other.frame.height) == (sight.frame.width, sight.frame.height);
    if !same || other.frame.encoding.primaries != sight.frame.encoding.primaries {
        return Some(Err(not_used("it is of another size or colour space than the front".into())));
    }
    let other = match room {
        Some(room) => room.take_from(other),
        None => other,
    };
    let own: Vec<Format> = formats.iter().filter(|f| f.name == seen.found.format.name).cloned().collect();
    let place = loaded_frame::place(&seen.found);
    let hints = Hints { drawn: None, ..*hints };
    let Some(second) = loaded_frame::see(&other, blanks, &own, &hints, Some(&place), &job.recipe.beside) else {
        return Some(Err(not_used("no print was found in it".into())));
    };
    Some(joined(sight, seen, other, second, &name_of(&reference.path)).map_err(not_used))
}

/// How alike the windows of two frames are that may show one print at one place: the correlation of their local contrast, once the one is
/// laid over the other.
pub(super) fn likeness((one, look): (&LoadedFrame, &Look), other: &LoadedFrame) -> Option<f64> {
    let place = look.place.as_ref().filter(|_| one.step == other.step)?;
    let region: Vec<Point> =
        super::room::window_of(place.corners, Some(place)).iter().map(|p| *p * (1.0 / one.step as f64)).collect();
    register(&one.proxy, &other.proxy, &region).map(|r| r.likeness)
}

fn joined(
    sight: &LoadedFrame,
    seen: &Seen,
    other: LoadedFrame,
    mut second: Seen,
    name: &str,
) -> Result<Counter, String> {
    let (a, b) = (seen.light.lamp, second.light.lamp);
    let apart = ((a.azimuth_deg - b.azimuth_deg + 180.0).rem_euclid(360.0) - 180.0).abs();
    if apart < APART && a.azimuth_error_deg.max(b.azimuth_error_deg) < APART / 3.0 {
        return Err(format!("its light stands only {} from that of the front", degrees(apart)));
    }
    let moved = registered(sight, seen, &other, &second)?;
    let size = seen.found.format.outer;
    let canvas = sampling(size);
    let first = area(seen.flat(sight, canvas, Warp::new(&seen.found)), seen.found.pose.px_per_mm());
    let warp = Warp::new(&second.found).moved(moved);
    let there = area(second.flat(&other, canvas, warp), second.found.pose.px_per_mm());
    let merge = Merge::new(&first, &there, size, (!seen.found.back).then(|| seen.found.format.window_quad()))
        .ok_or("too little of the print is seen in it")?;
    second.develop(&other);
    let scale = seen.found.pose.px_per_mm();
    let facts = CounterFacts {
        frame: name.into(),
        light_apart_deg: round(apart, 10.0),
        registered_px: round(moved.error_px * scale, 1e3),
        moved_px: round(moved.shift.norm() * scale, 1e2),
        front_left_out: round(merge.left_out[0], 1e4),
        counter_left_out: round(merge.left_out[1], 1e4),
        veil_before: None,
    };
    Ok(Counter { sight: other, seen: second, moved, merge, facts })
}

/// A flat picture sampled on its canvas, each sample the mean of four by four places.
fn area(flat: Flat, native: f64) -> Picture {
    let c = flat.canvas;
    let n = (native / c.px_per_mm).round().clamp(1.0, 4.0) as usize;
    let fine = Canvas {
        width: c.width * n,
        height: c.height * n,
        px_per_mm: c.px_per_mm * n as f64,
        print: c.print.map(|v| v * n as f64),
    };
    let flat = Flat { canvas: fine, ..flat };
    let mut planes = [0; 3].map(|_| Plane::filled(c.width, c.height, 0.0));
    for y in 0..c.height {
        let rows = flat.rows(y * n..(y + 1) * n);
        for (k, v) in rows.chunks_exact(3).enumerate() {
            let x = k % fine.width / n;
            (0..3).for_each(|b| planes[b].data[y * c.width + x] += v[b] / (n * n) as f32);
        }
    }
    Picture(planes)
}

/// Where the other frame shows the front's picture, print millimetres: each was straightened by its own outline, which is good to some
/// hundredths of a millimetre; the picture in the window says the rest.
fn registered(sight: &LoadedFrame, seen: &Seen, other: &LoadedFrame, second: &Seen) -> Result<Registration, String> {
    let format = &seen.found.format;
    let native = seen.found.pose.px_per_mm();
    let inner = if seen.found.back { format.outer_quad() } else { format.window_quad() };
    let side = (0..4).map(|i| inner.side(i)).map(|(a, b)| a.distance(b)).fold(1.0, f64::max);
    let scale = (SAMPLES / side).min(native);
    let (w, h) = format.outer;
    let canvas = Canvas {
        width: (w * scale) as usize,
        height: (h * scale) as usize,
        px_per_mm: scale,
        print: [0.0, 0.0, w * scale, h * scale],
    };
    let picture = |flat: Flat| {
        let rows = flat.rows(0..canvas.height);
        let plane = |b: usize| Plane {
            width: canvas.width,
            height: canvas.height,
            data: rows.chunks_exact(3).map(|v| if v[b].is_nan() { 0.0 } else { v[b] }).collect(),
        };
        Picture([plane(0), plane(1), plane(2)])
    };
    let first = picture(seen.flat(sight, canvas, Warp::new(&seen.found)));
    let there = picture(second.flat(other, canvas, Warp::new(&second.found)));
    let region = inside(&inner).map(|p| p * scale);
    let found = register(&first, &there, &region).ok_or("too little of the print is seen in it")?;
    if found.likeness < ALIKE {
        return Err("it shows another print".into());
    }
    if found.error_px / scale * native > REGISTERED {
        return Err(format!(
            "its place is known only to {:.2} pixels, and a tenth is needed",
            found.error_px / scale * native
        ));
    }
    Ok(found.enlarged(1.0 / scale))
}

impl Counter {
    /// What joins it in on a canvas.
    pub(super) fn on(&self, canvas: Canvas) -> Box<Second<'_>> {
        let warp = Warp::new(&self.seen.found).moved(self.moved);
        Box::new(Second { flat: self.seen.flat(&self.sight, canvas, warp), merge: &self.merge })
    }
}
