//! The finder on frames as people take and post them, hundreds drawn from seeds: `scene::wild` knows what is true of each.
//!
//! `FALLSIDE_SEEDS=1000..3000 cargo test --release -p print --test wild -- --nocapture` draws others and lists the hardest
//! hundred, for [`HARD`].

use print::find;
use print::flat_field;
use print::format::known;
use print::hints::Hints;
use rayon::prelude::*;
use scene::wild::Wild;
use std::ops::Range;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Seeds drawn where nobody asks for others.
const SEEDS: Range<u64> = 0..300;

/// Of a hundred frames, how many may be lost (no outline, or one over [`LOST_MM`] off), have the wrong format, or be turned
/// wrongly (of those not lost whose format has a foot). These are what today's finder keeps, not what is wanted: that is
/// nought, four and nought.
///
/// Measured on the seeds 0 to 299: 10.3, 6.0 and 0; the limits leave room for three frames, three frames and one.
const LOST_OF_100: f64 = 11.4;
const FORMAT_OF_100: f64 = 7.0;
const TURN_OF_100: f64 = 0.7;
/// The share of worst corners (of all that were found, lost ones included) and of tilts within two of their sigma: wanted and held.
const WITHIN_TWO: f64 = 0.85;
/// How many of [`HARD`] may be lost.
const LOST_OF_HARD: usize = 62;

/// Beyond this an outline is no outline of that print, mm.
const LOST_MM: f64 = 2.0;
/// What is wanted of the median and of the worst outline: the larger of a length on the print (mm) and one in the frame (px).
const MEDIAN: (f64, f64) = (0.10, 0.6);
const WORST: (f64, f64) = (0.8, 4.0);

/// The hundred of the seeds 300 to 899 that today's finder does worst on: first those it loses, then by how far it is off. List
/// them anew when it is better.
const HARD: &[u64] = &[
    562, 692, 309, 598, 783, 374, 680, 687, 728, 874, 580, 899, 319, 362, 763, 635, 830, 597, 672, 561, 578, 526, 516,
    622, 451, 770, 800, 545, 794, 607, 548, 814, 323, 795, 825, 686, 496, 381, 832, 661, 745, 414, 591, 332, 500, 706,
    609, 588, 529, 466, 803, 536, 743, 373, 734, 867, 494, 555, 879, 863, 617, 514, 470, 540, 840, 618, 550, 307, 423,
    828, 653, 472, 435, 819, 856, 632, 880, 336, 844, 449, 843, 665, 845, 870, 340, 477, 353, 389, 533, 709, 786, 421,
    489, 375, 769, 869, 626, 813, 585, 453,
];

/// What became of one frame.
struct Row {
    seed: u64,
    tags: Vec<&'static str>,
    format: &'static str,
    /// Frame pixels per millimetre of print.
    scale: f64,
    /// `None` where nothing was found, or where the finder panicked.
    found: Option<Outcome>,
    panicked: bool,
}

struct Outcome {
    /// Mean distance of the corners from the truth, px.
    px: f64,
    /// The worst corner's distance over the stated sigma.
    z: f64,
    /// The error of the tilt about each axis over its stated sigma.
    tilt_z: [f64; 2],
    confidence: f64,
    format: String,
    format_right: bool,
    /// `None` where the format does not tell which way is up.
    turn_right: Option<bool>,
}

impl Row {
    fn mm(&self) -> Option<f64> {
        self.found.as_ref().map(|f| f.px / self.scale)
    }
    fn lost(&self) -> bool {
        self.mm().is_none_or(|mm| mm > LOST_MM)
    }
    /// The outline's error over a limit that is the larger of millimetres and pixels.
    fn over(&self, (mm, px): (f64, f64)) -> f64 {
        self.found.as_ref().map_or(f64::INFINITY, |f| f.px / px.max(mm * self.scale))
    }
    fn line(&self) -> String {
        let tags = self.tags.join(", ");
        let Some(f) = &self.found else {
            let what = if self.panicked { "PANIC" } else { "NONE" };
            return format!("{:6} {:18} {:5.2} px/mm {what:34} [{tags}]", self.seed, self.format, self.scale);
        };
        let mark = |right: bool, what: &'static str| if right { "" } else { what };
        format!(
            "{:6} {:18} {:5.2} px/mm {:6.3} mm {:6.2} px z {:6.1} sure {:.2} {}{}{}[{tags}]",
            self.seed,
            self.format,
            self.scale,
            f.px / self.scale,
            f.px,
            f.z,
            f.confidence,
            mark(!self.lost(), "LOST "),
            if f.format_right { String::new() } else { format!("TAKEN FOR {} ", f.format) },
            mark(f.turn_right.unwrap_or(true), "TURN "),
        )
    }
}

