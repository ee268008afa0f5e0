// Importing by pointing: folders by keys, how the import goes, how it is stopped, and what could not be read. Only the invented desk goes on when told.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { REAL, browser, desk, open, violations } from "./browser.mjs";
import { becomes, press } from "./steps.mjs";

const skip = REAL ? "the invented desk can be told to" : false;
let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(30)]; });
after(async () => { await chrome.close(); at.close(); });

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
