// Invented exports: ready a little later, their files drawn when they are asked for.
import { FORMATS } from "./data.mjs";
import { mount } from "./draw.mjs";

const NAMES = { share: "pictures", gallery: "a website", book: "a book", pack: "an archive" };
const svg = (w, h, inside) => `<svg xmlns="http://www.w3.org/2000/svg" width="${w}" height="${h}" viewBox="0 0 ${w} ${h}">${inside}</svg>`;

const prints = (it) => it.prints.map((p) => `${p.label}.jpg (print, ${p.format})\n  original  originals/${p.label}.jpg\n`).join("\n");

export class Handing {
  constructor(desk) {
    Object.assign(this, { desk, made: new Map(), making: null, ended: null });
  }

  hands() {
    const row = ({ name, again, at, form, edit, count, place }) => ({ name, seen: true, again, there: true, whole: true, at, form, edit, count, place });
    const before = [
      { name: null, seen: false, again: false, there: true, whole: true, at: "2026-10-04T09:12:00Z", form: "pack", edit: null, count: 212, place: "/media/archive-2026" },
      { name: "2026-10-02-gallery-tight", seen: false, again: !this.making, there: true, whole: false, at: "2026-10-02T18:40:00Z", form: "gallery", edit: "tight", count: 0, place: "/archive/handed-on/2026-10-02-gallery-tight" },
    ];
    return { making: this.making, ended: this.ended, past: [...[...this.made.values()].reverse().map(row), ...before.filter((b) => !this.made.has(b.name))] };
  }

  /** Makes one again in its place; the unfinished one becomes whole. */
  again(name) {
    const { form = "gallery", edit = "tight", title = "Low water", place } = this.made.get(name) ?? {};
    return this.begin({ form, edit, title, ...(form === "pack" && { place }) }, name);
  }

  /** Reads an archive again. */
  check(name, { copy }) {
    const it = this.made.get(name), says = `an archive of ${it.edit ?? "all prints"}`;
    setTimeout(() => {
      const good = [it.place, ...(copy ? [copy] : [])].map((bag) => `${bag}: good. ${8 * it.count} files read, packed 2026-11-26, last found good 2026-11-26.`);
      it.checked = { says: [...good, "Read on 2026-11-26."], problems: [] };
      this.ended = { name, says: `A${says.slice(1)}: ${good[0]}`, do: null };
      this.desk.tell({ kind: "handed", ...this.ended });
    }, 300);
    return { did: `Checking ${says}`, ...this.desk.words() };
  }

  begin(wish, name) {
    if (this.making) throw Object.assign(new Error(), { status: 409, says: `${this.making.name}: wait until it is finished.`, do: "" });
    const ids = this.desk.edits.get(wish.edit)?.ids, prints = ids ? ids.map((id) => this.desk.by.get(id)) : this.desk.prints.slice(0, 12);
    const of = prints.length, says = `${NAMES[wish.form]} of ${wish.edit ?? "all prints"}`;
    Object.assign(this, { making: { name: `Exporting ${says}`, done: 0, of: 0 }, ended: null });
    setTimeout(() => this.desk.tell({ kind: "working", name: `Exporting ${says}`, done: 1, of }), 40);
    setTimeout(() => {
      this.making = null;
      if (wish.printer) this.ended = { name: null, says: `${wish.printer} is a profile of RGB, not of a press.`, do: "Ask the printer for the profile of press and paper." };
      else this.ended = { name: this.put(wish, prints, name), says: `${says}: ${name ? "nothing has changed" : `${of} prints`}.`, do: null };
      this.desk.tell({ kind: "handed", ...this.ended });
    }, 400);
    return { did: `Exporting ${says}`, ...this.desk.words() };
  }

