// Undo takes back the last thing done in the room one is in, and says so; an import goes as a whole and by name.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { REAL, browser, desk, open, violations } from "./browser.mjs";
import { api, becomes, hears, press, rests } from "./steps.mjs";

const skip = REAL ? "the real desk is undone in tests/real" : false;
let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(60)]; });
after(async () => { await chrome.close(); at.close(); });

test("undo takes back what was done in this room, and says where the rest was done", { skip }, async () => {
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  await press(page, "+");
  await hears(page, /Added print 1/);
  await press(page, "Enter");
  await page.waitForSelector(".corner");
  await becomes(() => page.getByRole("button", { name: "Undo", exact: true }).isDisabled(), true, "nothing was done on this sheet");
  await press(page, "Control+z");
  await hears(page, /Nothing to undo here.*Added print 1/);
  assert.deepEqual((await api(page, "/api/print/1")).edits, ["wide"], "what was done on the table stays");
  const title = page.locator(".facts input[name=title]");
  await title.fill("Two boats");
  await press(page, "Tab");
  await hears(page, /Described print 1/);
  await press(page, "Escape", "Escape");
  await page.waitForSelector(".print:focus");
  await becomes(() => page.getByRole("button", { name: "Undo", exact: true }).getAttribute("title"), "Undo: Added print 1 to the edit wide");
  await press(page, "Control+z");
  await hears(page, /Undone: Added print 1/);
  assert.deepEqual([(await api(page, "/api/print/1")).edits, (await api(page, "/api/print/1")).facts.title], [[], "Two boats"]);
  await press(page, "Control+Shift+z");
  await hears(page, /Added print 1/);
  await press(page, "Control+z");
  await press(page, "Enter");
  await page.waitForSelector(".corner");
  await press(page, "Control+z");
  await hears(page, /Undone: Described print 1/);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("moving the light in the rig is undone and redone, a drag and a row of keys at once", { skip }, async () => {
  const page = await open(chrome, at.url, "/rig");
  await page.waitForSelector(".side .lamp");
  await page.locator(".rig").focus();
  const field = (name) => page.getByLabel(name).inputValue(), light = async () => [await field("Light distance"), await field("Light elevation")];
  const first = await light();
  assert.ok(await page.getByRole("button", { name: "Undo", exact: true }).isDisabled());
  await press(page, "l", "ArrowRight", "ArrowRight", "ArrowRight");
  const nearer = await rests(light, first, "the keys move it");
  await page.waitForTimeout(1100);
  const lamp = await page.locator(".side .lamp").boundingBox();
  await page.mouse.move(lamp.x + lamp.width / 2, lamp.y + lamp.height / 2);
  await page.mouse.down();
  await page.mouse.move(lamp.x - 60, lamp.y + 30, { steps: 9 });
  await page.mouse.up();
  const dragged = await rests(light, nearer, "the drag moves it");
  await page.getByRole("button", { name: "Undo", exact: true }).click();
  await becomes(light, nearer, "the drag is one step");
  await hears(page, /Undone: Moved the light/);
  await press(page, "Control+z");
  await becomes(light, first, "and so are the keys");
  await press(page, "Control+Shift+z", "Control+Shift+z");
  await becomes(light, dragged);
  await page.getByLabel("Lens").fill("90 macro");
  await press(page, "Tab");
  await becomes(() => field("Lens"), "90 macro");
  await page.getByRole("button", { name: "Undo", exact: true }).click();
  await becomes(() => field("Lens"), "70 macro", "a field too");
  // The drawing follows.
  await page.waitForFunction(() => document.querySelectorAll(".lamp").length >= 2);
  // Elsewhere, undo is the desk's again.
  await page.locator(".rig").focus();
  await press(page, "1");
  await page.waitForSelector(".print");
  await press(page, "Control+z");
  await hears(page, /Nothing to undo/);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("a drawn outline is taken back as measured; the shadow by keys waits for the hand", { skip }, async () => {
  const page = await open(chrome, at.url, "/print/5");
  await page.waitForSelector(".corner");
  const sent = [];
  page.on("request", (r) => { if (r.url().endsWith("/api/refinish")) sent.push(r.postDataJSON()); });
  const frame = async () => (await api(page, "/api/print/5")).frames[0], found = (await frame()).outline;
  const measured = page.getByRole("button", { name: "Outline as measured" });
  assert.ok(await measured.isDisabled(), "it is as measured");
  await page.locator(".sheet").focus();
  await press(page, "c", "ArrowRight", "ArrowRight");
  await hears(page, /Drew the outline/);
  assert.notDeepEqual((await frame()).outline, found);
  await measured.click();
  await hears(page, /as measured/);
  assert.deepEqual((await frame()).outline, found);
  await becomes(() => measured.isDisabled(), true);
  sent.length = 0;
  await page.locator(".sheet").focus();
  await press(page, "d", "ArrowLeft", "ArrowLeft", "ArrowLeft", "ArrowLeft");
  await hears(page, /Set the shadow/);
  assert.deepEqual(sent.map((s) => s.shadow), [0.6], "one refinish");
  await page.locator(".sheet").focus();
  await press(page, "Control+z");
  await becomes(async () => (await frame()).shadow, 1, "one undo");
  // What was not finished yet is finished, and undone.
  await press(page, "d", "ArrowLeft", "Control+z");
  await becomes(async () => [(await frame()).shadow, sent.length], [1, 2]);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("an import is undone as a whole, by its name", { skip }, async (t) => {
  const mine = await desk(30), page = await open(chrome, mine.url);
  t.after(() => mine.close());
  await page.waitForSelector(".print:focus");
  await page.getByRole("button", { name: "Import", exact: true }).click();
  await page.waitForFunction(() => document.activeElement?.name === "folder");
  const list = page.locator(".takes li");
  assert.match(await list.innerText(), /\d+ frames from \/card\/frames, 21 November 2026/);
  assert.deepEqual(await violations(page, "imports"), []);
  await page.getByRole("button", { name: "Undo this import" }).click();
  await hears(page, /Undone: the import of \d+ frames from \/card\/frames/);
  await becomes(() => list.count(), 0);
  assert.equal((await api(page, "/api/desk")).prints, 0);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
