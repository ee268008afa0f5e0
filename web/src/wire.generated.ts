// Generated from crates/desk/src/wire by `cargo xtask gen`. Do not edit.

/** Access to the stand from another device. */
export interface Access {
  /** The address to open on the device. */
  address: string | null;
  /** The code to enter there; none once a device has used it. */
  code: string | null;
  /** True while a device is paired. */
  in: boolean;
  /** True while the network's address answers. */
  open: boolean;
  /** Why access was closed without being asked to. */
  says: string | null;
}

/** Opens or closes access from another device. */
export interface AccessRequest {
  /** Which. */
  do: AccessWish;
}

/** Whether another device may pair. */
export type AccessWish = "open" | "close";

/** A print to shoot again. */
export interface Again {
  label: string;
  name: string;
  sentence: string;
}

/** What the finished prints are for; it decides how much is too much. */
export type Aim = "web" | "book" | "archive";

/** Something that went wrong at the stand. It has the place of the verdict until it is read, over, or a frame is judged. */
export interface Amiss {
  /** What to do. */
  do: string;
  /** The file; none where it is the folder. */
  name: string | null;
  /** Counts up: another number is another trouble. */
  number: number;
  /** Other files of which the same was not read yet. */
  others: string[];
  /** What went wrong, a sentence. */
  says: string;
  /** True where somebody has read it, and it is not over. */
  seen: boolean;
}

/** A whole rig. */
export interface Answer {
  /** What the prints are for. */
  aim: Aim;
  /** Camera, lens and their heights. */
  camera: CameraPlan;
  /** What stands against the wishes, and what to mind. */
  concerns: Told[];
  /** Flash, shutter and the room's light. */
  exposure: ExposurePlan;
  /** Depth of field, aperture, levelling. */
  focus: FocusPlan;
  /** The box; absent where no number of prints was said. */
  forecast?: ForecastPlan;
  /** What the gloss mirrors. */
  gloss: GlossPlan;
  /** The light and how even it is. */
  light: LightPlan;
  /** True where every wish and the aim are kept. False where not: what cannot be at all is planned as near as it can be, what can be but falls short of the aim is planned as it was said; `concerns` tell which and what mends it. */
  possible: boolean;
  /** The print and how it lies. */
  print: PrintPlan;
  /** Always `fallside.plan/1`. */
  schema: string;
  /** The shadow. */
  shadow: ShadowPlan;
  /** The stand; absent where neither its base nor its arm was said. */
  stand?: StandPlan;
  /** What was taken for granted because nothing was said. */
  taken: Taken[];
  /** One frame or several, flash or lamp. */
  ways: WayPlan[];
}

/** Which backs are taken too. */
export type Backs = "none" | "written" | "all";

/** What the page shows of a book. */
export interface BookSeen {
  /** The printing condition; none in RGB. */
  condition: string | null;
  /** How many pages. */
  pages: number;
  /** True where no bare paper has ink. */
  paper_white: boolean;
  /** Its pictures, as they stand in it. */
  pictures: Printed[];
  /** Where each spread stands on the plan: left, top, width and height as shares of the plan's own. */
  places: [number, number, number, number][];
  /** Its flat plan. */
  plan: string;
  /** Pictures of its spreads, in order. */
  spreads: string[];
  /** A page after the cut, mm. */
  trim_mm: [number, number];
}

/** A box. */
export interface BoxOf {
  /** Its name. */
  box: string;
  /** How many prints. */
  count: number;
  /** Its sleeves. */
  sleeves: string[];
}

/** Camera, lens and their heights. */
export interface CameraPlan {
  /** Bed in the frame. */
  field_mm: [number, number];
  /** True where the plan chose it. */
  focal_chosen: boolean;
  /** Focal length. */
  focal_mm: number;
  /** Sensor over bed. */
  height_mm: number;
  /** Diameter of the lens's front. */
  lens_front_mm: number;
  /** Lens over bed (its principal planes, taken as one). */
  lens_height_mm: number;
  /** Image over object size. */
  magnification: number;
  /** Bed between print and frame at the narrowest side. */
  margin_mm: number;
  /** The margin that shadow and aim ask for. */
  margin_wanted_mm: number;
  /** Frame in pixels. */
  pixels: [number, number];
  /** Pixels per inch on the print. */
  ppi: number;
  /** What the aim can show, pixels per inch. */
  ppi_asked: number;
  /** Pixels per millimetre on the print. */
  px_per_mm: number;
  /** Sensor as the frame lies, mm. */
  sensor_mm: [number, number];
}

/** Checks an archive. */
export interface CheckRequest {
  /** Its second copy, by its whole path. */
  copy?: string | null;
}

/** How an archive and its second copy were found. */
export interface Checked {
  /** What is damaged and what to do, a sentence each. */
  problems: string[];
  /** How each was found, and when, a sentence each. */
  says: string[];
}

/** The rig as a check measured it. What it could not measure is absent. */
export interface CheckedRig {
  /** How far the room's light is below the flash, stops. */
  ambient_below_stops?: number;
  /** Where the light stands in the frame, degrees clockwise from right. */
  azimuth_deg?: number;
  /** Its distance from the frame's middle, mm. */
  distance_mm?: number;
  /** Its elevation, degrees. */
  elevation_deg?: number;
  /** Brightest to darkest across a print, stops. */
  fall_off_stops?: number;
  /** How many frames it looked at. */
  frames: number;
  /** The camera's lean about both axes together, degrees. */
  lean_deg?: number;
  /** Pixels per millimetre on the bed. */
  px_per_mm?: number;
}

/** The code that pairs a device. */
export interface CodeRequest {
  /** Six digits; spaces do not count. */
  code: string;
}

/** How many of a kind. */
export interface Count {
  /** How many. */
  count: number;
  /** The kind. */
  name: string;
}

/** A meaning of a date. */
export interface DateChoice {
  /** In EDTF. */
  edtf: string;
  /** In words. */
  says: string;
}

/** A date as somebody types it. */
export interface DateQuery {
  /** The text. */
  text: string;
}

/** A date as it was understood. */
export interface DateRead {
  /** What it can mean, where that is to be chosen. */
  choices: DateChoice[];
  /** In EDTF; none where nothing is written, it is not understood, or it is to be chosen. */
  edtf: string | null;
  /** What was understood, in words; or why nothing was. */
  says: string;
}