  put(wish, prints, name = `2026-11-26-${wish.form}-${this.made.size + 1}`) {
    const again = ["gallery", "pack"].includes(wish.form), at = new Date(Date.UTC(2026, 10, 26, 13, this.made.size)).toISOString();
    const label = (p) => `P${String(p.id).padStart(4, "0")}`;
    const shares = prints.map((p, i) => ({
      print: label(p), file: `${label(p)}-4x5.png`, size_px: [1728, 2160], px_per_mm: 16.2, print_px: [160, 190, 1568, 1902], quality: 92, shadow: wish.light ? `cast anew (${this.desk.lightSays(this.desk.lightOf(wish.light))}; expected error 4.1 %)` : "as shot", bytes: 512_000, alt: i % 2 ? `Instant print ${label(p)}, square.` : "Two boats lie in the mud at low water.",
      alt_is_made: i % 2 === 1, kept: ["title", "date", "film"], left_out: i % 2 ? [["people", "ask first"], ["note", "not allowed"]] : [], notes: [],
    }));
    const pages = 2 * prints.length + 2, pictures = prints.map((p, i) => ({ name: label(p), page: 2 * i + 3, ppi: i === 1 ? 212 : 400, says: i === 1 ? "printers ask for 300" : "", bare_with_ink: 0 }));
    const usual = {
      share: { kilobytes: null, one_scale: false, light: null, asked: false }, gallery: { address: "", backs: false, light: null, newsletter: null, asked: false },
      book: { author: "", printer: null, first_dot: null, light: null, proof: false, dummy: false, deck: false }, pack: {},
    }[wish.form];
    const common = { name, place: `/archive/handed-on/${name}`, again, at, schema: "fallside.hand-off/1", whole: true, edit: null, ...usual, ...wish, count: prints.length, private: [], shares: [], book: null, alt_missing: [], difference: [] };
    const more = {
      share: { shares, says: [`${prints.length} pictures made.`], problems: [], alt_missing: shares.filter((s) => s.alt_is_made).map((s) => s.print), private: ["P0099"], files: ["alt-text.txt"],
        difference: ["Kept: title of 6, date of 4.", "Left out until somebody is asked: people of P0002.", "Never included: camera, lens, exposure, digitisation date, the original's name and checksum."] },
      gallery: { says: [`${prints.length} prints; ${prints.length} pictures made.`], problems: [], files: ["index.html"] },
      book: { says: [`${prints.length} prints, ${pages} pages of 240 by 240 mm.`], problems: ["P0002: 212 pixels to the inch on the page, and printers ask for 300."], files: ["book.pdf", "book.flat-plan.svg"],
        book: { spreads: Array.from({ length: pages / 2 + 1 }, (_, i) => `book.spread-${i + 1}.svg`), plan: "book.flat-plan.svg", places: Array.from({ length: pages / 2 + 1 }, (_, i) => [0.02 + (i % 6) * 0.163, 0.1 + Math.floor(i / 6) * 0.3, 0.15, 0.24]), pages, trim_mm: [240, 240], condition: null, paper_white: true, pictures } },
      pack: { says: [`${8 * prints.length} files, 1.20 GB. Read again afterwards and found good.`, "Check it once a year, and its second copy on another disk with it."], problems: [], files: ["READ-ME-FIRST.txt", "prints.csv", "manifest-sha512.txt"] },
    }[wish.form];
    this.made.set(name, { ...common, ...more, prints });
    return name;
  }

  one(name) {
    const { prints: _, ...told } = this.made.get(name) ?? {};
    if (!told.name) throw Object.assign(new Error(), { status: 404, says: "There is no such export here.", do: "" });
    return told;
  }

  /** A file that was made: its bytes and its kind. */
  file(name, path) {
    const it = this.made.get(name), print = it?.prints.find((p) => path.includes(`P${String(p.id).padStart(4, "0")}`));
    if (print) {
      const f = this.desk.front(print);
      return [mount(FORMATS[f.format], f.seed, f.role, this.desk.widest, f.shadow), "image/png"];
    }
    if (path === "index.html") return [`<!doctype html><html lang="en"><meta charset="utf-8"><title>${it.title}</title><main><h1>${it.title}</h1><p>${it.count} prints, all at one scale.</p></main></html>`, "text/html; charset=utf-8"];
    if (path.endsWith(".txt") || path.endsWith(".csv")) return [`${it.title}\n${"=".repeat(it.title.length)}\n\nPacked 2026-11-26 by Fallside: ${it.count} finished prints.\n\n${prints(it)}`, "text/plain; charset=utf-8"];
    if (path.endsWith(".svg")) return [path.includes("plan") ? svg(980, 420, '<rect width="980" height="420" fill="#E8E8E8"/><rect x="30" y="40" width="150" height="150" fill="#FFF"/>') : svg(480, 240, '<rect width="480" height="240" fill="#FFF"/><rect x="60" y="50" width="100" height="110" fill="#888"/>'), "image/svg+xml"];
    return null;
  }
}
