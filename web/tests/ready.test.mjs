// What leaves must be ready: one list above "Export", each line with the key or press that mends it; the prints as what they become.
import assert from "node:assert/strict";
import { after, before, beforeEach, test } from "node:test";
import { REAL, browser, desk, focused, open, pictures, violations } from "./browser.mjs";
import { api, becomes, hears, press, rests, until } from "./steps.mjs";

let chrome, at, peel;
before(async () => { chrome = await browser(); });
after(async () => { await chrome.close(); at?.close(); });
beforeEach(async () => {
  at?.close();
  at = await desk(120);
  const { desk: it } = at, front = (p) => it.front(p);
  // Four peel-apart prints of which two have no known top, one to be shot again, and one that is good.
  const of = (test, n) => it.prints.filter(test).slice(0, n);
  peel = of((p) => p.format === "peel-apart" && !front(p).turn_known && front(p).verdict === "keep", 2);
  const again = of((p) => front(p).verdict === "reshoot" && front(p).turn_known, 1), good = of((p) => front(p).verdict === "keep" && front(p).turn_known, 3);
  it.edits.set("tight", { kind: "tight", ids: [...peel, ...again, ...good].map((p) => p.id) });
  for (const p of [...again, ...good]) Object.assign(p.facts, { alt: "Somebody wrote it.", privacy: "open" });
  for (const p of peel) p.facts.privacy = "open";
});
const skip = REAL !== null;
const lines = (page) => page.locator(".ready > ul > li").evaluateAll((all) => all.map((li) => li.className));
/** The print whose button "Upright" has the focus. */
const asked = (page) => page.evaluate(() => (document.activeElement?.matches("[data-upright]") ? document.activeElement.closest("[role=group]").getAttribute("aria-label") : null));
const room = async (path = "/hand") => {
  const page = await open(chrome, at.url, path);
  await page.waitForSelector(path === "/hand" ? ".becomes .leaf-drawn" : ".spreads .laid");
  return page;
};

test("the list names what is not ready, above the button that makes", { skip }, async () => {
  const page = await room();
  await becomes(() => lines(page), ["turn", "reshoot", "alt"]);
  assert.equal(await page.locator(".ready .turns > li").count(), 2);
  const [list, make] = await Promise.all([".ready", ".make .main"].map((it) => page.locator(it).boundingBox()));
  const first = await page.evaluate(() => Boolean(document.querySelector(".ready").compareDocumentPosition(document.querySelector(".make")) & Node.DOCUMENT_POSITION_FOLLOWING));
  assert.ok(first && list && make, "it comes before the button");
  // A book is on paper: nobody reads an alt text there.
  await press(page, "b");
  await becomes(() => lines(page), ["turn", "reshoot"]);
  assert.deepEqual(page.faults, []);
});

test("a print that may lie upside down is turned in the list and settled with one key", { skip }, async () => {
  const page = await room();
  await page.waitForSelector(".ready .turns > li");
  const frames = peel.map((p) => at.desk.front(p));
  await press(page, "r");
  await becomes(() => asked(page), `Turn P${String(peel[0].id).padStart(4, "0")}`);
  // Half a turn: shown at once, finished again once.
  await press(page, "]", "]");
  await becomes(() => page.locator(".turns img").first().evaluate((img) => img.style.transform), "rotate(180deg)");
  assert.equal(frames[0].turn_known, false, "nothing is finished before it is said");
  await press(page, "y");
  await hears(page, /Turned/);
  await becomes(() => page.locator(".ready .turns > li").count(), 1);
  assert.deepEqual([frames[0].turn, frames[0].turn_known], [2, true]);
  // The hand goes on with the next: one key, where it lies upright.
  await becomes(() => asked(page), `Turn P${String(peel[1].id).padStart(4, "0")}`);
  await press(page, "y");
  await becomes(() => lines(page), ["reshoot", "alt"]);
  assert.deepEqual([frames[1].turn, frames[1].turn_known], [0, true]);
  // Undone in this room.
  await press(page, "Control+z");
  await becomes(() => lines(page), ["turn", "reshoot", "alt"]);
  assert.deepEqual(page.faults, []);
});

test("a missing alt text opens its print with that field in focus; written, the line is gone", { skip }, async () => {
  const page = await room();
  await becomes(() => lines(page), ["turn", "reshoot", "alt"]);
  for (const p of peel) {
    await page.locator(".ready .alt .prints a").first().click();
    await becomes(() => page.evaluate(() => [location.pathname, document.activeElement?.getAttribute("name")]), [`/print/${p.id}`, "alt"]);
    await page.keyboard.type("Two boats lie in the mud.");
    await press(page, "Enter");
    await hears(page, /Described/);
    await press(page, "Escape", "4");
    await page.waitForSelector(".ready");
  }
  await becomes(() => lines(page), ["turn", "reshoot"]);
  assert.deepEqual(page.faults, []);
});

