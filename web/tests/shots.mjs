// Pictures of every room and state, to be looked at. usage: node tests/shots.mjs FOLDER [only this word]
// With --rooms FOLDER: the rooms alone, at four sizes, all of one size and light on one sheet.
import { mkdirSync, statSync } from "node:fs";
import { DESK, PHONE, browser, desk, open, pictures } from "./browser.mjs";

const sheets = process.argv[2] === "--rooms", [folder = "shots", only = ""] = process.argv.slice(sheets ? 3 : 2);
mkdirSync(folder, { recursive: true });
const chrome = await browser(), { url, desk: memory, close } = await desk(2000, 1280);

/** Name, path, and what is done before the picture. */
const STATES = [
  ["table", "/table"],
  ["table-hand", "/table", async (p) => { for (const k of ["ArrowRight", ".", "ArrowRight", ".", "ArrowRight", "+"]) await p.keyboard.press(k); await p.waitForTimeout(400); }],
  ["stacks", "/table", async (p) => { memory.stacks = []; memory.post_stack({ do: "propose", ids: [] }); await p.waitForTimeout(500); await p.keyboard.press("Home"); for (let i = 0; i < 11; i++) await p.keyboard.press("ArrowRight"); await p.waitForTimeout(200); }],
  ["stacks-open", "/table", async (p) => { memory.stacks = []; memory.post_stack({ do: "propose", ids: [] }); await p.waitForTimeout(500); await p.keyboard.press("Home"); for (let i = 0; i < 3; i++) await p.keyboard.press("ArrowRight"); await p.keyboard.press("o"); await p.waitForTimeout(500); }],
  ["table-box", "/table", async (p) => { await p.selectOption("#order", "verdict"); await p.waitForTimeout(500); }],
  ["table-search", "/table", async (p) => { await p.keyboard.press("/"); await p.keyboard.type("plase:harbour"); await p.waitForTimeout(300); }],
  ["table-sequence", "/table", async (p) => {
    for (let i = 0; i < 7; i++) { await p.keyboard.press("ArrowRight"); for (let k = 0; k < 3; k++) { await p.keyboard.press("+"); await p.waitForTimeout(160); } }
    await p.locator(".paper.sequence").click(); await p.waitForTimeout(400); await p.keyboard.press("ArrowRight");
  }],
  ["beside", "/table", async (p) => { for (const k of ["ArrowRight", ".", "ArrowRight", "ArrowRight", ".", "ArrowDown", ".", "s"]) await p.keyboard.press(k); await p.waitForTimeout(500); }],
  ["words", "/table", async (p) => { await p.keyboard.press("."); await p.keyboard.press("w"); await p.waitForSelector("dialog input[name=title]:focus"); await p.keyboard.press("Tab"); await p.keyboard.press("Tab"); await p.keyboard.type("ha"); await p.waitForTimeout(300); }],
  ["words-many", "/table", async (p) => {
    memory.post_describe({ ids: [1, 2, 3], facts: { people: "Ada; Bo", place: "Harbour" } });
    memory.post_describe({ ids: [2], facts: { people: "Ada", place: "Hill road" } });
    await p.waitForTimeout(400);
    for (const k of [".", "ArrowRight", ".", "ArrowRight", ".", "w"]) await p.keyboard.press(k);
    await p.waitForSelector(".items");
    await p.locator("dialog input[name=place]").fill("The quay");
    await p.locator("dialog input[name=date]").fill("03/04/2005");
    await p.waitForTimeout(400);
  }],
  ["words-unsaved", "/table", async (p) => { await p.keyboard.press("w"); await p.locator("dialog input[name=title]").fill("Half a thought"); await p.keyboard.press("Escape"); await p.waitForTimeout(200); }],
  ["words-both", "/print/5", async (p) => {
    await p.locator(".facts input[name=title]").fill("Mine"); memory.post_describe({ ids: [5], facts: { title: "Theirs" } }); await p.waitForTimeout(400);
    await p.keyboard.press("Enter"); await p.waitForTimeout(300); await p.locator(".facts input[name=date]").fill("summer 2009?"); await p.waitForTimeout(400);
  }],
  ["search-saved", "/table", async (p) => { memory.searches = [{ name: "to do", line: "reshoot" }]; await p.fill("#line", "summer 2009 OR reshoot"); await p.waitForTimeout(400); }],
  ["rig-wrong", "/rig", async (p) => { await p.waitForSelector(".lamp"); await p.fill(".answer input[name=light_distance]", "far"); await p.keyboard.press("Enter"); await p.waitForTimeout(500); }],
  ["table-few", "/table", async (p) => { memory.post_edit({ do: "put", name: "wide", ids: [...new Set(memory.prints.slice(20, 60).map((q) => q.format))].slice(0, 4).map((f) => memory.prints.find((q) => q.id > 20 && q.format === f && q.facts.title).id) }); await p.waitForTimeout(500); await p.locator(".paper.wide").click(); await p.waitForTimeout(500); await p.locator(".print").nth(1).click(); await p.waitForTimeout(200); }],
  ["keys", "/table", async (p) => { await p.keyboard.press("?"); }],
  ["sheet", "/print/21"],
  ["sheet-corner", "/print/21", async (p) => { await p.keyboard.press("c"); await p.keyboard.press("ArrowRight"); await p.waitForTimeout(200); }],
  ["sheet-low", "/print/21", async (p) => { await p.evaluate(() => document.querySelector(".sheet").scrollTo(0, 9999)); }],
  ["calibrate", "/print/21", async (p) => { await p.keyboard.press("t"); }],
  ["stand-setup", "/stand"],
  ...["keep", "look", "reshoot"].map((v) => [`stand-${v}`, "/stand", async (p) => {
    await p.evaluate(() => fetch("/api/stand", { method: "POST", headers: { "X-Fallside": "1" }, body: JSON.stringify({ folder: "/tether", box: "Shoebox 3", sleeve: "12", of: 36, sound: true }) }));
    await p.waitForTimeout(200); memory?.arrive(v); await p.waitForTimeout(500);
  }]),
  ["device", "/stand", async (p) => { await p.getByRole("button", { name: "Connect a device" }).click(); await p.getByRole("button", { name: /Open access|Close access/ }).click(); await p.waitForTimeout(400); }],
  ["guest-code", "/guest", async (p) => { memory.post_guest({ do: "open" }); await p.reload(); await p.waitForSelector("#code"); }],
  ...["keep", "look", "reshoot"].map((v) => [`guest-${v}`, "/guest", async (p) => {
    Object.assign(memory.stand, { folder: "/tether", box: "Shoebox 3", sleeve: "12" });
    memory.post_guest({ do: "open" }); memory.come("418302");
    await p.reload(); await p.waitForSelector(".word"); memory.arrive(v); await p.waitForTimeout(500);
  }]),
  ["rig", "/rig", async (p) => { await p.waitForTimeout(400); }],
  ["rig-near", "/rig", async (p) => { await p.keyboard.press("l"); for (let i = 0; i < 30; i++) await p.keyboard.press("ArrowRight"); for (let i = 0; i < 25; i++) await p.keyboard.press("ArrowUp"); await p.waitForTimeout(500); }],
  ["hand", "/hand", async (p) => { await p.waitForTimeout(300); }],
  ["hand-ready", "/hand", async (p) => { await p.waitForSelector(".ready"); await p.keyboard.press("r"); await p.waitForTimeout(400); }],
  ["plan", "/book", async (p) => { await p.waitForSelector(".spreads .laid"); await p.keyboard.press("ArrowRight"); await p.waitForTimeout(600); }],
  ["plan-rows", "/book", async (p) => { await p.waitForSelector(".spreads .laid"); for (const k of ["l", "l", "l", "f"]) await p.keyboard.press(k); await p.waitForTimeout(900); }],
  ["hand-pack", "/hand", async (p) => {
    await p.waitForSelector(".past li"); await p.keyboard.press("a"); await p.waitForTimeout(200);
  }],
  ["hand-packed", "/hand", async (p) => {
    await p.waitForSelector(".past li"); await p.keyboard.press("a"); await p.getByLabel("Folder").fill("/media/archive-2026");
    for (const k of ["Escape", "m"]) await p.keyboard.press(k);
    await p.waitForSelector(".seen pre"); await p.waitForTimeout(300);
  }],
  ["hand-checked", "/hand", async (p) => {
    await p.waitForSelector(".past li"); await p.keyboard.press("a"); await p.getByLabel("Folder").fill("/media/archive-2026");
    for (const k of ["Escape", "m"]) await p.keyboard.press(k);
    await p.waitForSelector(".seen pre"); await p.getByLabel("Second copy").fill("/media/second");
    for (const k of ["Escape", "v"]) await p.keyboard.press(k);
    await p.getByRole("heading", { name: "Last check" }).waitFor();
  }],
  ["hand-book-choices", "/hand", async (p) => { await p.waitForSelector(".past li"); await p.keyboard.press("b"); await p.waitForTimeout(200); }],
  ["hand-site-choices", "/hand", async (p) => { await p.waitForSelector(".past li"); await p.keyboard.press("s"); await p.waitForTimeout(200); }],
  ...[["share", "p"], ["gallery", "s"], ["book", "b"]].map(([form, key]) => [`hand-${form}`, "/hand", async (p) => {
    await p.waitForSelector(".past li"); for (const k of [key, "m"]) await p.keyboard.press(k); await p.waitForSelector(".seen"); await p.waitForTimeout(900);
  }]),
];