/** Facts to write for prints. */
export interface DescribeRequest {
  /** Items to add to lists. */
  add?: Record<string, string[]>;
  /** Each fact with its new value; an empty value deletes it. */
  facts: Record<string, string>;
  /** Facts to write only where nothing is said. */
  fill?: Record<string, string>;
  /** The prints. */
  ids: number[];
  /** Items to take out of lists. */
  remove?: Record<string, string[]>;
  /** For facts with a new value, what the person saw there: only these are replaced. Without it, whatever is there. */
  seen?: Record<string, string[]>;
}

/** What describing prints answers. */
export interface Described {
  /** What was done. */
  did: string;
  /** What was not written; everything else was. */
  kept_back: KeptBack[];
  /** What redo would do. */
  redo: string | null;
  /** What undo would undo. */
  undo: string | null;
}

/** What the paired device is told after it did something. */
export interface DeviceDid {
  /** What was done. */
  did: string;
}

/** What the paired device hears: less than the desk's own page. */
export type DeviceEvent = { kind: "changed" } | { kind: "verdict"; verdict: Verdict };

/** What a change answers. */
export interface Did {
  /** What was done. */
  did: string;
  /** What redo would do. */
  redo: string | null;
  /** What undo would undo. */
  undo: string | null;
}

/** How an upright print lies in the frame. */
export type Direction = "top" | "left" | "bottom" | "right";

/** Something done to a print. */
export interface Done {
  says: string;
  when: string;
}

/** One edge. */
export interface EdgeDrawing {
  /** `start`, `middle` or `end` of the text lies there. */
  anchor: string;
  /** Where its largest height is written. */
  at: [number, number];
  /** The outline of one standard deviation about it. */
  band: [number, number][];
  /** The largest height and its error: "1.9 ± 0.2 mm". */
  label: string;
  /** Its height. */
  line: [number, number][];
  /** True where its own shadow was measured. */
  seen: boolean;
}

/** An edit's name and size. */
export interface Edit {
  /** How many prints. */
  count: number;
  /** Which round it is. */
  kind: EditKind;
  /** Its name. */
  name: string;
}

/** Which round of choosing an edit is. */
export type EditKind = "wide" | "tight" | "sequence" | "own";

/** A change to an edit. */
export type EditRequest =
  | { at?: number | null; do: "put"; ids: number[]; name: string }
  | { do: "take"; ids: number[]; name: string }
  | { at: number; do: "move"; ids: number[]; name: string }
  | { do: "order"; ids: number[]; name: string }
  | { do: "make"; name: string }
  | { do: "rename"; name: string; to: string }
  | { do: "drop"; name: string };

/** How an export ended. */
export interface Ended {
  /** What to do. */
  do: string | null;
  /** The export; none where nothing was made. */
  name: string | null;
  /** A sentence. */
  says: string;
}

/** Something happened. */
export type Event =
  | { kind: "changed" }
  | { done: number; kind: "working"; name: string; of: number }
  | { amiss: Amiss | null; box: string | null; count: number; folder: string | null; kind: "verdict"; last: Last | null; left: Left | null; owed: string | null; pace_s: number | null; remembered: Watched | null; reshoot: Again[]; seen: string | null; sleeve: string | null; sound: boolean }
  | { do: string | null; frame: number | null; kind: "settled"; label: string | null; name: string; of: number; picture: string | null; print: number | null; role: Role; sentence: string; turn_unknown: boolean; verdict: Verdict }
  | { do: string | null; kind: "handed"; name: string | null; says: string }
  | { kind: "importing"; last: Imported | null; now: Importing | null }
  | { at_stand: boolean; kind: "trouble"; says: string };

/** An export: of which prints, as what. A choice that is not made is as the command has it. */
export type ExportRequest =
  | { asked?: boolean; edit?: string | null; form: "share"; kilobytes?: number | null; light?: string | null; one_scale?: boolean; pixels: string; shape: string }
  | { address?: string; asked?: boolean; backs?: boolean; edit?: string | null; form: "gallery"; light?: string | null; newsletter?: number | null; title: string }
  | { author?: string; captions: boolean; deck?: boolean; dummy?: boolean; edit?: string | null; first_dot?: number | null; form: "book"; layout: string[]; light?: string | null; printer?: string | null; proof?: boolean; title?: string; trim_mm: [number, number] }
  | { edit?: string | null; form: "pack"; place: string; title?: string };

/** Flash, shutter and the room's light. */
export interface ExposurePlan {
  /** How far it should. */
  ambient_asked_stops: number;
  /** How far it lies under the flash. */
  ambient_below_stops?: number;
  /** The room's light. */
  ambient_lux?: number;
  /** The most the room may give at this exposure time. */
  ambient_most_lux: number;
  /** Light on the print per frame. */
  dose_lux_s: number;
  /** f-number for full power by the guide number alone, `GN / (d (1 + m))`, the light square to the print. */
  full_power_f_number?: number;
  /** Guide number of the flash, m at ISO 100. */
  guide_m?: number;
  /** The guide number with which this takes half power. */
  guide_wanted_m: number;
  /** ISO to set. */
  iso: number;
  /** Share of full power. */
  power?: number;
  /** The exposure time that would put it as far under as asked. */
  shutter_for_ambient_s?: number;
  /** Exposure time. */
  shutter_s: number;
  /** What lighting aslant costs. */
  slant_stops: number;
  /** The shortest that works with flash. */
  sync_s: number;
}

/** Something that can be said of a print. */
export interface Fact {
  /** What can be chosen. */
  choices: string[];
  /** How it is written. */
  kind: FactKind;
  /** As a label. */
  label: string;
  /** Its word. */
  word: string;
}

/** How a fact is written. */
export type FactKind = "text" | "date" | "list" | "choice";

/** A field that was not understood. */
export interface FieldTrouble {
  /** Its word in the request. */
  field: string;
  /** What to write. */
  says: string;
}

/** A measured concern. */
export interface Finding {
  code: string;
  do: string;
  limit: number | null;
  says: string;
  severity: Severity;
  unit: string;
  value: number | null;
}

