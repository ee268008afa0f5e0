//! Lights that people named for a project: one small file in its folder, which stays when the catalogue is made again.
//!
//! What was finished by a light keeps its numbers: naming another light so, or deleting the name, changes no picture.

use super::{DATABASE, Error, Project, Result};
use base::Failure;
use base::files::regular;
use base::files::write::write_beside;
use finish::light::{self, ChosenLight, ShadowLight};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// The file.
const LIGHTS: &str = "lights.json";
/// Its form.
const FORM: &str = "fallside.lights/1";

#[derive(Serialize, Deserialize)]
struct Named {
    schema: String,
    lights: Vec<ChosenLight>,
}

/// The light that words mean for `folder`: a project, which may have names of its own, or any other folder.
///
/// # Errors
/// They mean none, or the project's lights cannot be read.
pub fn light_in(folder: &Path, words: &str) -> Result<Option<ShadowLight>> {
    let own = if folder.join(DATABASE).exists() { read(folder)? } else { vec![] };
    light::parse_with(words, &own).map_err(|why| Error::Refused(format!("“{words}”: {why}.")))
}

fn place(folder: &Path) -> PathBuf {
    folder.join(LIGHTS)
}

fn read(folder: &Path) -> Result<Vec<ChosenLight>> {
    let place = place(folder);
    let damaged = |why: String| {
        Failure::new(format!("{} cannot be read: {why}.", place.display()))
            .with_remedy("Mend it, or move it away: then the project has no lights of its own.")
    };
    let text = match regular::text(&place) {
        Ok(text) => text,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => return Ok(vec![]),
        Err(e) => return Err(damaged(e.to_string()).into()),
    };
    let named: Named = serde_json::from_str(&text).map_err(|e| damaged(e.to_string()))?;
    if named.schema != FORM {
        return Err(damaged(format!("its form is {:?}, not {FORM:?}", named.schema)).into());
    }
    let sound = |l: ChosenLight| -> std::result::Result<ChosenLight, String> {
        let name = light::name(l.name.as_deref().unwrap_or_default())?;
        Ok(ChosenLight::new([l.azimuth_deg, l.elevation_deg, l.size_deg])?.called(name))
    };
    Ok(named.lights.into_iter().map(sound).collect::<std::result::Result<_, _>>().map_err(damaged)?)
}

impl Project {
    /// The lights that people named, by name.
    ///
    /// # Errors
    /// Their file cannot be read.
    pub fn lights(&self) -> Result<Vec<ChosenLight>> {
        read(&self.folder)
    }

    /// Names a light, or gives a name to another light; `numbers` is `AZ,EL,SIZE` or the words of a light that has numbers.
    ///
    /// # Errors
    /// That is no name, no light, or the file cannot be written.
    pub fn name_light(&self, name: &str, numbers: &str) -> Result<ChosenLight> {
        let refused = |why: String| Error::Refused(format!("{}.", base::wording::capital(&why)));
        let name = light::name(name).map_err(refused)?;
        self.change_lights(|lights| {
            let Some(ShadowLight::CastAnew(light)) = light::parse_with(numbers, lights).map_err(refused)? else {
                return Err(Error::Refused(
                    "A light with a name has a place of its own: give three numbers in degrees, such as 225,45,12."
                        .into(),
                ));
            };
            let light = light.called(name.clone());
            lights.retain(|l| !l.is_called(&name));
            lights.push(light.clone());
            lights.sort_by_key(|l| l.name.as_ref().map(|n| n.to_lowercase()));
            Ok(light)
        })
    }

    /// Deletes a light's name.
    ///
    /// # Errors
    /// No light of the project is called that, or the file cannot be written.
    pub fn drop_light(&self, name: &str) -> Result<()> {
        self.change_lights(|lights| {
            let before = lights.len();
            lights.retain(|l| !l.is_called(name));
            match lights.len() < before {
                true => Ok(()),
                false => Err(Error::Refused(format!("This project has no light called “{}”.", name.trim()))),
            }
        })
    }

    fn change_lights<T>(&self, change: impl FnOnce(&mut Vec<ChosenLight>) -> Result<T>) -> Result<T> {
        // Two programs would lose each other's names.
        let _alone = self.hold_sidecars()?;
        let mut lights = read(&self.folder)?;
        let done = change(&mut lights)?;
        let place = place(&self.folder);
        let text = serde_json::to_string_pretty(&Named { schema: FORM.into(), lights })
            .map_err(|e| Failure::writing(&place, &e.into()))?;
        write_beside(&place, format!("{text}\n").as_bytes())?;
        Ok(done)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_kept_used_changed_and_deleted() {
        let folder = tempfile::tempdir().unwrap();
        let project = Project::open_or_begin(folder.path()).unwrap();
        assert_eq!(light_in(folder.path(), "as-shot").unwrap(), None);
        assert!(light_in(folder.path(), "north window").unwrap_err().to_string().contains("no light called"));
        project.name_light("North window", "200,35,20").unwrap();
        let found = |words: &str| match light_in(folder.path(), words).unwrap() {
            Some(ShadowLight::CastAnew(l)) => [l.azimuth_deg, l.elevation_deg, l.size_deg],
            other => panic!("{other:?}"),
        };
        assert_eq!(found("north window"), [200.0, 35.0, 20.0]);
        project.name_light("north window", "190,35,20").unwrap();
        assert_eq!((project.lights().unwrap().len(), found("NORTH WINDOW")[0]), (1, 190.0));
        for (name, numbers, word) in
            [("left", "1,45,2", "already"), ("ok", "1,5,2", "20 to 85"), ("ok", "mirrored", "three numbers")]
        {
            let why = project.name_light(name, numbers).unwrap_err().to_string();
            assert!(why.contains(word), "{why}");
        }
        project.drop_light("north window").unwrap();
        assert!(project.lights().unwrap().is_empty() && project.drop_light("north window").is_err());
        std::fs::write(folder.path().join(LIGHTS), "{\"schema\":\"fallside.lights/1\",\"lights\":[{\"name\":\"x\",\"azimuth_deg\":1,\"elevation_deg\":2,\"size_deg\":3}]}").unwrap();
        assert!(project.lights().unwrap_err().to_string().contains("move it away"));
    }
}
