// Opens a finished page from disk in headless Chromium and checks what a reader needs: accessibility rules (axe-core, the
// rules of WCAG 2.2 A and AA), keys, the filter, no sideways scrolling on a phone, and that nothing is fetched.
// usage: node check.mjs PAGE [FOLDER FOR PICTURES]
import { chromium } from "playwright-core";
import { createRequire } from "node:module";
import { existsSync } from "node:fs";
import { pathToFileURL } from "node:url";
import assert from "node:assert/strict";

const [page_path, pictures] = process.argv.slice(2);
const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const executablePath = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"].find(existsSync);
if (!executablePath) {
  console.error("No browser. Install one: apt-get install chromium");
  process.exit(2);
}
const browser = await chromium.launch({ executablePath, args: ["--no-sandbox"] });
const sizes = { desk: [1280, 800], phone: [390, 844] };
let checks = 0;
const check = (value, says) => { assert.ok(value, says); checks++; };

for (const [name, [width, height]] of Object.entries(sizes)) {
  for (const colorScheme of ["light", "dark"]) {
    const context = await browser.newContext({ viewport: { width, height }, colorScheme, reducedMotion: "reduce" });
    const page = await context.newPage();
    const outside = [], errors = [];
    page.on("request", r => { if (!r.url().startsWith("file:") && !r.url().startsWith("data:")) outside.push(r.url()); });
    page.on("pageerror", e => errors.push(e.message));
    await page.goto(pathToFileURL(page_path).href);
    await page.evaluate(() => document.querySelectorAll("img[loading]").forEach(i => { i.loading = "eager"; }));
    await page.waitForFunction(() => [...document.querySelectorAll("article img")].every(i => i.complete));
    if (pictures) await page.screenshot({ path: `${pictures}/${name}-${colorScheme}.png` });
    await page.addScriptTag({ path: axe });
    const found = await page.evaluate(() => axe.run({ runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"] }));
    for (const v of found.violations) console.error(name, colorScheme, v.id, v.help, v.nodes.slice(0, 3).map(n => n.html).join("\n  "));
    check(found.violations.length === 0, `${name} ${colorScheme}: axe-core finds violations`);
    check(found.passes.length > 15, "axe-core ran");
    check(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${name}: scrolls sideways`);
    check(await page.evaluate(() => [...document.querySelectorAll("article img")].every(i => i.naturalWidth > 0)), "every picture is there");
    assert.deepEqual([outside, errors], [[], []]);
    checks++;
    if (name === "desk" && colorScheme === "light") await keys(page);
    if (pictures) await page.screenshot({ path: `${pictures}/${name}-${colorScheme}-whole.png`, fullPage: true });
    await context.close();
  }
}

async function keys(page) {
  const all = await page.locator("article").count();
  const focused = () => page.evaluate(() => [...document.querySelectorAll("article")].indexOf(document.activeElement));
  await page.keyboard.press("ArrowDown");
  check(await focused() === 0, "an arrow walks to the first frame");
  await page.keyboard.press("ArrowRight");
  check(all < 2 || await focused() === 1, "and on");
  await page.keyboard.press("ArrowUp");
  check(await focused() === 0, "and back");
  await page.keyboard.press("?");
  check(await page.locator("#keys").isVisible(), "? shows the keys");
  await page.keyboard.press("Escape");
  check(!await page.locator("#keys").isVisible(), "Escape puts them away");
  await page.keyboard.press("/");
  await page.keyboard.type("keep");
  const kept = await page.locator("article.keep").count();
  check(await page.locator("article:visible").count() === kept, "the filter shows one verdict");
  await page.keyboard.press("Escape");
  check(await page.locator("article:visible").count() === all, "Escape shows all again");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Enter");
  if (await page.locator("article .mount img").count()) {
    const large = await page.locator("article").first().locator("img").count() > 0;
    check(await page.locator("#sheet").isVisible() === large, "Enter shows a print large");
    if (pictures) await page.screenshot({ path: `${pictures}/sheet.png` });
    await page.keyboard.press("Escape");
  }
}

await browser.close();
console.log(`page: ${checks} checks passed`);
