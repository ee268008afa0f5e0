//! Ways: one frame or several moved by half pixels, under flash or under a lamp, side by side.

use super::{Exposing, Focus, Framing, Wish};
use geometry::Stops;

/// One way to take a print.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Way {
    /// True under flash, false under a lamp.
    pub flash: bool,
    /// Exposures per picture: 1; 4, each pixel once behind every colour; 16, the same on a grid twice as fine.
    pub shots: u32,
    /// Pixels per inch that are recorded.
    pub ppi: f64,
    /// The pixels per inch of it that the lens and the curl leave.
    pub useful_ppi: f64,
    /// True where every pixel sees every colour, false where two of three are made up from neighbours.
    pub whole_colour: bool,
    /// Light on the print, lux seconds.
    pub dose: f64,
    /// From the first exposure to the end of the last, seconds.
    pub seconds: f64,
    /// How far the room's light lies under this one: under 8 stops it tints.
    pub room_below: Option<Stops>,
}

/// Between exposures the sensor moves and the stand must come to rest, s. Common practice, no source.
const PAUSE: f64 = 1.0;
/// A lamp is on for this long around a picture even in a quick hand, s. Common practice, no source.
const LAMP_ON: f64 = 5.0;

/// The four ways compared.
pub(super) fn ways(wish: &Wish, framing: &Framing, focus: &Focus, exposing: &Exposing) -> Vec<Way> {
    let lamp = |shots: u32| {
        let exposure = exposing.dose / wish.lamp.0;
        let seconds = f64::from(shots) * exposure + f64::from(shots - 1) * PAUSE;
        Way {
            flash: false,
            shots,
            dose: wish.lamp.0 * (seconds + LAMP_ON),
            seconds,
            room_below: wish.ambient.map(|room| Stops::between(wish.lamp.0, room.0)),
            ..way(framing, focus, shots)
        }
    };
    let flash = Way {
        dose: exposing.dose,
        seconds: exposing.shutter,
        room_below: exposing.ambient_below,
        ..way(framing, focus, 1)
    };
    vec![flash, lamp(1), lamp(4), lamp(16)]
}

fn way(framing: &Framing, focus: &Focus, shots: u32) -> Way {
    let ppi = framing.ppi * if shots >= 16 { 2.0 } else { 1.0 };
    Way {
        flash: true,
        shots,
        ppi,
        useful_ppi: ppi.min(focus.holds_ppi),
        whole_colour: shots >= 4,
        dose: 0.0,
        seconds: 0.0,
        room_below: None,
    }
}
