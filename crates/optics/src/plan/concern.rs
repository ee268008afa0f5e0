//! What stands against a plan: wishes that cannot be kept, each with the nearest that can, and things to mind.

use crate::{FNumber, Lux};
use geometry::{Angle, Length, Stops};

/// One thing that stands against the plan. The plan itself is already the nearest rig that can stand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Concern {
    /// The wanted scale would crop the print.
    Crops {
        /// Pixels per inch that the wish comes to.
        wanted_ppi: f64,
        /// The most that shows the whole print with its margin.
        nearest_ppi: f64,
        /// The wish itself.
        said: Said,
    },
    /// The print fits with less bed around it than the shadow and the use ask for.
    MarginShort {
        /// What is left at the narrowest side.
        left: Length,
        /// What is asked for.
        wanted: Length,
    },
    /// Even the tightest framing is short of the use's resolution.
    ShortOfAim {
        /// What the use asks for.
        asked_ppi: f64,
        /// What there is.
        ppi: f64,
    },
    /// The lens does not focus so near.
    TooClose {
        /// From sensor to print as the framing would have it.
        wanted: Length,
        /// The closest the lens focuses.
        closest: Length,
        /// Pixels per inch that framing would have given.
        wanted_ppi: f64,
    },
    /// An ordinary lens seldom focuses to this scale, and nothing was said of this one.
    MayNotFocus {
        /// Image over object size.
        magnification: f64,
        /// The closest focus it would need, from the sensor.
        needs: Length,
    },
    /// No lens of this focal length forms an image over so short a height: 4 f is the least.
    HeightTooLow {
        /// The height wished for.
        wanted: Length,
        /// The least.
        least: Length,
    },
    /// Curl and diffraction together are softer than the use allows at every aperture.
    CurlTooDeep {
        /// The lift to be covered.
        lift: Length,
        /// The lift that can be.
        most: Length,
    },
    /// The aperture wished for is softer than the use allows.
    ApertureSoft {
        /// The aperture wished for.
        wanted: FNumber,
        /// The range that would do.
        range: Option<(FNumber, FNumber)>,
    },
    /// The light falls off more than the use allows.
    FallOff {
        /// Across the print.
        fall_off: Stops,
        /// Allowed.
        asked: Stops,
        /// Where it would do; `None` where even 20 m would not.
        needs: Option<(Length, Stops)>,
        /// True where the room is what stops it.
        reach: bool,
    },
    /// The flash does not reach at full power.
    FlashWeak {
        /// What is missing.
        stops: Stops,
        /// The ISO that pays.
        iso: f64,
        /// The aperture that pays.
        aperture: FNumber,
        /// The distance that pays.
        distance: Length,
        /// What was done about it.
        mended: Mended,
    },
    /// The flash is too strong at its least power.
    FlashStrong {
        /// What is too much.
        stops: Stops,
    },
    /// The exposure time wished for is shorter than the shutter is wholly open.
    OverSync {
        /// Wished for, seconds.
        wanted: f64,
        /// The shortest that works, seconds.
        sync: f64,
    },
    /// The room's light is too strong beside the flash.
    RoomBright {
        /// How far under the flash it lies.
        below: Stops,
        /// How far it should.
        asked: Stops,
        /// The most light the room may give at this shutter.
        most: Lux,
        /// The exposure time that would do, seconds.
        needs: f64,
        /// The shortest that flash allows, seconds.
        sync: f64,
    },
    /// The light shows in the gloss of a flat print.
    Veils {
        /// The elevation below which it does not; `None` where none at this distance is low enough.
        below: Option<Angle>,
    },
    /// The light shows in the gloss of a print curled as much as these.
    CurlVeils {
        /// The lift to be covered.
        lift: Length,
        /// The lift that can be.
        most: Length,
        /// The elevation that would cover it; `None` where none does.
        below: Option<Angle>,
    },
    /// The light stands where it touches the bed or hangs over the print.
    LightInWay {
        /// Where it stands.
        distance: Length,
        /// The nearest it can.
        least: Length,
    },
    /// Lens or camera stand between the light and the print.
    CameraInWay {
        /// How far from the axis the light passes at the height of the lens; negative on the far side.
        passes: Length,
    },
    /// The light stands so low or is so large that its shadow has no end within reach.
    ShadowEndless,
}

/// How the plan made up for a weak flash.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mended {
    /// By a higher ISO.
    Iso,
    /// By opening the aperture.
    Aperture,
    /// By bringing the flash nearer.
    Distance,
    /// Not at all: everything was laid down. The frame would be dark.
    Nothing,
}

impl Concern {
    /// True where a wish could not be kept; false where the plan stands but something wants minding.
    pub fn breaks_a_wish(&self) -> bool {
        match self {
            Self::MayNotFocus { .. } | Self::MarginShort { .. } => false,
            Self::FlashWeak { mended, .. } => *mended != Mended::Iso,
            _ => true,
        }
    }
}

/// A wish that fixes the scale, as it was said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Said {
    /// Pixels per inch.
    Ppi(f64),
    /// Width of field.
    Field(Length),
    /// Height of the sensor, together with the focal length.
    Height(Length, Length),
}

/// Two wishes that fix the scale differently.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clash {
    /// One, and the pixels per inch it comes to.
    pub one: (Said, f64),
    /// The other.
    pub other: (Said, f64),
}