test("privacy is decided where it is missing, too few pixels are mended with one press, a print to shoot again leads to the stand", { skip }, async () => {
  for (const p of peel) delete p.facts.privacy;
  at.desk.leftovers = [at.desk.prints[5].id];
  const page = await room();
  await becomes(() => lines(page), ["privacy", "leftover", "turn", "reshoot", "alt"]);
  assert.match(await page.locator(".ready .leftover").innerText(), /private now; P0006-4x5\.jpg in /);
  await page.getByRole("button", { name: "Everybody may see them" }).click();
  await becomes(async () => (await api(page, "/api/desk")).unsaid, "open");
  await becomes(() => lines(page), ["leftover", "turn", "reshoot", "alt"]);
  await page.getByLabel("Longer side, pixels").fill("9000");
  await becomes(() => lines(page), ["leftover", "turn", "reshoot", "pixels", "alt"]);
  await page.getByRole("button", { name: "Use 4000 pixels" }).click();
  await becomes(() => lines(page), ["leftover", "turn", "reshoot", "alt"]);
  assert.equal(await page.getByLabel("Longer side, pixels").inputValue(), "4000");
  await page.getByRole("button", { name: "Go to the stand" }).click();
  await becomes(() => page.evaluate(() => location.pathname), "/stand");
  assert.deepEqual(page.faults, []);
});

test("on its sheet a print is said to be upright with one key, once", { skip }, async () => {
  const page = await open(chrome, at.url, `/print/${peel[0].id}`), frame = at.desk.front(peel[0]);
  await page.getByText("press Y if it is upright").waitFor();
  await press(page, "y");
  await hears(page, /Turned/);
  await becomes(() => page.getByRole("button", { name: "It is upright" }).count(), 0);
  assert.deepEqual([frame.turn, frame.turn_known], [0, true]);
  assert.deepEqual(page.faults, []);
});

test("the stand asks once which way is up, and one key answers", { skip }, async () => {
  const page = await open(chrome, at.url, "/stand"), frame = at.desk.front(peel[0]);
  await page.fill("input[name=folder]", "/tether");
  await press(page, "Enter");
  await page.waitForSelector(".stand");
  at.desk.arrive("keep", (p) => p.id === peel[0].id);
  await page.locator(".upright").waitFor();
  await press(page, "]");
  await becomes(() => page.locator(".sight img").evaluate((img) => img.style.transform), "rotate(90deg)");
  await press(page, "y");
  await becomes(() => page.locator(".upright").count(), 0);
  assert.deepEqual([frame.turn, frame.turn_known], [1, true]);
  // A print that says it itself is not asked about.
  at.desk.arrive("keep", (p) => at.desk.front(p).turn_known);
  await until(() => page.locator(".which").innerText(), (text) => !text.includes(`Print ${peel[0].label},`), "the next one");
  assert.equal(await page.locator(".upright").count(), 0);
  assert.deepEqual(page.faults, []);
});

test("the prints are seen as what they become: sheets of the shape, a wall at one scale, spreads, cards", { skip }, async () => {
  const page = await room();
  await pictures(page);
  // 4:5, and every print whole and in the middle: the desk's own numbers, drawn.
  const shapes = () => page.locator(".becomes .leaf-drawn").evaluateAll((all) => all.map((svg) => { const { width, height } = svg.getBoundingClientRect(); return Number((width / height).toFixed(2)); }));
  await becomes(shapes, [0.8, 0.8, 0.8, 0.8, 0.8, 0.8]);
  const first = await page.locator(".becomes .leaf-drawn").first().evaluate((svg) => { const paper = svg.querySelector(".paper").getBoundingClientRect(), print = svg.querySelector("image").getBoundingClientRect(); return Math.abs(paper.left + paper.right - print.left - print.right); });
  assert.ok(first < 1.5, `it stands in the middle: ${first}`);
  await page.selectOption(".choices select", "16:9");
  await becomes(shapes, [1.78, 1.78, 1.78, 1.78, 1.78, 1.78]);
  // One scale: a print twice as wide is twice as wide.
  await press(page, "s");
  await page.waitForSelector(".becomes.gallery .leaf-drawn");
  const scales = await rests(() => page.locator(".becomes .leaf-drawn").evaluateAll((all) => all.map((svg) => svg.getBoundingClientRect().width / svg.viewBox.baseVal.width)));
  assert.ok(Math.max(...scales) / Math.min(...scales) < 1.02, `${scales}`);
  await press(page, "b");
  await page.locator(".becomes.book .fold").first().waitFor({ state: "attached" });
  assert.equal(await page.locator(".becomes.book .folio").first().innerText(), "1", "page 1 stands alone");
  await page.getByLabel("Add a deck of cards", { exact: false }).check();
  await page.getByRole("heading", { name: "Deck of cards" }).waitFor();
  // What stands in the way is said here, before it is made.
  await page.getByLabel("Trimmed page size").selectOption("other");
  await page.getByLabel("Width × height, mm").fill("90x90");
  await until(() => page.locator(".becomes.trouble").innerText().catch(() => ""), (text) => /The page is too small/.test(text), "it is said");
  assert.deepEqual(page.faults, []);
});

