// What the invented desk says before an export: what is not ready, and the prints as what they would become.
import { FORMATS } from "./data.mjs";

const label = (p) => `P${String(p.id).padStart(4, "0")}`;
const privacy = (desk, p) => p.facts.privacy ?? desk.unsaid ?? "";
const many = (n, one, more) => `${n} ${n === 1 ? one : more}`;

function chosen(desk, wish) {
  const ids = desk.edits.get(wish.edit)?.ids ?? desk.prints.map((p) => p.id), prints = ids.map((id) => desk.by.get(id));
  return { ids, prints: wish.form === "pack" ? prints : prints.filter((p) => privacy(desk, p) !== "private") };
}

export function ready(desk, wish) {
  const { ids, prints } = chosen(desk, wish), items = [];
  const one = (p, says = "") => { const f = desk.front(p); return { print: p.id, name: label(p), title: p.facts.title ?? "", frame: f.id, back: false, file: f.name, turn: f.turn, stamp: f.picture, says }; };
  const add = (what, of, says, remedy, more = {}, each = () => "") => of.length && items.push({ what, count: of.length, says, do: remedy, pixels: null, prints: of.slice(0, 200).map((p) => one(p, each(p))), ...more });
  const unsaid = prints.filter((p) => !privacy(desk, p)), turn = prints.filter((p) => !desk.front(p).turn_known), again = prints.filter((p) => desk.front(p).verdict === "reshoot");
  if (wish.form !== "pack") add("privacy", unsaid, `${many(unsaid.length, "print says", "prints say")} nothing of who may see them, so names and places stay behind.`, "Decide once for this project: fallside privacy open, ask or private.");
  const gone = desk.leftovers ?? [];
  if (wish.form !== "pack" && gone.length) items.push({ what: "leftover", count: gone.length, says: `${many(gone.length, "print", "prints")} of an earlier export are no longer to be shown, and the files are still there.`, do: "Delete the files named.", pixels: null, prints: gone.map((id) => ({ ...one(desk.by.get(id)), frame: null, file: "", stamp: "", says: `private now; ${label(desk.by.get(id))}-4x5.jpg in /archive/handed-on/2026-10-02-share-tight.` })) });
  add("turn", turn, `${many(turn.length, "print", "prints")} may lie upside down: nothing there says which way is up.`, "Say it of each: fallside mend FRAME --turn 0.");
  add("reshoot", again, `${many(again.length, "print is", "prints are")} to be photographed again.`, "Photograph it again.", {}, (p) => desk.front(p).findings[0]?.says ?? "");
  const long = Number.parseInt(wish.pixels ?? "", 10);
  if (wish.form === "share" && long > 4000) add("pixels", prints, `${many(prints.length, "print has", "prints have")} too few pixels for a sheet of that size.`, "Ask for fewer, with --pixels 4000.", { pixels: 4000 }, () => `Enough for ${Math.round((100 * 4000) / long)} % of that size.`);
  const silent = prints.filter((p) => !p.facts.alt);
  if (wish.form !== "book") add("alt", silent, `Nobody has written what is seen on ${many(silent.length, "print", "prints")}: people who cannot see get no alt text.`, "Write it once, and it is used everywhere.");
  return { prints: prints.length, private: ids.map((id) => desk.by.get(id)).filter((p) => !prints.includes(p)).map(label), items };
}

/** Round a print, mm, as its mount has it. */
const RIM = 9;

export function preview(desk, wish) {
  const { ids, prints } = chosen(desk, wish), order = wish.edit ? ids : [], none = { sheets: [], of: 0, pages: 0, cards: [], order, trouble: null };
  const placed = (p, x, y, k = 1) => {
    const f = desk.front(p), [w, h] = FORMATS[p.format].size.map((mm) => mm * k), rim = RIM * k;
    return { print: p.id, name: label(p), title: p.facts.title ?? "", frame: f.id, stamp: f.picture, back: false, at: [x, y, w, h], mount: [x - rim, y - rim, w + 2 * rim, h + 2 * rim] };
  };
  const sheet = (size, on, lines = [], pages = [], name = null) => ({ size, pages, name, prints: on, lines });
  const told = (sheets, more = {}) => ({ ...none, sheets: sheets.slice(0, 400), of: sheets.length, ...more });
  if (wish.form === "share") {
    const found = /^([\d.]+):([\d.]+)$/.exec(wish.shape);
    if (!found) return { ...none, trouble: `“${wish.shape}”: give width to height, such as 4:5.` };
    const long = Number.parseInt(wish.pixels, 10) || 2160, ratio = found[1] / found[2], [w, h] = ratio >= 1 ? [long, long / ratio] : [long * ratio, long];
    return told(prints.map((p) => {
      const [pw, ph] = FORMATS[p.format].size, m = 0.88, k = Math.min((m * w) / pw, (m * h) / ph);
      return sheet([w, h], [placed(p, (w - pw * k) / 2, (h - ph * k) / 2, k)]);
    }));
  }
  if (wish.form !== "book") return told(prints.map((p) => sheet(FORMATS[p.format].size.map((mm) => mm + 2 * RIM), [placed(p, RIM, RIM)], [p.facts.title, p.facts.date].filter(Boolean).map((text, i) => ({ text, at: [0, i], size: 3.35, italic: i > 0, from_right: false, rtl: false })))));
  const [w, h] = wish.trim_mm;
  if (w < 110) return { ...none, trouble: `The page is too small for ${label(prints[0])}: with shadow and caption it needs 102 by 121 mm.` };
  const pages = [{ name: "Title", on: [], lines: wish.title ? [{ text: wish.title, at: [w / 2 - 30, h * 0.38], size: 9.2, italic: false, from_right: false, rtl: false }] : [] }, { on: [], lines: [] }];
  const add = (some) => {
    const right = pages.length % 2 === 0, each = w / some.length;
    pages.push({ lines: [], on: some.map((p, i) => { const [pw, ph] = FORMATS[p.format].size, k = Math.min(1, (each - 8) / (pw + 4)); return placed(p, (right ? w : 0) + each * i + (each - pw * k) / 2, (h - ph * k) * 0.46, k); }) });
  };
  const per = { "row=3": 3, "grid=2x2": 2 }[wish.layout[0]] ?? 1;
  for (let i = 0; i < prints.length; i += per) {
    if (["single", "back"].includes(wish.layout[0]) && i) pages.push({ on: [], lines: [] });
    add(prints.slice(i, i + per));
  }
  while (pages.length % 2) pages.push({ on: [], lines: [] });
  pages.push({ name: "List of plates", on: [], lines: [] }, { name: "Colophon", on: [], lines: [] });
  while (pages.length % 4) pages.push({ on: [], lines: [] });
  const spreads = [];
  pages.forEach((page, i) => {
    const right = i % 2 === 0;
    if (!right || i === 0) spreads.push(sheet([2 * w, h], []));
    const at = spreads.at(-1);
    at.pages.push(i + 1);
    at.name ??= page.name ?? null;
    at.prints.push(...page.on);
    at.lines.push(...page.lines.map((l) => ({ ...l, at: [l.at[0] + (right ? w : 0), l.at[1]] })));
  });
  const cards = wish.deck ? Array.from({ length: Math.ceil(prints.length / 4) }, (_, n) => sheet([210, 297], prints.slice(4 * n, 4 * n + 4).map((p, i) => placed(p, 8 + (i % 2) * 98, 8 + Math.floor(i / 2) * 130, 0.9)))) : [];
  return told(spreads, { pages: pages.length, cards });
}