/** Depth of field, aperture, levelling. */
export interface FocusPlan {
  /** Diameter of the Airy disc, pixels. */
  airy_px: number;
  /** Where defocus at the ends of the curl and diffraction are equal. */
  balanced_f_number: number;
  /** Blur at the ends of the curl, diffraction included, on the print. */
  blur_mm: number;
  /** The board's length between shim and opposite edge. */
  board_mm: number;
  /** The curl that leaves the depth of field. */
  curl_most_mm: number;
  /** Total depth of field for the aim (a blur of two of its pixels). */
  depth_mm: number;
  /** Total depth of field for a blur of one pixel of the camera. */
  depth_one_pixel_mm: number;
  /** f-number to set. */
  f_number: number;
  /** Between these the whole curl is sharp enough; absent where no aperture is. */
  f_number_range?: [number, number];
  /** Focus this high above the bed. */
  focus_height_mm: number;
  /** Pixels per inch that this blur carries. */
  holds_ppi: number;
  /** Level the camera to the board within this. */
  level_deg: number;
  /** The same as a shim under one edge of the board. */
  shim_mm: number;
  /** f-number at work, `N (1 + m)`. */
  working_f_number: number;
}

/** A folder to choose. */
export interface Folder {
  /** How many frames it holds; none where it was not counted. */
  frames: number | null;
  /** Its name. */
  name: string;
  /** Its whole path. */
  path: string;
}

/** A folder of this machine, and the folders in it. */
export interface Folders {
  /** The folder that it lies in; none at the top. */
  above: string | null;
  /** Its whole path. */
  at: string;
  /** The folders in it that can be read, by name. */
  folders: Folder[];
  /** How many frames it holds. */
  frames: number;
  /** What is not shown, and why; empty where all is. */
  says: string;
  /** Where to begin: the home folder, mounted cards and disks, folders imported from. */
  starts: Start[];
}

/** Which folder to list. */
export interface FoldersQuery {
  /** The folder, by its whole path; absent: the one to begin with. */
  at?: string | null;
}

/** The box. */
export interface ForecastPlan {
  /** Backs taken too. */
  backs: number;
  /** Masters, mounts and shares, gigabytes. */
  finished_gb: [number, number];
  /** Frames, gigabytes. */
  frames_gb: [number, number];
  /** Hours at the stand, from and to. */
  hours: [number, number];
  /** With breaks. */
  hours_with_breaks: [number, number];
  /** Prints. */
  prints: number;
}

/** A frame of a print. */
export interface Frame {
  canvas_px: [number, number] | null;
  /** How its mount's shadow came about, in words. */
  cast: string | null;
  /** Why the shadow stayed as shot where another light was chosen. */
  cast_why: string | null;
  /** True for the print's front. */
  chosen: boolean;
  confidence: number | null;
  /** The exposure's file. */
  file: string;
  findings: Finding[];
  format: string | null;
  id: number;
  /** How high the print's edges stand above the bed. */
  lift: Lift | null;
  /** The light that was chosen for its shadow. */
  light: LightSeen;
  name: string;
  /** Corners in frame pixels, clockwise from the upright print's top left. */
  outline: [[number, number], [number, number], [number, number], [number, number]] | null;
  /** Which of the prints in its exposure it shows, and of how many. */
  part: [number, number];
  picture: string | null;
  /** The print's corners on the mount. */
  print_px: [[number, number], [number, number], [number, number], [number, number]] | null;
  px_per_mm: number | null;
  role: Role;
  /** Depth of the shadow: 0 none, 1 as shot, 2 twice as dark. */
  shadow: number;
  size_px: [number, number];
  taken: string | null;
  /** Quarter turns clockwise that a person gave it, 0 to 3. */
  turn: number;
  /** True where the picture's top is known. */
  turn_known: boolean;
  verdict: Verdict | null;
  why: string | null;
}

/** Chooses the front of a print. */
export interface FrontRequest {
  /** The frame. */
  frame: number;
  /** The print. */
  print: number;
}

/** What the gloss mirrors. */
export interface GlossPlan {
  /** Its height over the bed. */
  card_height_mm: number;
  /** Dark card at the lens. */
  card_mm: [number, number];
  /** How far it may reach towards the light before it shades the print; no more than it needs. */
  card_to_light_mm: number;
  /** What is mirrored of a ceiling 1.65 m over the bed. */
  ceiling_mm: [number, number];
  /** From print to mirrored light; negative where it shows. */
  clear_mm: number;
  /** The curl that makes it. */
  curl_most_mm: number;
  /** Keep it below this for a print as curled as planned. */
  curled_below_deg?: number;
  /** Keep the light below this for a flat print. */
  flat_below_deg?: number;
  /** Where on the bed a flat print would mirror the light: right and down from the print's middle. */
  glare_mm: [number, number];
  /** Its hole for the lens. */
  hole_mm: number;
  /** The steepest slope before the light shows. */
  slope_most_deg: number;
}

/** An export with everything that the page shows of it. */
export type HandedOn =
  | { again: boolean; alt_missing: string[]; asked: boolean; at: string; book: BookSeen | null; checked?: Checked; count: number; difference: string[]; edit: string | null; files: string[]; form: "share"; kilobytes: number | null; light: string | null; name: string; one_scale: boolean; pixels: string; place: string; private: string[]; problems: string[]; says: string[]; schema: string; shape: string; shares: Shared[]; whole: boolean }
  | { address: string; again: boolean; alt_missing: string[]; asked: boolean; at: string; backs: boolean; book: BookSeen | null; checked?: Checked; count: number; difference: string[]; edit: string | null; files: string[]; form: "gallery"; light: string | null; name: string; newsletter: number | null; place: string; private: string[]; problems: string[]; says: string[]; schema: string; shares: Shared[]; title: string; whole: boolean }
  | { again: boolean; alt_missing: string[]; at: string; author: string; book: BookSeen | null; captions: boolean; checked?: Checked; count: number; deck: boolean; difference: string[]; dummy: boolean; edit: string | null; files: string[]; first_dot: number | null; form: "book"; layout: string[]; light: string | null; name: string; place: string; printer: string | null; private: string[]; problems: string[]; proof: boolean; says: string[]; schema: string; shares: Shared[]; title: string; trim_mm: [number, number]; whole: boolean }
  | { again: boolean; alt_missing: string[]; at: string; book: BookSeen | null; checked?: Checked; count: number; difference: string[]; edit: string | null; files: string[]; form: "pack"; name: string; place: string; private: string[]; problems: string[]; says: string[]; schema: string; shares: Shared[]; title: string; whole: boolean };

/** The export that is being made, and earlier ones. */
export interface Hands {
  /** How the last one of this run ended, where none is being made. */
  ended: Ended | null;
  /** What is being made now. */
  making: Making | null;
  /** Earlier exports, the latest first. */
  past: PastHand[];
}

/** What an import does with frames. */
export type ImportStage = "waiting" | "reading" | "looking" | "finishing";

