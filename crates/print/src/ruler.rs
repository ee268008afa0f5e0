//! Measures camera, lens and sharpness from a frame of the ruler sheet (`geometry::ruler`).
//!
//! The sheet is found by its slanted squares and told apart by their codes; the squares' edges then fix perspective, lens
//! distortion and principal point in one least squares, and the same edges give the edge response at the frame's middle and
//! in its corners. Whatever part of the sheet fills the frame is enough.
//!
//! Out of scope: a sheet that is not flat (its residual says so), true sizes of a sheet whose bar nobody measured.

mod edges;
mod find;
mod fit;
mod lateral;
mod light;
#[cfg(test)]
mod tests;
mod tone;
mod zone;

pub use fit::{Place, Stand};
pub use lateral::{Lateral, Shift};
pub use light::PaperLight;
pub use tone::{Grey, Noise};
pub use zone::{Flatness, Sharpness, Zone};

use crate::Rim;
use crate::find::USUAL_FOCAL;
use geometry::ruler::{Paper, SQUARE, Sheet};
use geometry::{Homography, Point, Quad, point};
use pixels::Frame;

/// What is known before looking.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ask {
    /// The paper the sheet was printed on; `None` where any will do.
    pub paper: Option<Paper>,
    /// What the long bar at the sheet's foot measures with a real ruler, mm; `None` for true size.
    pub bar_mm: Option<f64>,
    /// Image distance in frame pixels (about the focal length; closer up `f (1 + m)`). Tilt is proportional to it.
    pub focal_px: Option<f64>,
}

/// A measured value with its standard error, in the same unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Value {
    /// The value.
    pub value: f64,
    /// One standard deviation of it.
    pub error: f64,
}

/// What a frame of the ruler sheet says.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The sheet, at the size its bar gave it.
    pub sheet: Sheet,
    /// The frame's size, pixels.
    pub frame: (usize, usize),
    /// Squares seen whole.
    pub squares: usize,
    /// Where the sheet lies in the frame, with the lens.
    pub place: Place,
    /// How the camera stands.
    pub stand: Stand,
    /// The image distance used for the tilt, pixels, and whether it was only guessed.
    pub focal_px: f64,
    /// True where `focal_px` is a usual copy lens's for want of a better word.
    pub focal_guessed: bool,
    /// Red and blue against green.
    pub lateral: Lateral,
    /// Edge response at the middle, then the corners: top left, top right, bottom right, bottom left of the frame.
    pub zones: [Zone; 5],
    /// How sharpness runs over the frame; `None` where a zone has no response.
    pub flatness: Option<Flatness>,
    /// Light over the frame; `None` where too little bare paper is seen, or it clips.
    pub light: Option<PaperLight>,
    /// Noise of paper and neutral steps.
    pub noise: Noise,
}

/// Why a frame gives no reading.
#[derive(Clone, Debug, PartialEq)]
pub enum RulerError {
    /// No lattice of slanted squares.
    NotFound,
    /// Squares, but their codes are of no sheet of ours.
    Unknown,
    /// The sheet is seen in a mirror.
    Mirrored,
    /// Another paper than was asked for.
    OtherPaper {
        /// Asked for.
        asked: Paper,
        /// Detection.
        seen: Paper,
    },
    /// The sheet neither fills the frame nor lies whole in it; the sides of the frame it leaves bare.
    Partial(Vec<Rim>),
    /// Something lies on the sheet.
    Covered {
        /// Squares seen.
        seen: usize,
        /// Squares that should be in the frame.
        of: usize,
    },
    /// A bar length that no printing gives.
    BadBar(f64),
    /// An image distance that is no positive number.
    BadFocal(f64),
    /// The edges fix no camera.
    Unsteady,
}

impl std::error::Error for RulerError {}

