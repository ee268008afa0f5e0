// The stand: verdicts arrive as they would from a camera. Only the invented desk can be told to take a picture.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, REAL, browser, desk, open } from "./browser.mjs";

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
