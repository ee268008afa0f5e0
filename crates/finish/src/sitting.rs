//! The sitting file: `sitting.toml`, written to the folder of results, and read from there and from the folders of originals.
//!
//! It stores the rig, the lens measured on a ruler frame, which files are blank, chart, ruler and flash-off frame, the path of
//! the chart values, and measurements of the light. Folders of originals are only read; a file that the photographer puts
//! there takes precedence. Unknown keys are kept.

use crate::Role;
use crate::recipe::LensFacts;
use base::Failure;
use base::files::write::write_beside;
use serde::{Deserialize, Serialize};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// The file's name.
pub const NAME: &str = "sitting.toml";
/// The schema of every file.
pub const SCHEMA: &str = "fallside.sitting/1";

/// The content of a sitting file.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sitting {
    /// Always `fallside.sitting/1`.
    #[serde(default = "schema")]
    pub schema: String,
    /// Camera, lens and flash as all frames have them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rig: Option<Rig>,
    /// The lens measured on a ruler frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<Lens>,
    /// What was measured of the light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<Light>,
    /// What colour is set by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<Colour>,
    /// Frames that other frames use.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub roles: Vec<RoleOf>,
    /// Unknown keys, from a person or another version.
    #[serde(flatten)]
    pub more: toml::Table,
}

fn schema() -> String {
    SCHEMA.to_owned()
}

/// Camera, lens and flash. What is absent is not compared.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Rig {
    /// Camera, as it names itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub camera: Option<String>,
    /// Lens, as the camera names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<String>,
    /// Focal length, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focal_mm: Option<f64>,
    /// f-number.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub f_number: Option<f64>,
    /// ISO speed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub iso: Option<f64>,
    /// Columns and rows of the frames.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame_px: Option<[usize; 2]>,
    /// Frame pixels per millimetre on prints.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub px_per_mm: Option<f64>,
    /// Lean about the world's x and y axes, degrees, by the ruler.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tilt_deg: Option<[f64; 2]>,
    /// The bed's light at the frame's centre, stops below the file's white.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bed_below_white_stops: Option<f64>,
}

/// A lens and the frame it was read from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lens {
    /// The ruler frame.
    pub file: String,
    /// The lens.
    #[serde(flatten)]
    pub facts: LensFacts,
}

/// The light as the prints' frames show it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Light {
    /// Where the flash stands, degrees in the image, 0 to the right, 90 down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub azimuth_deg: Option<f64>,
    /// How far it stands, mm, if it stands 45 degrees high.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance_mm: Option<f64>,
    /// Brightest to darkest across a print, stops.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fall_off_stops: Option<f64>,
}

/// What colour is set by.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Colour {
    /// The chart's values.
    pub chart_values: String,
    /// BLAKE3 of that file, hex.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blake3: Option<String>,
    /// Mean CIEDE2000 over the chart, each patch left out of its own fit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub delta_e_mean: Option<f64>,
}

/// A frame and what it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoleOf {
    /// What it is for.
    pub role: Role,
    /// The file, from the folder that this one lies in.
    pub file: String,
    /// BLAKE3 of the file, hex; if given, another file with that name is ignored.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blake3: Option<String>,
}

impl Default for Sitting {
    fn default() -> Self {
        Self {
            schema: schema(),
            rig: None,
            lens: None,
            light: None,
            colour: None,
            roles: vec![],
            more: toml::Table::new(),
        }
    }
}

impl Sitting {
    /// The sitting of a folder; `None` if it has none.
    ///
    /// # Errors
    /// One line that names the file and says what to do.
    pub fn read(folder: &Path) -> Result<Option<Self>, String> {
        let place = folder.join(NAME);
        let text = match base::files::regular::text(&place) {
            Ok(text) => text,
            // If this is not a folder, whoever writes there reports it.
            Err(e) if [ErrorKind::NotFound, ErrorKind::NotADirectory].contains(&e.kind()) => return Ok(None),
            Err(e) => return Err(format!("{}: {}", place.display(), Failure::reading(&e))),
        };
        Self::parse(&text).map(Some).map_err(|why| {
            format!(
                "{}: {why}. Correct the file, or move it away: its values are then measured again.",
                place.display()
            )
        })
    }

    fn parse(text: &str) -> Result<Self, String> {
        let table: toml::Table = toml::from_str(text).map_err(|e| at_line(text, &e))?;
        // Check the version first: a newer file must not be read as this version.
        let schema = table.get("schema").and_then(|v| v.as_str()).unwrap_or(SCHEMA);
        if schema != SCHEMA {
            return Err(format!("its format is {schema}, but this version of Fallside reads {SCHEMA}"));
        }
        let sitting: Self = toml::from_str(text).map_err(|e| at_line(text, &e))?;
        sitting.sound().map(|()| sitting)
    }

