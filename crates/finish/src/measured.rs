//! Measurements of a frame, passed to the judge as plain numbers.

/// A side of the frame as stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Towards -x.
    Left,
    /// Towards -y.
    Top,
    /// Towards +x.
    Right,
    /// Towards +y.
    Bottom,
}

impl Side {
    /// "left".
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Top => "top",
            Self::Right => "right",
            Self::Bottom => "bottom",
        }
    }
    /// The side across.
    pub fn across(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Top => Self::Bottom,
            Self::Right => Self::Left,
            Self::Bottom => Self::Top,
        }
    }
    /// The side that an azimuth (degrees from +x towards +y) points to most.
    pub fn towards(azimuth_deg: f64) -> Self {
        match ((azimuth_deg / 90.0).round() as i64).rem_euclid(4) {
            0 => Self::Right,
            1 => Self::Bottom,
            2 => Self::Left,
            _ => Self::Top,
        }
    }
}

/// Something in a frame that is not finished.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// A print that leaves the frame at this side.
    Cut(Side),
    /// A print that lies over or under one that is finished.
    Overlaps,
    /// Something as large as a print.
    Unknown,
}

/// What was measured. `None` means not measured; the judge is silent about it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Measured {
    /// Prints seen and finished as one: 0, 1 or more.
    pub prints: u32,
    /// What else lies in the frame and is not finished.
    pub left_out: Vec<LeftOut>,
    /// True where nothing on the print, and nobody, says which way is up.
    pub turn_unknown: bool,
    /// The narrowest bed between print and frame edge, mm, and the side where it is.
    pub margin_mm: Option<(f64, Side)>,
    /// Sides at which the print leaves the frame.
    pub cropped: Vec<Side>,
    /// By how much at least, mm, where a known format tells.
    pub overhang_mm: Option<f64>,
    /// Share of the print's area under a finger or an object, and the frame side it reaches in from.
    pub covered: Option<(f64, Option<Side>)>,
    /// Lean about the world's x axis, degrees; positive raises the side towards the frame's top (`camera.tilt_x_deg`).
    pub tilt_x_deg: Option<f64>,
    /// Lean about the world's y axis (image up), degrees; positive lowers the side towards the frame's right.
    pub tilt_y_deg: Option<f64>,
    /// Standard uncertainty of either; a lean smaller than twice this is not reported.
    pub tilt_sigma_deg: Option<f64>,
    /// 10 to 90 per cent width of the sharpest edge on the print, frame pixels.
    pub edge_px: Option<f64>,
    /// Scale at the print's centre.
    pub px_per_mm: Option<f64>,
    /// Share of the bed at full scale, by channel.
    pub clipped_bed: Option<[f64; 3]>,
    /// Share of the print at full scale outside any veil, by channel.
    pub clipped_print: Option<[f64; 3]>,
    /// Stops from the bed to the file's white.
    pub bed_below_white_stops: Option<f64>,
    /// Brightest to darkest illumination across the print, stops.
    pub fall_off_stops: Option<f64>,
    /// Distance of the flash from the print's centre, mm.
    pub light_distance_mm: Option<f64>,
    /// Where the flash stands, degrees from +x towards +y.
    pub light_azimuth_deg: Option<f64>,
    /// True where a blank evened the light; a fitted light is less sure.
    pub evened_by_blank: bool,
    /// Colour difference (CIEDE2000 without lightness) of the bed's own colour between its farthest parts.
    pub mixed_delta_e: Option<f64>,
    /// How far the light on the visible bed departs from the blank's, stops, after the best overall gain.
    pub blank_change_stops: Option<f64>,
    /// Share of the window under a reflection.
    pub veil: Option<f64>,
    /// Greatest height of the outline above or below the print's middle, mm.
    pub curl_mm: Option<f64>,
    /// Its standard uncertainty, mm.
    pub curl_sigma_mm: Option<f64>,
    /// Aperture, from the camera's words.
    pub f_number: Option<f64>,
    /// Contrast of what shows through the bed: standard deviation over mean, share.
    pub show_through: Option<f64>,
    /// Light the bed returns, as a share of what the brightest of the frame returns.
    pub bed_returns: Option<f64>,
    /// Standard uncertainty of the outline, mm.
    pub outline_sigma_mm: Option<f64>,
    /// How sure the outline and the format are, 0 to 1.
    pub confidence: Option<f64>,
    /// In what the rig differs from the sitting's.
    pub rig: Vec<crate::recipe::RigChange>,
}

/// Standard uncertainty of the tilt measured on one print, degrees: the fit's own, 0.15 that no single frame tells, and what lifted
/// edges fake of a lean beyond the fit's model (3 mm on one side of a print is 1.6 degrees, computed for an 88 x 107 mm print at 600 mm).
pub(crate) fn tilt_sigma_deg(pose: &print::pose::Pose) -> f64 {
    0.15f64.hypot(0.3 * pose.lift()).hypot(pose.tilt_sigma)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn azimuths_point_to_sides_of_the_image() {
        assert_eq!(
            [0.0, 90.0, 180.0, 270.0, -44.0].map(Side::towards),
            [Side::Right, Side::Bottom, Side::Left, Side::Top, Side::Right]
        );
        assert_eq!(Side::towards(312.0), Side::Top.across().across());
    }
}
