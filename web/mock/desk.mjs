// The desk's memory: lists, searches, changes and undoes.
import { AS_SHOT, FACTS, FIELDS, FORMATS, LIGHTS, project } from "./data.mjs";
import { understand } from "./dates.mjs";
import { Intake } from "./intake.mjs";

const trouble = (status, says, remedy = "") => Object.assign(new Error(says), { status, says, do: remedy });
const plain = (text) => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();

/** Edits between two words (Levenshtein). */
function apart(a, b) {
  let row = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) next[j] = Math.min(next[j - 1] + 1, row[j] + 1, row[j - 1] + (a[i - 1] === b[j - 1] ? 0 : 1));
    row = next;
  }
  return row[b.length];
}

export class Desk {
  constructor(n) {
    this.intake = new Intake(this);
    Object.assign(this, project(n));
    this.by = new Map(this.prints.map((p) => [p.id, p]));
    this.stacks = [];
    this.lights = [];
    /** Prints of nearly one picture: what taking them in would have found. Every tenth print has a twin, every thirtieth two. */
    this.twins = this.prints.filter((p) => p.id % 10 === 4 && p.id + 2 <= n).map((p) => (p.id % 30 === 4 ? [p.id, p.id + 1, p.id + 2] : [p.id, p.id + 1]));
    for (const [one, ...others] of this.twins) for (const id of others) this.front(this.by.get(id)).seed = this.front(this.by.get(one)).seed;
    this.past = [];
    this.future = [];
    this.searches = [];
    this.unsaid = null;
    this.planWords = null;
    this.tell = () => {};
    /** The room that asks, and what was imported. */
    this.room = "";
    this.takes = [{ take: "take 1", from: "/card/frames", at: "2026-11-21T19:12:05Z", frames: this.frames.size }];
    this.number = 0;
    this.stand = { folder: null, last: null, count: 0, pace_s: null, left: null, reshoot: [], owed: null, box: null, sleeve: null, sound: true, seen: null, amiss: null, remembered: null };
    this.way = { open: false, address: null, code: null, in: false, says: null };
  }

  front(p) { return p.frames.map((f) => this.frames.get(f)).find((f) => f.chosen) ?? this.frames.get(p.frames[0]); }
  editsOf(id) { return [...this.edits].filter(([, e]) => e.ids.includes(id)).map(([name]) => name); }

  stackOf(id) {
    if (this.mapped !== this.stacks) Object.assign(this, { mapped: this.stacks, inStack: new Map(this.stacks.flatMap((s) => s.ids.map((m) => [m, s]))) });
    const stack = this.inStack.get(id);
    return stack ? { id: stack.id, of: stack.ids.length, place: stack.ids.indexOf(id) + 1, under: 0, proposed: stack.proposed } : null;
  }

  /** Closed stacks take one place, where the first of them would lie; open ones lie side by side there. */
  fold(found, open) {
    if (!this.stacks.length) return found.map((p) => [p, 0]);
    const there = new Set(found.map((p) => p.id)), laid = new Set(), of = new Map(this.stacks.flatMap((s) => s.ids.map((id) => [id, s])));
    return found.flatMap((p) => {
      const stack = of.get(p.id);
      if (!stack) return [[p, 0]];
      if (laid.has(stack.id)) return [];
      laid.add(stack.id);
      const members = stack.ids.filter((id) => there.has(id)).map((id) => this.by.get(id)), rounds = (m) => this.editsOf(m.id).length;
      if (open.includes(stack.id)) return members.map((m) => [m, 0]);
      return [[members.reduce((a, b) => (rounds(b) > rounds(a) ? b : a)), members.length - 1]];
    });
  }

  row(p) {
    const f = this.front(p), back = p.frames.map((id) => this.frames.get(id)).find((x) => x.role === "back"), [w, h] = FORMATS[p.format].size;
    return {
      id: p.id, label: p.label, format: p.format, verdict: f?.verdict ?? null, size_mm: [w, h], canvas_mm: [w + 18, h + 18],
      frame: f?.id ?? null, picture: f?.picture ?? null, box: p.box, sleeve: p.sleeve, exposed: p.facts.date ?? null, place: p.facts.place ?? null, title: p.facts.title ?? null,
      edits: this.editsOf(p.id), frames: p.frames.length, stack: this.stackOf(p.id), back: Boolean(back), back_frame: back?.id ?? null, back_picture: back?.picture ?? null, alt: "",
    };
  }