    /// Rejects impossible values, which would mislead every frame.
    fn sound(&self) -> Result<(), String> {
        let rig = self.rig.clone().unwrap_or_default();
        let positive =
            [("focal_mm", rig.focal_mm), ("f_number", rig.f_number), ("iso", rig.iso), ("px_per_mm", rig.px_per_mm)];
        if let Some((name, v)) = positive.iter().find(|(_, v)| v.is_some_and(|v| !v.is_finite() || v <= 0.0)) {
            return Err(format!("rig.{name} is {}, but must be greater than 0", v.unwrap_or_default()));
        }
        if let Some(l) = &self.lens {
            let f = &l.facts;
            // The model is not valid for a lens that distorts the corner by more than a fifth.
            let bent = [f.k1, f.k2].iter().any(|k| !k.is_finite() || k.abs() > 0.2);
            let off = f.frame_px.contains(&0)
                || !f.k1_error.is_finite()
                || f.principal_point_px.iter().any(|v| !v.is_finite());
            if bent || off {
                return Err("the lens values are not possible for a lens".into());
            }
        }
        Ok(())
    }

    /// The text of the file.
    pub fn to_toml(&self) -> String {
        let head =
            "# What Fallside recorded about this sitting. Delete the file to start over; your own keys are kept.\n";
        // Plain tables with string keys can always be written.
        format!("{head}{}", toml::to_string(self).unwrap_or_default())
    }

    /// Writes it into a folder unless the file is already up to date.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn write(&self, folder: &Path) -> Result<(), Failure> {
        let (place, text) = (folder.join(NAME), self.to_toml());
        if base::files::regular::text(&place).is_ok_and(|held| held == text) {
            return Ok(());
        }
        write_beside(&place, text.as_bytes())
    }

    /// The frames of a role, as paths from `folder`, the folder the file lies in.
    pub fn files(&self, role: Role, folder: &Path) -> Vec<(PathBuf, Option<String>)> {
        self.roles.iter().filter(|r| r.role == role).map(|r| (folder.join(&r.file), r.blake3.clone())).collect()
    }
}

/// Describes a TOML error with its line number.
fn at_line(text: &str, error: &toml::de::Error) -> String {
    let line = error.span().map(|s| text[..s.start.min(text.len())].matches('\n').count() + 1);
    let message = error.message().lines().next().unwrap_or("it cannot be read").to_owned();
    line.map_or(message.clone(), |n| format!("line {n}: {message}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
schema = "fallside.sitting/1"
owner = "box seven"

[rig]
f_number = 8.0
px_per_mm = 11.05
column = "oak"

[lens]
file = "../card/F0004.jpg"
k1 = 0.0071
k2 = 0.0004
k1_error = 0.0001
principal_point_px = [900.0, 600.0]
frame_px = [1800, 1200]

[[roles]]
role = "blank"
file = "F0002.jpg"
"#;

    #[test]
    fn a_file_comes_back_and_keeps_what_it_does_not_know() {
        let sitting = Sitting::parse(TEXT).unwrap();
        assert_eq!(sitting.rig.as_ref().unwrap().f_number, Some(8.0));
        assert_eq!(sitting.lens.as_ref().unwrap().facts.k1, 0.0071);
        assert_eq!(sitting.files(Role::Blank, Path::new("/card")), [(PathBuf::from("/card/F0002.jpg"), None)]);
        assert_eq!(sitting.more["owner"].as_str(), Some("box seven"));
        assert_eq!(Sitting::parse(&sitting.to_toml()).unwrap(), sitting);
        assert_eq!(Sitting::parse("").unwrap(), Sitting::default());
    }

    #[test]
    fn a_bad_file_is_one_line_that_names_it_and_the_remedy() {
        let top = tempfile::tempdir().unwrap();
        let place = top.path().join(NAME);
        for (text, says) in [
            ("[rig\nf_number = 8", "line 1: "),
            ("[rig]\nf_number = \"wide\"\n", "line 2: "),
            ("[rig]\nf_number = -8.0\n", "rig.f_number is -8, but must be greater than 0"),
            ("schema = \"fallside.sitting/9\"\n", "its format is fallside.sitting/9"),
            (&TEXT.replace("k1 = 0.0071", "k1 = 7.1"), "not possible for a lens"),
            ("[[roles]]\nrole = \"lunch\"\nfile = \"a\"\n", "line 2: "),
        ] {
            std::fs::write(&place, text).unwrap();
            let line = Sitting::read(top.path()).unwrap_err();
            assert!(line.starts_with(&place.display().to_string()) && line.contains(says), "{line}");
            assert!(line.ends_with("measured again.") && !line.contains('\n'), "{line}");
        }
        assert_eq!(Sitting::read(Path::new("/no/such/place")), Ok(None));
    }
}
