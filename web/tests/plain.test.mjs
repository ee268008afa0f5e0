// The arithmetic of the page, without a browser: dates, laying, measures, keys.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { readFileSync, readdirSync } from "node:fs";
import { gzipSync } from "node:zlib";
import { createServer } from "vite";

let vite, load;
before(async () => {
  vite = await createServer({ server: { middlewareMode: true, hmr: false, ws: false }, appType: "custom", logLevel: "error", optimizeDeps: { noDiscovery: true } });
  load = (name) => vite.ssrLoadModule(`/src/${name}`);
});
after(() => vite.close());

test("prints lie at one scale, none over another, feet on one line", async () => {
  const { lay, between, neighbour, ROOM } = await load("table/layout.ts");
  const sizes = [[106, 125], [126, 104], [72, 104], [90, 104]], prints = Array.from({ length: 500 }, (_, i) => ({ w: sizes[(i * 7) % 4][0], h: sizes[(i * 7) % 4][1], foot: 9 + (i % 3), title: 0, head: i % 120 === 0 ? `box ${i / 120}` : null }));
  const laid = lay(prints, 1264, 1.35);
  assert.equal(laid.heads.length, 5);
  for (let i = 0; i < 500; i++) {
    assert.ok(Math.abs(laid.w[i] / prints[i].w - 1.35) < 1e-9, "true relative size");
    assert.ok(laid.x[i] >= ROOM.side && laid.x[i] + laid.w[i] <= 1264 - ROOM.side + 1e-6, "on the table");
    if (i && laid.row[i] === laid.row[i - 1]) {
      assert.ok(laid.x[i] >= laid.x[i - 1] + laid.w[i - 1] + ROOM.between - 1e-6);
      // The prints' feet, whatever the white below them.
      const foot = (k) => laid.y[k] + laid.h[k] - 1.35 * prints[k].foot;
      assert.ok(Math.abs(foot(i) - foot(i - 1)) < 1e-9);
    }
  }
  const rows = laid.rows;
  for (let r = 1; r < rows.length; r++) assert.ok(rows[r].top >= rows[r - 1].top + rows[r - 1].height);
  // What is in sight, against looking at every row.
  for (const from of [0, 333, 2500, laid.height - 50, laid.height + 500]) {
    const seen = rows.filter((r) => r.top + r.height >= from && r.top <= from + 800);
    assert.deepEqual(between(laid, from, from + 800), seen.length ? [seen[0].first, seen.at(-1).last] : [0, -1]);
  }
  const below = neighbour(laid, 3, 1);
  assert.equal(laid.row[below], laid.row[3] + 1);
  assert.equal(laid.row[neighbour(laid, 0, -1)], 0);
  assert.equal(lay([], 1000, 1).rows.length, 0);
});

test("measures are said as a person says them", async () => {
  const { length, stops, degrees, percent, minutes, inUnit } = await load("measures.ts");
  // The house's own way of writing, no source.
  assert.deepEqual([length(0.4), length(34), length(124), length(450), length(1234)], ["0.4 mm", "34 mm", "12.4 cm", "45 cm", "1.23 m"]);
  assert.deepEqual([stops(0.41), stops(4 / 3), stops(-2), stops(1)], ["0.41 stop", "1⅓ stops", "−2 stops", "1 stop"]);
  assert.deepEqual([degrees(0.204), percent(0.1), minutes(35.2), minutes(0.4), inUnit(3, "prints")], ["0.2°", "10 %", "about 35 minutes", "under a minute", "3 prints"]);
});

test("no two commands of a room share a key", async () => {
  const { KEYS } = await load("keys.ts");
  for (const [room, commands] of Object.entries(KEYS)) {
    const keys = [...Object.values(commands), ...(room === "Everywhere" ? [] : Object.values(KEYS.Everywhere))].flatMap(([, ...k]) => k);
    assert.equal(new Set(keys).size, keys.length, room);
  }
});

test("the built page is light, and nothing in it is inline", () => {
  const dist = new URL("../dist/", import.meta.url), html = readFileSync(new URL("index.html", dist), "utf8");
  const files = readdirSync(new URL("assets/", dist)).map((name) => [name, readFileSync(new URL(`assets/${name}`, dist))]);
  const code = gzipSync(html).length + files.filter(([name]) => /\.(js|css|svg)$/.test(name)).reduce((sum, [, data]) => sum + gzipSync(data).length, 0);
  const whole = code + files.filter(([name]) => name.endsWith(".woff2")).reduce((sum, [, data]) => sum + data.length, 0);
  // The page's budget: 130 kB as sent, typefaces included (ours). It was 120 kB before the flat plan, the previews and the list of what is
  // not ready, which weigh 4 kB.
  assert.ok(whole < 130_000, `${whole} bytes, ${code} without the typefaces`);
  assert.ok(!/<script(?![^>]*\ssrc=)|<style|\sstyle=|\son\w+=/.test(html), "a strict policy refuses what is inline");
  // A part is waited for by a hand that has just pressed a key: 10 kB as sent (ours) are one congestion window of a fresh connection, 10
  // segments of 1,460 bytes (RFC 6928), so that it comes in one round trip; a part that outgrows it is split.
  const parts = files.filter(([name]) => name.startsWith("desk-part-")).map(([name, data]) => [name, gzipSync(data).length]);
  assert.ok(parts.length > 0, "no part is fetched later");
  for (const [name, weight] of parts) assert.ok(weight < 10_000, `${name}: ${weight} bytes`);
  for (const [name, data] of files) if (name.endsWith(".js")) assert.ok(!/\beval\(|new Function\(/.test(data.toString()), name);
});
