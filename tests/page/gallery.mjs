// Opens a gallery in headless Chromium, from disk and from a server: accessibility rules (axe-core), keys, the view from close,
// true size by a ruler, without a script, on a phone, nothing fetched from elsewhere; and lets a general viewer of IIIF pictures
// (openseadragon) read the pictures by their info.json.
// usage: node gallery.mjs SITE [FOLDER FOR PICTURES]   SITE was made with --address http://127.0.0.1:8713/
import { chromium } from "playwright-core";
import { createRequire } from "node:module";
import { existsSync, readFileSync, readdirSync, statSync } from "node:fs";
import { createServer } from "node:http";
import { extname, join, normalize } from "node:path";
import { pathToFileURL } from "node:url";
import assert from "node:assert/strict";

const [site, pictures] = process.argv.slice(2);
const resolve = createRequire(import.meta.url).resolve;
const axe = resolve("axe-core/axe.min.js"), viewer = resolve("openseadragon/build/openseadragon/openseadragon.min.js");
const executablePath = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"].find(existsSync);
if (!executablePath) {
  console.error("No browser. Install one: apt-get install chromium");
  process.exit(2);
}
const port = 8713, types = { ".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".json": "application/json", ".jpg": "image/jpeg" };
let missing = [];
const server = createServer((request, answer) => {
  const path = normalize(decodeURIComponent(new URL(request.url, "http://x").pathname));
  if (path === "/favicon.ico") return answer.writeHead(204).end();
  if (path === "/viewer.js") return answer.end(readFileSync(viewer));
  if (path === "/viewer.html") return answer.writeHead(200, { "content-type": "text/html" }).end("<!doctype html><div id=v style='width:900px;height:700px'></div><script src=/viewer.js></script>");
  const file = join(site, path);
  if (!existsSync(file) || statSync(file).isDirectory()) { missing.push(path); return answer.writeHead(404).end(); }
  answer.writeHead(200, { "content-type": types[extname(file)] || "application/octet-stream" }).end(readFileSync(file));
}).listen(port, "127.0.0.1");
const browser = await chromium.launch({ executablePath, args: ["--no-sandbox"] });
let checks = 0;
const check = (value, says) => { assert.ok(value, says); checks++; };
const names = readdirSync(join(site, "prints")).filter(n => n.endsWith(".html"));
const disk = pathToFileURL(site).href, host = `http://127.0.0.1:${port}`;

async function open(context, address) {
  const page = await context.newPage();
  const outside = [], errors = [];
  page.on("request", r => { if (!r.url().startsWith(disk) && !r.url().startsWith(host) && !r.url().startsWith("data:")) outside.push(r.url()); });
  page.on("pageerror", e => errors.push(e.message));
  await page.goto(address);
  const settle = () => { assert.deepEqual([outside, errors], [[], []]); checks++; };
  return { page, settle };
}

const loaded = page => page.waitForFunction(() => [...document.images].every(i => i.complete && i.naturalWidth > 0));
const eager = page => page.evaluate(() => document.querySelectorAll("img[loading]").forEach(i => { i.loading = "eager"; }));

async function rules(page, name) {
  await page.addScriptTag({ path: axe });
  const found = await page.evaluate(() => axe.run({ runOnly: ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"] }));
  for (const v of found.violations) console.error(name, v.id, v.help, v.nodes.slice(0, 3).map(n => n.html).join("\n  "));
  check(found.violations.length === 0, `${name}: axe-core finds violations`);
  check(found.passes.length > 12, "axe-core ran");
}

for (const [size, [width, height]] of Object.entries({ desk: [1280, 800], phone: [390, 844] })) {
  for (const colorScheme of ["light", "dark"]) {
    const context = await browser.newContext({ viewport: { width, height }, colorScheme, reducedMotion: "reduce" });
    for (const [name, path] of [["wall", "index.html"], ["print", `prints/${names[0]}`], ["newsletter", "newsletter.html"]]) {
      const { page, settle } = await open(context, `${disk}/${path}`);
      await eager(page);
      await loaded(page);
      if (pictures) await page.screenshot({ path: `${pictures}/${name}-${size}-${colorScheme}.png`, fullPage: name === "print" && size === "phone" });
      await rules(page, `${name} ${size} ${colorScheme}`);
      check(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${name} ${size}: scrolls sideways`);
      settle();
      await page.close();
    }
    await context.close();
  }
}

// Without a script every picture and every way is there.
{
  const context = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 1280, height: 800 } });
  const { page, settle } = await open(context, `${disk}/index.html`);
  check(await page.locator(".wall img").count() === names.length, "a picture for each print");
  await page.locator(".wall a").first().click();
  check(await page.locator("figure img").first().isVisible(), "the print is shown");
  check(await page.locator("button").count() === 0, "no button that would do nothing");
  await page.locator("figure a").first().click();
  check(page.url().endsWith("full/max/0/default.jpg"), "the whole picture opens");
  settle();
  await context.close();
}

// Keys, from disk and from a server.
for (const top of [disk, host]) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const { page, settle } = await open(context, `${top}/index.html`);
  const at = () => page.evaluate(() => [...document.querySelectorAll(".wall a")].indexOf(document.activeElement));
  await page.keyboard.press("ArrowRight");
  check(await at() === 0, "an arrow walks to the first print");
  await page.keyboard.press("ArrowRight");
  check(await at() === 1, "and on");
  await page.keyboard.press("ArrowDown");
  const below = await at();
  check(names.length < 6 || below > 1, "down to the next row");
  await page.keyboard.press("ArrowUp");
  check(await at() < 5, "and up again");
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("ArrowLeft");
  await page.keyboard.press("ArrowLeft");
  check(await at() === 0, "and back");
  await page.keyboard.press("Enter");
  await page.waitForURL(/prints\//);
  const first = page.url();
  await page.keyboard.press("ArrowRight");
  await page.waitForURL(u => u.href !== first);
  await page.keyboard.press("ArrowLeft");
  await page.waitForURL(u => u.href === first);

  // From close: tiles come, at the size the screen shows; arrows and signs move; Escape goes back.
  // A small window, so that even a small picture is shown smaller than it is.
  await page.setViewportSize({ width: 360, height: 280 });
  await page.keyboard.press("+");
  check(await page.locator("dialog.close").isVisible(), "the view from close opens");
  await page.waitForFunction(() => document.querySelectorAll("dialog.close img").length > 1);
  await loaded(page);
  const tiles = () => page.evaluate(() => [...document.querySelectorAll("dialog.close img")].slice(1).map(i => i.src));
  const far = await tiles();
  for (let i = 0; i < 6; i++) await page.keyboard.press("+");
  await page.waitForFunction(n => document.querySelectorAll("dialog.close img")[1]?.src !== n, far[0]);
  await loaded(page);
  const near = await tiles();
  check(near.length > 0 && near.some(t => !far.includes(t)), "closer shows finer tiles");
  // Neighbouring tiles leave no seam: together they cover what of the print is on the screen.
  const covered = await page.evaluate(() => {
    const box = [...document.querySelectorAll("dialog.close img")].slice(1).map(i => i.getBoundingClientRect());
    const whole = document.querySelector("dialog.close img").getBoundingClientRect();
    for (let x = 20; x < innerWidth; x += 37) for (let y = 20; y < innerHeight; y += 37) {
      const inside = r => x >= r.left && x < r.right && y >= r.top && y < r.bottom;
      if (inside(whole) && !box.some(inside)) return false;
    }
    return true;
  });
  check(covered, "the tiles cover the print");
  await page.keyboard.press("ArrowRight");
  if (pictures && top === disk) await page.screenshot({ path: `${pictures}/close.png` });
  await rules(page, "from close");
  await page.keyboard.press("Escape");
  check(await page.locator("dialog.close").count() === 0, "Escape goes back");
  await page.setViewportSize({ width: 1280, height: 800 });

  // True size: a bar of 50 mm set to 200 points makes 4 points a millimetre.
  await page.getByRole("button", { name: "True size" }).click();
  if (pictures && top === disk) await page.screenshot({ path: `${pictures}/ruler.png` });
  await rules(page, "the ruler");
  await page.locator("#ruler").fill("200");
  check(await page.locator(".bar").evaluate(b => b.getBoundingClientRect().width) === 200, "the bar follows the slider");
  await page.getByRole("button", { name: "It is 50 mm" }).click();
  const shown = await page.locator("figure img").first().evaluate(i => [i.getBoundingClientRect().width, Number(i.closest("figure").dataset.mm.split(" ")[0])]);
  check(Math.abs(shown[0] / 4 / shown[1] - 1) < 0.001, `true size within a thousandth: ${shown}`);
  check(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "true size scrolls in its own frame");
  await page.reload();
  await page.getByRole("button", { name: "True size" }).click();
  check(await page.locator("figure.true").count() === 1, "it is remembered");
  await page.getByRole("button", { name: "As large as the page" }).click();
  await page.keyboard.press("Escape");
  await page.waitForURL(/index\.html/);
  settle();
  await context.close();
}

// A viewer that we did not write reads the picture by its info.json.
{
  const context = await browser.newContext({ viewport: { width: 1000, height: 800 } });
  const { page, settle } = await open(context, `${host}/viewer.html`);
  missing = [];
  for (const name of names.slice(0, 3).map(n => n.replace(".html", ""))) {
    const seen = await page.evaluate(name => new Promise((done, fail) => {
      const v = OpenSeadragon({ element: document.getElementById("v"), prefixUrl: "/none/", showNavigationControl: false, tileSources: `/iiif/${name}/info.json`, immediateRender: true, drawer: "canvas" });
      let tiles = 0;
      v.addHandler("tile-loaded", () => { tiles++; });
      v.addHandler("tile-load-failed", e => fail(new Error(e.message)));
      v.addHandler("open-failed", e => fail(new Error(e.message)));
      v.addHandler("open", () => {
        const item = v.world.getItemAt(0);
        const whole = item.getFullyLoaded.bind(item);
        const step = (then) => { const wait = () => whole() && tiles > 0 ? then() : setTimeout(wait, 40); setTimeout(wait, 80); };
        step(() => {
          v.viewport.zoomTo(item.viewportToImageZoom ? item.imageToViewportZoom(1) : 4, null, true);
          step(() => { const s = item.source; done({ w: s.width, h: s.height, levels: s.maxLevel, tiles }); v.destroy(); });
        });
      });
    }), name);
    const info = JSON.parse(readFileSync(join(site, `iiif/${name}/info.json`)));
    check(seen.w === info.width && seen.h === info.height && seen.tiles >= info.tiles[0].scaleFactors.length, `${name}: the viewer shows ${JSON.stringify(seen)}`);
  }
  assert.deepEqual(missing, [], "a viewer asks for what is not there");
  settle();
  await context.close();
}

await browser.close();
server.close();
console.log(`gallery: ${checks} checks passed`);
