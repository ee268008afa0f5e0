// A whole evening on the real desk: the demonstration box is taken in, one print shot again, backs paired, an outline dragged,
// words written, six prints brought into a sequence by keys alone; then the desk is ended and opened again, and all is there.
import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { DESK, PHONE, browser, open, pictures, violations } from "../browser.mjs";
import { api, hears, press, until } from "../steps.mjs";

const PROGRAM = process.env.FALLSIDE ?? new URL("../../../target/debug/fallside", import.meta.url).pathname;
const folder = mkdtempSync(join(tmpdir(), "fallside-evening-")), project = join(folder, "archive"), tether = join(folder, "tether");
/** Where the pictures of the rooms are put, to be looked at. */
const SHOTS = process.env.FALLSIDE_SHOTS ?? null;
let chrome, desk;

/** Opens the desk and answers with its address once it is served. */
function opened() {
  const child = spawn(PROGRAM, ["desk", "--quiet", "--guests-at", "127.0.0.2", project], { stdio: ["ignore", "pipe", "ignore"] });
  return new Promise((ready, fail) => {
    child.stdout.once("data", (line) => ready({ child, url: String(line).trim() }));
    child.once("exit", (code) => fail(new Error(`the desk ended with ${code}`)));
  });
}
/** Ends the desk as a power cut does. */
const ended = (at) => new Promise((gone) => { at.child.removeAllListeners("exit"); at.child.once("exit", gone); at.child.kill("SIGKILL"); });

before(async () => {
  const drawn = spawnSync(PROGRAM, ["demo", "--small", "--only-draw", "--out", folder], { encoding: "utf8" });
  assert.equal(drawn.status, 0, drawn.stderr);
  mkdirSync(tether);
  [chrome, desk] = [await browser(), await opened()];
});
after(async () => {
  await chrome?.close();
  if (desk) await ended(desk);
  rmSync(folder, { recursive: true, force: true });
});

async function shot(page, name) {
  if (!SHOTS) return;
  mkdirSync(SHOTS, { recursive: true });
  await pictures(page).catch(() => {});
  await page.screenshot({ path: join(SHOTS, `${name}.png`) });
}
/** How far a spread's right page is from the same page of the book's file as poppler draws it (bleed 3 mm, trim 240 mm, 3 pixels to
 * the millimetre): the mean difference of codes, and the largest of the edges of what is not white, in pixels. */
async function againstTheFile(made, number) {
  const drawn = spawnSync("pdftoppm", ["-r", "76.2", "-png", "-f", String(number), "-l", String(number), "-singlefile", join(made, "book.pdf"), join(folder, "page")]);
  assert.equal(drawn.status, 0, String(drawn.stderr));
  const svg = readFileSync(join(made, `book.spread-${String((number + 1) / 2).padStart(2, "0")}.svg`)).toString("base64"), png = readFileSync(join(folder, "page.png")).toString("base64");
  const page = await (await chrome.newContext()).newPage();
  return page.evaluate(async ([svg, png]) => {
    const pixels = async (src, x, width, height) => {
      const image = Object.assign(new Image(), { src });
      await image.decode();
      const canvas = new OffscreenCanvas(720, 720), to = canvas.getContext("2d");
      to.drawImage(image, x[0], x[1], width ?? image.width, height ?? image.height);
      return to.getImageData(0, 0, 720, 720).data;
    };
    const [ours, file] = [await pixels(`data:image/svg+xml;base64,${svg}`, [-720, 0], 1440, 720), await pixels(`data:image/png;base64,${png}`, [-9, -9])];
    const box = (data) => {
      const edges = [720, 720, 0, 0];
      for (let i = 0; i < 720 * 720; i++) if (data[4 * i + 1] < 230 && i % 720 > 2) [i % 720, Math.floor(i / 720)].forEach((v, k) => { edges[k] = Math.min(edges[k], v); edges[k + 2] = Math.max(edges[k + 2], v); });
      return edges;
    };
    const [a, b] = [box(ours), box(file)];
    return { mean: ours.reduce((sum, v, i) => sum + Math.abs(v - file[i]), 0) / ours.length, box: Math.max(...a.map((v, k) => Math.abs(v - b[k]))), a, b };
  }, [svg, png]);
}
const prints = async (page, line = "") => (await api(page, `/api/prints?${new URLSearchParams({ q: line, order: "number", from: "0", count: "100" })}`)).rows;

