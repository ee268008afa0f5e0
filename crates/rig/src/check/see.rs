//! The role of each frame: given or detected.

use super::Request;
use super::answer::FrameUsed;
use base::Failure;
use base::wording::stops_measured;
use base::workers::guarded;
use finish::Role;
use finish::frame::loaded_frame;
use finish::frame::loaded_frame::LoadedFrame;
use finish::frame::{look_at, measure};
use finish::gather;
use finish::job::{Look, Place};
use finish::roles;
use finish::roles::roles;
use print::flat_field::Blank;
use print::hints::Hints;
use print::ruler::{Ask, Reading, RulerError};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// One frame.
pub(super) struct Frame {
    pub path: PathBuf,
    pub role: Role,
    pub reason: String,
    pub look: Look,
    pub focal_px: Option<f64>,
    pub reading: Option<Box<Reading>>,
    pub measured: bool,
    flash_fired: Option<bool>,
}

impl Frame {
    /// The file's name.
    pub fn name(&self) -> String {
        self.path.file_name().map(|n| base::wording::plain(&n.to_string_lossy())).unwrap_or_default()
    }
    pub fn used(&self) -> FrameUsed {
        FrameUsed {
            path: self.path.display().to_string(),
            role: self.role,
            reason: self.reason.clone(),
            measured: self.measured,
            exif: self.look.exif.clone(),
        }
    }
}

/// A frame that gave nothing.
pub(super) struct Gone<'a> {
    pub path: &'a Path,
    pub error: &'a Failure,
}

impl Gone<'_> {
    pub fn line(&self) -> String {
        format!("{}: {}", self.path.display(), self.error)
    }
}

/// All frames in the order they were taken, with what could not be read.
#[derive(Default)]
pub(super) struct RoleInput {
    pub frames: Vec<Frame>,
    pub problems: Vec<String>,
    pub notes: Vec<String>,
}

/// A bare bed so many stops darker than the brightest one was taken with the flash off: flashes vary by tenths.
const DARKER: f64 = 1.5;
/// A frame under this mean light holds no flash.
const NO_LIGHT: f64 = 0.004;

pub(super) fn read(path: &Path) -> Result<LoadedFrame, Failure> {
    LoadedFrame::read(path, None)
}

/// Looks at every frame of a request.
pub(super) fn all(request: &Request) -> RoleInput {
    let told = told(request);
    let mut inputs = request.inputs.clone();
    inputs.extend(told.keys().cloned());
    let gathered = gather(&inputs, Path::new(""));
    let mut seen = RoleInput { problems: gathered.problems, notes: gathered.says, ..RoleInput::default() };
    for source in gathered.sources {
        let role = told.get(&canonical(&source.path)).copied();
        match guarded(|| look(&source.path, role, request.bar_mm)) {
            Ok(frame) => seen.frames.push(frame),
            Err(error) => seen.problems.push(Gone { path: &source.path, error: &error }.line()),
        }
    }
    give_roles(&mut seen.frames, &told);
    let order = roles::in_time(&seen.frames.iter().map(|f| &f.look).collect::<Vec<_>>());
    let mut slots: Vec<Option<Frame>> = seen.frames.into_iter().map(Some).collect();
    seen.frames = order.into_iter().filter_map(|i| slots[i].take()).collect();
    seen
}

fn canonical(path: &Path) -> PathBuf {
    path.canonicalize().unwrap_or_else(|_| path.to_owned())
}

fn told(request: &Request) -> BTreeMap<PathBuf, Role> {
    let all = [
        (Role::Ruler, request.rulers.iter().collect::<Vec<_>>()),
        (Role::Blank, request.blanks.iter().collect()),
        (Role::Chart, request.chart.iter().collect()),
        (Role::Ambient, request.ambient.iter().collect()),
    ];
    all.into_iter().flat_map(|(role, paths)| paths.into_iter().map(move |p| (canonical(p), role))).collect()
}

/// A first look, and the ruler's reading where it is one; a sheet that is there but cannot be measured is an error.
fn look(path: &Path, told: Option<Role>, bar_mm: Option<f64>) -> Result<Frame, Failure> {
    let sight = read(path)?;
    let frame = |look: Look, reading: Option<Box<Reading>>| Frame {
        path: path.to_owned(),
        role: Role::Front,
        reason: String::new(),
        look,
        focal_px: sight.focal_px,
        reading,
        measured: false,
        flash_fired: sight.original.flash_fired,
    };
    let plain = || Look {
        width: sight.frame.width,
        height: sight.frame.height,
        mean_level: sight.mean_level(),
        exif: sight.words.clone(),
        ..Look::default()
    };
    let may_be_ruler = told == Some(Role::Ruler) || (told.is_none() && sight.mean_level() > NO_LIGHT);
    if may_be_ruler {
        let ask = Ask { bar_mm, focal_px: sight.focal_px, ..Ask::default() };
        match print::ruler::measure(&sight.frame, &ask) {
            Ok(reading) => return Ok(frame(plain(), Some(Box::new(reading)))),
            Err(RulerError::NotFound | RulerError::Unknown) if told.is_none() => {}
            Err(e) => return Err(Failure::new(sentence(&e.to_string()))),
        }
    }
    // A frame that somebody named is not looked at for anything else.
    Ok(frame(if told.is_some() { plain() } else { look_at(&sight) }, None))
}

/// With a capital at its head and a stop at its end.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |c| c.to_uppercase().chain(letters).collect::<String>() + ".")
}

fn give_roles(frames: &mut [Frame], told: &BTreeMap<PathBuf, Role>) {
    let said = |f: &Frame| told.get(&canonical(&f.path)).copied();
    let seen: Vec<roles::RoleInput> = frames
        .iter()
        .map(|f| roles::RoleInput { look: &f.look, told: said(f).or(f.reading.as_ref().map(|_| Role::Ruler)) })
        .collect();
    let given = roles(&seen);
    for (f, g) in frames.iter_mut().zip(given) {
        (f.role, f.reason) = (g.role, g.reason);
        if f.role == Role::Ruler && said(f).is_none() {
            f.reason = "it shows the ruler sheet".into();
        }
    }
    let brightest = frames.iter().filter(|f| f.role == Role::Blank).map(|f| f.look.mean_level).fold(0.0, f64::max);
    for f in frames.iter_mut().filter(|f| f.role == Role::Blank) {
        let under = (brightest / f.look.mean_level.max(1e-9)).log2();
        if said(f).is_some() {
            continue;
        }
        if f.flash_fired == Some(false) && under > 0.5 {
            (f.role, f.reason) = (Role::Ambient, "the camera recorded that the flash did not fire".into());
        } else if under > DARKER {
            f.role = Role::Ambient;
            f.reason =
                format!("the bare bed is {} darker than the brightest: the flash did not fire", stops_measured(under));
        }
    }
}

/// Share of a print's window under a reflection, and where in the window it lies, frame pixels from its middle; `None` where no
/// print with a window is found.
pub(super) fn veil(
    sight: &LoadedFrame,
    blanks: &[Arc<Blank>],
    place: Option<&Place>,
) -> Option<(f64, Option<geometry::Point>)> {
    let hints = Hints { focal_px: sight.focal_px, ..Hints::default() };
    let seen = loaded_frame::see(sight, blanks, &loaded_frame::formats(&Default::default()), &hints, place, &[])?;
    measure::veil(sight, &seen)
}