/** How an import ended. */
export interface Imported {
  /** Where the frames came from. */
  folder: string;
  /** How many frames were entered. */
  frames: number;
  /** How many were known before. */
  known: number;
  /** How many were left, because it was stopped. */
  left: number;
  /** How it ended, in a sentence or two. */
  says: string;
  /** True where it was stopped. */
  stopped: boolean;
  /** True where something went wrong. */
  trouble: boolean;
  /** What could not be read. */
  unread: Unread[];
}

/** How an import goes. */
export interface Importing {
  /** So many are done. */
  done: number;
  /** Where the frames come from. */
  folder: string;
  /** The frame in hand. */
  frame: string | null;
  /** Of so many. */
  of: number;
  /** What is done with them. */
  stage: ImportStage;
  /** True once somebody stopped it: what is in work is still finished. */
  stopping: boolean;
}

/** The import that is running, and how the last one ended. */
export interface Imports {
  /** How the last one ended, as long as the desk is open. */
  last: Imported | null;
  /** The one that is running. */
  now: Importing | null;
}

/** Moves a frame to another print. */
export interface JoinRequest {
  /** The frame. */
  frame: number;
  /** The print; none: a new print of its own. */
  print?: number | null;
}

/** The words of a plan, to keep. */
export interface KeepPlanRequest {
  /** Each field of the plan's request with its text. */
  words: Record<string, string>;
}

/** A value that was not written. */
export interface KeptBack {
  /** What the value can mean, where that is to be chosen. */
  choices: DateChoice[];
  /** The fact. */
  fact: string;
  /** The prints. */
  ids: number[];
  /** Why. */
  says: string;
  /** What stands there, where it was changed in another place meanwhile. */
  theirs: string | null;
  /** The value. */
  value: string;
}

/** The plan's words as they were kept last; none where none were. */
export interface KeptPlan {
  /** The words. */
  words: Record<string, string> | null;
}

/** What is missing, the most harmful first. */
export type Lack = "privacy" | "leftover" | "turn" | "reshoot" | "unfinished" | "pixels" | "alt";

/** A verdict. */
export interface Last {
  do: string | null;
  /** Absent until its pictures are made. */
  frame: number | null;
  label: string | null;
  name: string;
  /** How many prints of its frame were judged so far, where it holds several. */
  of: number;
  picture: string | null;
  print: number | null;
  role: Role;
  sentence: string;
  /** True where nothing on the print says which way is up, and nobody has said it yet. */
  turn_unknown: boolean;
  verdict: Verdict;
}

/** What is left of a sleeve. */
export interface Left {
  minutes: number;
  prints: number;
}

/** How high a print's edges stand above the bed. */
export interface Lift {
  /** The heights as lines to draw. */
  drawing: LiftDrawing;
  /** The same in words. */
  says: string;
}

/** The drawing, in units of its own: a character of its text is six wide. */
export interface LiftDrawing {
  /** The edges that were measured: left, top, right, bottom. */
  edges: EdgeDrawing[];
  /** A mark as long as a millimetre of height: left end, its line, length. */
  mark: [number, number, number];
  /** The print: left, top, width, height. */
  print: [number, number, number, number];
  /** Width and height. */
  size: [number, number];
}

/** How a shadow comes about. */
export type LightHow = "as-shot" | "mirrored" | "cast-anew";

/** The light and how even it is. */
export interface LightPlan {
  /** Beside the print's middle, on the bed. */
  aside_mm: number;
  /** Where it stands in the frame, from right, clockwise. */
  azimuth_deg: number;
  /** The light which that costs against where it stands. */
  cost_stops?: number;
  /** True where the plan chose the distance. */
  distance_chosen: boolean;
  /** The distance that brings it under the aim. */
  distance_for_aim_mm?: number;
  /** From the middle of the print. */
  distance_mm: number;
  /** Its height as an angle. */
  elevation_deg: number;
  /** Allowed. */
  fall_off_asked_stops: number;
  /** Brightest to darkest across the print. */
  fall_off_stops: number;
  /** Above the bed. */
  height_mm: number;
  /** Its face: width and height, or one diameter. */
  source_mm: number[];
  /** The distance that two would need. */
  two_lights_distance_mm?: number;
  /** Fall-off with a second such light opposite. */
  two_lights_fall_off_stops: number;
  /** The same once the picture is upright. */
  upright_azimuth_deg: number;
}

/** A change to the lights that have a name in this project. */
export type LightRequest = { do: "name"; light: string; name: string } | { do: "drop"; name: string };

/** The light that was chosen for a print's shadow. */
export interface LightSeen {
  /** Where it comes from in the upright picture, degrees: 0 right, 90 below. */
  azimuth_deg: number | null;
  /** How high it stands above the bed, degrees. */
  elevation_deg: number | null;
  /** How the shadow comes about. */
  how: LightHow;
  /** Name of the light. */
  name: string | null;
  /** What its face spans as seen from the print, degrees. */
  size_deg: number | null;
}

/** A print that looks like this one. */
export interface Like {
  id: number;
  why: string;
}

/** A line of words. */
export interface LineSeen {
  /** Where its baseline begins: its right end with `from_right`. */
  at: [number, number];
  /** `at` is its right end. */
  from_right: boolean;
  /** In italics. */
  italic: boolean;
  /** Its paragraph runs from right to left. */
  rtl: boolean;
  /** Size of the type. */
  size: number;
  /** The words. */
  text: string;
}

/** Something made from a print. */
export interface Made {
  place: string;
  what: string;
  when: string;
}

/** What is being made. */
export interface Making {
  done: number;
  name: string;
  of: number;
}

/** What a person says of the frame that came last. */
export type Mark = "seen" | "again" | "enough" | "noticed";

/** Marks the frame that came last at the stand. */
export interface MarkRequest {
  /** The mark. */
  mark: Mark;
  /** The frame's file, so that a mark never lands on the frame that came after it; for trouble its number. */
  name: string;
}

/** The rig as a frame shows it. What the frame could not measure is absent. */
export interface Measured {
  /** How far the room's light is below the flash, stops: by the sitting's frame with the flash off and its bare bed. Measured in the background; a `changed` event says when it is known. */
  ambient_below_stops?: number;
  /** Where the light stands in the frame, degrees clockwise from right. */
  azimuth_deg?: number;
  /** Brightest to darkest across the print, stops. */
  fall_off_stops?: number;
  /** The camera's lean about both axes together, degrees. */
  lean_deg?: number;
  /** The frame. */
  name: string;
  /** Pixels per millimetre on the print. */
  px_per_mm: number;
  /** Width of the shadow, mm. */
  shadow_width_mm?: number;
  /** When it was taken, the camera's clock. */
  taken?: string;
}