test("an evening, from the card to a sequence, outlives the desk's sudden end", { timeout: 600_000 }, async () => {
  let page = await open(chrome, desk.url);
  assert.match(await page.locator(".empty, .table").first().innerText(), /import/i, "an empty table says how to begin");
  await shot(page, "1-empty");

  // The box is taken in.
  await page.getByRole("button", { name: "Import", exact: true }).click();
  await page.fill("input[name=folder]", join(folder, "frames"));
  await page.fill("input[name=box]", "Shoebox 3");
  await page.fill("input[name=sleeve]", "12");
  await press(page, "Enter");
  // It shows how it goes, until it is closed; the import goes on.
  await page.waitForSelector(".goes");
  await press(page, "Escape");
  const frames = readdirSync(join(folder, "frames")).length;
  const rows = await until(() => prints(page), (r) => r.length >= 8 && r.every((x) => x.picture) && r.reduce((n, x) => n + x.frames, 0) >= frames - 5, "the box is taken in");
  await until(() => page.locator(".print img").count(), (n) => n >= Math.min(8, rows.length), "prints lie on the table");
  await page.waitForTimeout(1500);
  await shot(page, "2-table");
  assert.deepEqual(await violations(page, "table"), []);
  assert.ok(rows.every((r) => r.box === "Shoebox 3" && r.sleeve === "12"));

  // One is shot again at the stand: the same print, another file, written in two halves.
  await press(page, "2");
  await page.fill("input[name=folder]", tether);
  await page.fill("input[name=box]", "Shoebox 3");
  await press(page, "Enter");
  await page.waitForSelector(".stand");
  const again = rows.find((r) => r.verdict === "keep"), sheet = await api(page, `/api/print/${again.id}`), name = sheet.frames[0].name;
  const bytes = readFileSync(join(folder, "frames", name));
  // A comment of four bytes after the start (ISO/IEC 10918-1, B.2.4.5) makes it another file of the same picture.
  const other = Buffer.concat([bytes.subarray(0, 2), Buffer.from([0xff, 0xfe, 0, 4, 1, 2]), bytes.subarray(2)]);
  writeFileSync(join(tether, "R0001.jpg"), other.subarray(0, other.length / 2));
  await page.waitForTimeout(400);
  assert.equal((await api(page, "/api/stand")).last, null, "a half-written file is waited for");
  writeFileSync(join(tether, "R0001.jpg"), other);
  await page.waitForFunction(() => /keep|look|reshoot/i.test(document.querySelector(".word h2")?.textContent ?? ""));
  const stand = await until(() => api(page, "/api/stand"), (s) => s.last?.frame != null, "the frame is settled");
  assert.equal(stand.last.print, again.id, `a reshoot joins its print: ${JSON.stringify(stand.last)}`);
  await page.waitForTimeout(600);
  await shot(page, "3-stand");
  assert.deepEqual(await violations(page, "stand"), []);

  // A phone is let in to it by a code, sees what lies there, marks it, and is shut out.
  await press(page, "p");
  await page.getByRole("button", { name: "Open access" }).click();
  const [address, code] = [await page.locator(".device .address").innerText(), await page.locator(".device .code").innerText()];
  const phone = await open(chrome, address, "/table", { viewport: PHONE, hasTouch: true }).catch((e) => assert.fail(`${address}: ${e.message}`));
  await phone.locator("#code").fill(code);
  await press(phone, "Enter");
  await phone.waitForSelector(".sight img");
  await page.waitForSelector(".device .inside");
  await pictures(phone);
  await shot(phone, "3-stand-phone");
  assert.deepEqual(await violations(phone, "the stand on a phone"), []);
  await phone.locator(".other").tap();
  await until(() => api(page, "/api/stand"), (s) => s.reshoot.some((r) => r.label === stand.last.label), "the desk sees the mark");
  await page.getByRole("button", { name: "Close access" }).click();
  await phone.waitForSelector(".coming");
  assert.deepEqual(phone.faults, []);
  await press(page, "Escape");

  // A back is set apart and joined again.
  const paired = rows.find((r) => r.back);
  if (paired) {
    await page.goto(new URL(`/print/${paired.id}`, desk.url).href);
    await page.waitForSelector(".corner, .finished");
    await page.locator(".sheet").focus();
    await press(page, "Space", "u");
    const apart = await until(() => prints(page), (r) => r.length === rows.length + 1, "the back is a print of its own");
    await page.goto(new URL(`/print/${apart.at(-1).id}`, desk.url).href);
    await page.waitForSelector("#join");
    await page.locator(".sheet").focus();
    await press(page, "j");
    await page.keyboard.type(paired.label);
    await press(page, "Enter");
    await hears(page, /Moved/);
    assert.equal((await api(page, `/api/print/${paired.id}`)).frames.length, paired.frames);
  }

  // An outline is mended by dragging.
  const mended = rows.find((r) => r.id !== again.id && r.verdict === "keep") ?? rows[1];
  await page.goto(new URL(`/print/${mended.id}`, desk.url).href);
  await page.waitForSelector(".corner");
  const old = (await api(page, `/api/print/${mended.id}`)).frames[0];
  const corner = await page.locator(".corner").nth(2).boundingBox();
  await page.mouse.move(corner.x + corner.width / 2, corner.y + corner.height / 2);
  await page.mouse.down();
  await page.mouse.move(corner.x + corner.width / 2 + 10, corner.y + corner.height / 2 + 7, { steps: 5 });
  await page.mouse.up();
  await hears(page, /Drew the outline/);
  const now = await until(async () => (await api(page, `/api/print/${mended.id}`)).frames[0], (f) => f.picture !== old.picture, "it is finished again at once");
  assert.equal(now.confidence, 1);
  await page.waitForTimeout(800);
  await shot(page, "4-sheet");
  assert.deepEqual(await violations(page, "sheet"), []);
  await page.setViewportSize(PHONE);
  await shot(page, "4-sheet-phone");
  await page.setViewportSize(DESK);

  // Words, and a search that finds them.
  await press(page, "w");
  await page.locator(".facts input[name=place]").fill("The harbour");
  await press(page, "Enter");
  await hears(page, /Described/);
  await page.locator(".facts input[name=date]").fill("2009-07?");
  await press(page, "Enter");
  await until(() => prints(page, "place:harb date:2009"), (r) => r.length === 1 && r[0].id === mended.id, "the words are found");

  // Two prints are laid on one another by keys, and take one place.
  await page.goto(new URL("/table", desk.url).href);
  await page.waitForSelector(".print:focus");
  const lying = async () => { const { total, prints } = await api(page, "/api/prints?q=&order=number&from=0&count=1&stacks="); return prints - total; };
  const before = await lying();
  await press(page, "End", ".", "ArrowLeft", ".", "p");
  await hears(page, /Stacked/);
  assert.equal(await lying(), before + 1);
  await page.waitForTimeout(400);
  await shot(page, "5-stack");

  // Six to the sequence, by keys alone.
  await page.goto(new URL("/table", desk.url).href);
  await page.waitForSelector(".print:focus");
  for (let i = 0; i < 6; i++) await press(page, "+", "+", "+", "ArrowRight");
  await until(async () => (await api(page, "/api/desk")).edits.map((e) => [e.kind, e.count]), (e) => JSON.stringify(e) === '[["wide",6],["tight",6],["sequence",6]]', "six are in the sequence");
  await press(page, "e", "e", "e");
  await page.waitForSelector(".lie.on-sheet");
  await press(page, "End", "Alt+ArrowLeft");
  await hears(page, /place 5/);
  await press(page, "Alt+ArrowLeft");
  await hears(page, /place 4/);
  await page.waitForTimeout(400);
  await shot(page, "5-sequence");
  const order = async () => (await api(page, "/api/prints?q=&order=edit:sequence&from=0&count=10")).rows.map((r) => r.id);
  const sequence = await order();
  assert.equal(sequence.length, 6);
  assert.deepEqual(page.faults, [], "nothing was asked of any other machine");

  // The desk is ended as by a power cut, and opened again.
  await ended(desk);
  desk = await opened();
  page = await open(chrome, desk.url);
  assert.deepEqual(await order(), sequence);
  assert.equal(await lying(), before + 1, "the stack lies as it lay");
  const kept = (await api(page, `/api/print/${mended.id}`));
  assert.deepEqual([kept.facts.place, kept.facts.date, kept.frames[0].picture], ["The harbour", "2009-07?", now.picture]);
  assert.equal((await api(page, `/api/print/${again.id}`)).frames.length, again.frames + 1);
  await page.waitForSelector(".print:focus");
  await press(page, "Control+z");
  await hears(page, /^Undone/, "what was done before can still be undone");
  await press(page, "3");
  await page.waitForSelector(".lamp");
  await page.waitForTimeout(500);
  // What the newest front measured stands beside the plan, as its report has it.
  await page.waitForFunction(() => /^Measured on /.test(document.querySelector(".answer caption")?.textContent ?? ""));
  const measured = (await page.locator(".answer caption").innerText()).match(/^Measured on (.+)\.$/)[1];
  const reports = readdirSync(project, { recursive: true }).filter((f) => f.endsWith(".report.json")).map((f) => JSON.parse(readFileSync(join(project, f), "utf8")));
  const report = reports.find((r) => r.frame.path.endsWith(`/${measured}`));
  const cell = async (row) => Number.parseFloat(await page.locator(".answer tr", { hasText: row }).locator("td").nth(1).innerText());
  const near = (value, wanted, what) => assert.ok(Math.abs(value - wanted) <= 0.06 * Math.abs(wanted) + 0.005, `${what}: ${value}, and the report has ${wanted}`);
  near(await cell("Pixels per mm"), report.camera.px_per_mm, "scale");
  near(await cell("Fall-off"), report.light.fall_off_stops, "fall-off");
  near(await cell("Camera tilt"), Math.hypot(report.camera.tilt_x_deg, report.camera.tilt_y_deg), "tilt");
  // The room's light is measured in the background, on the sitting's own frames.
  await page.waitForFunction(() => /stop/.test([...document.querySelectorAll(".answer tr")].find((r) => /^Ambient below flash/.test(r.textContent)).querySelectorAll("td")[1].textContent));
  await shot(page, "6-rig");
  assert.deepEqual(await violations(page, "rig"), []);
  await page.emulateMedia({ colorScheme: "dark" });
  await shot(page, "6-rig-dark");
  assert.deepEqual(await violations(page, "rig in the dark"), []);
  await page.emulateMedia({ colorScheme: null });

  // What the evening was for: the six are handed on three ways, by keys alone, and seen as they were made.
  const on = async (key, seen) => {
    await press(page, "4");
    await page.waitForFunction(() => document.activeElement?.matches(".handing"));
    await press(page, key);
    await page.waitForTimeout(300);
    await shot(page, `7-hand-on-${key}`);
    assert.deepEqual(await violations(page, `hand on, ${key}`), []);
    await press(page, "m");
    await page.waitForSelector(".progress");
    await page.waitForSelector(seen, { timeout: 180_000 });
    await page.waitForFunction(() => document.activeElement?.matches(".seen"));
    return { name: new URL(page.url()).pathname.split("/").at(-1), told: await page.locator(".told").innerText() };
  };
  const drawn = () => page.waitForFunction(() => [...document.querySelectorAll(".show img")].every((i) => i.complete && i.naturalWidth > 0));
  const share = await on("p", ".sheets img");
  await drawn();
  assert.equal(await page.locator(".sheets img").count(), 6);
  assert.match(share.told, /No alt text yet/, "what nobody has described is said");
  assert.match(share.told, /Never included: camera/);
  await press(page, "ArrowRight", "ArrowRight");
  await shot(page, "8-shares");
  assert.deepEqual(await violations(page, "shares"), []);
  await press(page, "Enter", "g");
  await page.waitForSelector(".show.white .one img");
  const [large] = (await api(page, `/api/hand/${share.name}`)).shares.slice(2);
  assert.equal(await page.locator(".one img").evaluate((i) => `${i.src} ${i.naturalWidth} ${i.naturalHeight}`), `${new URL(`/made/${share.name}/${large.file}`, desk.url).href} ${large.size_px.join(" ")}`, "the file itself is shown");
  await shot(page, "8-share-large");
  assert.deepEqual(await violations(page, "a share large"), []);
  await press(page, "Escape", "Escape");
  await page.waitForSelector(".past a");

  await on("s", ".seen iframe");
  const site = page.frames().find((f) => f.url().includes("/made/"));
  await site.waitForFunction(() => document.querySelectorAll(".wall img").length === 6 && [...document.images].slice(0, 2).every((i) => i.complete && i.naturalWidth > 0));
  await shot(page, "9-site");
  assert.deepEqual(await violations(page, "a site"), []);
  // Made again in its place, it is the same site, and is shown anew.
  await page.locator(".seen iframe").evaluate((frame) => { frame.dataset.before = ""; });
  await press(page, "m");
  await page.waitForFunction(() => /6 prints; nothing has changed/.test(document.body.textContent));
  await page.frameLocator(".seen iframe:not([data-before])").locator(".wall img").nth(5).waitFor();
  // Its own keys work in the frame: to the first print, and into its page, where the script has added its tools.
  await press(page, "i", "Tab", "Tab", "Enter");
  await until(async () => page.frames().find((f) => /made.*prints/.test(f.url()))?.locator("button").count() ?? 0, (n) => n > 0, "a print's page opens in the frame");
  await shot(page, "9-site-print");
  await press(page, "Escape");
  await until(async () => page.frames().find((f) => /made.*index/.test(f.url()))?.locator(".wall").count() ?? 0, (n) => n > 0, "Escape leads up to the wall");
  await page.waitForTimeout(500);
  await page.frames().find((f) => /made/.test(f.url())).locator("body").press("Escape");
  await page.waitForFunction(() => document.activeElement?.matches(".seen"));

  const book = await on("b", ".plan img");
  await drawn();
  assert.match(book.told, /Paper white: no ink on bare paper/);
  await shot(page, "10-book");
  assert.deepEqual(await violations(page, "a book"), []);
  await press(page, "ArrowRight", "Enter");
  await page.waitForSelector(".one img");
  await drawn();
  assert.match(await page.locator(".one figcaption").innerText(), /^Pages 2 and 3 of /);
  await shot(page, "10-spread");
  assert.deepEqual(await violations(page, "a spread"), []);
  const apart = await againstTheFile(join(project, "handed-on", book.name), 3);
  assert.ok(apart.mean < 1 && apart.box <= 1, `the spread is the file's page: ${JSON.stringify(apart)}`);
  await press(page, "Escape", "Escape");
  await page.waitForFunction(() => document.querySelectorAll(".past a").length === 3);
  await shot(page, "11-handed-on");
  assert.deepEqual(await violations(page, "handed on before"), []);
  assert.deepEqual(page.faults, [], "neither the page nor what it frames asks anything elsewhere or breaks its policy");
});
