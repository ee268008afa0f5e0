// Keys of a hand that is faster than the desk: each acts on what it was meant for, in the order they were pressed. On the invented desk,
// whose answers are made late.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { browser, desk, open } from "./browser.mjs";
import { api, becomes, hears, press } from "./steps.mjs";

/** Later than any hand presses six keys, ms. */
const LATE = 500;
let chrome;
before(async () => { chrome = await browser(); });
after(() => chrome.close());

const order = (at, edit) => at.desk.edits.get(edit)?.ids ?? [];

/** A table of sixty prints, the first six in every round, and a desk that is late from now on. */
async function slow(t) {
  const at = await desk(60);
  t.after(() => at.close());
  const ids = at.desk.prints.slice(0, 6).map((p) => p.id);
  for (const kind of ["wide", "tight", "sequence"]) at.desk.post_edit({ do: "put", name: kind, ids });
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  at.desk.late = LATE;
  return { at, page, ids };
}

test("a sheet of paper is called for, and its last print is moved before the sheet lies there", async (t) => {
  const { at, page, ids: [a, b, c, d, e, f] } = await slow(t);
  await press(page, "e", "e", "e", "End", "Alt+ArrowLeft", "Alt+ArrowLeft");
  await becomes(() => order(at, "sequence"), [a, b, c, f, d, e], "the sequence's last print, not the table's");
  await becomes(() => page.locator(".print:focus .place").innerText(), "place 4", "the finger stays on it");
  assert.deepEqual(page.faults, []);
});

test("what was taken off a sheet is not taken again: the next press has the next print", async (t) => {
  const { at, page, ids } = await slow(t);
  await press(page, "e", "e", "e", "-", "-", "ArrowRight", "-");
  await becomes(() => order(at, "sequence"), [ids[2], ids[4], ids[5]]);
  assert.deepEqual(order(at, "tight"), ids, "no press went a round further");
  await becomes(() => page.locator(".print").count(), 3);
  assert.deepEqual(page.faults, []);
});

test("the last print taken off a sheet does not come back for a moment", async (t) => {
  const { at, page, ids: [a, ...others] } = await slow(t);
  at.desk.post_edit({ do: "take", name: "sequence", ids: others });
  await press(page, "e", "e", "e");
  await becomes(() => page.locator(".print").count(), 1);
  // Something else changes: what is asked then still knows the print, and comes after it was taken off.
  const asked = page.waitForRequest(/api\/prints/);
  at.desk.post_describe({ ids: [a], facts: { place: "The quay" } });
  await asked;
  await page.waitForTimeout(LATE - 40);
  await press(page, "-");
  await page.waitForTimeout(60);
  assert.equal(await page.locator(".print").count(), 0);
  await becomes(() => order(at, "sequence"), []);
  assert.deepEqual(page.faults, []);
});

test("a search is typed, and what it finds is taken before it lies there", async (t) => {
  const { at, page } = await slow(t);
  const { rows: [first] } = at.desk.list("verdict:reshoot", "number", 0, 1);
  await press(page, "/");
  await page.keyboard.type("verdict:reshoot");
  await press(page, "Enter", "+");
  await becomes(() => at.desk.editsOf(first.id), ["wide"]);
  assert.equal(order(at, "wide").length, 7, "and nothing else is");
  // A line that is not understood leaves what lies there under the keys.
  await press(page, "/", "Control+a");
  await page.keyboard.type("plase:x");
  await press(page, "Enter", "+");
  await becomes(() => at.desk.editsOf(first.id), ["wide", "tight"]);
  assert.deepEqual(page.faults, []);
});

test("a print is opened, put in an edit and turned before it is there", async (t) => {
  const { at, page } = await slow(t), id = at.desk.prints.at(-1).id;
  await press(page, "End", "Enter", "+", "+", "]", "]", "ArrowLeft", "+");
  await becomes(() => at.desk.editsOf(id), ["wide", "tight"], "each press takes it one edit on");
  await becomes(() => at.desk.front(at.desk.by.get(id)).turn, 2, "two quarters are a half turn");
  await becomes(() => at.desk.editsOf(id - 1), ["wide"], "then the one before it");
  assert.equal(new URL(page.url()).pathname, `/print/${id - 1}`);
  assert.deepEqual(page.faults, []);
});