/** A light that has a name. */
export interface NamedLight {
  /** Where it comes from in the upright picture, degrees: 0 right, 90 below. */
  azimuth_deg: number;
  /** How high it stands above the bed, degrees. */
  elevation_deg: number;
  /** Its name. */
  name: string;
  /** True where a person named it for this project. */
  own: boolean;
  /** What its face spans as seen from the print, degrees. */
  size_deg: number;
}

/** A thing that is missing, of one or several prints. */
export interface NotReady {
  /** Of how many prints. */
  count: number;
  /** What mends it on the command line. */
  do: string;
  /** For too few pixels of a share: the longer side that all of them have pixels for. */
  pixels: number | null;
  /** The prints, the first 200 of them. */
  prints: NotReadyPrint[];
  /** A sentence. */
  says: string;
  /** Which. */
  what: Lack;
}

/** A print of which something is missing. */
export interface NotReadyPrint {
  /** True where that shows its back. */
  back: boolean;
  /** The frame's file. */
  file: string;
  /** The frame that shows it. */
  frame: number | null;
  /** Its name, as `P0004`. */
  name: string;
  /** Its number in the project. */
  print: number | null;
  /** More about it, a sentence; empty where there is none. */
  says: string;
  /** Hash of what made its picture: another one is another picture. */
  stamp: string;
  /** Its title. */
  title: string;
  /** Quarter turns clockwise that a person gave it, 0 to 3. */
  turn: number;
}

/** An empty object. */
export type Nothing = Record<string, never>;

/** Words already used for a fact. */
export interface OffersQuery {
  /** The fact. */
  fact: string;
  /** How the word begins; absent: the most used words. */
  start?: string;
}

/** An earlier export. */
export interface PastHand {
  /** True where it can be updated in place now. */
  again: boolean;
  /** When, UTC. */
  at: string;
  /** How many prints. */
  count: number;
  /** The edit, where that is known. */
  edit: string | null;
  /** What it is. */
  form: string;
  /** Its name, where the project keeps a record of it. */
  name: string | null;
  /** Its folder. */
  place: string;
  /** True where this page can show it. */
  seen: boolean;
  /** True where its files are still where they were written. */
  there: boolean;
  /** False while it is being made, and where that was interrupted. */
  whole: boolean;
}

/** How large a picture to send. */
export interface PictureQuery {
  /** Hash of the picture, so that a browser may keep it: it changes with the picture. */
  v?: string | null;
  /** Width, pixels: 320, 640, 1280 or 2560. */
  w?: number;
}

/** A print's place in its stack. */
export interface Pile {
  /** The stack's number. */
  id: number;
  /** How many prints it has. */
  of: number;
  /** The print's place in it, from 1. */
  place: number;
  /** True where Fallside proposed it and nobody has confirmed it. */
  proposed: boolean;
  /** How many prints of it are hidden under this one; 0 where the stack is open. */
  under: number;
}

/** A print in its place. All lengths in the sheet's unit, from its top left corner. */
export interface PlacedPrint {
  /** The print itself: left, top, width, height. */
  at: [number, number, number, number];
  /** True where its back is shown. */
  back: boolean;
  /** The frame whose mount is shown. */
  frame: number | null;
  /** Its mount, the same way. */
  mount: [number, number, number, number];
  /** Its name, as `P0004`. */
  name: string;
  /** Its number in the project. */
  print: number | null;
  /** Hash of what made its picture. */
  stamp: string;
  /** Its title. */
  title: string;
}

/** What the plan says of one thing. */
export interface PlanPart {
  /** Of what: "Camera". */
  label: string;
  /** Sentences. */
  says: string[];
}

/** A rig to plan. Quantities are texts as a person types them ("62cm", "70mm-macro", "1/200s", "upper-left"); one that is absent or empty is taken as usual. */
export interface PlanRequest {
  /** What the prints are for. */
  aim?: Aim | null;
  /** The room's own light on the bed. */
  ambient?: string | null;
  /** Aperture wanted. */
  aperture?: string | null;
  /** The stand's arm. */
  arm_mass?: string | null;
  /** From the column to the lens's axis. */
  arm_reach?: string | null;
  /** Which backs are photographed too. */
  backs?: Backs | null;
  /** The stand's base along the arm. */
  base?: string | null;
  /** Base and column. */
  base_mass?: string | null;
  /** Length of the board that is shimmed level. */
  board?: string | null;
  /** Camera and lens. */
  camera_mass?: string | null;
  /** Closest focus marked on the lens, from the sensor. */
  closest_focus?: string | null;
  /** Height of the most lifted edge. */
  curl?: string | null;
  /** The light's height over the bed as an angle. */
  elevation?: string | null;
  /** Width of bed wanted in the frame. */
  field?: string | null;
  /** Guide number of the flash. */
  flash_gn?: string | null;
  /** Print format by its generic name. */
  format?: string | null;
  /** Height wanted from sensor to bed. */
  height?: string | null;
  /** ISO wanted. */
  iso?: string | null;
  /** A lamp's light on the bed, to compare with flash. */
  lamp?: string | null;
  /** Focal length; `-macro` for a lens made for close work. */
  lens?: string | null;
  /** Diameter of the lens's front. */
  lens_front?: string | null;
  /** From the middle of the print to the light. */
  light_distance?: string | null;
  /** Where the light stands in the frame. */
  light_from?: string | null;
  /** The farthest that the room lets the light stand. */
  light_reach?: string | null;
  /** Pixels across and down. */
  pixels?: string | null;
  /** Resolution wanted on the print. */
  ppi?: string | null;
  /** Outer size of an original that is no print format. */
  print?: string | null;
  /** Prints in the box. */
  prints?: string | null;
  /** Sensor, as the frame lies. */
  sensor?: string | null;
  /** Exposure time wanted. */
  shutter?: string | null;
  /** The light's face. */
  source?: string | null;
  /** Shortest exposure time with flash. */
  sync?: string | null;
  /** Units that lengths are written in. */
  units?: Units | null;
}

