//! The rig: does it match the rest of the sitting?

use super::Case;
use crate::finding::{Code, Finding};
use crate::recipe::{RigChange, RigPart};
use base::wording::{degrees, length, percent, stops_measured, two};

pub(super) fn changes(case: &Case) -> Vec<Finding> {
    case.m.rig.iter().filter_map(|c| change(case, c)).collect()
}

fn change(case: &Case, c: &RigChange) -> Option<Finding> {
    let size = c.size();
    case.finding(Code::RigChanged, Some(c.part.word()), size, |_| {
        let more = c.is > c.was;
        let says = match c.part {
            RigPart::Scale => format!(
                "The camera is {} than in the rest of the sitting: prints are {} {}.",
                if more { "nearer" } else { "farther" },
                percent(size),
                if more { "larger" } else { "smaller" }
            ),
            RigPart::Tilt => {
                format!("The camera leans {} from its position in the rest of the sitting.", degrees(size))
            }
            RigPart::Aperture => {
                format!("Taken at f/{}; the rest of the sitting was taken at f/{}.", two(c.is), two(c.was))
            }
            RigPart::FocalLength => {
                format!(
                    "Taken at a focal length of {}; the rest of the sitting was taken at {}.",
                    length(c.is),
                    length(c.was)
                )
            }
            RigPart::Flash => format!(
                "The flash was {} {} than in the rest of the sitting.",
                stops_measured(size),
                if more { "stronger" } else { "weaker" }
            ),
        };
        let action = match c.part {
            RigPart::Scale | RigPart::Tilt => {
                "Put the camera back, or take a new blank and a new ruler frame for the frames from here on."
            }
            RigPart::Aperture => "Set the aperture back, or take a new blank for the frames from here on.",
            RigPart::FocalLength => {
                "Set the focal length back, or take a new blank and a new ruler frame for the frames from here on."
            }
            RigPart::Flash => "Let the flash recycle before each frame, and check whether its power dial was turned.",
        };
        (says, action.to_owned())
    })
}
