//! The rig room: a plan from what a person typed, and what the newest front measured of the rig.

use super::wire::request::PlanRequest;
use super::wire::{Event, Measured, Planned};
use super::{Desk, held};
use finish::report::{CameraFacts, LightFacts};
use project::catalogue::FrameId;
use project::{Project, Result};
use rig::check;
use rig::plan;
use rig::plan::{Problem, Request, quantity};
use std::sync::Arc;

/// Fronts that are looked at for one that could be measured: the newest may show no print. Each costs the reading of a report.
const FRONTS: usize = 12;

/// The room's light, and the two frames that it was measured on: one with the flash off, one of the bare bed. Measuring decodes both, a
/// second or two, so it is done once and in the background.
#[derive(Debug, Default)]
pub(super) struct RoomLight {
    of: Option<(FrameId, FrameId)>,
    below_stops: Option<f64>,
}

impl Desk {
    /// Plans a rig. A number that is not understood is an answer that says so.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn plan(self: &Arc<Self>, wanted: &PlanRequest) -> Result<Planned> {
        let measured = self.measured()?;
        let units = wanted.units.unwrap_or_default();
        let answer = wanted.request().and_then(|request| plan::plan(&request, units));
        Ok(match answer {
            Ok(answer) => Planned { text: plan::text(&answer, units), answer: Some(answer), trouble: None, measured },
            Err(Problem(says)) => Planned { text: String::new(), answer: None, trouble: Some(says), measured },
        })
    }

    /// The rig as the newest front of the latest sitting shows it; `None` where no front could be measured.
    fn measured(self: &Arc<Self>) -> Result<Option<Measured>> {
        let project = self.project();
        let it = project.catalogue();
        let (mut fronts, mut dark, mut flash) = (vec![], None, None);
        it.look_back(it.latest_sitting()?, |brief| {
            match brief.role.as_str() {
                "front" if fronts.len() < FRONTS => fronts.push(brief.id),
                "ambient" => dark = dark.or(Some(brief.id)),
                "blank" => flash = flash.or(Some(brief.id)),
                _ => {}
            }
            fronts.len() < FRONTS || dark.is_none() || flash.is_none()
        })?;
        for id in fronts {
            let Some(frame) = it.frame(id)? else { continue };
            let report = frame.result.as_ref().and_then(|result| project.report(result));
            let Some(camera) = report.as_ref().and_then(|r| r.camera.as_ref()) else { continue };
            let light = report.as_ref().and_then(|r| r.light.clone()).unwrap_or_default();
            let ambient_below_stops = dark.zip(flash).map(|of| self.room_light(&project, of)).transpose()?.flatten();
            let measured = measured(frame.name, frame.taken, camera, &light);
            return Ok(Some(Measured { ambient_below_stops, ..measured }));
        }
        Ok(None)
    }

    /// How far the room's light is below the flash, as `check` measures it; `None` until that is known. Pages then ask again.
    fn room_light(self: &Arc<Self>, project: &Project, of: (FrameId, FrameId)) -> Result<Option<f64>> {
        let mut known = held(&self.room_light);
        if known.of == Some(of) {
            return Ok(known.below_stops);
        }
        let original = |id| Ok::<_, project::Error>(project.catalogue().frame(id)?.map(|f| project.original(&f)));
        let (Some(dark), Some(flash)) = (original(of.0)?, original(of.1)?) else { return Ok(None) };
        *known = RoomLight { of: Some(of), below_stops: None };
        let desk = Arc::clone(self);
        std::thread::spawn(move || {
            let blanks = vec![flash.clone()];
            let inputs = vec![dark.clone(), flash];
            let found =
                check::check(&check::Request { inputs, blanks, ambient: Some(dark), ..check::Request::default() });
            let Some(ambient) = found.ambient else { return };
            let mut known = held(&desk.room_light);
            if known.of == Some(of) {
                known.below_stops = Some(ambient.below.value);
            }
            drop(known);
            desk.tell(&Event::Changed);
        });
        Ok(None)
    }
}

fn measured(name: String, taken: Option<String>, camera: &CameraFacts, light: &LightFacts) -> Measured {
    let opposite = |azimuth: f64| (azimuth + 180.0).rem_euclid(360.0);
    Measured {
        name,
        taken,
        px_per_mm: camera.px_per_mm,
        lean_deg: camera.tilt_x_deg.zip(camera.tilt_y_deg).map(|(x, y)| x.hypot(y)),
        azimuth_deg: light.azimuth_deg.or(light.shadow_azimuth_deg.map(opposite)),
        fall_off_stops: light.fall_off_stops,
        shadow_width_mm: light.shadow_width_mm,
        ambient_below_stops: None,
    }
}

/// Reads a text of a request; the message of one that is not understood names its field.
fn read<T>(
    field: &str,
    text: Option<&String>,
    read: impl Fn(&str) -> std::result::Result<T, String>,
) -> std::result::Result<Option<T>, Problem> {
    match text.map(|t| t.trim()).filter(|t| !t.is_empty()) {
        Some(text) => read(text).map(Some).map_err(|says| Problem(format!("{field}: {says}."))),
        None => Ok(None),
    }
}

