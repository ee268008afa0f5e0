// Every room and state, at both sizes and in both lights: no accessibility violation, nothing sideways, nothing from elsewhere.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { DESK, PHONE, REAL, browser, desk, open, pictures, violations } from "./browser.mjs";

let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(300)]; });
after(async () => { await chrome.close(); at.close(); });

const keys = (...list) => async (page) => { await page.waitForSelector(".print:focus"); for (const key of list) await page.keyboard.press(key); };
const onSheet = (...list) => async (page) => { await page.waitForSelector(".corner, .finished"); await page.locator(".sheet").focus(); for (const key of list) await page.keyboard.press(key); };
/** Hands all prints on by keys, and waits for what comes of it. */
async function hand(page, form, words, seen) {
  await page.waitForSelector(".past li");
  await page.keyboard.press({ share: "p", gallery: "s", book: "b", pack: "a" }[form]);
  for (const [label, text] of Object.entries(words)) {
    await page.getByLabel(label).fill(text);
    await page.keyboard.press("Escape");
  }
  await page.keyboard.press("m");
  await page.waitForSelector(seen);
}
const STATES = {
  table: ["/table"],
  "prints in hand": ["/table", keys(".", "ArrowRight", ".")],
  "table by verdict": ["/table", async (page) => { await page.selectOption("#order", "verdict"); await page.waitForSelector(".heads h2"); }],
  "a field not known": ["/table", async (page) => { await page.fill("#line", "plase:x"); await page.waitForSelector("#found.trouble"); }],
  "nothing found": ["/table", async (page) => { await page.fill("#line", "zzzzqq"); await page.waitForSelector(".empty"); }],
  "an empty sheet of paper": ["/table", keys("e", "e", "e")],
  "side by side": ["/table", keys(".", "ArrowRight", ".", "s")],
  words: ["/table", keys("w")],
  "words for many": ["/table", async (page) => {
    await keys(".", "ArrowRight", ".", "w")(page);
    await page.locator("dialog input[name=date]").fill("03/04/2005");
    await page.locator("dialog .field.date .ask button").first().waitFor();
  }],
  "words not saved": ["/table", async (page) => {
    await keys("w")(page);
    await page.locator("dialog input[name=title]").fill("Half a thought");
    await page.keyboard.press("Escape");
    await page.waitForSelector(".unsaved");
  }],
  "a rig's wrong field": ["/rig", async (page) => {
    await page.waitForSelector(".lamp");
    await page.fill(".answer input[name=light_distance]", "far");
    await page.keyboard.press("Enter");
    await page.waitForSelector("#wrong-light_distance");
  }],
  keys: ["/table", keys("?")],
  "take in": ["/table", (page) => page.getByRole("button", { name: "Import", exact: true }).click()],
  sheet: ["/print/1"],
  "a corner held": ["/print/1", onSheet("c")],
  "true size": ["/print/1", onSheet("t")],
  stand: ["/stand"],
  "stand at work": ["/stand", async (page) => {
    if (!at.desk) return;
    await page.fill("input[name=folder]", "/tether");
    await page.keyboard.press("Enter");
    await page.waitForSelector(".stand");
    at.desk.arrive("reshoot");
    await page.waitForSelector(".again");
  }],
  rig: ["/rig", (page) => page.waitForSelector(".lamp")],
  "hand on": ["/hand", (page) => page.waitForSelector(".past li")],
  "what is not ready": ["/hand", async (page) => { await page.waitForSelector(".ready"); await page.keyboard.press("r"); await page.waitForTimeout(200); }],
  "the book's spreads": ["/book", (page) => page.waitForSelector(".spreads .laid")],
  "a site's choices": ["/hand", (page) => page.keyboard.press("s")],
  "a book's choices": ["/hand", (page) => page.keyboard.press("b")],
  "an archive's choices": ["/hand", (page) => page.keyboard.press("a")],
  "an archive seen": ["/hand", async (page) => { if (at.desk) await hand(page, "pack", { "Folder": "/media/archive" }, ".seen pre"); }],
  "an archive checked": ["/hand", async (page) => {
    if (!at.desk) return;
    await hand(page, "pack", { "Folder": "/media/archive" }, ".seen pre");
    await page.getByLabel("Second copy").fill("/media/second");
    await page.keyboard.press("Escape");
    await page.keyboard.press("v");
    await page.waitForFunction(() => /.media.second: good/.test(document.querySelector(".told").textContent));
  }],
  "nothing made": ["/hand", async (page) => { if (at.desk) await hand(page, "book", { "Printer's ICC profile": "/press.icc" }, ".wish .trouble"); }],
  "shares seen": ["/hand", async (page) => { if (at.desk) await hand(page, "share", {}, ".sheets img"); }],
  "a share large": ["/hand", async (page) => { if (at.desk) { await hand(page, "share", {}, ".sheets img"); for (const key of ["ArrowRight", "g"]) await page.keyboard.press(key); await page.locator(".seen").focus(); await page.keyboard.press("Enter"); await page.waitForSelector(".one img"); } }],
  "a site seen": ["/hand", async (page) => { if (at.desk) await hand(page, "gallery", {}, ".seen iframe"); }],
  "a site made again": ["/hand", async (page) => { if (at.desk) { await hand(page, "gallery", {}, ".seen iframe"); await page.keyboard.press("m"); await page.waitForFunction(() => /Exporting a website of .+: 1 of/.test(document.querySelector(".seen .title").textContent)); await page.waitForFunction(() => /nothing has changed/.test(document.body.textContent)); } }],
  "an unfinished one finished": ["/hand", async (page) => { if (at.desk) { await page.getByRole("button", { name: "Finish: Website: tight" }).click(); await page.waitForSelector(".seen iframe"); } }],
  "a number out of its bounds": ["/hand", async (page) => {
    await page.waitForSelector(".past li");
    await page.keyboard.press("s");
    await page.getByLabel("Newsletter, maximum kB").fill("5");
    await page.keyboard.press("Escape");
    await page.keyboard.press("m");
    await page.waitForFunction(() => document.activeElement?.matches("input:invalid"));
  }],
  "a book seen": ["/hand", async (page) => { if (at.desk) await hand(page, "book", {}, ".plan img"); }],
  "a spread large": ["/hand", async (page) => { if (at.desk) { await hand(page, "book", {}, ".plan img"); for (const key of ["ArrowRight", "Enter"]) await page.keyboard.press(key); await page.waitForSelector(".one img"); } }],
};