/** A rig as it was planned, and as it was measured last. */
export interface Planned {
  /** The plan; none where a number could not be understood. */
  answer: Answer | null;
  /** What `fallside check` measured last, where its result lies in the project. */
  checked: CheckedRig | null;
  /** Fields that were not understood: the plan takes what is usual for them. */
  fields: FieldTrouble[];
  /** What is planned, in a line: format, size and aim. */
  heading: string;
  /** What the newest front of the current sitting measured. */
  measured: Measured | null;
  /** What the plan says, thing by thing. */
  parts: PlanPart[];
  /** What is wrong with the rig as a whole. */
  trouble: string | null;
}

/** The prints as what they become. */
export interface Preview {
  /** Cards of a deck, where one was asked for. */
  cards: SheetSeen[];
  /** How many there are. */
  of: number;
  /** The edit's prints, in order; empty where no edit is meant. */
  order: number[];
  /** Pages of a book. */
  pages: number;
  /** Sheets to post, prints on a wall, or spreads of a book, in order; the first 400 of them. */
  sheets: SheetSeen[];
  /** Why there is nothing to see. */
  trouble: string | null;
}

/** A print on its sheet. */
export interface Print {
  /** The picture in words. */
  alt: string;
  back: boolean;
  back_frame: number | null;
  back_picture: string | null;
  box: string | null;
  /** The mount, mm. */
  canvas_mm: [number, number] | null;
  edits: string[];
  exposed: string | null;
  facts: Record<string, string>;
  format: string | null;
  /** The front's frame. */
  frame: number | null;
  frames: Frame[];
  history: Done[];
  id: number;
  label: string;
  likenesses: Like[];
  made: Made[];
  /** A hash of the front's picture, for its address; none where there is no picture yet. */
  picture: string | null;
  place: string | null;
  /** The print, mm. */
  size_mm: [number, number] | null;
  sleeve: string | null;
  title: string | null;
  verdict: PrintVerdict | null;
}

/** The print and how it lies. */
export interface PrintPlan {
  /** Height of the most lifted edge planned for. */
  curl_mm: number;
  /** Format by its generic name. */
  format: string;
  /** Outer height, upright. */
  height_mm: number;
  /** Pixels on the print gained over the other way round, as a share. */
  pixels_gained: number;
  /** True where the print lies sideways in the frame. */
  sideways: boolean;
  /** Where the upright print's top points in the frame. */
  top_towards: Direction;
  /** Outer width, upright. */
  width_mm: number;
}

/** The verdict on a print: that of its front. */
export type PrintVerdict = "keep" | "look" | "reshoot";

/** A picture of a book. */
export interface Printed {
  /** Pixels of bare paper that have ink. */
  bare_with_ink: number;
  name: string;
  page: number;
  /** Pixels to the inch on the page. */
  ppi: number;
  /** What that means, where it is few. */
  says: string;
}

/** Prints found. Where stacks are closed, a stack takes one place. */
export interface Prints {
  /** Number of prints in these places. */
  prints: number;
  /** The part asked for. */
  rows: Row[];
  /** What is wrong with the search, if anything. */
  says: string | null;
  /** Number of places. */
  total: number;
}

/** Which prints to list. */
export interface PrintsQuery {
  /** How many places to answer, at most 1000. */
  count?: number;
  /** The first place to answer. */
  from?: number;
  /** `number`, `taken`, `exposed`, `place`, `verdict`, `box`, `format`, or `edit:NAME` for that edit alone, in its own order. */
  order?: string;
  /** The search. */
  q?: string;
  /** Numbers of the stacks that are open, with commas between them; absent: no stack is closed. */
  stacks?: string | null;
}

/** What it means that a print says nothing of who may see it. */
export interface PrivacyRequest {
  /** What it means. */
  unsaid: Unsaid;
}

/** The list. */
export interface Ready {
  /** What is missing; empty where all is ready. */
  items: NotReady[];
  /** How many prints would leave. */
  prints: number;
  /** Names of the private ones that stay at home. */
  private: string[];
}

/** Finishes a frame again with a person's corrections. What is absent stays as it was set before. */
export interface RefinishRequest {
  /** True to take back an outline and a format that were set by hand: they are measured again. */
  as_measured?: boolean;
  /** The format. */
  format?: string | null;
  /** The frame. */
  frame: number;
  /** The light that casts the shadow: `as-shot`, `mirrored`, a name, or `AZ,EL,SIZE` in degrees. */
  light?: string | null;
  /** Corners in frame pixels, clockwise from the upright print's top left. */
  outline?: [[number, number], [number, number], [number, number], [number, number]] | null;
  /** Depth of the shadow: 0 none, 1 as shot, 2 twice as dark. */
  shadow?: number | null;
  /** Quarter turns clockwise from how it was found, 0 to 3. */
  turn?: number | null;
}

/** What finishing a frame again answers. */
export interface Refinished {
  /** What was done. */
  did: string;
  /** The frame as it is now. */
  frame: Frame | null;
  /** What redo would do. */
  redo: string | null;
  /** What undo would undo. */
  undo: string | null;
}

/** Why a request was refused: the body of every answer with a status of 400 or more. */
export interface Refusal {
  /** What to do about it; empty where nothing is to be done. */
  do: string;
  /** What is wrong. */
  says: string;
}

/** What a frame is for. */
export type Role = "front" | "back" | "blank" | "chart" | "ruler" | "counter" | "ambient";

/** Sets what a frame shows. */
export interface RoleRequest {
  /** The frame. */
  frame: number;
  /** What it shows. */
  role: Role;
}

/** A print on the table. */
export interface Row {
  /** The picture in words. */
  alt: string;
  back: boolean;
  back_frame: number | null;
  back_picture: string | null;
  box: string | null;
  /** The mount, mm. */
  canvas_mm: [number, number] | null;
  edits: string[];
  exposed: string | null;
  format: string | null;
  /** The front's frame. */
  frame: number | null;
  /** How many frames it has. */
  frames: number;
  id: number;
  label: string;
  /** A hash of the front's picture, for its address; none where there is no picture yet. */
  picture: string | null;
  place: string | null;
  /** The print, mm. */
  size_mm: [number, number] | null;
  sleeve: string | null;
  /** Its stack. */
  stack: Pile | null;
  title: string | null;
  verdict: PrintVerdict | null;
}

/** A search to keep by a name. */
export interface SaveRequest {
  /** The search; empty: it is kept no longer. */
  line: string;
  /** Its name. */
  name: string;
}

/** A search kept by name. */
export interface SavedSearch {
  /** The search. */
  line: string;
  /** Its name. */
  name: string;
}

/** How much a finding matters. */
export type Severity = "note" | "look" | "reshoot";

