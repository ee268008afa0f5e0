// The light of a shadow on the real desk: chosen on the sheet, entered in degrees and named, undone; one light for an export; and the files say so.
import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { browser, open, pictures } from "../browser.mjs";
import { api, becomes, hears, until } from "../steps.mjs";

const PROGRAM = process.env.FALLSIDE ?? new URL("../../../target/debug/fallside", import.meta.url).pathname;
const folder = mkdtempSync(join(tmpdir(), "fallside-light-")), project = join(folder, "archive");
const SHOTS = process.env.FALLSIDE_SHOTS ?? null;
let chrome, child, url;

function ran(...words) {
  const done = spawnSync(PROGRAM, words, { encoding: "utf8" });
  assert.ok(done.status < 2, done.stderr);
}

before(async () => {
  ran("demo", "--small", "--only-draw", "--out", folder);
  const frame = (stem) => join(folder, "frames", readdirSync(join(folder, "frames")).find((f) => f.startsWith(`${stem}.`)));
  ran("take", frame("F0105"), frame("F0102"), "--in", project);
  chrome = await browser();
  child = spawn(PROGRAM, ["desk", "--quiet", project], { stdio: ["ignore", "pipe", "ignore"] });
  url = await new Promise((ready) => child.stdout.once("data", (line) => ready(String(line).trim())));
});
after(async () => {
  await chrome?.close();
  child?.kill("SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

const reports = () => join(project, "finished", "reports");
const report = () => JSON.parse(readFileSync(join(reports(), readdirSync(reports()).find((f) => f.startsWith("F0105") && f.endsWith(".report.json"))), "utf8"));
const mount = () => { const r = report(); return readFileSync(join(reports(), r.canvas.mount)); };

test("a print's light is chosen on its sheet, and the files follow", { timeout: 600_000 }, async () => {
  const page = await open(chrome, url), before = mount();
  const { id } = (await api(page, "/api/prints?q=&order=number&from=0&count=1")).rows[0];
  await page.goto(new URL(`/print/${id}`, url).href);
  await page.locator(".lift svg[aria-label*='mm']").waitFor();
  assert.equal(await page.locator("#light").inputValue(), "as-shot");

  await page.locator("#light").selectOption("upper-left");
  await page.getByText(/^Shadow cast anew \(upper-left, 225°, 45° high, 12° wide; expected error/).waitFor();
  assert.deepEqual([report().shadow.how, report().recipe.by_hand.light.name], ["cast anew", "upper-left"]);
  await until(() => !mount().equals(before), (now) => now, "the mount has another shadow");

  await page.locator("#light").selectOption("in degrees");
  await page.getByLabel("Comes from, °").fill("200");
  await page.getByLabel("Height, °").fill("40");
  await page.getByLabel("Width, °").fill("20");
  await page.getByLabel("Name", { exact: true }).fill("North window");
  await page.getByRole("button", { name: "Cast the shadow" }).click();
  await page.getByText(/^Shadow cast anew \(North window, 200°, 40° high, 20° wide/).waitFor();
  await becomes(() => page.locator("#light").inputValue(), "North window");
  if (SHOTS) {
    await pictures(page);
    await page.screenshot({ path: join(SHOTS, "light-sheet.png"), fullPage: true });
  }

  for (const now of ["upper-left", "as-shot"]) {
    await page.evaluate(() => document.activeElement.blur());
    await page.keyboard.press("Control+z");
    await hears(page, /^Undone: Set the light/);
    await becomes(() => page.locator("#light").inputValue(), now);
  }
  assert.ok(mount().equals(before), "the same bytes as before");

  // The name stays, and one light goes over an export.
  await page.goto(new URL("/hand", url).href);
  await page.locator(".choices #light").selectOption("North window");
  await page.locator("button.main").click();
  await page.waitForSelector(".seen.share");
  await page.getByText(/^Shadow cast anew \(North window, 200°/).waitFor();
  assert.deepEqual(page.faults, []);
});