impl std::fmt::Display for RulerError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotFound => {
                write!(f, "no ruler sheet found: lay it flat under the camera, lit and in focus, and fill the frame")
            }
            Self::Unknown => {
                write!(f, "there are slanted squares, but not those of a ruler sheet: print one with `fallside ruler`")
            }
            Self::Mirrored => {
                write!(f, "the ruler sheet is seen in a mirror: use the frame as the camera wrote it, not flipped")
            }
            Self::OtherPaper { asked, seen } => {
                write!(f, "this is the ruler sheet for {}, and {} was asked for", seen.name(), asked.name())
            }
            Self::Partial(sides) => {
                let words: Vec<&str> = sides.iter().map(|s| side_word(*s)).collect();
                write!(f, "the ruler sheet leaves the frame's {} bare: fill the frame with it", words.join(" and "))
            }
            Self::Covered { seen, of } => {
                write!(
                    f,
                    "{seen} of the {of} squares that should be in the frame are seen: clear the ruler sheet and light all of it"
                )
            }
            Self::BadBar(mm) => write!(
                f,
                "the bar cannot measure {mm} mm: its nominal length is 150 mm, and a printer is within a tenth of it"
            ),
            Self::BadFocal(px) => write!(f, "an image distance of {px} pixels is not possible"),
            Self::Unsteady => {
                write!(f, "the ruler sheet's edges do not fix the camera: lay it flat, and light and focus it evenly")
            }
        }
    }
}

fn side_word(side: Rim) -> &'static str {
    match side {
        Rim::Left => "left",
        Rim::Top => "top",
        Rim::Right => "right",
        Rim::Bottom => "bottom",
    }
}

/// Share of the squares that should be in the frame of which most must be seen: dust or a finger's tip hides one or two.
const LEAST_SEEN: f64 = 0.85;
/// How far from a corner of the frame, as shares of its width and height, the nearest square may lie.
const CORNER: f64 = 0.22;

/// Measures a frame of the ruler sheet.
///
/// # Errors
/// [`RulerError`]: no sheet, not ours, mirrored, another paper, half a sheet, something on it, or values of `ask` that cannot
/// be. Edges that cannot be trusted (clipped, too straight) are errors of their [`Zone`] only.
pub fn measure(frame: &Frame, ask: &Ask) -> Result<Reading, RulerError> {
    if let Some(f) = ask.focal_px.filter(|f| !f.is_finite() || *f <= 0.0) {
        return Err(RulerError::BadFocal(f));
    }
    let sheet_of = |paper: Paper| match ask.bar_mm {
        None => Ok(Sheet::new(paper)),
        Some(mm) => Sheet::measured(paper, mm).ok_or(RulerError::BadBar(mm)),
    };
    sheet_of(Paper::A4)?;
    let found = find::find(frame)?;
    if let Some(asked) = ask.paper.filter(|p| *p != found.paper) {
        return Err(RulerError::OtherPaper { asked, seen: found.paper });
    }
    let sheet = sheet_of(found.paper)?;
    let size = (frame.width, frame.height);
    let place = place(frame, &sheet, &found)?;
    let squares = edges::whole(&sheet, size, SPARE, |p| place.frame(p));
    fills(&sheet, size, &place, &squares)?;
    let places = edges::edges(frame, &sheet, &squares);
    let place = fit::fit(&places, &place.straight_from_sheet, size)?;
    let seen = seen(&places, squares.len());
    if (seen as f64) < LEAST_SEEN * squares.len() as f64 {
        return Err(RulerError::Covered { seen, of: squares.len() });
    }
    let focal_px = ask.focal_px.unwrap_or(USUAL_FOCAL * frame.width.max(frame.height) as f64);
    let stand = place.stand(focal_px).ok_or(RulerError::Unsteady)?;
    // Squares that leave the frame by up to their own size have edges nearer to its corners.
    let spare = -1.2 * SQUARE * sheet.scale * stand.px_per_mm.value;
    let zones = zone::zones(frame, &edges::whole(&sheet, size, spare, |p| place.frame(p)));
    Ok(Reading {
        sheet,
        frame: size,
        squares: seen,
        stand,
        focal_px,
        focal_guessed: ask.focal_px.is_none(),
        lateral: lateral::lateral(&places, &place, size),
        flatness: Flatness::of(&zones),
        zones,
        light: PaperLight::of(frame, &sheet, &place),
        noise: tone::noise(frame, &sheet, &place),
        place,
    })
}