  state() {
    const tally = (of) => { const counts = new Map(); for (const p of this.prints) counts.set(of(p), (counts.get(of(p)) ?? 0) + 1); return counts; };
    const verdicts = tally((p) => this.front(p)?.verdict);
    return {
      project: this.name, reads_only: false, why: null, prints: this.prints.length,
      verdicts: { keep: verdicts.get("keep") ?? 0, look: verdicts.get("look") ?? 0, reshoot: verdicts.get("reshoot") ?? 0 },
      edits: [...this.edits].map(([name, e]) => ({ name, kind: e.kind, count: e.ids.length })),
      boxes: [...tally((p) => p.box)].map(([box, count]) => ({ box, sleeves: [], count })), formats: [...new Set([...Object.keys(FORMATS), "plain"])].map((name) => ({ name, count: tally((p) => p.format).get(name) ?? 0 })),
      searches: this.searches, unsaid: this.unsaid, unsaid_prints: this.prints.filter((p) => !p.facts.privacy).length,
      ...this.words(), takes: this.takes, facts: FACTS, fields: FIELDS, lights: [...this.lights, ...LIGHTS],
    };
  }

  /** What can be undone is what was done in the room that asks; the table has what was said on no page too. */
  here(step) { return step.room === this.room || (this.room === "table" && step.room === ""); }
  words() { return { undo: this.past.findLast((s) => this.here(s))?.did ?? null, redo: this.future.findLast((s) => this.here(s))?.did ?? null }; }

  list(line, order, from, count, stacks = null) {
    const { test, says } = this.reads(line);
    let found = order.startsWith("edit:") ? (this.edits.get(order.slice(5))?.ids ?? []).map((id) => this.by.get(id)) : this.prints;
    if (says) return { total: 0, prints: 0, says, rows: [] };
    found = found.filter(test);
    const key = { box: (p) => `${p.box}${p.sleeve.padStart(4)}`, format: (p) => p.format, verdict: (p) => ({ reshoot: "0", look: "1" })[this.front(p)?.verdict] ?? "2", place: (p) => p.facts.place ?? "\uffff", exposed: (p) => p.facts.date ?? "\uffff" }[order];
    if (key) found = found.map((p) => [key(p), p]).sort(([a], [b]) => (a < b ? -1 : a > b ? 1 : 0)).map(([, p]) => p);
    const places = stacks === null || order.startsWith("edit:") ? found.map((p) => [p, 0]) : this.fold(found, stacks.split(",").map(Number));
    const rows = places.slice(from, from + count).map(([p, under]) => { const row = this.row(p); return row.stack ? { ...row, stack: { ...row.stack, under } } : row; });
    return { total: places.length, prints: found.length, says: null, rows };
  }

  /** The test that a line means, or what is wrong with it. */
  reads(line) {
    const tests = [];
    let joined = false;
    const either = (test) => { const before = joined ? tests.pop() : null; joined = false; tests.push(before ? (p) => before(p) || test(p) : test); };
    if (/^not yet described$/.test(line.trim())) return { test: (p) => !Object.keys(p.facts).length, says: null };
    for (const [, field, quoted, bare] of line.matchAll(/(?:(\w+):)?(?:"([^"]*)"?|(\S+))/g)) {
      if (bare === "OR" && !field) { joined = tests.length > 0; continue; }
      if (field === "saved") { const saved = this.searches.find((s) => plain(s.name).startsWith(plain(quoted ?? bare))); either(saved ? this.reads(saved.line).test : () => false); continue; }
      if (field === "is") { either((p) => !Object.keys(p.facts).length); continue; }
      const want = plain(quoted ?? bare ?? ""), begins = (text) => plain(text ?? "").split(/[\s,]+/).some((w) => w.startsWith(want)) || plain(text ?? "").startsWith(want);
      if (field && !FIELDS.includes(field)) {
        const near = FIELDS.map((f) => [apart(f, field), f]).sort(([a], [b]) => a - b)[0];
        return { says: `No field called ${field}${near[0] < 3 ? `: did you mean ${near[1]}?` : "."}` };
      }
      const of = { box: (p) => p.box, sleeve: (p) => p.sleeve, format: (p) => p.format, verdict: (p) => this.front(p)?.verdict, number: (p) => p.label, id: (p) => p.label, date: (p) => p.facts.date, stack: (p) => String(this.stackOf(p.id)?.id ?? ""), edit: (p) => this.editsOf(p.id).join(" ") }[field];
      if (field) either((p) => begins(of ? of(p) : p.facts[field]));
      else either((p) => p.label === want || Object.values(p.facts).some(begins) || this.front(p)?.verdict === want || p.format.split("-").includes(want));
    }
    return { test: (p) => tests.every((t) => t(p)), says: null };
  }

