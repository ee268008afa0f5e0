// How fast the table is with ten thousand prints: first paint, a long scroll, a search to the eye. A bench, not a test: it prints.
// usage: npm run speed
import { REAL, browser, desk, open } from "./browser.mjs";

const chrome = await browser(), at = await desk(10_000, 320);
// Every tenth print has a near-twin under it, or two.
at.desk?.post_stack({ do: "propose", ids: [] });
/** Pictures drawn beforehand, as a real desk has them: code that draws is not what is timed. */
async function warm(page) {
  await page.evaluate(async () => {
    for (let from = 0; from < 1000; from += 500) {
      const { rows } = await fetch(`/api/prints?q=&order=number&from=${from}&count=500`).then((r) => r.json());
      for (const row of rows) await fetch(`/picture/${row.frame}/mount?w=320&v=${row.picture}`, { cache: "no-store" }).then((r) => r.arrayBuffer());
    }
  });
}
const median = (values) => values.sort((a, b) => a - b)[values.length >> 1];

const first = await open(chrome, at.url);
await warm(first);
await first.context().close();

const paints = [];
for (let i = 0; i < 5; i++) {
  const page = await open(chrome, at.url, "/table", { reducedMotion: "no-preference" });
  // When the last picture in sight is there, from the navigation's start.
  await page.waitForFunction(() => { const all = [...document.querySelectorAll(".print img")]; return all.length > 10 && all.every((image) => image.complete); }, null, { polling: "raf" });
  paints.push(await page.evaluate(() => ({
    first: performance.getEntriesByType("paint").find((p) => p.name === "first-contentful-paint").startTime,
    prints: Math.max(...performance.getEntriesByType("resource").filter((r) => r.name.includes("/picture/")).map((r) => r.responseEnd)),
  })));
  await page.context().close();
}
console.log(`first paint ${Math.round(median(paints.map((p) => p.first)))} ms, all prints in sight ${Math.round(median(paints.map((p) => p.prints)))} ms (median of 5)`);

const page = await open(chrome, at.url, "/table", { reducedMotion: "no-preference" });
await page.waitForFunction(() => document.querySelector(".print")?.getAttribute("aria-setsize") > 0);
await page.waitForTimeout(1500);
for (const [name, pxPerSecond] of [["a hand's scroll, 2,000 px/s", 2000], ["a fast one, 8,000 px/s", 8000]]) {
  const gaps = await page.evaluate((speed) => new Promise((done) => {
    const lie = document.querySelector(".lie"), gaps = [], begin = performance.now();
    let last = begin;
    const step = (now) => {
      gaps.push(now - last);
      last = now;
      lie.scrollTop += (speed * gaps.at(-1)) / 1000;
      if (now - begin < 4000) requestAnimationFrame(step);
      else done(gaps.slice(1));
    };
    requestAnimationFrame(step);
  }), pxPerSecond);
  const seconds = gaps.reduce((a, b) => a + b) / 1000;
  console.log(`${name}: ${(gaps.length / seconds).toFixed(1)} frames a second, slowest twentieth ${gaps.sort((a, b) => a - b)[Math.floor(gaps.length * 0.95)].toFixed(1)} ms`);
}

const waits = await page.evaluate(async () => {
  const input = document.querySelector("#line"), found = document.querySelector("#found"), waits = [];
  for (const text of ["h", "ha", "har", "harb", "harbo", "kit", "kitc", "look", ""]) {
    const begin = performance.now();
    const told = new Promise((done) => new MutationObserver((_, o) => { o.disconnect(); requestAnimationFrame(() => done(performance.now() - begin)); }).observe(found, { childList: true, characterData: true, subtree: true }));
    input.value = text;
    input.dispatchEvent(new InputEvent("input", { bubbles: true }));
    performance.clearResourceTimings();
    const wait = await Promise.race([told, new Promise((late) => setTimeout(() => late(null), 1000))]);
    const asked = performance.getEntriesByType("resource").findLast((r) => r.name.includes("/api/prints"));
    if (wait !== null) waits.push([wait, wait - (asked.responseEnd - asked.startTime)]);
    await new Promise((later) => setTimeout(later, 300));
  }
  return waits;
});
const [whole, own] = [0, 1].map((part) => waits.map((w) => w[part]));
console.log(`search to the eye: ${Math.round(median(whole))} ms, of which the page's own ${Math.round(median(own))} ms (median of ${waits.length})${REAL ? "" : "; the rest is the invented desk's own search"}`);
await chrome.close();
at.close();
