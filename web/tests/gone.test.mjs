// The desk ends: every room says so within two seconds, as large as a verdict, and goes on by itself when the desk is back.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, REAL, browser, open, violations } from "./browser.mjs";
import { start } from "../mock/serve.mjs";
import { becomes, press } from "./steps.mjs";

const skip = REAL ? "the real desk is ended in tests/real" : false;
/** Within this a person must see it, ms. */
const AT_ONCE = 2000;
let chrome;
before(async () => { chrome = await browser(); });
after(() => chrome.close());

const port = (at) => Number(new URL(at.url).port);
/** The same desk, started again. */
const again = (at, more = {}) => start({ prints: 60, port: port(at), ...more });
const watched = (at) => Object.assign(at.desk.stand, { folder: "/tether", box: "Shoebox 3", sleeve: "12" });

for (const [path, there] of [["/table", ".print:focus"], ["/print/1", ".corner"], ["/stand", ".stand .word"], ["/rig", ".lamp"], ["/hand", ".past li"], ["/table/none", ".nowhere"]]) {
  test(`${path}: the end of the desk is said large within two seconds, and the room goes on when it is back`, { skip }, async (t) => {
    let at = await start({ prints: 60 });
    t.after(() => at.close());
    watched(at);
    const page = await open(chrome, at.url, path, path === "/stand" ? { viewport: PHONE } : {});
    await page.waitForSelector(there);
    const where = page.url(), ended = Date.now();
    at.close();
    await page.waitForSelector("dialog.gone h2");
    assert.ok(Date.now() - ended < AT_ONCE, `${Date.now() - ended} ms`);
    const says = page.locator(".gone h2");
    assert.match(await says.innerText(), /ended/);
    // A letter wants 1/200 of the distance (DIN 1450): 38 px at 2 m, 0.45 of the size of a small one; on a phone, half of it in the hand.
    assert.ok(await says.evaluate((h) => parseFloat(getComputedStyle(h).fontSize)) * 0.45 > (path === "/stand" ? 18 : 38));
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth));
    assert.deepEqual(await violations(page, "the desk is gone"), []);
    // No key does what it would do, and none closes it.
    await press(page, "Escape", "Escape", "2", "Control+z");
    await page.waitForTimeout(100);
    assert.ok(await says.isVisible());
    assert.equal(page.url(), where);
    at = await again(at);
    watched(at).count = 7;
    const made = (name) => { at.desk.room = path.slice(1).startsWith("print/") ? path.slice(1) : path.split("/")[1]; return at.desk.post_edit({ do: "make", name }); };
    const offers = (name) => (path === "/rig" ? null : becomes(() => page.evaluate(() => document.querySelector(".top .tools button").title), `Undo: Made the edit ${name}`, `the state with ${name} is known`));
    made("Made meanwhile");
    await page.waitForSelector("dialog.gone", { state: "detached" });
    await offers("Made meanwhile");
    if (path === "/stand") await becomes(() => page.locator(".count b").innerText(), "7");
    // Events come again.
    made("Made after");
    await offers("Made after");
    await page.context().close();
  });
}

test("what is typed outlives the end of the desk, and the focus comes back to it", { skip }, async (t) => {
  let at = await start({ prints: 60 });
  t.after(() => at.close());
  const page = await open(chrome, at.url, "/print/1");
  await page.locator(".facts input[name=title]").fill("Half a wo");
  at.close();
  await page.waitForSelector("dialog.gone");
  // Somebody types on for a moment: that presses nothing.
  await page.keyboard.type("r d ");
  await press(page, "Enter", "Space");
  at = await again(at);
  await page.waitForSelector("dialog.gone", { state: "detached" });
  await page.keyboard.type("rd");
  assert.equal(await page.locator(".facts input[name=title]").inputValue(), "Half a word");
  await page.context().close();
});

test("a tab of an earlier run says what to do, and goes on once the new address was opened", { skip }, async (t) => {
  let at = await start({ prints: 60 });
  t.after(() => at.close());
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  at.close();
  await page.waitForSelector("dialog.gone");
  at = await again(at, { token: "another" });
  await page.waitForFunction(() => /started again/.test(document.querySelector(".gone h2")?.textContent ?? ""));
  assert.match(await page.locator(".gone p").innerText(), /Open the address that fallside desk wrote/);
  const tab = await page.context().newPage();
  await tab.goto(at.url);
  await page.waitForSelector("dialog.gone", { state: "detached" });
  await page.context().close();
});

test("the paired device says it too, and finds the desk again", { skip }, async (t) => {
  let at = await start({ prints: 60 });
  t.after(() => at.close());
  watched(at);
  Object.assign(at.desk.way, { open: true, in: true });
  const page = await open(chrome, at.url, "/guest", { viewport: PHONE, userAgent: "guest", hasTouch: true });
  await page.waitForSelector(".stand .word");
  const ended = Date.now();
  at.close();
  await page.waitForSelector(".coming .large");
  assert.ok(Date.now() - ended < AT_ONCE, `${Date.now() - ended} ms`);
  assert.match(await page.locator(".large").innerText(), /does not answer/);
  assert.deepEqual(await violations(page, "the device, the desk is gone"), []);
  at = await again(at);
  Object.assign(at.desk.way, { open: true, in: true });
  await page.waitForSelector(".stand .word");
  await page.context().close();
});

test("another project at the same address is not mistaken for this one", { skip }, async (t) => {
  let at = await start({ prints: 60 });
  t.after(() => at.close());
  const page = await open(chrome, at.url, "/print/3");
  await page.waitForSelector(".corner");
  at.close();
  await page.waitForSelector("dialog.gone");
  at = await again(at);
  at.desk.name = "Another box";
  await page.waitForFunction(() => document.querySelector(".top h1")?.textContent === "Another box" && location.pathname === "/");
  await page.context().close();
});

test("an address that no room has says so, and leads to the table", { skip }, async (t) => {
  const at = await start({ prints: 60 });
  t.after(() => at.close());
  const page = await open(chrome, at.url, "/tables");
  await page.waitForSelector(".nowhere");
  assert.match(await page.locator("#room").innerText(), /nothing at this address[\s\S]*\/tables/);
  assert.deepEqual(await violations(page, "nowhere"), []);
  await page.getByRole("button", { name: "Go to the table" }).click();
  await page.waitForSelector(".print:focus");
  await page.context().close();
});
