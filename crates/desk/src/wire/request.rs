//! What a page sends. A field that no request has is refused by its name.

use finish::finding::Aim;
use finish::{Corners, Role};
use rig::plan::{Backs, Units};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// An empty object.
#[derive(Clone, Copy, Debug, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Nothing {}

/// Undoes the last thing done in the room that asks.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct UndoRequest {
    /// An import to undo as a whole instead, by its name.
    pub take: Option<String>,
}

/// Which prints to list.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct PrintsQuery {
    /// The search.
    pub q: String,
    /// `number`, `taken`, `exposed`, `place`, `verdict`, `box`, `format`, or `edit:NAME` for that edit alone, in its own order.
    pub order: String,
    /// The first place to answer.
    pub from: usize,
    /// How many places to answer, at most 1000.
    pub count: usize,
    /// Numbers of the stacks that are open, with commas between them; absent: no stack is closed.
    pub stacks: Option<String>,
}

impl Default for PrintsQuery {
    fn default() -> Self {
        // More rows than fill any screen.
        Self { q: String::new(), order: String::new(), from: 0, count: 300, stacks: None }
    }
}

/// Words already used for a fact.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OffersQuery {
    /// The fact.
    pub fact: String,
    /// How the word begins; absent: the most used words.
    #[serde(default)]
    pub start: String,
}

/// How large a picture to send.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct PictureQuery {
    /// Width, pixels: 320, 640, 1280 or 2560.
    pub w: usize,
    /// Hash of the picture, so that a browser may keep it: it changes with the picture.
    pub v: Option<String>,
}

impl Default for PictureQuery {
    fn default() -> Self {
        Self { w: 320, v: None }
    }
}

/// Facts to write for prints.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DescribeRequest {
    /// The prints.
    pub ids: Vec<i64>,
    /// Each fact with its new value; an empty value deletes it.
    pub facts: BTreeMap<String, String>,
    /// Facts to write only where nothing is said.
    #[serde(default)]
    pub fill: BTreeMap<String, String>,
    /// Items to add to lists.
    #[serde(default)]
    pub add: BTreeMap<String, Vec<String>>,
    /// Items to take out of lists.
    #[serde(default)]
    pub remove: BTreeMap<String, Vec<String>>,
    /// For facts with a new value, what the person saw there: only these are replaced. Without it, whatever is there.
    #[serde(default)]
    pub seen: BTreeMap<String, Vec<String>>,
}

/// Prints whose words are wanted together.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SharedRequest {
    /// The prints.
    pub ids: Vec<i64>,
}

/// A date as somebody types it.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DateQuery {
    /// The text.
    pub text: String,
}

/// A search to keep by a name.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SaveRequest {
    /// Its name.
    pub name: String,
    /// The search; empty: it is kept no longer.
    pub line: String,
}

/// What it means that a print says nothing of who may see it.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PrivacyRequest {
    /// What it means.
    pub unsaid: Unsaid,
}

/// Who may see a print.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Unsaid {
    /// Everybody.
    Open,
    /// Names and places only with permission.
    Ask,
    /// Nobody.
    Private,
}

/// A change to an edit.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum EditRequest {
    /// Adds prints. An edit called wide, tight or sequence is made where there is none.
    Put {
        /// The edit.
        name: String,
        /// The prints.
        ids: Vec<i64>,
        /// Their place; absent: at the end.
        #[serde(default)]
        at: Option<usize>,
    },
    /// Removes prints.
    Take {
        /// The edit.
        name: String,
        /// The prints.
        ids: Vec<i64>,
    },
    /// Moves prints to another place.
    Move {
        /// The edit.
        name: String,
        /// The prints.
        ids: Vec<i64>,
        /// Their place from 0, counted without them.
        at: usize,
    },
    /// Sets the order of all its prints.
    Order {
        /// The edit.
        name: String,
        /// All its prints, in order.
        ids: Vec<i64>,
    },
    /// Makes an empty edit.
    Make {
        /// Its name.
        name: String,
    },
    /// Renames it.
    Rename {
        /// The edit.
        name: String,
        /// Its new name.
        to: String,
    },
    /// Deletes it; its prints stay.
    Drop {
        /// The edit.
        name: String,
    },
}

impl EditRequest {
    /// The edit that is meant.
    pub fn name(&self) -> &str {
        match self {
            Self::Put { name, .. }
            | Self::Take { name, .. }
            | Self::Move { name, .. }
            | Self::Order { name, .. }
            | Self::Make { name }
            | Self::Rename { name, .. }
            | Self::Drop { name } => name,
        }
    }

    /// The prints that are meant.
    pub fn ids(&self) -> &[i64] {
        match self {
            Self::Put { ids, .. } | Self::Take { ids, .. } | Self::Move { ids, .. } | Self::Order { ids, .. } => ids,
            Self::Make { .. } | Self::Rename { .. } | Self::Drop { .. } => &[],
        }
    }
}

