//! Lighting: where the one light stands, how even it is, how far it would have to stand, and what a second would change.

use super::{Concern, Lay, Wish};
use crate::light::region;
use crate::{Light, Shape, Vec3, vec3};
use geometry::{Angle, Length, Quad, Stops, point};

/// Which way the upright print's top points in the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Top {
    /// To the frame's top.
    Up,
    /// To the frame's left.
    Left,
    /// To the frame's bottom.
    Down,
    /// To the frame's right.
    Right,
}

impl Top {
    /// How far the picture is turned, counter-clockwise, to stand upright.
    pub fn turn(self) -> Angle {
        Angle::deg(match self {
            Self::Up => 0.0,
            Self::Left => -90.0,
            Self::Down => 180.0,
            Self::Right => 90.0,
        })
    }
}

/// Where the light stands and how even it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lighting {
    /// The light.
    pub light: Light,
    /// The nearest it can stand without touching the bed or entering the picture.
    pub least: Length,
    /// True where its distance was given.
    pub given: bool,
    /// Fall-off across the print.
    pub fall_off: Stops,
    /// The distance that brings the fall-off under what is asked, and the light that costs against where it stands;
    /// `None` where even 20 m would not.
    pub needs: Option<(Length, Stops)>,
    /// Fall-off with a second such light opposite.
    pub two_fall_off: Stops,
    /// The distance that would do with two.
    pub two_need: Option<Length>,
    /// Which way to lay the print's top.
    pub top: Top,
    /// Where the light stands once the picture is upright, counter-clockwise from right.
    pub upright_azimuth: Angle,
}

/// Farthest looked at: past this no room is a studio.
const FARTHEST: f64 = 20_000.0;
/// Nearest a flash is ever stood.
const NEAREST: f64 = 50.0;

/// Places the light.
pub(super) fn lighting(wish: &Wish, lay: Lay, concerns: &mut Vec<Concern>) -> Lighting {
    let azimuth = wish.azimuth.unwrap_or(default_azimuth(lay));
    let (top, upright_azimuth) = top(lay, azimuth);
    let (w, h) = lay.laid(wish.print);
    let print = region(w, h);
    let at = |d: Length| Light::at(azimuth, wish.elevation(), d, wish.source);
    let least = least_distance(wish, (w, h), azimuth);
    let clear = |d: Length| up(if d < least { least } else { d });
    let ideal = distance_for(&[at(Length::mm(1000.0))], &print, wish.asked.fall_off).map(clear);
    let farthest = wish.light_reach.unwrap_or(Length::mm(FARTHEST));
    let distance = wish.light_distance.unwrap_or_else(|| ideal.unwrap_or(farthest).min_of(farthest));
    let light = at(distance);
    let fall_off = fall_off(&[light], &print);
    let bright = |l: &Light| l.illumination(Vec3::default(), Vec3::UP);
    let needs = ideal.map(|d| (d, Stops::between(bright(&light), bright(&light.moved_to(d)))));
    // A hundredth of a stop is nothing.
    if fall_off.value() > wish.asked.fall_off.value() + 0.01 {
        let reach = wish.light_distance.is_none();
        concerns.push(Concern::FallOff { fall_off, asked: wish.asked.fall_off, needs, reach });
    }
    if wish.light_distance.is_some() && distance < least {
        concerns.push(Concern::LightInWay { distance, least });
    }
    if (wish.elevation() - light.half_angle()).to_deg() < 4.0 {
        concerns.push(Concern::ShadowEndless);
    }
    Lighting {
        light,
        least,
        given: wish.light_distance.is_some(),
        fall_off,
        needs,
        two_fall_off: self::fall_off(&pair(&light), &print),
        two_need: distance_for(&pair(&light), &print, wish.asked.fall_off).map(clear),
        top,
        upright_azimuth,
    }
}

/// A light and its like on the opposite side.
fn pair(light: &Light) -> [Light; 2] {
    let p = light.position;
    [*light, Light { position: vec3(-p.x, -p.y, p.z), ..*light }]
}

/// Air between the light's face and what it must not touch: the bed below, the print's edge beside it.
const AIR: f64 = 50.0;