test("the list and the preview are accessible, and nothing runs sideways at 320 px", { skip }, async () => {
  for (const p of peel) delete p.facts.privacy;
  at.desk.leftovers = [at.desk.prints[5].id];
  for (const colorScheme of ["light", "dark"]) {
    for (const path of ["/hand", "/book"]) {
      const page = await open(chrome, at.url, path, { viewport: { width: 320, height: 640 }, colorScheme });
      await page.waitForSelector(path === "/hand" ? ".ready .turns" : ".spreads .laid");
      assert.deepEqual(await violations(page, `${path} ${colorScheme}`), []);
      await page.setViewportSize({ width: 1280, height: 800 });
      assert.deepEqual(await violations(page, `${path} ${colorScheme}, wide`), []);
      await page.setViewportSize({ width: 320, height: 640 });
      await becomes(() => page.evaluate(() => document.documentElement.scrollWidth), 320);
      assert.deepEqual(await page.evaluate(() => [...document.querySelectorAll(".handing, .flat-plan")].filter((r) => r.scrollWidth > r.clientWidth + 1).map((r) => r.className)), []);
      await page.context().close();
    }
  }
});

test("the flat plan is a room: prints walk and move by keys, take another's place by hand, and all of it undoes", { skip }, async () => {
  const ids = [...at.desk.edits.get("tight").ids], page = await room("/book"), order = () => at.desk.edits.get("tight").ids;
  const here = () => page.evaluate(() => Number(document.activeElement?.dataset?.print ?? 0));
  await press(page, "ArrowRight");
  await becomes(here, ids[1]);
  await press(page, "Home");
  await becomes(here, ids[0]);
  // Two presses in a row are two places: the second does not wait for the wall.
  await press(page, "Alt+ArrowRight", "Alt+ArrowRight");
  await becomes(async () => order(), [ids[1], ids[2], ids[0], ...ids.slice(3)]);
  await becomes(here, ids[0]);
  // On the wall too: its place is the third print's.
  await becomes(() => page.locator("[data-print]").evaluateAll((all) => all.map((b) => Number(b.dataset.print))), [ids[1], ids[2], ids[0], ...ids.slice(3)]);
  await press(page, "Control+z", "Control+z");
  await becomes(async () => order(), ids);
  await becomes(() => page.locator("[data-print]").evaluateAll((all) => all.map((b) => Number(b.dataset.print))), ids);
  // By hand: the first print onto the third.
  const middle = async (id) => { const { x, y, width, height } = await page.locator(`[data-print="${id}"]`).boundingBox(); return [x + width / 2, y + height / 2]; };
  await press(page, "f", "f");
  await rests(() => middle(ids[2]));
  await page.mouse.move(...(await middle(ids[0])));
  await page.mouse.down();
  await page.mouse.move(...(await middle(ids[2])), { steps: 6 });
  await page.locator(".laid .onto").waitFor();
  await page.mouse.up();
  await becomes(async () => order(), [ids[1], ids[2], ids[0], ...ids.slice(3)]);
  assert.equal(await page.locator(".carried-plate").count(), 0);
  // Escape lets go without laying it down.
  await becomes(() => page.locator("[data-print]").first().getAttribute("data-print"), String(ids[1]));
  await rests(() => middle(ids[1]));
  await page.mouse.move(...(await middle(ids[1])));
  await page.mouse.down();
  await page.mouse.move(...(await middle(ids[0])), { steps: 4 });
  await page.locator(".carried-plate").waitFor();
  await press(page, "Escape");
  await page.mouse.up();
  assert.deepEqual(order(), [ids[1], ids[2], ids[0], ...ids.slice(3)]);
  assert.equal(await page.evaluate(() => location.pathname), "/book");
  // Layouts, and the print itself.
  const spreads = await page.locator(".spreads > li").count();
  await press(page, "l");
  await until(() => page.locator(".spreads > li").count(), (n) => n < spreads, "facing prints need fewer spreads");
  await press(page, "End", "Enter");
  await becomes(() => page.evaluate(() => location.pathname), `/print/${ids.at(-1)}`);
  assert.deepEqual(page.faults, []);
});

test("without an edit the wall says why nothing can be moved", { skip }, async () => {
  const page = await room("/book");
  await page.selectOption(".flat-plan .title select", "");
  await until(() => page.locator("[data-print]").count(), (n) => n > 20, "every print");
  await page.locator("[data-print]").first().focus();
  await press(page, "Alt+ArrowRight");
  await hears(page, /Choose an edit/);
  assert.match(await focused(page), /page \d+/);
  assert.deepEqual(page.faults, []);
});