impl PlanRequest {
    /// The numbers that the texts mean.
    ///
    /// # Errors
    /// One of them is not understood.
    pub fn request(&self) -> std::result::Result<Request, Problem> {
        let lens = read("Lens", self.lens.as_ref(), quantity::lens)?;
        Ok(Request {
            aim: self.aim.unwrap_or_default(),
            format: self.format.clone().filter(|f| !f.is_empty()),
            print_mm: read("Print", self.print.as_ref(), quantity::size)?,
            curl_mm: read("Curl", self.curl.as_ref(), quantity::length)?,
            sensor_mm: read("Sensor", self.sensor.as_ref(), quantity::size)?,
            pixels: read("Pixels", self.pixels.as_ref(), quantity::pixels)?,
            lens_mm: lens.map(|l| l.0),
            close_lens: lens.is_some_and(|l| l.1),
            closest_focus_mm: read("Closest focus", self.closest_focus.as_ref(), quantity::length)?,
            lens_front_mm: read("Lens front", self.lens_front.as_ref(), quantity::length)?,
            ppi: read("Resolution", self.ppi.as_ref(), quantity::ppi)?,
            field_mm: read("Field", self.field.as_ref(), quantity::length)?,
            height_mm: read("Height", self.height.as_ref(), quantity::length)?,
            f_number: read("Aperture", self.aperture.as_ref(), quantity::f_number)?,
            iso: read("ISO", self.iso.as_ref(), quantity::iso)?,
            guide_m: read("Guide number", self.flash_gn.as_ref(), quantity::guide)?,
            sync_s: read("Sync time", self.sync.as_ref(), quantity::time)?,
            shutter_s: read("Shutter", self.shutter.as_ref(), quantity::time)?,
            light_azimuth_deg: read("Light from", self.light_from.as_ref(), quantity::side)?,
            light_elevation_deg: read("Light elevation", self.elevation.as_ref(), quantity::angle)?,
            light_distance_mm: read("Light distance", self.light_distance.as_ref(), quantity::length)?,
            light_reach_mm: read("Room for the light", self.light_reach.as_ref(), quantity::length)?,
            source_mm: read("Light face", self.source.as_ref(), quantity::face)?,
            ambient_lux: read("Ambient light", self.ambient.as_ref(), quantity::lux)?,
            lamp_lux: read("Lamp", self.lamp.as_ref(), quantity::lux)?,
            board_mm: read("Board", self.board.as_ref(), quantity::length)?,
            camera_kg: read("Camera mass", self.camera_mass.as_ref(), quantity::mass)?,
            arm_kg: read("Arm mass", self.arm_mass.as_ref(), quantity::mass)?,
            arm_reach_mm: read("Arm reach", self.arm_reach.as_ref(), quantity::length)?,
            base_mm: read("Base", self.base.as_ref(), quantity::length)?,
            base_kg: read("Base mass", self.base_mass.as_ref(), quantity::mass)?,
            prints: read("Prints", self.prints.as_ref(), quantity::prints)?,
            backs: self.backs,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rig::plan::Units;

    fn typed(words: &[(&str, &str)]) -> PlanRequest {
        let map: serde_json::Map<_, _> = words.iter().map(|(k, v)| ((*k).to_owned(), (*v).into())).collect();
        serde_json::from_value(map.into()).unwrap()
    }

    #[test]
    fn texts_become_the_request_that_they_mean() {
        let typed = typed(&[
            ("lens", "70mm-macro"),
            ("sensor", "36x24"),
            ("flash_gn", "GN 26"),
            ("light_from", "upper-left"),
            ("light_distance", "120cm"),
            ("elevation", " 35deg "),
            ("ambient", ""),
            ("aim", "archive"),
        ]);
        let request = typed.request().unwrap();
        let wanted = Request {
            aim: finish::finding::Aim::Archive,
            lens_mm: Some(70.0),
            close_lens: true,
            sensor_mm: Some([36.0, 24.0]),
            guide_m: Some(26.0),
            light_azimuth_deg: Some(225.0),
            light_distance_mm: Some(1200.0),
            light_elevation_deg: Some(35.0),
            ..Request::default()
        };
        assert_eq!(request, wanted);
        assert!(plan::plan(&request, Units::default()).is_ok());
    }

    #[test]
    fn a_text_that_is_not_understood_is_named_by_its_field() {
        let Problem(says) = typed(&[("light_distance", "120")]).request().unwrap_err();
        assert_eq!(says, "Light distance: 120 what? Write 120mm, 120cm or 120in.");
        let unknown = serde_json::from_str::<PlanRequest>(r#"{"light-distance":"120cm"}"#).unwrap_err().to_string();
        assert!(unknown.contains("light-distance"), "{unknown}");
    }

    #[test]
    fn lean_and_light_are_what_the_report_says() {
        let camera =
            CameraFacts { px_per_mm: 38.2, tilt_x_deg: Some(0.3), tilt_y_deg: Some(-0.4), ..CameraFacts::default() };
        let light = LightFacts { shadow_azimuth_deg: Some(20.0), ..LightFacts::default() };
        let found = measured("F1.jpg".into(), None, &camera, &light);
        // A right triangle of 3, 4 and 5; the light stands across from its shadow.
        assert!((found.lean_deg.unwrap() - 0.5).abs() < 1e-12, "{found:?}");
        assert_eq!((found.px_per_mm, found.azimuth_deg, found.fall_off_stops), (38.2, Some(200.0), None));
    }
}
