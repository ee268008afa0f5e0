// The browser that the tests drive, the desk they open, and the accessibility rules they hold a page to.
import assert from "node:assert/strict";
import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";
import { start } from "../mock/serve.mjs";
import { event, exchange } from "./wire.mjs";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
/** The rules of WCAG 2.2 A and AA as axe-core names them, and its best practice. */
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
export const DESK = { width: 1280, height: 800 }, PHONE = { width: 390, height: 844 };

/** A real desk's address (with its token) instead of the invented one: FALLSIDE_DESK_URL=http://127.0.0.1:PORT/?t=… */
export const REAL = process.env.FALLSIDE_DESK_URL ?? null;

/** How much slower the page's processor is to be, to find a test that reads before the page has drawn: FALLSIDE_SLOW=8 npm test */
const SLOW = Number(process.env.FALLSIDE_SLOW ?? 1);

/** What a busy machine may take, ms; only what never comes costs this time. */
export const PATIENCE = 120_000;

export async function browser() {
  const executablePath = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"].find((p) => p && existsSync(p));
  if (!executablePath) throw new Error("No browser. Install one: apt-get install chromium");
  return chromium.launch({ executablePath, args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"] });
}

/** A desk to open: the real one, or an invented one of `prints`. */
export async function desk(prints = 400, widest = 640) {
  if (REAL) return { url: REAL, desk: null, close() {} };
  const at = await start({ prints, widest }), { tell } = at.desk;
  at.desk.tell = (told) => {
    assert.deepEqual(event(told), [], "the invented desk keeps to the wire");
    tell(told);
  };
  return at;
}

/** Holds what a page asks and is answered to the wire's schema. */
function watchWire(page) {
  // Whose page asked is known by the script it loaded first: the page may have been left when the answer is here.
  const devices = new WeakSet();
  let device = false;
  page.on("request", (request) => {
    const script = /\/(desk|guest)-[\w-]+\.js$/.exec(new URL(request.url()).pathname);
    if (script) device = script[1] === "guest";
    if (device) devices.add(request);
  });
  page.on("requestfinished", (request) => {
    const { pathname } = new URL(request.url());
    if (!pathname.startsWith("/api/")) return;
    const check = async () => {
      const response = await request.response(), got = await response.json(), device = devices.has(request);
      page.faults.push(...exchange({ method: request.method(), path: pathname, status: response.status(), sent: request.postDataJSON(), got, device }));
    };
    // A page that was closed or left meanwhile has no answer to show.
    check().catch(() => {});
  });
}

/** Opens a room. What the page asks elsewhere, throws, is refused by its policy or exchanges against the wire's schema is kept in `page.faults`. */
export async function open(chrome, url, path = "/table", more = {}) {
  const context = await chrome.newContext({ viewport: DESK, reducedMotion: "reduce", ...more });
  context.setDefaultTimeout(PATIENCE);
  const page = await context.newPage(), home = new URL(url).origin;
  page.faults = [];
  if (SLOW > 1) await (await context.newCDPSession(page)).send("Emulation.setCPUThrottlingRate", { rate: SLOW });
  watchWire(page);
  page.on("request", (r) => { if (!r.url().startsWith(home)) page.faults.push(`asked ${r.url()}`); });
  page.on("pageerror", (e) => page.faults.push(e.message));
  page.on("console", (m) => { if (m.type() === "error" && /Content Security Policy|Refused/.test(m.text())) page.faults.push(m.text()); });
  await page.goto(url);
  if (path !== "/table") await page.goto(home + path);
  await page.waitForSelector("#room > *");
  await page.evaluate(() => document.fonts.ready);
  return page;
}

/** What the accessibility rules say against the page as it is now. */
export async function violations(page, what) {
  // Through the debugger, so that the page's own policy need not allow it.
  await page.evaluate(AXE);
  const found = await page.evaluate((rules) => window.axe.run({ runOnly: rules }), RULES);
  const told = found.violations.map((v) => `${v.id}: ${v.help}\n  ${v.nodes.slice(0, 4).map((n) => `${n.html.slice(0, 200)} ${n.any[0]?.message ?? ""}`).join("\n  ")}`);
  assert.ok(found.passes.length > 12, `${what}: axe-core ran ${found.passes.length} rules`);
  return told.map((line) => `${what}: ${line}`);
}

/** Waits until every picture in sight is drawn. */
export const pictures = (page) => page.waitForFunction(() => [...document.images].filter((i) => i.getBoundingClientRect().top < innerHeight && i.getBoundingClientRect().bottom > 0).every((i) => i.complete && i.naturalWidth > 0));
export const focused = (page) => page.evaluate(() => document.activeElement?.getAttribute("aria-label") ?? (document.activeElement?.matches(".print") ? document.activeElement.textContent : document.activeElement?.outerHTML.slice(0, 80)));
export const said = (page) => page.locator(".foot").innerText();