/// Long side of the picture that the bed is measured on, as the whole job has it (`finish`, `frame/loaded_frame.rs`).
const PROXY: f64 = 1500.0;

/// Draws a seed's frame and looks for the print as a whole run's first look does.
fn look(seed: u64) -> Row {
    let wild = Wild::of(seed);
    let shot = wild.shoot();
    let truth = &shot.truth.prints[0];
    let frame = &shot.frame;
    let search = || {
        let step = (frame.width.max(frame.height) as f64 / PROXY).round().max(1.0) as usize;
        let proxy = frame.reduce(step);
        let (bed, _) = flat_field::guess(&proxy, step as f64);
        find::find(frame, &proxy, step, &bed, &known(), &Hints::default())
    };
    let (found, panicked) = match catch_unwind(AssertUnwindSafe(search)) {
        Ok(found) => (found, false),
        Err(_) => (None, true),
    };
    let camera = wild.scene.rig.camera;
    let format = wild.scene.sheets[0].print.format.expect("a wild frame shows a print");
    let found = found.map(|f| {
        let (corners, upright) = f.corners();
        // The truth begins at the upright print's top left; an outline at the corner nearest the frame's.
        let (px, shift) = (0..4)
            .map(|k| {
                (corners.rolled(k).0.iter().zip(truth.outer_px.0).map(|(a, b)| a.distance(b)).sum::<f64>() / 4.0, k)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .expect("four ways to begin");
        let at = corners.rolled(shift).0;
        let far = at.iter().zip(truth.outer_px.0).map(|(a, b)| a.distance(b)).fold(0.0, f64::max);
        Outcome {
            px,
            z: far / truth.px_per_mm / f.sigma_mm,
            tilt_z: [f.pose.tilt_x - camera.tilt_x.to_deg(), f.pose.tilt_y - camera.tilt_y.to_deg()]
                .map(|off| off.abs() / f.pose.tilt_sigma),
            confidence: f.confidence,
            format_right: f.format.name == truth.format,
            turn_right: format.has_foot().then_some(shift == upright),
            format: f.format.name,
        }
    });
    Row { seed, tags: wild.tags, format: truth.format, scale: truth.px_per_mm, found, panicked }
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Counts of a set of frames.
struct Table {
    frames: usize,
    lost: usize,
    none: usize,
    panicked: usize,
    format_wrong: usize,
    turn_wrong: usize,
    turn_known: usize,
    within_two: f64,
}

/// The share of the frames in which something was found whose worst corner is no farther off than `limit` sigmas.
fn within(rows: &[Row], limit: f64) -> f64 {
    let z: Vec<f64> = rows.iter().filter_map(|r| r.found.as_ref().map(|f| f.z)).collect();
    z.iter().filter(|z| **z <= limit).count() as f64 / z.len().max(1) as f64
}

fn table(rows: &[Row]) -> Table {
    let count = |f: &dyn Fn(&Row) -> bool| rows.iter().filter(|r| f(r)).count();
    let held = |r: &Row| r.found.as_ref().filter(|_| !r.lost()).map(|f| (f.format_right, f.turn_right));
    Table {
        frames: rows.len(),
        lost: count(&Row::lost),
        none: count(&|r| r.found.is_none()),
        panicked: count(&|r| r.panicked),
        format_wrong: count(&|r| r.found.as_ref().is_some_and(|f| !f.format_right)),
        turn_wrong: count(&|r| held(r).is_some_and(|h| h.1 == Some(false))),
        turn_known: count(&|r| held(r).is_some_and(|h| h.1.is_some())),
        within_two: within(rows, 2.0),
    }
}

fn print_table(name: &str, rows: &[Row]) -> Table {
    let t = table(rows);
    let kept: Vec<&Row> = rows.iter().filter(|r| !r.lost()).collect();
    let of = |f: &dyn Fn(&Row) -> f64| kept.iter().map(|r| f(r)).collect::<Vec<f64>>();
    let mm = of(&|r| r.mm().unwrap_or(f64::NAN));
    let z: Vec<f64> = rows.iter().filter_map(|r| r.found.as_ref().map(|f| f.z)).collect();
    println!("{name}: {} frames", t.frames);
    println!("  lost {} (nothing found {}, panic {})", t.lost, t.none, t.panicked);
    println!("  format wrong {}, turn wrong {} of {}", t.format_wrong, t.turn_wrong, t.turn_known);
    println!(
        "  outline of those kept: median {:.3} mm, {:.2} of its limit; worst {:.3} mm, {:.2} of its limit",
        median(mm.clone()),
        median(of(&|r| r.over(MEDIAN))),
        mm.iter().copied().fold(0.0, f64::max),
        of(&|r| r.over(WORST)).into_iter().fold(0.0, f64::max),
    );
    println!("  z: median {:.1}; within 2: {:.3}, within 3: {:.3}", median(z), t.within_two, within(rows, 3.0));
    t
}

/// Lost ones by tag, to see what the finder cannot do.
fn print_tags(rows: &[Row]) {
    let mut tags: Vec<&str> = rows.iter().flat_map(|r| r.tags.iter().copied()).collect();
    tags.sort_unstable();
    tags.dedup();
    for tag in tags {
        let with: Vec<&Row> = rows.iter().filter(|r| r.tags.contains(&tag)).collect();
        println!("  {tag:24} lost {:4} of {:4}", with.iter().filter(|r| r.lost()).count(), with.len());
    }
}

/// Lost ones by the frame's scale: a finder for large frames fails on small ones first.
fn print_scales(rows: &[Row]) {
    for (low, high) in [(0.0, 2.0), (2.0, 4.0), (4.0, 8.0), (8.0, f64::INFINITY)] {
        let with: Vec<&Row> = rows.iter().filter(|r| (low..high).contains(&r.scale)).collect();
        let lost = with.iter().filter(|r| r.lost()).count();
        println!("  {:24} lost {lost:4} of {:4}", format!("{low} to {high} px/mm"), with.len());
    }
}

/// The hardest first: lost ones, then by how far the outline is off; of those alike, the ones with most pixels, which a finder
/// has least excuse to lose.
fn hardest(rows: &mut [Row]) {
    let key = |r: &Row| (r.over(WORST), r.scale);
    rows.sort_by(|a, b| {
        b.lost().cmp(&a.lost()).then(key(b).0.total_cmp(&key(a).0)).then(key(b).1.total_cmp(&key(a).1))
    });
}

fn asked() -> Option<Range<u64>> {
    let words = std::env::var("FALLSIDE_SEEDS").ok()?;
    let (a, b) = words.split_once("..").expect("FALLSIDE_SEEDS=a..b");
    Some(a.parse().expect("a whole number")..b.parse().expect("a whole number"))
}

#[test]
fn prints_are_found_in_frames_as_people_take_them() {
    let asked = asked();
    let mut rows: Vec<Row> = asked.clone().unwrap_or(SEEDS).into_par_iter().map(look).collect();
    let t = print_table("drawn", &rows);
    print_scales(&rows);
    print_tags(&rows);
    hardest(&mut rows);
    let most = if asked.is_some() { 100 } else { 12 };
    rows.iter().take(most).for_each(|r| println!("{}", r.line()));
    if asked.is_some() {
        println!("{:?}", rows.iter().take(most).map(|r| r.seed).collect::<Vec<_>>());
    }
    let share = |n: usize| 100.0 * n as f64 / t.frames.max(1) as f64;
    assert!(share(t.lost) <= LOST_OF_100, "{} of {} lost", t.lost, t.frames);
    assert!(share(t.format_wrong) <= FORMAT_OF_100, "{} of {} formats wrong", t.format_wrong, t.frames);
    assert!(t.within_two >= WITHIN_TWO, "{} within two sigma", t.within_two);
    // Of those found in their own format: the tilt of another is none of this print's.
    let right = rows.iter().filter(|r| !r.lost()).filter_map(|r| r.found.as_ref()).filter(|f| f.format_right);
    let tilts: Vec<f64> = right.flat_map(|f| f.tilt_z).collect();
    let tilts = tilts.iter().filter(|z| **z <= 2.0).count() as f64 / tilts.len().max(1) as f64;
    println!("  tilt within 2 sigma: {tilts:.3}");
    assert!(tilts >= WITHIN_TWO, "tilt: {tilts} within two sigma");
    let turns = 100.0 * t.turn_wrong as f64 / t.turn_known.max(1) as f64;
    assert!(turns <= TURN_OF_100, "{} of {} turned wrongly", t.turn_wrong, t.turn_known);
}

#[test]
fn of_the_hardest_no_more_are_lost_than_were() {
    let rows: Vec<Row> = HARD.par_iter().map(|&seed| look(seed)).collect();
    let t = print_table("hard", &rows);
    assert!(t.lost <= LOST_OF_HARD, "{} of {} lost", t.lost, t.frames);
    assert_eq!(t.panicked, 0);
}