/// The nearest a light can stand: its lower edge clear of the bed, its inner edge clear of the space over the print.
fn least_distance(wish: &Wish, laid: super::Extent, azimuth: Angle) -> Length {
    let half = match wish.source {
        Shape::Rectangle { height, .. } => height.to_mm() / 2.0,
        Shape::Disc { diameter } | Shape::Sphere { diameter } => diameter.to_mm() / 2.0,
    };
    let (se, ce) = wish.elevation().to_rad().sin_cos();
    let (sa, ca) = azimuth.to_rad().sin_cos();
    let print = (ca.abs() * laid.0.to_mm() + sa.abs() * laid.1.to_mm()) / 2.0;
    let over_bed = (half * ce + AIR) / se;
    // Nearly overhead, beside is far away: there the camera is in the way whatever the distance.
    let beside = (print + AIR + half * se) / ce.max(0.2);
    Length::mm(over_bed.max(beside))
}

/// The next 5 cm: a stand is set no finer.
fn up(d: Length) -> Length {
    Length::mm((d.to_mm() / 50.0 - 1e-6).ceil() * 50.0)
}

trait Least {
    fn min_of(self, o: Self) -> Self;
}
impl Least for Length {
    fn min_of(self, o: Self) -> Self {
        if o < self { o } else { self }
    }
}

/// On the frame's diagonal, so that the finished picture is lit from the upper left: prints that lie with their top to the
/// frame's left are turned clockwise later, which takes the lower left to the upper left.
fn default_azimuth(lay: Lay) -> Angle {
    match lay {
        Lay::Upright => Angle::deg(135.0),
        Lay::Sideways => Angle::deg(225.0),
    }
}

/// Of the two ways a print can lie so, the one that ends with the light above, or to the left where it is on neither side.
fn top(lay: Lay, azimuth: Angle) -> (Top, Angle) {
    let ways = match lay {
        Lay::Upright => [Top::Up, Top::Down],
        Lay::Sideways => [Top::Left, Top::Right],
    };
    let upright = |t: Top| azimuth + t.turn();
    // Above counts first; a hair of "left" decides where the light is level with the print.
    let good = |t: &Top| upright(*t).to_rad().sin() - 1e-3 * upright(*t).to_rad().cos();
    let best = if good(&ways[0]) >= good(&ways[1]) { ways[0] } else { ways[1] };
    (best, upright(best))
}

/// Fall-off over a region of several equal lights: brightest to darkest.
pub fn fall_off(lights: &[Light], region: &Quad) -> Stops {
    // Smooth, with its ends on the border or on a line of symmetry: 17 by 17 points find them to 0.01 stop.
    fall_off_on(lights, region, 16)
}

fn fall_off_on(lights: &[Light], region: &Quad, steps: usize) -> Stops {
    let (mut low, mut high) = (f64::INFINITY, 0.0f64);
    let [a, b, c, d] = region.0;
    for i in 0..=steps {
        for j in 0..=steps {
            let (s, t) = (i as f64 / steps as f64, j as f64 / steps as f64);
            let p = a.lerp(b, s).lerp(d.lerp(c, s), t);
            let e: f64 = lights.iter().map(|l| l.illumination(vec3(p.x, p.y, 0.0), Vec3::UP)).sum();
            (low, high) = (low.min(e), high.max(e));
        }
    }
    if high <= 0.0 { Stops::default() } else { Stops::between(high, low.max(high * 1e-9)) }
}

/// The least distance, directions kept, from which on the fall-off is no more than `wanted`.
pub fn distance_for(lights: &[Light], region: &Quad, wanted: Stops) -> Option<Length> {
    let falls = |d: f64| {
        let moved: Vec<Light> = lights.iter().map(|l| l.moved_to(Length::mm(d))).collect();
        // Seven by seven points while searching: corners, sides and middle are among them.
        fall_off_on(&moved, region, 6) <= wanted
    };
    let (mut near, mut far) = (NEAREST, FARTHEST);
    if !falls(far) {
        return None;
    }
    // Sixteen halvings of the logarithm: within a thousandth of the distance.
    for _ in 0..16 {
        let mid = (near * far).sqrt();
        if falls(mid) { far = mid } else { near = mid }
    }
    Some(Length::mm(far))
}

/// `(max - min) / mean` of lights at both ends and the middle of a line along x, as lighting tables give it.
pub fn spread(lights: &[Light], width: Length) -> f64 {
    let x = width.to_mm() / 2.0;
    let e = [-x, 0.0, x].map(|x| {
        let p = point(x, 0.0);
        lights.iter().map(|l| l.illumination(vec3(p.x, p.y, 0.0), Vec3::UP)).sum::<f64>()
    });
    let (low, high) = e.iter().fold((f64::INFINITY, 0.0f64), |(l, h), &v| (l.min(v), h.max(v)));
    (high - low) / (e.iter().sum::<f64>() / 3.0)
}
