// How the desk looks, where it can be measured: what comes first, what stands on one line, what does not jump, what does not collide.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, REAL, browser, desk, open, pictures, violations } from "./browser.mjs";
import { api, becomes, press, until } from "./steps.mjs";

const skip = REAL ? "the invented desk can be told to" : false;
let chrome;
before(async () => { chrome = await browser(); });
after(async () => { await chrome.close(); });

/** A desk of its own, and prints of it with words. */
async function made(t, prints, words = {}) {
  const at = await desk(prints);
  t.after(() => at.close());
  for (const [id, facts] of Object.entries(words)) at.desk.by.get(Number(id)).facts = facts;
  return at;
}
const box = (page, what) => page.locator(what).first().boundingBox();

test("the sheet is the back of a photograph: captions in the serif, and add … for the rest, opened by Tab", { skip }, async (t) => {
  const at = await made(t, 12, { 1: { place: "Old bakery", date: "2009-07", people: "Ada; Bo", film: "daylight" } });
  const page = await open(chrome, at.url, "/print/1");
  await page.waitForSelector(".corner");
  await becomes(() => page.locator(".back .written .rest").allInnerTexts(), ["Old bakery", "July 2009", "Ada, Bo", "daylight"]);
  const rest = await page.locator(".back .caption:not(.written) .rest").allInnerTexts();
  assert.ok(rest.includes("add title") && rest.includes("add condition") && rest.every((words) => /^(add|say) /.test(words)), `${rest}`);
  // Nothing looks like a form: no field is seen, no line is drawn under one.
  const seen = () => page.locator(".back :is(input, select)").evaluateAll((all) => all.filter((f) => getComputedStyle(f).opacity !== "0").map((f) => f.name));
  assert.deepEqual(await seen(), []);
  assert.match(await page.locator(".back .written .rest").first().evaluate((e) => getComputedStyle(e).fontFamily), /^"?Bench Serif/);
  // A caption is as long as it is: it wraps, and is not cut.
  const all = () => page.locator(".back .rest").evaluateAll((lines) => lines.every((l) => l.scrollWidth <= l.clientWidth + 1 || getComputedStyle(l).display === "inline"));
  assert.ok(await all());
  // The key opens the field of the title, Tab the next one, and nothing moves before the hand has left.
  await page.locator(".sheet").focus();
  await press(page, "w");
  await becomes(seen, ["title"]);
  await page.keyboard.type("Bread at five");
  await press(page, "Tab");
  await until(seen, (now) => now.length === 1 && now[0] !== "title", "the next field is open, the first a caption again");
  await until(() => api(page, "/api/print/1"), (p) => p.facts.title === "Bread at five", "it is written");
  const order = () => page.locator(".back .caption").evaluateAll((c) => c.map((f) => f.querySelector("input, select").name));
  assert.equal((await order())[0], "place", "nothing moves under the hand");
  await press(page, "Escape");
  await becomes(async () => (await order())[0], "title");
  await becomes(seen, []);
  await becomes(() => page.locator(".back .rest").first().innerText(), "Bread at five");
  assert.match(await page.locator(".facts").innerText(), /Print 1\./, "the number stands beneath");
  assert.deepEqual([...(await violations(page, "sheet")), ...page.faults], []);
});

test("on the sheet the mount comes first and is larger than the frame", { skip }, async (t) => {
  const at = await made(t, 12);
  for (const viewport of [{ width: 1440, height: 900 }, { width: 768, height: 1024 }, PHONE]) {
    const page = await open(chrome, at.url, "/print/1", { viewport });
    await page.waitForSelector(".corner");
    const print = await page.evaluate(() => document.querySelector(".finished").compareDocumentPosition(document.querySelector(".area")) & Node.DOCUMENT_POSITION_FOLLOWING);
    assert.ok(print, "the mount is first for a reader too");
    const [mount, frame, facts] = [await box(page, ".finished .mount"), await box(page, ".area"), await box(page, ".facts")];
    assert.ok(mount.width * mount.height > frame.width * frame.height, `${viewport.width}: ${JSON.stringify([mount, frame])}`);
    assert.ok((mount.y < frame.y - 20 || mount.x < frame.x) && facts.y >= mount.y + mount.height, "its words under it");
    await page.context().close();
  }
});