  print(id) {
    const p = this.by.get(id);
    if (!p) throw trouble(404, `There is no print ${id}.`, "Go back to the table.");
    const { stack: _, ...row } = this.row(p);
    return { ...row, facts: p.facts, frames: p.frames.map((f) => this.told(this.frames.get(f))), history: p.history, made: p.id % 3 ? [] : [{ what: "Share, 2048 px", when: "2026-11-22T10:00:00Z", place: "shares" }], likenesses: p.id % 4 ? [] : [{ id: p.id + 1 > this.prints.length ? 1 : p.id + 1, why: "the same scene, another exposure" }] };
  }

  /** A frame as it is sent: without what it is drawn from. */
  told({ at: _, turned: _t, seed: _s, measured: _m, ...frame }) { return frame; }

  offers(fact, start) {
    const counts = new Map();
    for (const p of this.prints) if (p.facts[fact] && plain(p.facts[fact]).startsWith(plain(start))) counts.set(p.facts[fact], (counts.get(p.facts[fact]) ?? 0) + 1);
    return [...counts].sort((a, b) => b[1] - a[1]).map(([word]) => word);
  }

  /** Does a thing that can be undone. */
  act(did, forth, back) {
    forth();
    this.past.push({ did, forth, back, room: this.room });
    this.future = this.future.filter((s) => !this.here(s));
    this.tell({ kind: "changed" });
    return { did, ...this.words() };
  }

  post_undo({ take }) {
    if (take) {
      const one = this.takes.find((t) => t.take === take);
      if (!one) throw trouble(409, "That import is undone already.");
      this.takes = this.takes.filter((t) => t !== one);
      this.prints = [];
      this.tell({ kind: "changed" });
      return { did: `Undone: the import of ${one.frames} frames from ${one.from}. The files stay where they are`, ...this.words() };
    }
    const step = this.past.findLast((s) => this.here(s)), last = this.past.at(-1);
    if (!step) return { did: last ? `Nothing to undo here. The last change was made elsewhere: ${last.did}.` : "Nothing to undo.", ...this.words() };
    this.past.splice(this.past.lastIndexOf(step), 1);
    step.back();
    this.future.push(step);
    this.tell({ kind: "changed" });
    return { did: `Undone: ${step.did}`, ...this.words() };
  }

  post_redo() {
    const step = this.future.findLast((s) => this.here(s));
    if (!step) return { did: "Nothing to redo here.", ...this.words() };
    this.future.splice(this.future.lastIndexOf(step), 1);
    step.forth();
    this.past.push(step);
    this.tell({ kind: "changed" });
    return { did: `Done again: ${step.did}`, ...this.words() };
  }

  date(text) { return understand(text); }

  post_shared({ ids }) {
    const prints = ids.map((id) => this.by.get(id));
    return FACTS.map(({ word, kind }) => {
      const counts = new Map();
      let empty = 0;
      for (const p of prints) {
        const items = (kind === "list" ? (p.facts[word] ?? "").split(/;\s*/) : [p.facts[word] ?? ""]).filter(Boolean);
        if (!items.length) empty++;
        for (const item of items) counts.set(item, (counts.get(item) ?? 0) + 1);
      }
      const found = [...counts];
      return { fact: word, all: found.filter(([, n]) => n === ids.length).map(([name]) => name), some: found.filter(([, n]) => n < ids.length).map(([name, count]) => ({ name, count })), empty };
    });
  }