test("every room of the navigation has its number as key, its own address and its own title", async () => {
  const page = await open(chrome, at.url), rooms = await page.locator("nav[aria-label=Rooms] a").allInnerTexts();
  assert.ok(rooms.length >= 4);
  for (const [i, name] of rooms.entries()) {
    await page.waitForFunction(() => document.activeElement !== document.body);
    await page.keyboard.press("Escape");
    await page.keyboard.press(String(i + 1));
    await page.waitForFunction((wanted) => document.querySelector("nav[aria-label=Rooms] [aria-current=page]")?.textContent === wanted && document.title.startsWith(wanted), name);
    // The server gives the page for it, and the page opens it.
    await page.reload();
    await page.waitForSelector("#room > *");
    assert.equal(await page.locator("nav[aria-label=Rooms] [aria-current=page]").innerText(), name);
    await page.locator("#room").focus();
  }
  assert.deepEqual(page.faults, []);
});

for (const [size, viewport] of [["desk", DESK], ["phone", PHONE]]) {
  test(`${size}: every room and state is accessible, in the light and in the dark`, async () => {
    const found = [];
    for (const [what, [path, act]] of Object.entries(STATES)) {
      if (at.desk) {
        Object.assign(at.desk.stand, { folder: null, last: null, reshoot: [] });
        at.desk.handing.made.clear();
      }
      const page = await open(chrome, at.url, path, { viewport, colorScheme: "light" });
      await act?.(page);
      await pictures(page);
      found.push(...(await violations(page, what)));
      // The same page: light and dark differ in its style sheet alone.
      const ground = () => page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor), light = await ground();
      await page.emulateMedia({ colorScheme: "dark" });
      assert.notEqual(await ground(), light, `${what}: it is dark`);
      found.push(...(await violations(page, `${what}, dark`)));
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${what}: scrolls sideways`);
      assert.deepEqual(page.faults, [], what);
      await page.context().close();
    }
    assert.deepEqual(found, [], "axe-core finds violations");
  });
}

test("of ten thousand prints only those in sight are drawn", { skip: REAL ? "the real desk has its own prints" : false }, async () => {
  const many = await desk(10_000), page = await open(chrome, many.url);
  await page.waitForFunction(() => document.querySelector(".print")?.getAttribute("aria-setsize") === "10000");
  await page.waitForSelector(".print:focus");
  for (const key of ["End", "PageUp", "Home", "PageDown"]) await page.keyboard.press(key);
  assert.ok((await page.locator(".print").count()) < 120);
  await page.keyboard.press("End");
  // The last page is fetched behind the first: the last print says its own number in the end.
  await page.waitForFunction(() => document.activeElement.textContent.startsWith("Print 10000"));
  many.close();
});

test("motion is 150 ms at most, and none where none is wanted", async () => {
  for (const reducedMotion of ["no-preference", "reduce"]) {
    const page = await open(chrome, at.url, "/table", { reducedMotion });
    const longest = await page.evaluate(() => Math.max(...[...document.querySelectorAll("*")].map((e) => parseFloat(getComputedStyle(e).transitionDuration) || 0)));
    assert.ok(reducedMotion === "reduce" ? longest === 0 : longest <= 0.15, `${reducedMotion}: ${longest} s`);
    await page.context().close();
  }
});

test("the stand works on a phone 360 px wide", { skip: REAL ? "the camera is not here" : false }, async () => {
  Object.assign(at.desk.stand, { folder: "/tether", box: "Shoebox 3", sleeve: "12" });
  const page = await open(chrome, at.url, "/stand", { viewport: { width: 360, height: 640 } });
  at.desk.arrive("reshoot");
  await page.waitForSelector(".word h2");
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth && document.querySelector(".stand").scrollWidth <= innerWidth), "nothing lies sideways");
  const big = await page.locator(".big").boundingBox();
  assert.ok(big.y + big.height <= 640 && big.height >= 48, "the big key is whole and in sight");
  await page.locator(".big").tap().catch(() => page.locator(".big").click());
  assert.match(await page.locator(".big").innerText(), /Ready/);
});