/// The paper of the ruler sheet that a frame shows, and nothing measured: to tell what a frame is for.
///
/// # Errors
/// [`RulerError::NotFound`], [`RulerError::Unknown`] or [`RulerError::Mirrored`].
pub fn recognise(frame: &Frame) -> Result<Paper, RulerError> {
    find::find(frame).map(|f| f.paper)
}

/// Pixels that a square must keep from the frame's rim to be used: a lens's blur and a sharpening's reach.
const SPARE: f64 = 4.0;

/// The sheet's place from the squares as they were found.
fn place(frame: &Frame, sheet: &Sheet, found: &find::Found) -> Result<Place, RulerError> {
    let squares: Vec<(i32, i32, Quad)> = found.squares.iter().map(|s| (s.col, s.row, s.corners)).collect();
    let known: Vec<Point> = squares.iter().map(|s| sheet.place(s.0, s.1)).collect();
    let seen: Vec<Point> = squares.iter().map(|s| s.2.centre()).collect();
    let start = Homography::from_points(&known, &seen).ok_or(RulerError::NotFound)?;
    fit::fit(&edges::edges(frame, sheet, &squares), &start, (frame.width, frame.height))
}

/// Squares of which at least three sides were seen.
fn seen(places: &[edges::EdgePoint], squares: usize) -> usize {
    let mut sides = vec![0u8; squares];
    let mut last = usize::MAX;
    for p in places {
        if p.edge != last {
            sides[p.edge / 4] += 1;
            last = p.edge;
        }
    }
    sides.iter().filter(|n| **n >= 3).count()
}

/// The sheet must lie whole in the frame, or reach into its four corners.
fn fills(sheet: &Sheet, size: (usize, usize), place: &Place, squares: &[(i32, i32, Quad)]) -> Result<(), RulerError> {
    let all = sheet.cells().filter(|c| matches!(c.2, geometry::ruler::Cell::Square(_))).count();
    if squares.len() == all {
        return Ok(());
    }
    let (w, h) = (size.0 as f64, size.1 as f64);
    let half = sheet.half();
    // A place of the frame is covered where the lattice goes on under it, or a square is near.
    let covered = |spot: Point| {
        let under = place.sheet(spot).is_some_and(|p| p.x.abs() <= half.0 && p.y.abs() <= half.1);
        let near = |q: &Quad| {
            let d = q.centre() - spot;
            d.x.abs() < CORNER * w && d.y.abs() < CORNER * h
        };
        under || squares.iter().any(|s| near(&s.2))
    };
    let rim = Quad::rectangle(w, h);
    let sides = [Rim::Top, Rim::Right, Rim::Bottom, Rim::Left];
    let bare = |i: usize| {
        let at = |k: usize| rim.side(i).0.lerp(rim.side(i).1, k as f64 / 4.0);
        (0..=4).map(|k| !covered(at(k))).collect::<Vec<_>>()
    };
    let bare: Vec<Vec<bool>> = (0..4).map(bare).collect();
    // A side is bare where most of it is; where only corners are, both their sides are named.
    let most = |b: &Vec<bool>| b.iter().filter(|v| **v).count() >= 4;
    let named =
        |f: &dyn Fn(&Vec<bool>) -> bool| -> Vec<Rim> { (0..4).filter(|&i| f(&bare[i])).map(|i| sides[i]).collect() };
    let (middles, corners) = (named(&most), named(&|b| b[0] || b[4]));
    if corners.is_empty() {
        Ok(())
    } else {
        Err(RulerError::Partial(if middles.is_empty() { corners } else { middles }))
    }
}

/// A frame's middle and corners, in the order of the zones.
fn spots(size: (usize, usize)) -> [Point; 5] {
    let (w, h) = (size.0 as f64, size.1 as f64);
    [point(w / 2.0, h / 2.0), point(0.0, 0.0), point(w, 0.0), point(w, h), point(0.0, h)]
}
