//! The rig room: a plan from what a person typed, and what the newest front measured of the rig.

use super::wire::request::{KeepPlanRequest, PlanRequest};
use super::wire::{CheckedRig, Event, FieldTrouble, KeptPlan, Measured, PlanPart, Planned};
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
        let (measured, checked) = (self.measured()?, self.checked());
        let units = wanted.units.unwrap_or_default();
        let (request, fields) = wanted.request();
        let none =
            Planned { heading: String::new(), parts: vec![], answer: None, trouble: None, fields, measured, checked };
        Ok(match plan::plan(&request, units) {
            Ok(answer) => {
                let parts = plan::parts(&answer, units).into_iter().map(in_page).collect();
                Planned { heading: plan::heading(&answer, units), parts, answer: Some(spoken(answer)), ..none }
            }
            Err(Problem(says)) => Planned { trouble: Some(in_fields(&says)), ..none },
        })
    }

    /// The rig card of a plan, as `plan --card` writes it.
    ///
    /// # Errors
    /// The plan is impossible, or a field is not understood; a sentence says which.
    pub fn rig_card(&self, wanted: &PlanRequest) -> std::result::Result<String, String> {
        let units = wanted.units.unwrap_or_default();
        let (request, fields) = wanted.request();
        // On paper nobody sees that a field was left out.
        if let Some(wrong) = fields.first() {
            return Err(format!("{}: {}", label(&wrong.field), wrong.says));
        }
        plan::plan(&request, units).map(|answer| plan::card(&answer, units)).map_err(|Problem(says)| in_fields(&says))
    }

    /// The plan's words as they were kept last.
    ///
    /// # Errors
    /// The catalogue cannot be read.
    pub fn plan_words(&self) -> Result<KeptPlan> {
        let kept = self.project().catalogue().about(KEPT)?;
        // Words of another version are no plan of this one.
        Ok(KeptPlan { words: kept.and_then(|text| serde_json::from_str(&text).ok()) })
    }

    /// Keeps the plan's words in the project.
    ///
    /// # Errors
    /// The catalogue cannot be written.
    pub fn keep_plan_words(&self, asked: KeepPlanRequest) -> Result<KeptPlan> {
        self.may_write()?;
        let words = asked.words;
        // What no plan can be asked is not kept either.
        let plan: serde_json::Map<_, _> = words.iter().map(|(k, v)| (k.clone(), v.as_str().into())).collect();
        if let Err(e) = serde_json::from_value::<PlanRequest>(plan.into()) {
            return Err(project::Error::Refused(format!("These are no words of a plan: {e}.")));
        }
        let text = serde_json::to_string(&words).unwrap_or_default();
        let mut project = self.project();
        if project.catalogue().about(KEPT)?.as_ref() != Some(&text) {
            project.change("Kept the rig's plan", |w| w.about(KEPT, &text))?;
        }
        Ok(KeptPlan { words: Some(words) })
    }

    /// What the check of this project measured last.
    fn checked(&self) -> Option<CheckedRig> {
        let answer = check::read_answer(&self.folder.join(check::IN_PROJECT))?;
        let value = |v: Option<check::Value>| v.map(|v| v.value);
        let (ruler, blank) = (answer.ruler.as_ref(), answer.blank.as_ref());
        Some(CheckedRig {
            frames: answer.frames.len(),
            px_per_mm: ruler.map(|r| r.px_per_mm.value),
            lean_deg: ruler.map(|r| r.tilt_deg.value),
            azimuth_deg: value(blank.and_then(|b| b.light_azimuth_deg)),
            elevation_deg: value(blank.and_then(|b| b.light_elevation_deg)),
            distance_mm: value(blank.and_then(|b| b.light_distance_mm)),
            fall_off_stops: blank.and_then(|b| b.fall_off_print_stops.or(Some(b.fall_off_stops))),
            ambient_below_stops: answer.ambient.as_ref().map(|a| a.below.value),
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

/// The key of the plan's words in the catalogue.
const KEPT: &str = "rig-plan";

/// Fields by their word in the request, with their label on the page.
const LABELS: [(&str, &str); 28] = [
    ("light_distance", "Light distance"),
    ("light_reach", "Room for the light"),
    ("light_from", "Light from"),
    ("elevation", "Light elevation"),
    ("closest_focus", "Closest focus"),
    ("lens_front", "Lens front"),
    ("lens", "Lens"),
    ("sensor", "Sensor"),
    ("pixels", "Pixels"),
    ("print", "Print size"),
    ("format", "Format"),
    ("curl", "Curl"),
    ("ppi", "Resolution"),
    ("field", "Field"),
    ("height", "Height"),
    ("aperture", "Aperture"),
    ("iso", "ISO"),
    ("flash_gn", "Flash guide number"),
    ("sync", "Sync time"),
    ("shutter", "Shutter"),
    ("source", "Size of the light"),
    ("ambient", "Ambient light"),
    ("lamp", "Lamp"),
    ("board", "Board"),
    ("camera_mass", "Camera mass"),
    ("arm_mass", "Arm mass"),
    ("base_mass", "Base mass"),
    ("prints", "Prints"),
];

fn label(field: &str) -> &str {
    LABELS.iter().find(|(word, _)| *word == field).map_or(field, |(_, label)| label)
}

/// A sentence that speaks of options, with the page's fields in their place.
fn in_fields(text: &str) -> String {
    // A longer option first: --lens-front is not --lens.
    let mut labels = LABELS;
    labels.sort_by_key(|(word, _)| std::cmp::Reverse(word.len()));
    labels.iter().fold(text.to_owned(), |text, (word, label)| {
        text.replace(&format!("--{}", word.replace('_', "-")), &format!("“{label}”"))
    })
}

fn in_page(part: plan::Part) -> PlanPart {
    PlanPart { label: part.label.to_owned(), says: part.says.iter().map(|says| in_fields(says)).collect() }
}

/// The same plan, its sentences about fields.
fn spoken(mut answer: plan::Answer) -> plan::Answer {
    for concern in &mut answer.concerns {
        concern.says = in_fields(&concern.says);
        concern.remedy = in_fields(&concern.remedy);
    }
    answer
}

/// A text as a person types it into a field that names its unit: a decimal comma, and the unit left out.
fn plain(text: &str) -> String {
    let chars: Vec<char> = text.trim().chars().collect();
    let digit = |i: usize| chars.get(i).is_some_and(char::is_ascii_digit);
    let dotted = |(i, c): (usize, &char)| if *c == ',' && i > 0 && digit(i - 1) && digit(i + 1) { '.' } else { *c };
    chars.iter().enumerate().map(dotted).collect()
}

/// True where a text ends in a figure: its unit was left out.
fn bare(text: &str) -> bool {
    text.ends_with(|c: char| c.is_ascii_digit() || c == '.')
}

fn lens(text: &str) -> std::result::Result<(f64, bool), String> {
    let lower = text.to_lowercase();
    let (front, close) =
        lower.strip_suffix("macro").map_or((lower.as_str(), ""), |f| (f.trim_end_matches(['-', ' ']), "-macro"));
    let unit = if bare(front) { "mm" } else { "" };
    quantity::lens(&format!("{front}{unit}{close}"))
}

/// A sensor's size: no sensor is measured in inches across and down.
fn sensor(text: &str) -> std::result::Result<[f64; 2], String> {
    quantity::size(&if bare(text) { format!("{text}mm") } else { text.to_owned() })
}

/// A light's face: a bare figure is millimetres where a face can be so small, as its label says.
fn face(text: &str) -> std::result::Result<Vec<f64>, String> {
    quantity::face(&if bare(text) { format!("{text}mm") } else { text.to_owned() })
}

fn lux(text: &str) -> std::result::Result<f64, String> {
    quantity::lux(&if bare(text) { format!("{text}lx") } else { text.to_owned() })
}

/// Pixels across and down, or their number in millions with the sensor's shape: "24 MP".
fn pixels(text: &str, sensor_mm: Option<[f64; 2]>) -> std::result::Result<[f64; 2], String> {
    let lower = text.to_lowercase();
    let millions = ["megapixels", "megapixel", "mpx", "mp"].iter().find_map(|w| lower.strip_suffix(w));
    let Some(millions) = millions else { return quantity::pixels(text) };
    let millions: f64 =
        millions.trim().parse().map_err(|_| format!("“{text}” is not a number of pixels; write 24 MP or 6000x4000"))?;
    if !(0.1..=1000.0).contains(&millions) {
        return Err(format!("{text} is no camera's; write 24 MP or 6000x4000"));
    }
    let [w, h] = sensor_mm.unwrap_or([36.0, 24.0]);
    // Width times height is the number, width to height the sensor's shape.
    let across = (millions * 1e6 * w / h).sqrt();
    Ok([across.round(), (across * h / w).round()])
}

impl PlanRequest {
    /// The numbers that the texts mean, and the fields that are not understood: these are taken as usual.
    pub fn request(&self) -> (Request, Vec<FieldTrouble>) {
        let mut wrong = vec![];
        let sensor_mm = read(&mut wrong, "sensor", self.sensor.as_ref(), sensor);
        let lens = read(&mut wrong, "lens", self.lens.as_ref(), lens);
        let wrong = &mut wrong;
        let request = Request {
            aim: self.aim.unwrap_or_default(),
            format: self.format.clone().filter(|f| !f.is_empty()),
            print_mm: read(wrong, "print", self.print.as_ref(), quantity::size),
            curl_mm: read(wrong, "curl", self.curl.as_ref(), quantity::length),
            sensor_mm,
            pixels: read(wrong, "pixels", self.pixels.as_ref(), |t| pixels(t, sensor_mm)),
            lens_mm: lens.map(|l| l.0),
            close_lens: lens.is_some_and(|l| l.1),
            closest_focus_mm: read(wrong, "closest_focus", self.closest_focus.as_ref(), quantity::length),
            lens_front_mm: read(wrong, "lens_front", self.lens_front.as_ref(), quantity::length),
            ppi: read(wrong, "ppi", self.ppi.as_ref(), quantity::ppi),
            field_mm: read(wrong, "field", self.field.as_ref(), quantity::length),
            height_mm: read(wrong, "height", self.height.as_ref(), quantity::length),
            f_number: read(wrong, "aperture", self.aperture.as_ref(), quantity::f_number),
            iso: read(wrong, "iso", self.iso.as_ref(), quantity::iso),
            guide_m: read(wrong, "flash_gn", self.flash_gn.as_ref(), quantity::guide),
            sync_s: read(wrong, "sync", self.sync.as_ref(), quantity::time),
            shutter_s: read(wrong, "shutter", self.shutter.as_ref(), quantity::time),
            light_azimuth_deg: read(wrong, "light_from", self.light_from.as_ref(), quantity::side),
            light_elevation_deg: read(wrong, "elevation", self.elevation.as_ref(), quantity::angle),
            light_distance_mm: read(wrong, "light_distance", self.light_distance.as_ref(), quantity::length),
            light_reach_mm: read(wrong, "light_reach", self.light_reach.as_ref(), quantity::length),
            source_mm: read(wrong, "source", self.source.as_ref(), face),
            ambient_lux: read(wrong, "ambient", self.ambient.as_ref(), lux),
            lamp_lux: read(wrong, "lamp", self.lamp.as_ref(), lux),
            board_mm: read(wrong, "board", self.board.as_ref(), quantity::length),
            camera_kg: read(wrong, "camera_mass", self.camera_mass.as_ref(), quantity::mass),
            arm_kg: read(wrong, "arm_mass", self.arm_mass.as_ref(), quantity::mass),
            arm_reach_mm: read(wrong, "arm_reach", self.arm_reach.as_ref(), quantity::length),
            base_mm: read(wrong, "base", self.base.as_ref(), quantity::length),
            base_kg: read(wrong, "base_mass", self.base_mass.as_ref(), quantity::mass),
            prints: read(wrong, "prints", self.prints.as_ref(), quantity::prints),
            backs: self.backs,
        };
        (request, std::mem::take(wrong))
    }
}

/// Reads a text of a request; one that is not understood is told by its field.
fn read<T>(
    wrong: &mut Vec<FieldTrouble>,
    field: &str,
    text: Option<&String>,
    read: impl Fn(&str) -> std::result::Result<T, String>,
) -> Option<T> {
    let text = text.map(|t| plain(t)).filter(|t| !t.is_empty())?;
    read(&text).map_err(|says| wrong.push(FieldTrouble { field: field.to_owned(), says: format!("{says}.") })).ok()
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
        let (request, wrong) = typed.request();
        assert_eq!(wrong, []);
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
        // One wrong field leaves the others as they are.
        let (request, wrong) = typed(&[("light_distance", "120"), ("lens", "50"), ("sensor", "hat")]).request();
        let says = |field: &str| wrong.iter().find(|w| w.field == field).map(|w| w.says.as_str());
        assert_eq!(says("light_distance"), Some("120 what? Write 120mm, 120cm or 120in."));
        assert!(says("sensor").is_some() && wrong.len() == 2, "{wrong:?}");
        assert_eq!((request.lens_mm, request.light_distance_mm), (Some(50.0), None));
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

    /// What people type: a lens by its figure, a sensor of a smaller camera, a number of pixels. 24 million at 3 to 2 are 6000 by 4000.
    #[test]
    fn fields_take_what_people_type() {
        let read = |words: &[(&str, &str)]| {
            let (request, wrong) = typed(words).request();
            assert_eq!(wrong, [], "{words:?}");
            request
        };
        assert_eq!(read(&[("lens", "50")]).lens_mm, Some(50.0));
        assert!(read(&[("lens", "70 macro")]).close_lens && !read(&[("lens", "70 mm")]).close_lens);
        assert_eq!(read(&[("sensor", "23.5 × 15.6")]).sensor_mm, Some([23.5, 15.6]));
        assert_eq!(read(&[("sensor", "17,3 x 13")]).sensor_mm, Some([17.3, 13.0]));
        assert_eq!(read(&[("pixels", "24 MP")]).pixels, Some([6000.0, 4000.0]));
        assert_eq!(read(&[("pixels", "20MP"), ("sensor", "17.3x13")]).pixels, Some([5159.0, 3877.0]));
        assert_eq!(read(&[("ambient", "60")]).ambient_lux, Some(60.0));
        assert_eq!(read(&[("source", "70 × 50")]).source_mm, Some(vec![70.0, 50.0]));
        assert!(
            !typed(&[("pixels", "MP")]).request().1.is_empty()
                && !typed(&[("pixels", "9e9 MP")]).request().1.is_empty()
        );
    }

    #[test]
    fn sentences_speak_of_fields() {
        let says =
            in_fields("Leave out --light-distance or --light-reach, or use --lens 70mm-macro. Not --lens-front.");
        assert_eq!(
            says,
            "Leave out “Light distance” or “Room for the light”, or use “Lens” 70mm-macro. Not “Lens front”."
        );
        // Whatever a plan says, no option is left in it.
        let (request, _) =
            typed(&[("lens", "300"), ("closest_focus", "3m"), ("light_distance", "40cm"), ("elevation", "80")])
                .request();
        if let Ok(answer) = plan::plan(&request, Units::default()) {
            let parts: Vec<PlanPart> = plan::parts(&answer, Units::default()).into_iter().map(in_page).collect();
            assert!(parts.iter().any(|p| p.label == "Camera" && p.says.len() > 1), "{parts:?}");
            assert!(!parts.iter().flat_map(|p| &p.says).any(|says| says.contains("--")), "{parts:?}");
            let answer = spoken(answer);
            assert!(answer.concerns.iter().all(|c| !c.says.contains("--") && !c.remedy.contains("--")), "{answer:?}");
        }
        let (request, _) = typed(&[("format", "plain")]).request();
        let Problem(says) = plan::plan(&request, Units::default()).unwrap_err();
        assert!(says.contains("--print") && in_fields(&says).contains("“Print size”"), "{says}");
    }
}
