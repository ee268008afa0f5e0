// An invented project: prints, frames, words and edits, the same each time.
import { random } from "./draw.mjs";

/** Sizes as in the table of formats: outer, window, and the border above the window, mm. */
export const FORMATS = {
  "square-integral": { size: [88, 107], window: [79, 79], top: 5.5 },
  "wide-integral": { size: [108, 86], window: [99, 62], top: 6 },
  "mini-integral": { size: [54, 86], window: [46, 62], top: 6 },
  "square-mini": { size: [72, 86], window: [62, 62], top: 6 },
  "peel-apart": { size: [83, 108], window: [73, 95], top: 6.5 },
};
const NAMES = Object.keys(FORMATS);
const PLACES = ["Harbour", "Hill road", "Old bakery", "Ferry landing", "Orchard", "North pier", "Mill pond", "Allotments", "Station yard", "Kitchen"];
const TITLES = ["Boats before rain", "The long table", "Morning, third floor", "Two chairs", "Low tide", "After the parade", "Ladder and wall", "The last ferry", "Pears", "Snow on the tracks", "Window, west side", "Somebody's bicycle"];
const PEOPLE = ["Ada", "Jonas", "Mirela", "Old Tom", "Pia", "Ruben"];
export const FACTS = [
  { word: "title", label: "Title", kind: "text", choices: [] },
  { word: "alt", label: "Alt text", kind: "text", choices: [] },
  { word: "place", label: "Place", kind: "text", choices: [] },
  { word: "date", label: "Date", kind: "date", choices: [] },
  { word: "dated", label: "Date as written", kind: "text", choices: [] },
  { word: "people", label: "People", kind: "list", choices: [] },
  { word: "subject", label: "Subject", kind: "list", choices: [] },
  { word: "inscription", label: "Inscription", kind: "text", choices: [] },
  { word: "film", label: "Film", kind: "text", choices: [] },
  { word: "batch", label: "Batch code", kind: "text", choices: [] },
  { word: "condition", label: "Condition", kind: "text", choices: [] },
  { word: "rights", label: "Rights", kind: "text", choices: [] },
  { word: "privacy", label: "Who may see it", kind: "choice", choices: ["open", "ask", "private"] },
];
export const FIELDS = [...FACTS.map((f) => f.word), "id", "box", "sleeve", "format", "verdict", "edit", "stack", "number", "is", "colour", "rig", "saved"];

/** Lights that every project has. */
export const LIGHTS = ["right", "lower-right", "lower", "lower-left", "left", "upper-left", "upper", "upper-right"]
  .map((name, i) => ({ name, azimuth_deg: 45 * i, elevation_deg: 45, size_deg: 12, own: false }));
export const AS_SHOT = { how: "as-shot", name: null, azimuth_deg: null, elevation_deg: null, size_deg: null };

/** An invented lift: the upper left corner stands up. */
function lift(w, h, r) {
  const scale = 130 / Math.max(w, h), x = 40, y = 40, width = w * scale, height = h * scale, high = 1 + r(), tenth = (v) => Math.round(v * 10) / 10;
  const sides = [[0, height], [1, width], [2, height], [3, width]].map(([k, length]) => {
    const heights = [0, 1, 2, 3, 4, 5, 6].map((i) => ([0, 1].includes(k) ? 0.4 + high * ((6 - i) / 6) ** 2 : 0.4 + 0.05 * i));
    const at = (i, mm) => [[x - 12 * mm, y + (length * i) / 6], [x + (length * i) / 6, y - 12 * mm], [x + width + 12 * mm, y + (length * i) / 6], [x + (length * i) / 6, y + height + 12 * mm]][k].map(tenth);
    const along = (off) => heights.map((mm, i) => at(i, Math.max(0, mm + off)));
    const [place, anchor] = [[[x + 6, y + 0.42 * height], "start"], [[x + width / 2, y + 14], "middle"], [[x + width - 6, y + 0.62 * height], "end"], [[x + width / 2, y + height - 6], "middle"]][k];
    return { seen: k > 1, line: along(0), band: [...along(0.15), ...along(-0.15).reverse()], at: place.map(tenth), anchor, label: `${Math.max(...heights).toFixed(1)} ± 0.1 mm` };
  });
  const says = "Height of the print's edges above the paper: left 0.4 to 1.9 mm ± 0.1 mm, from the sheet's form; top 0.4 to 1.9 mm ± 0.1 mm, from the sheet's form; right 0.4 to 0.7 mm ± 0.1 mm, from its shadow; bottom 0.4 to 0.7 mm ± 0.1 mm, from its shadow.";
  const size = [width + 80, height + 80].map(tenth);
  return { drawing: { size, print: [x, y, tenth(width), tenth(height)], edges: sides, mark: [4, tenth(size[1] - 8), 12] }, says };
}