/// A change to stacks.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum StackRequest {
    /// Puts prints into one stack, or confirms a proposed one.
    Put {
        /// The prints.
        ids: Vec<i64>,
    },
    /// Takes prints out of their stacks.
    Lift {
        /// The prints.
        ids: Vec<i64>,
    },
    /// Proposes a stack for every group of near-twins.
    Propose {},
}

/// Moves a frame to another print.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JoinRequest {
    /// The frame.
    pub frame: i64,
    /// The print; none: a new print of its own.
    pub print: Option<i64>,
}

/// Chooses the front of a print.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FrontRequest {
    /// The print.
    pub print: i64,
    /// The frame.
    pub frame: i64,
}

/// Sets what a frame shows.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RoleRequest {
    /// The frame.
    pub frame: i64,
    /// What it shows.
    pub role: Role,
}

/// Finishes a frame again with a person's corrections. What is absent stays as it was set before.
#[derive(Clone, Debug, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RefinishRequest {
    /// The frame.
    pub frame: i64,
    /// Corners in frame pixels, clockwise from the upright print's top left.
    pub outline: Option<Corners>,
    /// The format.
    pub format: Option<String>,
    /// Quarter turns clockwise from how it was found, 0 to 3.
    pub turn: Option<u8>,
    /// Depth of the shadow: 0 none, 1 as shot, 2 twice as dark.
    pub shadow: Option<f64>,
    /// The light that casts the shadow: `as-shot`, `mirrored`, a name, or `AZ,EL,SIZE` in degrees.
    pub light: Option<String>,
    /// True to take back an outline and a format that were set by hand: they are measured again.
    #[serde(default)]
    pub as_measured: bool,
}

/// A change to the lights that have a name in this project.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum LightRequest {
    /// Names a light, or gives its name to another one.
    Name {
        /// The name.
        name: String,
        /// Where it stands: `AZ,EL,SIZE` in degrees.
        light: String,
    },
    /// Deletes a name. What was finished by it stays.
    Drop {
        /// The name.
        name: String,
    },
}

/// What the stand watches.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WatchRequest {
    /// The folder that the camera's pictures arrive in; none: stop watching.
    pub folder: Option<PathBuf>,
    /// The box that the prints come from.
    #[serde(rename = "box", default)]
    pub box_name: Option<String>,
    /// Their sleeve.
    #[serde(default)]
    pub sleeve: Option<String>,
    /// How many prints it holds, where somebody counted.
    #[serde(default)]
    pub of: Option<usize>,
    /// True where every print's back is photographed too.
    #[serde(default)]
    pub backs: bool,
    /// True where each frame is taken for one print, whatever else it shows.
    #[serde(default)]
    pub one: bool,
    /// True where verdicts are heard as sounds.
    #[serde(default = "yes")]
    pub sound: bool,
}

fn yes() -> bool {
    true
}

/// Marks the frame that came last at the stand.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MarkRequest {
    /// The frame's file, so that a mark never lands on the frame that came after it; for trouble its number.
    pub name: String,
    /// The mark.
    pub mark: Mark,
}

/// What a person says of the frame that came last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// Its verdict was seen.
    Seen,
    /// Its print is to be photographed again.
    Again,
    /// Its print need not be photographed again, whatever the verdict.
    Enough,
    /// What went wrong was read.
    Noticed,
}

/// Opens or closes access from another device.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AccessRequest {
    /// Which.
    #[serde(rename = "do")]
    pub wish: AccessWish,
}

/// Whether another device may pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum AccessWish {
    /// Let one device pair.
    Open,
    /// Close access and disconnect the paired device.
    Close,
}

/// The code that pairs a device.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CodeRequest {
    /// Six digits; spaces do not count.
    pub code: String,
}

/// A folder of frames to take in.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeRequest {
    /// The folder, by its whole path.
    pub folder: PathBuf,
    /// The box that the prints come from.
    #[serde(rename = "box", default)]
    pub box_name: Option<String>,
    /// Their sleeve.
    #[serde(default)]
    pub sleeve: Option<String>,
    /// True where the originals are copied into the project.
    #[serde(default)]
    pub copy: bool,
}

/// The words of a plan, to keep.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct KeepPlanRequest {
    /// Each field of the plan's request with its text.
    pub words: BTreeMap<String, String>,
}

