// The stand: verdicts arrive as they would from a camera. Only the invented desk can be told to take a picture.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { DESK, PHONE, REAL, browser, desk, open, violations } from "./browser.mjs";
import { becomes, press } from "./steps.mjs";

let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(200)]; });
after(async () => { await chrome.close(); at.close(); });

test("a folder is watched, verdicts are told in words and three sounds, one key answers", { skip: REAL ? "the camera is not here" : false }, async () => {
  const page = await open(chrome, at.url, "/stand", { viewport: PHONE });
  await page.evaluate(() => {
    window.notes = [];
    const start = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (...a) { window.notes.push(Math.round(this.frequency.value)); return start.apply(this, a); };
  });
  await page.fill("input[name=folder]", "/tether");
  await page.fill("input[name=of]", "36");
  await page.keyboard.press("Enter");
  await page.waitForSelector(".stand");
  const heard = new Set();
  for (const verdict of ["keep", "look", "reshoot"]) {
    await page.evaluate(() => { window.notes = []; });
    at.desk.arrive(verdict);
    await page.waitForFunction((v) => document.querySelector(".word h2")?.textContent.toLowerCase() === v, verdict);
    await page.waitForFunction(() => window.notes.length > 0);
    heard.add((await page.evaluate(() => window.notes)).join());
    assert.ok((await page.locator(".sentence").innerText()).length > 10);
    assert.ok(await page.locator(".big").isVisible(), "the big key is in sight on a phone");
  }
  assert.equal(heard.size, 3, "each verdict has its own sound");
  assert.match(await page.locator(".again").innerText(), /Reshoot: 1 print/);
  await page.keyboard.press("Space");
  assert.match(await page.locator(".big").innerText(), /Ready for the next print/);
  await page.keyboard.press("q");
  await page.evaluate(() => { window.notes = []; });
  at.desk.arrive("keep");
  await page.waitForFunction(() => document.querySelector(".word h2")?.textContent === "Keep");
  await page.waitForTimeout(150);
  assert.deepEqual(await page.evaluate(() => window.notes), [], "Q makes it quiet");
  assert.match(await page.locator(".owed").innerText(), /photograph its back/);
  assert.deepEqual(page.faults, []);
});

test("the verdict can be read from two metres", { skip: REAL ? "the camera is not here" : false }, async () => {
  const page = await open(chrome, at.url, "/stand");
  at.desk.arrive("reshoot");
  await page.waitForSelector(".word h2");
  // A letter wants 1/200 of the distance (DIN 1450 gives the viewing angle): 10 mm at 2 m, 38 px at 96 to the inch.
  const size = await page.locator(".word h2").evaluate((h) => parseFloat(getComputedStyle(h).fontSize));
  assert.ok(size * 0.45 > 38, `${size} px, of which the small letters take 0.45`);
  // WCAG 2.3.1: nothing flashes, for nothing is animated at all.
  assert.equal(await page.evaluate(() => document.getAnimations().length), 0);
});

const skip = REAL ? "the camera is not here" : false;
/** The stand at work, on a page that notes its sounds. */
async function working(more = {}, path = "/stand") {
  Object.assign(at.desk.stand, { folder: "/tether", box: "Shoebox 3", sleeve: "12", last: null, reshoot: [], seen: null, amiss: null });
  const page = await open(chrome, at.url, path, more);
  await page.waitForSelector(".stand .word");
  await page.evaluate(() => {
    window.notes = [];
    const start = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (...a) { window.notes.push(Math.round(this.frequency.value)); return start.apply(this, a); };
  });
  return page;
}
const word = (page) => page.locator(".word h2").innerText();
const alert = (page) => page.locator(".stand [role=alert]").innerText();