test("a print that was put away from beside the others does not come back", async (t) => {
  const { at, page, ids } = await slow(t), beside = page.locator("dialog.beside figure");
  await press(page, ".", "ArrowRight", ".", "ArrowRight", ".", "s");
  await becomes(() => beside.count(), 3);
  const asked = page.waitForRequest(/api\/print\//);
  at.desk.post_describe({ ids: [ids[5]], facts: { place: "The quay" } });
  await asked;
  await press(page, ".");
  await becomes(() => beside.count(), 2);
  await page.waitForTimeout(LATE + 100);
  assert.equal(await beside.count(), 2);
  assert.deepEqual(page.faults, []);
});

test("an answer that comes after a newer one is not told", async (t) => {
  const { at, page, ids: [id] } = await slow(t), title = page.locator(".sheet .title h2");
  await press(page, "Home", "Enter");
  await page.waitForSelector(".corner");
  // This browser's cache lets a question wait for the one before it; others' do not. A route puts it out of use.
  await page.route("**/nowhere", (route) => route.continue());
  const asked = page.waitForRequest(/api\/print\//);
  at.desk.post_describe({ ids: [id], facts: { title: "Before" } });
  await asked;
  // What it will be answered is known by now.
  await page.waitForTimeout(LATE / 5);
  at.desk.late = 0;
  at.desk.post_describe({ ids: [id], facts: { title: "After" } });
  await page.waitForFunction(() => /After/.test(document.querySelector(".sheet .title h2").textContent));
  await page.waitForTimeout(LATE);
  assert.match(await title.innerText(), /After/);
  assert.deepEqual(page.faults, []);
});

test("letters meant for a field that was not open yet do nothing", async (t) => {
  const { at, page } = await slow(t), before = at.desk.stacks.length;
  await press(page, "e", "w", "p", "l", "-");
  await page.waitForSelector("dialog input");
  await page.waitForTimeout(LATE);
  const rounds = () => ["wide", "tight", "sequence"].map((edit) => order(at, edit).length);
  assert.deepEqual([at.desk.stacks.length, ...rounds()], [before, 6, 6, 6]);
  // And where it is the line to search.
  await press(page, "Escape", "e", "ArrowRight", "/", "-");
  await becomes(() => page.evaluate(() => document.activeElement.id), "line");
  await page.waitForTimeout(LATE);
  assert.deepEqual(rounds(), [6, 6, 6]);
  assert.deepEqual(page.faults, []);
});

test("keys for what does not come are forgotten, and the next ones work", async (t) => {
  const { at, page, ids } = await slow(t);
  await page.route(/api\/prints\?.*edit/, (route) => route.abort());
  await press(page, "e", "-", "-");
  await page.waitForSelector(".foot .trouble");
  assert.equal(await page.locator(".print").count(), 0, "what lay there before is not taken for it");
  await press(page, "-");
  await press(page, "e", "e", "e", "Home", "ArrowRight", "-");
  await becomes(() => order(at, "sequence"), [ids[0], ...ids.slice(2)], "the table's second print leaves its last round");
  assert.deepEqual([order(at, "tight"), order(at, "wide")], [ids, ids]);
});

test("a corner that was moved and not finished yet is what is undone", async (t) => {
  const { at, page, ids } = await slow(t), { outline, name } = at.desk.front(at.desk.by.get(ids[0]));
  await press(page, "Home", "Enter");
  await page.waitForSelector(".corner");
  await press(page, "c", "ArrowRight", "Control+z");
  await hears(page, new RegExp(`^Undone: Drew the outline of ${name}`));
  assert.deepEqual([at.desk.front(at.desk.by.get(ids[0])).outline, order(at, "sequence")], [outline, ids]);
  assert.deepEqual(page.faults, []);
});

test("a corner that was moved is finished also when its print is left at once", async (t) => {
  const { at, page, ids } = await slow(t);
  await press(page, "Home", "Enter");
  await page.waitForSelector(".corner");
  const frame = at.desk.front(at.desk.by.get(ids[0])), [[x, y]] = frame.outline;
  await press(page, "c", "ArrowRight", "ArrowDown", "Escape", "Escape");
  await page.waitForSelector(".print:focus");
  await becomes(async () => frame.outline[0][0] > x && frame.outline[0][1] > y, true);
  assert.equal((await api(page, "/api/desk", `print/${ids[0]}`)).undo, `Drew the outline of ${frame.name}`);
  assert.deepEqual(page.faults, []);
});
