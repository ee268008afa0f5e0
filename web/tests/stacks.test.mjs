// Stacks of near-twins: proposed, fanned out, one chosen, lifted out, laid together, found by a search; all of it by keys, and undone.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { DESK, PHONE, REAL, browser, desk, focused, open, pictures, said, violations } from "./browser.mjs";
import { hears, press } from "./steps.mjs";

const skip = REAL ? "the real desk has its own prints" : false;
let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(60)]; });
after(async () => { await chrome.close(); at.close(); });

const places = (page, n) => page.waitForFunction((want) => document.querySelector(".print")?.getAttribute("aria-setsize") === String(want), n);

test("near-twins are proposed, fanned out, chosen, lifted and laid together by keys, and undone", { skip }, async () => {
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  await places(page, 60);
  await press(page, "p");
  await hears(page, /Proposed 6 stacks/);
  // Six stacks, two of them of three: eight prints lie under others.
  await places(page, 52);
  assert.equal(await page.locator("#found").innerText(), "60 prints in 52 stacks and single prints");
  // Walk to the first stack, print 4 with 5 and 6 under it.
  await press(page, "Home", "ArrowRight", "ArrowRight", "ArrowRight");
  assert.match(await focused(page), /Print 4.*stack of 3, proposed/s, "its count is said in words");
  assert.deepEqual(await violations(page, "closed stacks"), []);
  await press(page, "o");
  await places(page, 54);
  assert.match(await focused(page), /Print 4.*1 of 3 in a stack/s);
  await press(page, "ArrowRight", "ArrowRight");
  assert.match(await focused(page), /Print 6.*3 of 3 in a stack/s);
  assert.deepEqual(await violations(page, "a stack fanned out"), []);
  // One of it is chosen by one key, and lies on top when the stack is closed again.
  await press(page, "+");
  await hears(page, /wide/);
  await press(page, "o");
  await places(page, 52);
  assert.match(await focused(page), /Print 6.*stack of 3/s);
  // Side by side all of it is laid out.
  await press(page, "s");
  await page.waitForSelector("dialog.beside");
  assert.equal(await page.locator(".beside figure").count(), 3);
  // Something changes meanwhile and the table is laid anew: the finger is still on the print it was on.
  const laid = await page.locator(".print").first().elementHandle();
  at.desk.tell({ kind: "changed" });
  await page.waitForFunction((print) => !print.isConnected, laid);
  await press(page, "Escape");
  await page.waitForSelector("dialog.beside", { state: "detached" });
  assert.match(await focused(page), /Print 6.*stack of 3/s);
  // The proposal is kept.
  await press(page, "p");
  await hears(page, /Stacked 3 prints/);
  await page.waitForFunction(() => !/proposed/.test(document.activeElement.textContent));
  // One is lifted out, and another put on it.
  await press(page, "l");
  await hears(page, /Took 6 out/);
  await places(page, 53);
  await press(page, "Home", "ArrowRight", ".", "ArrowRight", ".", "p");
  await hears(page, /Stacked 2 prints/);
  await places(page, 52);
  await press(page, "Escape");
  // A search finds what lies under others.
  await press(page, "/");
  await page.keyboard.type("stack:1 id:5");
  await places(page, 1);
  assert.match(await page.locator(".print").innerText(), /5.*of 2 in a stack/s);
  await press(page, "Escape", "Escape");
  await places(page, 52);
  // What was done is undone, one thing after the other.
  await press(page, "Control+z");
  await hears(page, /Undone: Stacked 2/);
  await places(page, 53);
  await press(page, "Control+z");
  await hears(page, /Undone: Took/);
  await places(page, 52);
  assert.ok((await said(page)).length > 5);
  // An edit has no stacks: each print of it was chosen.
  await press(page, "e");
  await places(page, 1);
  assert.equal(await page.locator(".print.heap").count(), 0);
  assert.deepEqual(page.faults, []);
});

for (const [size, viewport] of [["desk", DESK], ["phone", PHONE]]) {
  for (const colorScheme of ["light", "dark"]) {
    test(`${size}, ${colorScheme}: stacks are accessible, closed and open`, { skip }, async () => {
      if (!at.desk.stacks.length) at.desk.post_stack({ do: "propose", ids: [] });
      const page = await open(chrome, at.url, "/table", { viewport, colorScheme });
      await page.waitForSelector(".print:focus");
      await press(page, "Home", ...Array.from({ length: 3 }, () => "ArrowRight"));
      const found = [];
      for (const what of ["closed", "open"]) {
        await pictures(page);
        found.push(...(await violations(page, what)));
        assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${what}: scrolls sideways`);
        await press(page, "o");
        await page.waitForTimeout(300);
      }
      assert.deepEqual(found, []);
    });
  }
}