/** The shadow. */
export interface ShadowPlan {
  /** Where it falls in the frame, from right, clockwise. */
  azimuth_deg: number;
  /** Darkness where the whole light is hidden. */
  depth: number;
  /** Where the last of it ends beside that edge. */
  end_mm: number;
  /** Width beside a flat print 0.5 mm thick: where half the light is seen. */
  flat_width_mm: number;
  /** Width of its soft edge there. */
  softness_mm: number;
  /** Where its darkest part ends beside that edge. */
  umbra_mm: number;
  /** The same once the picture is upright. */
  upright_azimuth_deg: number;
  /** Beside the most lifted edge: where half the light is seen. */
  width_mm: number;
}

/** A share that was made. */
export interface Shared {
  /** What is seen, for who cannot see it. */
  alt: string;
  /** True where nobody has written that text. */
  alt_is_made: boolean;
  /** Bytes of the file. */
  bytes: number;
  /** Its file in the folder. */
  file: string;
  /** Words that went with it. */
  kept: string[];
  /** Words that stayed, and why. */
  left_out: [string, string][];
  /** Sentences about anything otherwise than asked. */
  notes: string[];
  /** The print. */
  print: string;
  /** Left, top, right and bottom of the print, pixels. */
  print_px: [number, number, number, number];
  /** Pixels for each millimetre of the print. */
  px_per_mm: number;
  /** JPEG quality, 1 to 100. */
  quality: number;
  /** How its shadow came about. */
  shadow: string;
  /** Columns and rows. */
  size_px: [number, number];
}

/** Prints whose words are wanted together. */
export interface SharedRequest {
  /** The prints. */
  ids: number[];
}

/** One sheet. */
export interface SheetSeen {
  /** Its words. */
  lines: LineSeen[];
  /** What it is, where it holds no prints. */
  name: string | null;
  /** Numbers of a book's pages, from 1; of a spread the left one first. Page 1 stands at the right. */
  pages: number[];
  /** Its prints. */
  prints: PlacedPrint[];
  /** Width and height: mm, or pixels of a picture to post. */
  size: [number, number];
}

/** A change to stacks. */
export type StackRequest = { do: "put"; ids: number[] } | { do: "lift"; ids: number[] } | { do: "propose" };

/** The stand as it is. */
export interface Stand {
  /** What went wrong. */
  amiss: Amiss | null;
  /** The box. */
  box: string | null;
  /** Number of prints photographed. */
  count: number;
  /** The folder watched. */
  folder: string | null;
  /** The verdict that came last. */
  last: Last | null;
  /** What is left of the sleeve. */
  left: Left | null;
  /** A sentence where a back is still to be photographed. */
  owed: string | null;
  /** Seconds from print to print, the median of the last. */
  pace_s: number | null;
  /** What was watched last, also before the desk was opened; none on the paired device. */
  remembered: Watched | null;
  /** Prints to shoot again. */
  reshoot: Again[];
  /** The frame whose verdict somebody marked as seen, here or on the paired device. */
  seen: string | null;
  /** The sleeve. */
  sleeve: string | null;
  /** True where verdicts are heard as sounds. */
  sound: boolean;
}

/** The stand. */
export interface StandPlan {
  /** From column to lens axis. */
  arm_reach_mm: number;
  /** The reach that gives it. */
  arm_reach_most_mm?: number;
  /** The base's mass that gives it. */
  base_kg_wanted: number;
  /** The base along the arm. */
  base_mm: number;
  /** Camera and lens. */
  camera_kg: number;
  /** The base's moment over that of what hangs out. */
  margin?: number;
  /** Asked for. */
  margin_asked: number;
  /** The level pull at the camera that begins to tip it. */
  pull_n?: number;
}

/** A place to begin with. */
export interface Start {
  /** What it is. */
  kind: StartKind;
  /** Its name. */
  name: string;
  /** Its whole path. */
  path: string;
}

/** What a place to begin with is. */
export type StartKind = "home" | "disk" | "card" | "before";

/** The project as a whole. */
export interface State {
  /** Boxes with their sleeves. */
  boxes: BoxOf[];
  /** Edits, in order. */
  edits: Edit[];
  /** What can be said of a print. */
  facts: Fact[];
  /** Fields of the search line. */
  fields: string[];
  /** Every format, with how many prints have it. */
  formats: Count[];
  /** Lights that a shadow can be cast by, the project's own first. */
  lights: NamedLight[];
  /** How many prints. */
  prints: number;
  /** Its folder's name. */
  project: string;
  /** True where nothing can be changed. */
  reads_only: boolean;
  /** What redo would do. */
  redo: string | null;
  /** Searches kept by name. */
  searches: SavedSearch[];
  /** The last imports that can be undone as a whole, the newest first. */
  takes: TakenIn[];
  /** What undo would undo. */
  undo: string | null;
  /** What it means that a print says nothing of who may see it; none until somebody has decided. */
  unsaid: Unsaid | null;
  /** How many prints say nothing of it. */
  unsaid_prints: number;
  /** How many of each verdict. */
  verdicts: Verdicts;
  /** Why. */
  why: string | null;
}

/** A folder of frames to take in. */
export interface TakeRequest {
  /** The box that the prints come from. */
  box?: string | null;
  /** True where the originals are copied into the project. */
  copy?: boolean;
  /** The folder, by its whole path. */
  folder: string;
  /** Their sleeve. */
  sleeve?: string | null;
}

/** Something taken for granted. */
export interface Taken {
  /** As what. */
  value: string;
  /** What. */
  what: string;
}

/** Frames that were imported together. */
export interface TakenIn {
  /** When it began, UTC. */
  at: string;
  /** How many frames it entered. */
  frames: number;
  /** Where the frames came from. */
  from: string;
  /** Its name, to undo it by. */
  take: string;
}

/** What several prints say of a fact. */
export interface Together {
  /** What all of them say: items of a list, or one text. */
  all: string[];
  /** How many say nothing. */
  empty: number;
  /** The fact. */
  fact: string;
  /** What some of them say, the most used first. */
  some: Count[];
}

/** One concern in words. */
export interface Told {
  /** True where a wish could not be kept; false where something wants minding. */
  breaks_a_wish: boolean;
  /** Which. */
  code: string;
  /** What to do. */
  do: string;
  /** What is so. */
  says: string;
}

/** Undoes the last thing done in the room that asks. */
export interface UndoRequest {
  /** An import to undo as a whole instead, by its name. */
  take?: string | null;
}

