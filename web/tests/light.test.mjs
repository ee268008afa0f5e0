// The light that casts shadows: for one print on its sheet, named for the project, undone; for an export; and the drawing of the lift.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { DESK, PHONE, REAL, browser, desk, open, violations } from "./browser.mjs";
import { api, becomes, hears, press } from "./steps.mjs";

let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(40)]; });
after(async () => { await chrome.close(); at.close(); });

/** The first print of a verdict, or any. */
const first = async (page, verdict) => (await api(page, `/api/prints?q=verdict:${verdict}&order=number&from=0&count=1`)).rows[0];
const light = async (page, id) => (await api(page, `/api/print/${id}`)).frames.find((f) => f.chosen).light;

test("a print's light is chosen, entered in degrees, named, and undone", { skip: REAL !== null }, async () => {
  const page = await open(chrome, at.url), row = await first(page, "keep");
  await page.goto(new URL(`/print/${row.id}`, at.url).href);
  await page.waitForSelector("#light");
  await press(page, "l");
  assert.equal(await page.evaluate(() => document.activeElement.id), "light", "a key leads there");
  assert.equal(await page.locator("#light").inputValue(), "as-shot");
  await page.locator("#light").selectOption("upper-left");
  await hears(page, /Set the light of .*: upper-left \(225°, 45° high, 12° wide\)/);
  await becomes(() => page.locator(".cast").innerText(), "Shadow cast anew (upper-left, 225°, 45° high, 12° wide; expected error 4.1 %).");
  assert.equal((await light(page, row.id)).how, "cast-anew");

  // In degrees, and named for the project.
  await page.locator("#light").selectOption("in degrees");
  const fields = page.locator(".light input[type=number]");
  for (const [i, value] of ["200", "10", "20"].entries()) await fields.nth(i).fill(value);
  await page.getByRole("button", { name: "Cast the shadow" }).click();
  assert.equal(await fields.nth(1).evaluate((f) => f.validity.rangeUnderflow), true, "a light too low is refused beside its field");
  await fields.nth(1).fill("40");
  await page.getByLabel("Name", { exact: true }).fill("North window");
  await page.getByRole("button", { name: "Cast the shadow" }).click();
  await becomes(async () => (await light(page, row.id)).name, "North window");
  await becomes(() => page.locator("#light").inputValue(), "North window");
  assert.equal(await page.locator("#light optgroup").first().getAttribute("label"), "This project");

  // Undone one by one.
  await page.locator("#light").evaluate((e) => e.blur());
  await page.keyboard.press("Control+z");
  await hears(page, /^Undone: Set the light/);
  await becomes(() => page.locator("#light").inputValue(), "upper-left");
  await page.keyboard.press("Control+z");
  await becomes(() => page.locator("#light").inputValue(), "as-shot");
  assert.equal(await page.locator(".cast").count(), 0);

  // A name is deleted; what was cast by it stays.
  await page.locator("#light").selectOption("North window");
  await becomes(async () => (await light(page, row.id)).name, "North window");
  await page.getByRole("button", { name: /Delete the name/ }).click();
  await hears(page, /Deleted the light North window/);
  await becomes(() => page.locator("#light").inputValue(), "other");
  assert.deepEqual(page.faults, []);
  await page.close();
});

test("a print whose lift is not known stays as shot and says so", { skip: REAL !== null }, async () => {
  const page = await open(chrome, at.url), row = await first(page, "reshoot");
  await page.goto(new URL(`/print/${row.id}`, at.url).href);
  await page.locator("#light").selectOption("left");
  await hears(page, /stays as shot/);
  await becomes(() => page.locator(".cast").innerText(), "Shadow as shot. The lift of its edges is not known well enough, so its shadow stays as shot.");
  assert.deepEqual(page.faults, []);
  await page.close();
});

test("the lift is drawn with a text alternative, wide and on a phone", { skip: REAL !== null }, async () => {
  for (const size of [DESK, PHONE]) {
    const page = await open(chrome, at.url, "/table", { viewport: size }), row = await first(page, "keep");
    await page.goto(new URL(`/print/${row.id}`, at.url).href);
    const drawing = page.locator(".lift svg");
    await drawing.waitFor();
    assert.match(await drawing.getAttribute("aria-label"), /^Height of the print's edges above the paper: left .* mm ± .* mm/);
    assert.deepEqual(await page.locator(".lift svg text").allInnerTexts().then((t) => t.length), 5, "four edges and the scale");
    const [drawn, seen] = await drawing.evaluate((svg) => [svg.getBoundingClientRect().width, svg.parentElement.getBoundingClientRect().width]);
    assert.ok(drawn > 150 && drawn <= seen + 0.5, `${drawn} of ${seen}`);
    assert.deepEqual(await violations(page, `the sheet, ${size.width} px`), []);
    assert.deepEqual(page.faults, []);
    await page.close();
  }
});

test("an edit, a site and a book are cast by one light, which the export names", { skip: REAL !== null }, async () => {
  const page = await open(chrome, at.url, "/hand");
  for (const key of ["p", "s", "b"]) {
    await press(page, key);
    await page.locator(".choices #light").waitFor();
    assert.equal(await page.locator(".choices #light").inputValue(), key === "p" ? "as-shot" : "lower", "the light goes with the export, whatever its form");
    await page.locator(".choices #light").selectOption("lower");
    await page.getByText("the export names them").waitFor();
    await page.evaluate(() => document.activeElement.blur());
  }
  await press(page, "p");
  const sent = page.waitForRequest((r) => r.method() === "POST" && new URL(r.url()).pathname === "/api/hand");
  await page.locator("button.main").click();
  assert.equal((await sent).postDataJSON().light, "lower");
  await page.waitForSelector(".seen.share");
  await page.getByText(/Shadow cast anew \(lower \(90°|Shadow cast anew \(lower, 90°|Shadow cast anew \(lower/).first().waitFor();
  assert.deepEqual(page.faults, []);
  await page.close();
});