/** What is on the sheets of rooms, in the order of an evening. */
const ROOMS = ["stand-look", "table", "table-hand", "stacks-open", "beside", "table-sequence", "table-few", "sheet", "words", "rig", "hand-ready", "hand-site-choices", "plan", "hand-book"];
/** Sizes of the sheets: a large window, a usual one, a tablet upright, a phone. */
const SIZES = [[1440, 900], [1280, 800], [768, 1024], [390, 844]];

/** One state as a picture. */
async function shot([name, path, act], viewport, colorScheme, where) {
  if (memory && !name.startsWith("stand-")) Object.assign(memory.stand, { folder: null, last: null, count: 0, reshoot: [] });
  const page = await open(chrome, url, path, { viewport, colorScheme, ...(path === "/guest" ? { userAgent: "guest" } : {}) });
  await page.waitForTimeout(300);
  await act?.(page);
  await pictures(page).catch(() => {});
  const picture = await page.screenshot(where ? { path: where } : {});
  if (page.faults.length) console.error(name, page.faults);
  await page.context().close();
  return picture;
}

/** Pictures side by side on one sheet, each with its name, at a little over half their size. */
async function sheet(all, [width, height], where) {
  const scale = width > 1000 ? 0.55 : width > 500 ? 0.6 : 0.75, columns = width > 1000 ? 3 : width > 500 ? 4 : 6, w = Math.round(width * scale), h = Math.round(height * scale);
  const page = await (await chrome.newContext({ viewport: { width: columns * (w + 16) + 16, height: 200 } })).newPage();
  const items = all.map(([name, png]) => `<figure><img width="${w}" height="${h}" alt="${name}" src="data:image/png;base64,${png.toString("base64")}"><figcaption>${name.replaceAll("-", " ")}</figcaption></figure>`);
  await page.setContent(`<!doctype html><style>body{margin:8px;background:#767676;color:#fff;font:13px sans-serif;display:flex;flex-wrap:wrap}figure{margin:8px}figcaption{padding-top:3px}</style>${items.join("")}`);
  await page.waitForFunction(() => [...document.images].every((i) => i.complete && i.naturalWidth));
  // Flat grounds and few edges: at 70 of 100 nothing is seen of the compression at this size.
  await page.screenshot({ path: where, type: "jpeg", quality: 70, fullPage: true });
  await page.context().close();
  console.log(`${where}: ${Math.round(statSync(where).size / 1000)} kB`);
}

if (sheets) {
  for (const [width, height] of SIZES) {
    for (const light of ["light", "dark"]) {
      const all = [];
      for (const name of ROOMS) {
        // Each room as a project that was just begun: what another state left is taken back.
        if (memory) Object.assign(memory, { stacks: [], edits: new Map(), searches: [] });
        all.push([name, await shot(STATES.find(([state]) => state === name), { width, height }, light)]);
      }
      await sheet(all, [width, height], `${folder}/${width}x${height}-${light}.jpg`);
    }
  }
} else {
  for (const [size, viewport] of [["desk", DESK], ["phone", PHONE]]) {
    for (const colorScheme of ["light", "dark"]) {
      for (const state of STATES) {
        if (only && !state[0].startsWith(only)) continue;
        if (colorScheme === "dark" && !/^(table|sheet|stand-reshoot|rig|stand-look|hand-ready|plan)$/.test(state[0])) continue;
        await shot(state, viewport, colorScheme, `${folder}/${state[0]}-${size}-${colorScheme}.png`);
      }
    }
  }
}
await chrome.close();
close();
