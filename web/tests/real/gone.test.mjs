// The real desk ends: open rooms say so within two seconds; a tab or a bookmark of an earlier run shows a page that says what to do.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { browser, open, violations } from "../browser.mjs";

const PROGRAM = process.env.FALLSIDE ?? new URL("../../../target/debug/fallside", import.meta.url).pathname;
const folder = mkdtempSync(join(tmpdir(), "fallside-gone-"));
let chrome, desk;

/** A port that was free a moment ago. */
const free = () => new Promise((found) => { const s = createServer().listen(0, "127.0.0.1", () => { const { port } = s.address(); s.close(() => found(port)); }); });
function opened(port) {
  const child = spawn(PROGRAM, ["desk", "--quiet", "--port", String(port), folder], { stdio: ["ignore", "pipe", "ignore"] });
  return new Promise((ready, fail) => {
    child.stdout.once("data", (line) => ready({ child, url: String(line).trim() }));
    child.once("exit", (code) => fail(new Error(`the desk ended with ${code}`)));
  });
}
const ended = (at, how) => new Promise((gone) => { at.child.removeAllListeners("exit"); at.child.once("exit", gone); at.child.kill(how); });

before(async () => { chrome = await browser(); });
after(async () => {
  await chrome?.close();
  if (desk) await ended(desk, "SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

for (const how of ["SIGKILL", "SIGINT"]) {
  test(`${how}: said within two seconds; an old tab and a bookmark say what to do; the tab goes on`, { timeout: 120_000 }, async () => {
    const port = await free();
    desk = await opened(port);
    const page = await open(chrome, desk.url), old = desk.url;
    // The way in leads on by itself: only then the next address is opened.
    await page.waitForSelector(".table");
    await page.goto(new URL("/stand", old).href);
    await page.waitForSelector(".watch");
    const from = Date.now();
    await ended(desk, how);
    await page.waitForSelector("dialog.gone h2");
    assert.ok(Date.now() - from < 2000, `${Date.now() - from} ms`);
    desk = await opened(port);
    assert.notEqual(desk.url, old);
    await page.waitForFunction(() => /started again/.test(document.querySelector(".gone h2")?.textContent ?? ""));
    // The same tab loaded again, the old address, a bookmark, and a wrong address, each in a tab of its own.
    const home = new URL(old).origin;
    for (const address of [`${home}/stand`, old, `${home}/print/3`, `${home}/picture/1/mount`, `${home}/none/of/these`]) {
      const tab = await page.context().newPage(), answer = await tab.goto(address);
      assert.ok(answer.headers()["content-type"].startsWith("text/html"), address);
      assert.equal(answer.status(), 403, address);
      assert.match(await tab.locator("main").innerText(), /not opened from this desk[\s\S]*fallside desk/, address);
      // Its style is let in by its own policy.
      assert.notEqual(await tab.locator("h1").evaluate((h) => getComputedStyle(h).color), "rgb(0, 0, 0)");
      assert.deepEqual(await violations(tab, address), []);
      await tab.close();
    }
    const tab = await page.context().newPage();
    await tab.goto(desk.url);
    await tab.waitForSelector(".table");
    await page.waitForSelector("dialog.gone", { state: "detached" });
    // What is not there says so as well, to who is let in.
    assert.equal((await tab.goto(`${home}/none/of/these`)).status(), 404);
    assert.match(await tab.locator("main").innerText(), /nothing at this address/i);
    await tab.locator("a").click();
    await tab.waitForSelector(".table");
    await ended(desk, "SIGKILL");
    desk = null;
    await page.context().close();
  });
}