  post_describe({ ids, facts, fill = {}, add = {}, remove = {}, seen = {} }) {
    const prints = ids.map((id) => this.by.get(id)), old = prints.map((p) => p.facts), kept = [];
    const back = (fact, value, says, theirs, choices, of) => kept.push({ fact, value, says, theirs, choices, ids: of });
    const now = old.map((f) => ({ ...f }));
    for (const [how, of] of [["set", facts], ["fill", fill]]) {
      for (const [word, value] of Object.entries(of)) {
        const date = word === "date" && value ? understand(value) : null;
        if (date && !date.edtf) { back(word, value, date.says, null, date.choices, ids); continue; }
        now.forEach((f, i) => {
          const there = f[word] ?? "", words = word === "date" ? f.dated ?? "" : "";
          if (how === "fill" && there) return;
          if (how === "set" && seen[word] && ![...seen[word]].some((s) => s === there || (words && s === words)) && there !== value) return back(word, value, "It was changed in another place meanwhile.", there, [], [ids[i]]);
          f[word] = date ? date.edtf : value;
          if (word === "date") f.dated = date && date.edtf !== value ? value : "";
        });
      }
    }
    const split = (text) => (text ?? "").split(/;\s*/).filter(Boolean);
    for (const [word, items] of Object.entries(add)) now.forEach((f) => { f[word] = [...new Set([...split(f[word]), ...items])].join("; "); });
    for (const [word, items] of Object.entries(remove)) now.forEach((f) => { f[word] = split(f[word]).filter((i) => !items.includes(i)).join("; "); });
    const clean = now.map((f) => Object.fromEntries(Object.entries(f).filter(([, v]) => v !== "")));
    if (JSON.stringify(clean) === JSON.stringify(old)) return { did: "Nothing was written yet", ...this.words(), kept_back: kept };
    const did = ids.length === 1 ? `Described print ${prints[0].label}` : `Described ${ids.length} prints`;
    return { ...this.act(did, () => prints.forEach((p, i) => { p.facts = clean[i]; }), () => prints.forEach((p, i) => { p.facts = old[i]; })), kept_back: kept };
  }

  post_search({ name, line }) {
    const old = this.searches, rest = old.filter((s) => s.name !== name), now = line ? [...rest, { name, line }] : rest;
    return this.act(line ? `Saved the search ${name}` : `Dropped the search ${name}`, () => { this.searches = now; }, () => { this.searches = old; });
  }

  post_privacy({ unsaid }) {
    this.unsaid = unsaid;
    this.tell({ kind: "changed" });
    return { did: `Decided: where nothing is said, a print is ${unsaid}`, ...this.words() };
  }

  post_edit({ do: what, name, ids = [], at, to }) {
    const old = new Map([...this.edits].map(([n, e]) => [n, { ...e, ids: [...e.ids] }])), now = new Map([...old].map(([n, e]) => [n, { ...e, ids: [...e.ids] }]));
    const edit = now.get(name) ?? { kind: ["wide", "tight", "sequence"].find((k) => k === name) ?? "own", ids: [] }, many = ids.length === 1 ? `print ${this.by.get(ids[0]).label}` : `${ids.length} prints`;
    now.set(name, edit);
    let did = "";
    if (what === "put") { edit.ids.push(...ids.filter((id) => !edit.ids.includes(id))); did = `Added ${many} to the edit ${name}`; }
    else if (what === "take") { edit.ids = edit.ids.filter((id) => !ids.includes(id)); did = `Removed ${many} from the edit ${name}`; }
    else if (what === "move") { edit.ids = edit.ids.filter((id) => !ids.includes(id)); edit.ids.splice(at ?? edit.ids.length, 0, ...ids); did = `Moved ${many} to place ${(at ?? 0) + 1}`; }
    else if (what === "order") { edit.ids = ids; did = `Ordered the edit ${name}`; }
    else if (what === "make") did = `Made the edit ${name}`;
    else if (what === "drop") { now.delete(name); did = `Deleted the edit ${name}`; }
    else if (what === "rename") { now.delete(name); now.set(to, edit); did = `Renamed ${name} to ${to}`; }
    // Wide, tight, sequence, then the user's own.
    const rank = (e) => ["wide", "tight", "sequence", "own"].indexOf(e.kind), sorted = new Map([...now].sort((a, b) => rank(a[1]) - rank(b[1])));
    return this.act(did, () => { this.edits = sorted; }, () => { this.edits = old; });
  }