const FINDINGS = {
  look: [
    { code: "find.unsure", severity: "look", says: "The outline is 71 % sure: the left border is as white as the bed.", do: "Drag the left corners to the print's edge.", value: 0.71, limit: 0.9, unit: "share" },
    { code: "light.fall-off", severity: "note", says: "The light falls off by 0.31 stop from upper left to lower right.", do: "Move the flash from 60 cm to about 75 cm.", value: 0.31, limit: 0.25, unit: "stops" },
  ],
  reshoot: [
    { code: "veil.window", severity: "reshoot", says: "The window mirrors the ceiling over a tenth of the picture.", do: "Lower the card to the lens, or move the print 3 cm to the right.", value: 0.1, limit: 0.01, unit: "share" },
  ],
  keep: [],
};

function frameOf(id, name, role, format, verdict, seed, more = {}) {
  const { size: [w, h] } = FORMATS[format], r = random(seed + 31), size_px = [6000, 4000];
  const px_per_mm = Number((4000 / (h + 26)).toFixed(2)), turned = (r() - 0.5) * 0.05, at = [3000 + (r() - 0.5) * 240, 2000 + (r() - 0.5) * 80];
  const c = Math.cos(turned), s = Math.sin(turned), k = px_per_mm;
  const outline = [[-w, -h], [w, -h], [w, h], [-w, h]].map(([x, y]) => [at[0] + (k * (c * x - s * y)) / 2, at[1] + (k * (s * x + c * y)) / 2].map((v) => Number(v.toFixed(1))));
  return {
    id, name, part: [1, 1], file: name, role, verdict, chosen: false, why: null, taken: "2026-11-21T19:12:00Z", findings: FINDINGS[verdict], outline, size_px,
    canvas_px: [(w + 18) * k, (h + 18) * k].map(Math.round), print_px: [[9, 9], [9 + w, 9], [9 + w, 9 + h], [9, 9 + h]].map((p) => p.map((v) => v * k)),
    px_per_mm, picture: `s${seed}`, format, confidence: verdict === "look" ? 0.71 : 0.98, turn_known: format !== "peel-apart" || id % 3 > 0, shadow: 1, turn: 0,
    light: AS_SHOT, cast: "as shot", cast_why: null, lift: lift(w, h, r),
    at, turned, seed, ...more,
  };
}

/** A project of `n` prints. */
export function project(n) {
  const prints = [], frames = new Map();
  let next = 1;
  for (let id = 1; id <= n; id++) {
    const r = random(id * 17 + 3);
    r(); r(); r();
    const run = Math.floor((id - 1) / 26), format = run % 4 === 0 ? NAMES[run % 5 === 0 ? 0 : 4] : NAMES[Math.floor(r() ** 2.2 * NAMES.length)];
    const v = r(), verdict = v < 0.84 ? "keep" : v < 0.94 ? "look" : "reshoot", seed = id % 61;
    const own = [], add = (role, more) => {
      const frame = frameOf(next, `IMG_${String(1000 + next)}.JPG`, role, format, verdict, role === "back" ? seed + 500 : seed, more);
      frames.set(next++, frame);
      own.push(frame.id);
    };
    add("front", { chosen: true, why: "the only front" });
    if (r() < 0.4) add("back");
    if (r() < 0.05) add("front", { chosen: false, why: "less sharp: 2.1 px against 1.4 px", taken: "2026-11-21T19:11:20Z" });
    const facts = {};
    if (r() < 0.8) facts.place = PLACES[Math.floor(r() * PLACES.length)];
    if (r() < 0.45) facts.title = TITLES[Math.floor(r() * TITLES.length)];
    if (r() < 0.7) facts.date = `${2004 + Math.floor(r() * 14)}${r() < 0.5 ? `-0${1 + Math.floor(r() * 9)}` : ""}${r() < 0.2 ? "?" : ""}`;
    if (r() < 0.3) facts.people = PEOPLE[Math.floor(r() * PEOPLE.length)];
    prints.push({ id, label: String(id), format, box: `Shoebox ${1 + Math.floor(id / 900)}`, sleeve: String(1 + Math.floor((id % 900) / 36)), facts, frames: own, history: [{ when: "2026-11-21T19:12:05Z", says: `Taken in from IMG_${1000 + own[0]}.JPG.` }] });
  }
  return { name: "Instant archive", prints, frames, edits: new Map(), next };
}