/** In which units lengths are written. */
export type Units = "metric" | "inches" | "both";

/** Something that could not be read. */
export interface Unread {
  /** The file, from the folder on; none where it is about the whole. */
  file: string | null;
  /** Why. */
  says: string;
}

/** Who may see a print. */
export type Unsaid = "open" | "ask" | "private";

/** The word on a frame: the first three judge a print, the last two say what a frame without a print is worth to the others. */
export type Verdict = "keep" | "look" | "reshoot" | "used" | "unusable";

/** How many prints have each verdict. */
export interface Verdicts {
  keep: number;
  look: number;
  reshoot: number;
}

/** What the stand watches. */
export interface WatchRequest {
  /** True where every print's back is photographed too. */
  backs?: boolean;
  /** The box that the prints come from. */
  box?: string | null;
  /** The folder that the camera's pictures arrive in; none: stop watching. */
  folder?: string | null;
  /** How many prints it holds, where somebody counted. */
  of?: number | null;
  /** True where each frame is taken for one print, whatever else it shows. */
  one?: boolean;
  /** Their sleeve. */
  sleeve?: string | null;
  /** True where verdicts are heard as sounds. */
  sound?: boolean;
}

/** What was watched last at the stand, to be offered again. */
export interface Watched {
  /** True where every back was photographed too. */
  backs: boolean;
  /** The box. */
  box: string | null;
  /** The folder. */
  folder: string;
  /** How many prints it holds. */
  of: number | null;
  /** True where each frame was taken for one print. */
  one: boolean;
  /** The sleeve. */
  sleeve: string | null;
}

/** One way to take a print. */
export interface WayPlan {
  /** Light on the print. */
  dose_lux_s: number;
  /** `flash` or `lamp`. */
  light: string;
  /** Pixels per inch recorded. */
  ppi: number;
  /** How far the room's light lies under this one. */
  room_below_stops?: number;
  /** First exposure to last. */
  seconds: number;
  /** Exposures per picture. */
  shots: number;
  /** What lens and curl leave of it. */
  useful_ppi: number;
  /** True where every pixel sees every colour. */
  whole_colour: boolean;
}

// Paths and what they carry.

export interface Gets {
  /** The project as a whole. */
  "/api/desk": State;
  /** Prints that a search finds. */
  [path: `/api/prints?${string}`]: Prints;
  /** One print on its sheet. */
  [path: `/api/print/${number}`]: Print;
  /** Words already used for a fact, the most used first. */
  [path: `/api/offers?${string}`]: string[];
  /** What a date means as it is typed. */
  [path: `/api/date?${string}`]: DateRead;
  /** Folders of this machine, each with how many frames it holds. */
  [path: `/api/folders?${string}`]: Folders;
  /** The import that is running, and how the last one ended. */
  "/api/take": Imports;
  /** The stand. */
  "/api/stand": Stand;
  /** Access to the stand from another device. */
  "/api/guest": Access;
  /** The plan's words as they were kept last. */
  "/api/plan/words": KeptPlan;
  /** The export that is being made, and earlier ones. */
  "/api/hand": Hands;
  /** One export. */
  [path: `/api/hand/${string}`]: HandedOn;
}

export interface Posts {
  /** What several prints say, together; changes nothing. */
  "/api/shared": { asks: SharedRequest; answers: Together[] };
  /** Writes facts of prints; what cannot be written is told. */
  "/api/describe": { asks: DescribeRequest; answers: Described };
  /** Keeps a search by a name, or drops it. */
  "/api/search": { asks: SaveRequest; answers: Did };
  /** Decides what it means that a print says nothing of who may see it. */
  "/api/privacy": { asks: PrivacyRequest; answers: Did };
  /** Changes an edit. */
  "/api/edit": { asks: EditRequest; answers: Did };
  /** Changes stacks. */
  "/api/stack": { asks: StackRequest; answers: Did };
  /** Moves a frame to another print, or to a new one. */
  "/api/join": { asks: JoinRequest; answers: Did };
  /** Chooses the front of a print. */
  "/api/front": { asks: FrontRequest; answers: Did };
  /** Sets what a frame shows. */
  "/api/role": { asks: RoleRequest; answers: Did };
  /** Finishes a frame again with a person's corrections. */
  "/api/refinish": { asks: RefinishRequest; answers: Refinished };
  /** Names a light of the project, or deletes a name. */
  "/api/light": { asks: LightRequest; answers: Did };
  /** Undoes the last change of a room, or an import as a whole. */
  "/api/undo": { asks: UndoRequest; answers: Did };
  /** Repeats the change of a room that was undone last. */
  "/api/redo": { asks: Nothing; answers: Did };
  /** Takes a folder of frames in, in the background; progress comes as events. */
  "/api/take": { asks: TakeRequest; answers: Did };
  /** Stops an import: frames in work are still entered, no other is begun. */
  "/api/take/stop": { asks: Nothing; answers: Did };
  /** Watches a folder, or stops. */
  "/api/stand": { asks: WatchRequest; answers: Did };
  /** Marks the frame that came last at the stand. */
  "/api/mark": { asks: MarkRequest; answers: Did };
  /** Opens or closes that access. */
  "/api/guest": { asks: AccessRequest; answers: Access };
  /** Plans a rig, and says what the newest front measured. */
  "/api/plan": { asks: PlanRequest; answers: Planned };
  /** Keeps the plan's words in the project. */
  "/api/plan/words": { asks: KeepPlanRequest; answers: KeptPlan };
  /** Starts an export in the background; progress comes as events. */
  "/api/hand": { asks: ExportRequest; answers: Did };
  /** What is not ready to be handed on so; changes nothing. */
  "/api/ready": { asks: ExportRequest; answers: Ready };
  /** The prints as what they would become; changes nothing. */
  "/api/preview": { asks: ExportRequest; answers: Preview };
  /** Updates a site or an archive in place: only what changed is made. */
  [path: `/api/hand/${string}/again`]: { asks: Nothing; answers: Did };
  /** Reads an archive again, and its second copy. */
  [path: `/api/hand/${string}/check`]: { asks: CheckRequest; answers: Did };
}

export interface DeviceGets {
  /** The stand, without the folder's path. */
  "/api/stand": Stand;
}

export interface DevicePosts {
  /** Pairs the device. */
  "/api/code": { asks: CodeRequest; answers: DeviceDid };
  /** Marks the frame that came last. */
  "/api/mark": { asks: MarkRequest; answers: DeviceDid };
}