  post_stack({ do: what, ids = [] }) {
    const old = this.stacks, touched = old.filter((s) => s.ids.some((id) => ids.includes(id)));
    let now = old, did = "";
    if (what === "put") {
      const all = [...new Set([...touched.flatMap((s) => s.ids), ...ids])];
      if (all.length < 2) throw trouble(409, "A stack needs two prints.");
      const id = touched[0]?.id ?? Math.max(0, ...old.map((s) => s.id)) + 1;
      now = [...old.filter((s) => !touched.includes(s)), { id, ids: all, proposed: false }];
      did = `Stacked ${ids.length} prints`;
    } else if (what === "lift") {
      if (!touched.length) throw trouble(409, "It lies in no stack.");
      now = old.map((s) => ({ ...s, ids: s.ids.filter((id) => !ids.includes(id)) })).filter((s) => s.ids.length > 1);
      did = ids.length === 1 ? `Took ${this.by.get(ids[0]).label} out of the stack` : `Took ${ids.length} prints out of the stack`;
    } else {
      now = [...old, ...this.twins.filter((t) => !old.some((s) => s.ids.some((id) => t.includes(id)))).map((t, i) => ({ id: Math.max(0, ...old.map((s) => s.id)) + 1 + i, ids: t, proposed: true }))];
      if (now.length === old.length) return { did: "There are no more similar prints to stack", ...this.words() };
      did = `Proposed ${now.length - old.length} stacks of similar prints`;
    }
    return this.act(did, () => { this.stacks = now; }, () => { this.stacks = old; });
  }

  owner(frame) { return this.prints.find((p) => p.frames.includes(frame)); }

  post_join({ frame, print }) {
    const from = this.owner(frame), old = [...from.frames], f = this.frames.get(frame);
    if (print === null) {
      if (old.length === 1) throw trouble(409, "It is the only frame of its print.", "Move it to another print instead.");
      const made = { ...from, id: this.prints.at(-1).id + 1, frames: [frame], facts: {}, history: [] };
      made.label = String(made.id);
      return this.act(`Made a separate print of ${f.name}`, () => { from.frames = old.filter((x) => x !== frame); this.prints.push(made); this.by.set(made.id, made); }, () => { from.frames = old; this.prints = this.prints.filter((p) => p !== made); this.by.delete(made.id); });
    }
    const to = this.by.get(print), had = [...to.frames], all = this.prints;
    return this.act(`Moved ${f.name} to print ${to.label}`, () => { from.frames = old.filter((x) => x !== frame); to.frames = [...had, frame]; this.prints = from.frames.length ? all : all.filter((p) => p !== from); }, () => { from.frames = old; to.frames = had; this.prints = all; });
  }

  post_front({ print, frame }) {
    const p = this.by.get(print), old = this.front(p), now = this.frames.get(frame);
    return this.act(`Chose ${now.name} as the front of print ${p.label}`, () => { old.chosen = false; now.chosen = true; }, () => { old.chosen = true; now.chosen = false; });
  }

  post_role({ frame, role }) {
    const f = this.frames.get(frame), old = f.role;
    return this.act(`Set the role of ${f.name} to ${role}`, () => { f.role = role; }, () => { f.role = old; });
  }