/// A rig to plan. Quantities are texts as a person types them ("62cm", "70mm-macro", "1/200s", "upper-left"); one that is absent or
/// empty is taken as usual.
#[derive(Clone, Debug, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct PlanRequest {
    /// What the prints are for.
    pub aim: Option<Aim>,
    /// Print format by its generic name.
    pub format: Option<String>,
    /// Outer size of an original that is no print format.
    pub print: Option<String>,
    /// Height of the most lifted edge.
    pub curl: Option<String>,
    /// Sensor, as the frame lies.
    pub sensor: Option<String>,
    /// Pixels across and down.
    pub pixels: Option<String>,
    /// Focal length; `-macro` for a lens made for close work.
    pub lens: Option<String>,
    /// Closest focus marked on the lens, from the sensor.
    pub closest_focus: Option<String>,
    /// Diameter of the lens's front.
    pub lens_front: Option<String>,
    /// Resolution wanted on the print.
    pub ppi: Option<String>,
    /// Width of bed wanted in the frame.
    pub field: Option<String>,
    /// Height wanted from sensor to bed.
    pub height: Option<String>,
    /// Aperture wanted.
    pub aperture: Option<String>,
    /// ISO wanted.
    pub iso: Option<String>,
    /// Guide number of the flash.
    pub flash_gn: Option<String>,
    /// Shortest exposure time with flash.
    pub sync: Option<String>,
    /// Exposure time wanted.
    pub shutter: Option<String>,
    /// Where the light stands in the frame.
    pub light_from: Option<String>,
    /// The light's height over the bed as an angle.
    pub elevation: Option<String>,
    /// From the middle of the print to the light.
    pub light_distance: Option<String>,
    /// The farthest that the room lets the light stand.
    pub light_reach: Option<String>,
    /// The light's face.
    pub source: Option<String>,
    /// The room's own light on the bed.
    pub ambient: Option<String>,
    /// A lamp's light on the bed, to compare with flash.
    pub lamp: Option<String>,
    /// Length of the board that is shimmed level.
    pub board: Option<String>,
    /// Camera and lens.
    pub camera_mass: Option<String>,
    /// The stand's arm.
    pub arm_mass: Option<String>,
    /// From the column to the lens's axis.
    pub arm_reach: Option<String>,
    /// The stand's base along the arm.
    pub base: Option<String>,
    /// Base and column.
    pub base_mass: Option<String>,
    /// Prints in the box.
    pub prints: Option<String>,
    /// Which backs are photographed too.
    pub backs: Option<Backs>,
    /// Units that lengths are written in.
    pub units: Option<Units>,
}

/// An export: of which prints, as what. A choice that is not made is as the command has it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "form", rename_all = "lowercase", deny_unknown_fields)]
pub enum ExportRequest {
    /// Pictures to post.
    Share {
        /// The edit; every print where none is named.
        edit: Option<String>,
        /// Width to height, as `4:5`.
        shape: String,
        /// The longer side, as `2160`, or both.
        pixels: String,
        /// Most size of a file.
        #[serde(default)]
        kilobytes: Option<u32>,
        /// One scale for the whole set.
        #[serde(default)]
        one_scale: bool,
        /// The light that casts the shadows: `mirrored`, a name, or `AZ,EL,SIZE` in degrees; as they were finished where it is absent.
        #[serde(default)]
        light: Option<String>,
        /// True where permission was asked for words marked "ask".
        #[serde(default)]
        asked: bool,
    },
    /// A site of plain files.
    Gallery {
        /// The edit; every print where none is named.
        edit: Option<String>,
        /// Its title.
        title: String,
        /// The address where it will be published, for other viewers; this machine where that is empty.
        #[serde(default)]
        address: String,
        /// Backs too, of prints that everyone may see.
        #[serde(default)]
        backs: bool,
        /// The light that casts the shadows: `mirrored`, a name, or `AZ,EL,SIZE` in degrees; as they were finished where it is absent.
        #[serde(default)]
        light: Option<String>,
        /// Also a newsletter of at most this many kB.
        #[serde(default)]
        newsletter: Option<u32>,
        /// True where permission was asked for words marked "ask".
        #[serde(default)]
        asked: bool,
    },
    /// Prints on paper.
    Book {
        /// The edit; every print where none is named.
        edit: Option<String>,
        /// Its title.
        #[serde(default)]
        title: String,
        /// Its author.
        #[serde(default)]
        author: String,
        /// Width and height of a trimmed page, mm.
        trim_mm: [f64; 2],
        /// Layouts in turn, as `single`.
        layout: Vec<String>,
        /// The printer's ICC profile of press and paper.
        #[serde(default)]
        printer: Option<PathBuf>,
        /// First dot that the press prints, per cent of full ink; the usual one where it is absent.
        #[serde(default)]
        first_dot: Option<f64>,
        /// Captions under the prints.
        captions: bool,
        /// The light that casts the shadows: `mirrored`, a name, or `AZ,EL,SIZE` in degrees; as they were finished where it is absent.
        #[serde(default)]
        light: Option<String>,
        /// Also a proof sheet for the printer.
        #[serde(default)]
        proof: bool,
        /// Also a dummy at half size.
        #[serde(default)]
        dummy: bool,
        /// Also a deck of cards to deal.
        #[serde(default)]
        deck: bool,
    },
    /// An archive: originals, results and words in a bag, read again when it is packed.
    Pack {
        /// The edit; every print where none is named.
        edit: Option<String>,
        /// What it holds, in the photographer's words.
        #[serde(default)]
        title: String,
        /// The bag: a whole path outside the project, best on another disk.
        place: PathBuf,
    },
}

/// Checks an archive.
#[derive(Clone, Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckRequest {
    /// Its second copy, by its whole path.
    #[serde(default)]
    pub copy: Option<PathBuf>,
}
