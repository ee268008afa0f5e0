// Importing by pointing: folders by keys, how the import goes, how it is stopped, and what could not be read. Only the invented desk goes on when told.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { REAL, browser, desk, open, violations } from "./browser.mjs";
import { becomes, press } from "./steps.mjs";

const skip = REAL ? "the invented desk can be told to" : false;
let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(30)]; });
after(async () => { await chrome.close(); at.close(); });

/** The import, where a folder is chosen: the card is offered first. */
async function chooser() {
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  await press(page, "i");
  // The import before this one, if there was one, is shown first.
  await page.waitForSelector(".chooser li, .goes .ended");
  if (await page.locator(".goes .ended").count()) await page.getByRole("button", { name: "Import another folder" }).click();
  const field = page.locator(".chooser input[name=folder]"), where = () => page.locator(".chooser .at b").innerText();
  await becomes(where, "/media/ada/CARD1");
  return { page, field, where };
}

test("an import that somebody opens midway shows how it ended", { skip }, async () => {
  const fresh = await desk(30), page = await open(chrome, fresh.url);
  await page.waitForSelector(".print:focus");
  fresh.desk.intake.begin("/home/ada/Pictures/Box 10");
  fresh.desk.intake.goOn("finishing", 17, "F0018.jpg");
  await page.locator(".foot .busy button").click();
  await becomes(() => page.locator(".goes .many").innerText(), "17 of 40");
  fresh.desk.intake.end([{ file: "F0002.jpg", says: "The file is cut off." }]);
  await becomes(() => page.locator(".unread li").innerText(), "F0002.jpg The file is cut off.");
  assert.deepEqual(page.faults, []);
  await page.context().close();
  fresh.close();
});

test("a folder is found by keys, imported, stopped, and what could not be read is listed", { skip }, async () => {
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  await press(page, "i");
  const where = () => page.locator(".chooser .at b").innerText();
  await becomes(where, "/media/ada/CARD1", "the card is offered first");
  await becomes(() => page.evaluate(() => document.activeElement?.getAttribute("name")), "folder");
  await press(page, "Backspace");
  await becomes(where, "/media/ada");
  await page.getByRole("button", { name: "Home" }).click();
  await becomes(where, "/home/ada");
  await page.keyboard.type("pic");
  await press(page, "Enter");
  await becomes(where, "/home/ada/Pictures");
  await press(page, "ArrowDown", "ArrowDown");
  await becomes(() => page.locator(".chooser li[aria-selected=true] span").first().innerText(), "Box 10", "10 follows 9");
  await press(page, "Enter");
  await becomes(where, "/home/ada/Pictures/Box 10");
  assert.deepEqual(await violations(page, "a folder"), []);
  await press(page, "Enter");
  await becomes(() => page.evaluate(() => document.activeElement?.getAttribute("name")), "box");
  await press(page, "Enter");
  await page.waitForSelector(".goes progress");
  at.desk.intake.goOn("finishing", 3, "F0004.jpg");
  await becomes(() => page.locator(".goes .many").innerText(), "3 of 40");
  assert.deepEqual(await violations(page, "an import"), []);
  await page.getByRole("button", { name: "Stop the import" }).click();
  await page.getByText("Stopping: the frame in hand").waitFor();
  at.desk.intake.end([{ file: "F0002.jpg", says: "The file is cut off." }]);
  await becomes(() => page.locator(".unread li").innerText(), "F0002.jpg The file is cut off.");
  assert.match(await page.locator(".ended").innerText(), /37 frames are left untouched/);
  assert.deepEqual(await violations(page, "its end"), []);
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("Escape empties the folder field first, and closes the import only when nothing is typed there", { skip }, async () => {
  const { page, field } = await chooser();
  for (const half of ["dc", "/home/a", " "]) {
    await field.focus();
    await page.keyboard.type(half);
    await becomes(() => field.inputValue(), half);
    await press(page, "Escape");
    await becomes(() => field.inputValue(), "", `“${half}” is cleared`);
    await becomes(() => page.locator("dialog.import[open]").count(), 1, `after “${half}” the import is still open`);
    await becomes(() => page.locator(".chooser li").allInnerTexts(), ["DCIM\n19 frames"], "every folder here is listed again");
    await becomes(() => page.evaluate(() => document.activeElement?.getAttribute("name")), "folder");
  }
  // Quicker than the page draws: both in one task. A key that the page refuses closes no dialog (HTML, close requests).
  const refused = await field.evaluate((input) => {
    input.value = "x";
    input.dispatchEvent(new Event("input", { bubbles: true }));
    return !input.dispatchEvent(new KeyboardEvent("keydown", { key: "Escape", bubbles: true, cancelable: true }));
  });
  assert.ok(refused, "an Escape before the drawing does not reach the dialog");
  await becomes(() => field.inputValue(), "", "and empties the field");
  await press(page, "Escape");
  await becomes(() => page.locator("dialog.import").count(), 0, "an empty field lets it close");
  assert.deepEqual(page.faults, []);
  await page.context().close();
});

test("what is typed while a folder opens stays, and the folder that is shown is the one imported", { skip }, async () => {
  const { page, field, where } = await chooser();
  let answer;
  const held = new Promise((later) => { answer = later; });
  await page.route(/api\/folders\?at=%2Fhome%2Fada$/, async (route) => { await held; await route.continue(); });
  await page.getByRole("button", { name: "Home" }).click();
  await field.focus();
  await page.keyboard.type("pic");
  answer();
  await becomes(where, "/home/ada");
  await becomes(() => field.inputValue(), "pic");
  await press(page, "Enter");
  await becomes(where, "/home/ada/Pictures");
  // The same once more, with the import asked for from the folder that arrived late.
  let second;
  const later = new Promise((done) => { second = done; });
  await page.route(/api\/folders\?at=%2Fmedia%2Fada%2FCARD1$/, async (route) => { await later; await route.continue(); });
  await page.getByRole("button", { name: "Card CARD1" }).click();
  await field.focus();
  await page.keyboard.type("dc");
  second();
  await becomes(where, "/media/ada/CARD1");
  const asked = page.waitForRequest((r) => r.method() === "POST" && r.url().endsWith("/api/take"));
  await page.getByRole("button", { name: "Import 19 frames" }).click();
  assert.equal((await asked).postDataJSON().folder, "/media/ada/CARD1");
  await page.waitForSelector(".goes progress");
  at.desk.intake.end();
  await page.waitForSelector(".goes .ended");
  assert.deepEqual(page.faults, []);
  await page.context().close();
});