  /** A light by its words, as `--light` reads them. */
  lightOf(words) {
    if (words === "as-shot") return AS_SHOT;
    if (words === "mirrored") return { ...AS_SHOT, how: "mirrored" };
    const named = [...this.lights, ...LIGHTS].find((l) => l.name.toLowerCase() === words.toLowerCase()), numbers = words.split(",").map(Number);
    if (!named && (numbers.length !== 3 || numbers.some(Number.isNaN))) throw trouble(409, `“${words}”: there is no light called that; use as-shot, mirrored, a name, or three numbers in degrees, such as 225,45,12.`);
    if (!named && (numbers[1] < 20 || numbers[1] > 85)) throw trouble(409, `“${words}”: the light would stand ${numbers[1]}° above the bed; its height, the second number, must be 20 to 85.`);
    const [azimuth_deg, elevation_deg, size_deg] = named ? [named.azimuth_deg, named.elevation_deg, named.size_deg] : numbers;
    return { how: "cast-anew", name: named?.name ?? null, azimuth_deg, elevation_deg, size_deg };
  }

  lightSays({ name, azimuth_deg, elevation_deg, size_deg }) {
    const numbers = `${azimuth_deg}°, ${elevation_deg}° high, ${size_deg}° wide`;
    return name ? `${name} (${numbers})` : numbers;
  }

  post_light({ do: what, name, light }) {
    const old = this.lights;
    if (what === "drop") {
      if (!old.some((l) => l.name === name)) throw trouble(409, `This project has no light called “${name}”.`);
      this.lights = old.filter((l) => l.name !== name);
      this.tell({ kind: "changed" });
      return { did: `Deleted the light ${name}`, ...this.words() };
    }
    if (LIGHTS.some((l) => l.name === name)) throw trouble(409, `“${name}” is already the name of a light.`);
    const { azimuth_deg, elevation_deg, size_deg } = this.lightOf(light), now = { name, azimuth_deg, elevation_deg, size_deg, own: true };
    this.lights = [...old.filter((l) => l.name !== name), now].sort((a, b) => (a.name < b.name ? -1 : 1));
    this.tell({ kind: "changed" });
    return { did: `Named a light: ${this.lightSays(now)}`, ...this.words() };
  }

  post_refinish({ frame, outline, format, turn, shadow, light, as_measured }) {
    const f = this.frames.get(frame), old = { ...f }, now = { ...f };
    if (outline) Object.assign(now, { outline, confidence: 1, findings: f.findings.filter((x) => x.code !== "find.unsure") });
    if (format) now.format = format;
    if (turn != null) Object.assign(now, { turn, turn_known: true });
    if (shadow != null) now.shadow = shadow;
    if (light) {
      now.light = this.lightOf(light);
      // Nobody can tell the lift of a frame that is to be shot again.
      const unknown = f.verdict === "reshoot" && now.light.how !== "as-shot", how = { "as-shot": "as shot", mirrored: "mirrored (45°, 44.8° high, 3.9° wide; expected error 6.2 %)", "cast-anew": `cast anew (${(now.light.name ? `${now.light.name}, ` : "") + this.lightSays({ ...now.light, name: null })}; expected error 4.1 %)` }[now.light.how];
      Object.assign(now, { cast: unknown ? "as shot" : how, cast_why: unknown ? "The lift of its edges is not known well enough, so its shadow stays as shot." : null });
    }
    f.measured ??= { outline: f.outline, confidence: f.confidence };
    if (as_measured) Object.assign(now, f.measured);
    now.picture = `${f.picture}${this.past.length}`;
    const did = outline ? `Drew the outline of ${f.name}` : format ? `Set the format of ${f.name} to ${format}` : as_measured ? `Set the outline of ${f.name} as measured` : turn != null ? `Turned ${f.name}` : light ? `Set the light of ${f.name}: ${now.light.how === "cast-anew" ? this.lightSays(now.light) : now.light.how.replace("-", " ")}` : `Set the shadow of ${f.name} to ${shadow}`;
    const done = this.act(did, () => Object.assign(f, now), () => Object.assign(f, old));
    if (this.stand.last?.frame === frame) Object.assign(this.stand.last, { turn_unknown: !f.turn_known, picture: f.picture });
    return { ...done, ...(light && f.cast_why && { did: `${f.name}: ${f.cast_why}` }), frame: this.told(f) };
  }

