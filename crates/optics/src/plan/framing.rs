//! Framing: which way the print lies, how much bed lies around it, scale, field and the camera's height.

use super::{Clash, Concern, Extent, Said, Wish};
use crate::closeup;
use geometry::{Angle, Length};

/// Which way an upright print lies in the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lay {
    /// Its height along the frame's height.
    Upright,
    /// Its height along the frame's width.
    Sideways,
}

impl Lay {
    /// The print's extent along the frame's width and height.
    pub fn laid(self, print: Extent) -> Extent {
        match self {
            Self::Upright => print,
            Self::Sideways => (print.1, print.0),
        }
    }
    fn other(self) -> Self {
        match self {
            Self::Upright => Self::Sideways,
            Self::Sideways => Self::Upright,
        }
    }
}

/// Scale, field and height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Framing {
    /// Which way the print lies.
    pub lay: Lay,
    /// The most pixels per inch the other way round would allow.
    pub other_ppi: f64,
    /// Pixels on the print gained over the other way round, as a share; 0 where there is nothing to gain.
    pub gain: f64,
    /// Image over object size.
    pub magnification: f64,
    /// Pixels per inch of print.
    pub ppi: f64,
    /// Distance between pixel centres.
    pub pitch: Length,
    /// Bed that the frame shows.
    pub field: Extent,
    /// Least bed between print and frame edge, the print in the middle.
    pub margin: Length,
    /// The margin asked for by use and shadow.
    pub margin_wanted: Length,
    /// Focal length.
    pub focal: Length,
    /// True where the plan chose the focal length.
    pub focal_chosen: bool,
    /// From the lens (its principal planes, taken as one) to the bed.
    pub lens_height: Length,
    /// From the sensor to the bed.
    pub height: Length,
}

/// Clean bed beyond the end of the shadow: enough rows of it to judge the light by. Common practice, no source.
const CLEAN: Length = Length::mm(3.0);
/// How far off the middle a print laid by hand may lie. Common practice, no source.
const PLACING: Length = Length::mm(3.0);
/// A shadow is taken to end by here: past it, the light is too low for any margin.
pub(super) const LONGEST_SHADOW: Length = Length::mm(60.0);

/// The margin: what the use asks for, or the lifted edge's shadow with clean bed beyond it, and room for the hand.
///
/// The shadow is taken square to the edge, `h / tan(e - a)`, its longest.
pub fn margin(wish: &Wish, half_angle: Angle) -> Length {
    let low = (wish.elevation() - half_angle).to_rad().max(1e-3);
    let end = (wish.lift * (1.0 / low.tan())).to_mm().min(LONGEST_SHADOW.to_mm());
    Length::mm(wish.asked.margin.to_mm().max(end + CLEAN.to_mm())) + PLACING
}

/// The magnification at which a print lying so, with its margin, fills the frame.
fn fit(wish: &Wish, lay: Lay, margin: Length) -> f64 {
    let (w, h) = lay.laid(wish.print);
    let across = wish.sensor.0.to_mm() / (w + margin * 2.0).to_mm();
    across.min(wish.sensor.1.to_mm() / (h + margin * 2.0).to_mm())
}

/// The way that gives more pixels; upright where both give the same, so that nothing needs turning.
pub fn lay(wish: &Wish, margin: Length) -> Lay {
    if fit(wish, Lay::Sideways, margin) > fit(wish, Lay::Upright, margin) * 1.0001 {
        Lay::Sideways
    } else {
        Lay::Upright
    }
}

/// Scale, field and height, with the concerns on the way.
pub(super) fn framing(wish: &Wish, margin: Length, concerns: &mut Vec<Concern>) -> Result<Framing, Clash> {
    let lay = lay(wish, margin);
    let pitch = wish.sensor.0 * (1.0 / wish.pixels.0);
    let ppi_of = |m: f64| closeup::ppi(m, pitch);
    let fits = fit(wish, lay, margin);
    let mut m =
        wanted(wish, pitch, concerns)?.map_or(fits, |(said, m)| kept(wish, lay, (said, m), fits, pitch, concerns));
    let (focal, focal_chosen) = focal(wish, m);
    m = within_reach(wish, focal, m, pitch, concerns);
    let field = (wish.sensor.0 * (1.0 / m), wish.sensor.1 * (1.0 / m));
    let laid = lay.laid(wish.print);
    let left = |f: Length, p: Length| (f.to_mm() - p.to_mm()) / 2.0;
    let least = Length::mm(left(field.0, laid.0).min(left(field.1, laid.1)));
    // A tenth of a millimetre is nothing on a bed.
    if least.to_mm() < margin.to_mm() - 0.1 {
        concerns.push(Concern::MarginShort { left: least, wanted: margin });
    }
    // One per cent is within every tolerance for scale (FADGI 2023: 594 stands for 600).
    if ppi_of(m) < wish.asked.ppi * 0.99 {
        concerns.push(Concern::ShortOfAim { asked_ppi: wish.asked.ppi, ppi: ppi_of(m) });
    }
    let other = fit(wish, lay.other(), margin);
    let lens_height = closeup::object_distance_for(focal, m);
    Ok(Framing {
        lay,
        other_ppi: ppi_of(other),
        gain: ((fits / other).powi(2) - 1.0).max(0.0),
        magnification: m,
        ppi: ppi_of(m),
        pitch,
        field,
        margin: least,
        margin_wanted: margin,
        focal,
        focal_chosen,
        lens_height,
        height: lens_height + closeup::image_distance_for(focal, m),
    })
}