for (const device of [false, true]) {
  test(`${device ? "the paired device" : "the desk"}: trouble takes the place of the verdict, with its own sound, until it is read or a frame is judged`, { skip }, async () => {
    if (device) Object.assign(at.desk.way, { open: true, in: true });
    const page = await working(device ? { viewport: PHONE, userAgent: "guest", hasTouch: true } : { viewport: DESK }, device ? "/guest" : "/stand");
    const sounds = new Set();
    for (const verdict of ["keep", "look", "reshoot"]) {
      await page.evaluate(() => { window.notes = []; });
      at.desk.arrive(verdict);
      await page.waitForFunction(() => window.notes.length > 0);
      sounds.add((await page.evaluate(() => window.notes)).join());
    }
    await page.evaluate(() => { window.notes = []; });
    at.desk.goWrong("F0012.jpg", "The file is truncated.", "Copy it from the card again. Or photograph the print again.", ["F0011.jpg"]);
    await becomes(() => word(page), "Trouble");
    const said = await page.locator(".now").innerText();
    assert.match(said, /truncated[\s\S]*photograph the print again[\s\S]*F0012\.jpg[\s\S]*F0011\.jpg/);
    assert.doesNotMatch(said, /reshoot|\/tether/i, "the verdict before it is gone, and no path is told");
    assert.match(await alert(page), /Trouble\. F0012\.jpg The file is truncated/);
    // As large as a verdict: 38 px at two metres (DIN 1450, 1/200 of the distance), and 18 px in the hand.
    const size = (what) => page.locator(what).evaluate((h) => parseFloat(getComputedStyle(h).fontSize) * 0.45);
    assert.ok((await size(".word h2")) > (device ? 18 : 38));
    assert.ok(await page.locator(".big").isVisible());
    await page.waitForFunction(() => window.notes.length > 0);
    assert.ok(!sounds.has((await page.evaluate(() => window.notes)).join()), "its sound is its own");
    assert.deepEqual(await violations(page, "trouble at the stand"), []);
    // Only once, whatever else changes.
    await page.waitForTimeout(1000);
    await page.evaluate(() => { window.notes = []; });
    at.desk.tell({ kind: "changed" });
    await page.waitForTimeout(300);
    assert.deepEqual(await page.evaluate(() => window.notes), []);
    // Read: the verdict is back.
    assert.equal(await page.locator(".big").innerText().then((t) => t.replace(/\s*Space/, "")), "Seen");
    await press(page, "Space");
    await becomes(() => word(page), "Reshoot");
    assert.equal(await alert(page), "");
    // The next frame that is judged has the word, whether it was read or not.
    at.desk.goWrong("F0013.jpg", "The file is empty.", "Copy it from the card again.");
    await becomes(() => word(page), "Trouble");
    at.desk.arrive("keep");
    await becomes(() => word(page), "Keep");
    assert.deepEqual(page.faults, []);
    await page.context().close();
  });
}

test("a folder that is gone is told large until it is read, stands small until it is there again, and goes then", { skip }, async () => {
  const page = await working();
  at.desk.arrive("keep");
  await becomes(() => word(page), "Keep");
  at.desk.goWrong(null, "The watched folder is not there.", "Connect the camera or its disk again, or watch another folder.");
  await becomes(() => word(page), "Trouble");
  assert.match(await page.locator(".which").innerText(), /^\/tether$/, "the desk says which");
  await press(page, "Space");
  await becomes(() => word(page), "Keep");
  assert.match(await page.locator(".still").innerText(), /not there/);
  at.desk.goRight();
  await page.waitForSelector(".still", { state: "detached" });
  // From another room it is told at the foot, and is gone from there when it is over.
  await press(page, "1");
  await page.waitForSelector(".print:focus");
  at.desk.goWrong(null, "The watched folder is not there.", "Connect it again.");
  await page.waitForFunction(() => /At the stand: .*not there/.test(document.querySelector(".foot [role=alert]").textContent));
  at.desk.goRight();
  await becomes(() => page.locator(".foot [role=alert]").innerText(), "");
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("a print that is being catalogued is not called no print", { skip }, async () => {
  const page = await working();
  at.desk.arrive("keep");
  await page.waitForSelector(".which");
  Object.assign(at.desk.stand.last, { frame: null, print: null, label: null, picture: null });
  at.desk.tell({ kind: "changed" });
  await becomes(() => page.locator(".which").innerText().then((t) => t.split(",")[0]), "Being catalogued");
  // Nor is the bare bed: that is one by intention.
  Object.assign(at.desk.stand.last, { role: "blank", frame: 1, verdict: "used" });
  at.desk.tell({ kind: "changed" });
  await becomes(() => page.locator(".which").innerText().then((t) => t.split(",")[0]), "Bare bed");
  Object.assign(at.desk.stand.last, { role: "front", verdict: "keep" });
  at.desk.tell({ kind: "changed" });
  await becomes(() => page.locator(".which").innerText().then((t) => t.split(",")[0]), "No print");
  await page.context().close();
});

test("what was watched last is offered again, and one key starts it", { skip }, async () => {
  Object.assign(at.desk.stand, { folder: null, last: null, amiss: null, remembered: { folder: "/nowhere/tether", box: "Shoebox 3", sleeve: "12", of: 36, backs: true, one: false } });
  const page = await open(chrome, at.url, "/stand");
  await page.waitForSelector(".watch");
  assert.match(await page.locator(".watch").innerText(), /Watched last: \/nowhere\/tether, Shoebox 3, sleeve 12/);
  assert.deepEqual(await page.locator(".watch input").evaluateAll((all) => all.map((i) => (i.type === "checkbox" ? i.checked : i.value))), ["/nowhere/tether", "Shoebox 3", "12", "36", true]);
  await press(page, "Enter");
  await page.waitForFunction(() => /cannot be watched/.test(document.querySelector(".watch [role=alert]").textContent));
  at.desk.stand.remembered.folder = "/tether";
  await page.reload();
  await page.waitForFunction(() => document.activeElement?.matches("button.main"));
  await press(page, "Enter");
  await page.waitForSelector(".stand .word");
  assert.deepEqual([at.desk.stand.folder, at.desk.stand.sleeve], ["/tether", "12"]);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
