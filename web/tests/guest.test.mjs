// Another device: let in from the desk by a code, the stand in one hand on a phone, shut out again.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { DESK, PHONE, REAL, browser, desk, open, pictures, violations } from "./browser.mjs";

const skip = REAL ? "the camera is not here" : false;
let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(200)]; });
after(async () => { await chrome.close(); at.close(); });

/** A phone that opens what the desk shows. */
async function phone(more = {}) {
  const page = await open(chrome, at.url, "/guest", { viewport: PHONE, userAgent: "guest", hasTouch: true, ...more });
  await page.waitForSelector(".coming, .stand .word");
  return page;
}

test("a phone is let in by the code the desk shows, marks what lies there, and is shut out again", { skip }, async () => {
  Object.assign(at.desk.stand, { folder: "/tether", box: "Shoebox 3", sleeve: "12", last: null, reshoot: [] });
  const page = await open(chrome, at.url, "/stand");
  await page.waitForSelector(".stand .word");
  await page.keyboard.press("p");
  await page.waitForSelector("dialog.device");
  assert.match(await page.locator("dialog.device").innerText(), /not encrypted/);
  assert.deepEqual(await violations(page, "before a device is let in"), []);
  await page.getByRole("button", { name: "Open access" }).click();
  await page.waitForSelector(".device .code");
  assert.equal(await page.locator(".device .code").innerText(), "418 302");
  assert.deepEqual(await violations(page, "a code is shown"), []);

  const hand = await phone();
  await hand.waitForFunction(() => document.activeElement?.id === "code");
  await hand.keyboard.type("111111");
  await hand.keyboard.press("Enter");
  await hand.waitForFunction(() => /Wrong code/.test(document.querySelector("#wrong").textContent));
  await hand.keyboard.type("418 302");
  await hand.getByRole("button", { name: "Connect" }).tap();
  await hand.waitForSelector(".stand .word h2");
  await page.waitForSelector(".device .inside");
  assert.deepEqual(await violations(page, "a device is in"), []);
  await page.keyboard.press("Escape");
  await page.getByRole("button", { name: /Device connected/ }).waitFor();

  at.desk.arrive("keep");
  for (const there of [page, hand]) await there.waitForFunction(() => document.querySelector(".word h2").textContent === "Keep");
  await hand.locator(".other").tap();
  await hand.waitForSelector(".again");
  await page.waitForSelector(".again");
  assert.match(await page.locator(".again").innerText(), /Marked to be photographed again/);
  await hand.locator(".other").tap();
  await hand.waitForFunction(() => document.querySelector(".again") === null);
  await hand.locator(".big").tap();
  // Seen on the phone is seen at the desk.
  for (const there of [page, hand]) await there.waitForFunction(() => /Ready/.test(document.querySelector(".big").textContent));
  await page.keyboard.press("a");
  await hand.waitForSelector(".again");
  await page.keyboard.press("p");
  await page.getByRole("button", { name: "Close access" }).click();
  await hand.waitForSelector(".coming");
  assert.deepEqual([...page.faults, ...hand.faults], []);
});

for (const colorScheme of ["light", "dark"]) {
  test(`${colorScheme}: on a phone every state is accessible, large, and nothing lies sideways`, { skip }, async () => {
    Object.assign(at.desk.stand, { folder: "/tether", last: null, reshoot: [] });
    at.desk.post_guest({ do: "open" });
    const hand = await phone({ colorScheme }), found = [];
    const look = async (what) => {
      await pictures(hand);
      found.push(...(await violations(hand, what)));
      assert.ok(await hand.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${what}: scrolls sideways`);
      for (const key of await hand.locator(".big, .other").all()) {
        const box = await key.boundingBox();
        // WCAG 2.2, 2.5.5 (AAA) asks for 44 px; a thumb at arm's length for more.
        assert.ok(box.height >= 64 && box.y + box.height <= PHONE.height, `${what}: ${JSON.stringify(box)}`);
      }
    };
    await look("the code");
    await hand.keyboard.type("000000");
    await hand.keyboard.press("Enter");
    await hand.waitForFunction(() => document.querySelector("#wrong").textContent.length > 10);
    await look("a wrong code");
    await hand.keyboard.type("418302");
    await hand.keyboard.press("Enter");
    await hand.waitForSelector(".stand .word h2");
    await look("nothing yet");
    for (const verdict of ["keep", "look", "reshoot"]) {
      at.desk.arrive(verdict);
      await hand.waitForFunction((v) => document.querySelector(".word h2").textContent.toLowerCase() === v, verdict);
      await look(verdict);
    }
    at.close();
    await hand.waitForSelector(".coming .big");
    await look("the desk has gone");
    at = await desk(200);
  });
}

for (const [how, viewport] of Object.entries({ "a phone held lengthwise": { width: 844, height: 390 }, "a tablet held upright": { width: 820, height: 1180 } })) {
  test(`${how} shows the verdict whole, above its keys`, { skip }, async () => {
    Object.assign(at.desk.stand, { folder: "/tether", last: null, reshoot: [] });
    at.desk.post_guest({ do: "open" });
    at.desk.come("418302");
    const hand = await phone({ viewport });
    at.desk.arrive("reshoot");
    await hand.waitForSelector(".move");
    await pictures(hand);
    assert.deepEqual(await violations(hand, how), []);
    const [word, move, keys, picture] = await Promise.all([".word h2", ".move", ".answers", ".sight img"].map((what) => hand.locator(what).boundingBox()));
    const letters = await hand.locator(".word h2").evaluate((h) => parseFloat(getComputedStyle(h).fontSize));
    assert.ok(word.height < letters * 1.6, "the word stands on one line");
    assert.ok(move.y + move.height <= keys.y && picture.y + picture.height <= keys.y + 1, JSON.stringify([move, picture, keys]));
    assert.ok(keys.y + keys.height <= viewport.height && (await hand.evaluate(() => document.documentElement.scrollWidth <= innerWidth)));
  });
}