  post_stand(asked) {
    if (asked.folder?.startsWith("/nowhere")) throw trouble(409, `${asked.folder} cannot be watched: it is not there.`, "Enter a folder's full path.");
    if (asked.folder) this.stand.remembered = { folder: asked.folder, box: asked.box ?? null, sleeve: asked.sleeve ?? null, of: asked.of ?? null, backs: asked.backs ?? false, one: asked.one ?? false };
    Object.assign(this.stand, { folder: asked.folder, box: asked.box ?? null, sleeve: asked.sleeve ?? null, sound: asked.sound ?? true, left: asked.of ? { prints: asked.of, minutes: (asked.of * 21) / 60 } : null });
    this.tell({ kind: "changed" });
    return { did: asked.folder ? "Watching the folder" : "Stopped watching", ...this.words() };
  }

  post_mark({ name, mark }) {
    if (mark === "noticed") {
      if (String(this.stand.amiss?.number) !== name) throw trouble(409, "Something else went wrong since: read that first.");
      this.stand.amiss = this.stand.amiss.name === null ? { ...this.stand.amiss, seen: true } : null;
      this.tell({ kind: "changed" });
      return { did: "Seen", ...this.words() };
    }
    const { last } = this.stand;
    if (last?.name !== name) throw trouble(409, "A newer frame has arrived: mark that one.");
    if (mark === "seen") this.stand.seen = name;
    else this.stand.reshoot = this.stand.reshoot.filter((r) => r.label !== last.label);
    if (mark === "again") this.stand.reshoot.push({ label: last.label, name, sentence: "Marked to be photographed again." });
    this.tell({ kind: "changed" });
    return { did: "Marked.", ...this.words() };
  }

  post_guest({ do: what }) {
    this.way = what === "open" ? { open: true, address: this.guests, code: "418302", in: false, says: null } : { open: false, address: null, code: null, in: false, says: null };
    this.token = null;
    this.tell({ kind: "changed" });
    return this.way;
  }

  /** Another device writes a code. */
  come(code) {
    if (!this.way.open || this.way.in) throw trouble(403, "Another device is paired already.", "Close access at the desk, and open it again for a new code.");
    if (code.replace(" ", "") !== this.way.code) throw trouble(403, "Wrong code.", "Check the code at the desk: 4 tries are left.");
    Object.assign(this.way, { in: true, code: null });
    this.tell({ kind: "changed" });
  }

  post_take({ folder }) {
    if (!folder.startsWith("/")) throw trouble(400, `${folder} is no folder here.`, "Write its whole path.");
    this.intake.begin(folder);
    return { did: `Importing ${folder}`, ...this.words() };
  }

  /** Something goes wrong at the stand: only tests say so. Without a name it is the folder. */
  goWrong(name, says, remedy, others = []) {
    this.stand.amiss = { number: ++this.number, name, says, do: remedy, seen: false, others };
    this.tell({ kind: "trouble", says: `/tether/${name ?? ""}: ${says} ${remedy}`, at_stand: true });
  }
  goRight() {
    this.stand.amiss = null;
    this.tell({ kind: "changed" });
  }

  /** A frame arrives at the stand: only tests say so. */
  arrive(verdict, which = () => true) {
    if (this.stand.amiss?.name != null) this.stand.amiss = null;
    const p = this.prints.find((x) => this.front(x).verdict === verdict && which(x)), f = this.front(p), [finding] = f.findings;
    const sentence = finding?.says ?? "Straight, sharp and even: 0.1 stop across the print.";
    Object.assign(this.stand, {
      last: { frame: f.id, print: p.id, label: p.label, name: f.name, of: 1, verdict, sentence, do: finding?.do ?? null, picture: f.picture, role: f.role, turn_unknown: !f.turn_known },
      count: this.stand.count + 1, pace_s: 21, left: { prints: 24, minutes: 8.4 }, owed: verdict === "keep" ? `Turn ${p.label} over and photograph its back.` : null,
    });
    if (verdict === "reshoot") this.stand.reshoot.push({ label: p.label, name: f.name, sentence });
    this.tell({ kind: "verdict", ...this.stand });
  }
}