/// `f (2 + m + 1/m) = T` solved for the m that is under life size: with k = T/f - 2, `m = (k - sqrt(k^2 - 4)) / 2`.
/// `None` under T = 4 f, where there is none.
pub fn magnification_at_height(focal: Length, total: Length) -> Option<f64> {
    let k = total.to_mm() / focal.to_mm() - 2.0;
    // The other root times this one is 1: dividing keeps the figures where k is large.
    (k >= 2.0).then(|| 2.0 / (k + (k * k - 4.0).sqrt()))
}

/// The magnification that was asked for, by whichever wish.
fn wanted(wish: &Wish, pitch: Length, concerns: &mut Vec<Concern>) -> Result<Option<(Said, f64)>, Clash> {
    let mut said: Vec<(Said, f64)> = vec![];
    said.extend(wish.ppi.map(|v| (Said::Ppi(v), closeup::magnification_for_ppi(v, pitch))));
    let long = wish.sensor.0.to_mm().max(wish.sensor.1.to_mm());
    said.extend(wish.field.map(|v| (Said::Field(v), long / v.to_mm())));
    if let (Some(focal), Some(height)) = (wish.focal, wish.height) {
        match magnification_at_height(focal, height) {
            Some(m) => said.push((Said::Height(height, focal), m)),
            None => concerns.push(Concern::HeightTooLow { wanted: height, least: focal * 4.0 }),
        }
    }
    let ppi = |m: f64| closeup::ppi(m, pitch);
    match said[..] {
        // Two wishes agree within 3 %: as near as heights and fields are read off a stand.
        [a, b, ..] if (a.1 / b.1 - 1.0).abs() > 0.03 => Err(Clash { one: (a.0, ppi(a.1)), other: (b.0, ppi(b.1)) }),
        [a, _, c] if (a.1 / c.1 - 1.0).abs() > 0.03 => Err(Clash { one: (a.0, ppi(a.1)), other: (c.0, ppi(c.1)) }),
        _ => Ok(said.first().copied()),
    }
}

/// The wished magnification if the print is whole in it, or the largest that has the whole print and its margin.
fn kept(wish: &Wish, lay: Lay, (said, m): (Said, f64), fits: f64, pitch: Length, concerns: &mut Vec<Concern>) -> f64 {
    if m <= fit(wish, lay, Length::default()) {
        return m;
    }
    let (wanted_ppi, nearest_ppi) = (closeup::ppi(m, pitch), closeup::ppi(fits, pitch));
    concerns.push(Concern::Crops { wanted_ppi, nearest_ppi, said });
    fits
}

/// Focal lengths that lenses for close work are commonly made in, and where the lens would then best be: near enough for
/// any column, far enough that a millimetre of curl enlarges by under a quarter of a per cent. Common practice, no source.
const COMMON: [f64; 8] = [35.0, 50.0, 60.0, 70.0, 85.0, 100.0, 135.0, 180.0];
const GOOD_HEIGHT: f64 = 450.0;

/// The focal length: known, or from the height wished for, or a common one that puts the lens at a good height.
fn focal(wish: &Wish, m: f64) -> (Length, bool) {
    match (wish.focal, wish.height) {
        (Some(f), _) => (f, false),
        (None, Some(height)) => (height * (1.0 / (2.0 + m + 1.0 / m)), true),
        (None, None) => {
            let off = |f: f64| (closeup::object_distance_for(Length::mm(f), m).to_mm() / GOOD_HEIGHT).ln().abs();
            let best = COMMON.into_iter().min_by(|a, b| off(*a).total_cmp(&off(*b))).unwrap_or(GOOD_HEIGHT / 6.0);
            (Length::mm(best), true)
        }
    }
}

/// What an ordinary lens reaches unless it is made for close work: about a seventh of life size. Common practice, no source.
const ORDINARY: f64 = 0.15;

/// The magnification, held to what the lens can focus.
fn within_reach(wish: &Wish, focal: Length, m: f64, pitch: Length, concerns: &mut Vec<Concern>) -> f64 {
    let total = |m: f64| focal * (2.0 + m + 1.0 / m);
    // A lens for close work is taken to reach life size, any other what is marked on it.
    let most = match wish.closest {
        Some(closest) => magnification_at_height(focal, closest).unwrap_or(1.0),
        None => 1.0,
    };
    // Half a per cent: a lens's mark is no finer.
    if m > most * 1.005 {
        let closest = wish.closest.unwrap_or(focal * 4.0);
        concerns.push(Concern::TooClose { wanted: total(m), closest, wanted_ppi: closeup::ppi(m, pitch) });
        return most;
    }
    if m > ORDINARY && wish.closest.is_none() && !wish.close_lens && wish.focal.is_some() {
        concerns.push(Concern::MayNotFocus { magnification: m, needs: total(m) });
    }
    m
}
