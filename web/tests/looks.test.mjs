// How the desk looks, where it can be measured: what comes first, what stands on one line, what does not jump, what does not collide.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, before, test } from "node:test";
import { PHONE, REAL, browser, desk, open, pictures, violations } from "./browser.mjs";
import { api, becomes, press, until } from "./steps.mjs";

const skip = REAL ? "the invented desk can be told to" : false;
let chrome;
before(async () => { chrome = await browser(); });
after(async () => { await chrome.close(); });

/** A desk of its own, and prints of it with words. */
async function made(t, prints, words = {}) {
  const at = await desk(prints);
  t.after(() => at.close());
  for (const [id, facts] of Object.entries(words)) at.desk.by.get(Number(id)).facts = facts;
  return at;
}
const box = (page, what) => page.locator(what).first().boundingBox();

test("the sheet is the back of a photograph: captions in the serif, and add … for the rest, opened by Tab", { skip }, async (t) => {
  const at = await made(t, 12, { 1: { place: "Old bakery", date: "2009-07", people: "Ada; Bo", film: "daylight" } });
  const page = await open(chrome, at.url, "/print/1");
  await page.waitForSelector(".corner");
  await becomes(() => page.locator(".back .written .rest").allInnerTexts(), ["Old bakery", "July 2009", "Ada, Bo", "daylight"]);
  const rest = await page.locator(".back .caption:not(.written) .rest").allInnerTexts();
  assert.ok(rest.includes("add title") && rest.includes("add condition") && rest.every((words) => /^(add|say) /.test(words)), `${rest}`);
  // Nothing looks like a form: no field is seen, no line is drawn under one.
  const seen = () => page.locator(".back :is(input, select)").evaluateAll((all) => all.filter((f) => getComputedStyle(f).opacity !== "0").map((f) => f.name));
  assert.deepEqual(await seen(), []);
  assert.match(await page.locator(".back .written .rest").first().evaluate((e) => getComputedStyle(e).fontFamily), /^"?Bench Serif/);
  // A caption is as long as it is: it wraps, and is not cut.
  const all = () => page.locator(".back .rest").evaluateAll((lines) => lines.every((l) => l.scrollWidth <= l.clientWidth + 1 || getComputedStyle(l).display === "inline"));
  assert.ok(await all());
  // The key opens the field of the title, Tab the next one, and nothing moves before the hand has left.
  await page.locator(".sheet").focus();
  await press(page, "w");
  await becomes(seen, ["title"]);
  await page.keyboard.type("Bread at five");
  await press(page, "Tab");
  await until(seen, (now) => now.length === 1 && now[0] !== "title", "the next field is open, the first a caption again");
  await until(() => api(page, "/api/print/1"), (p) => p.facts.title === "Bread at five", "it is written");
  const order = () => page.locator(".back .caption").evaluateAll((c) => c.map((f) => f.querySelector("input, select").name));
  assert.equal((await order())[0], "place", "nothing moves under the hand");
  await press(page, "Escape");
  await becomes(async () => (await order())[0], "title");
  await becomes(seen, []);
  await becomes(() => page.locator(".back .rest").first().innerText(), "Bread at five");
  assert.match(await page.locator(".facts").innerText(), /Print 1\./, "the number stands beneath");
  assert.deepEqual([...(await violations(page, "sheet")), ...page.faults], []);
});

test("on the sheet the mount comes first and is larger than the frame", { skip }, async (t) => {
  const at = await made(t, 12);
  for (const viewport of [{ width: 1440, height: 900 }, { width: 768, height: 1024 }, PHONE]) {
    const page = await open(chrome, at.url, "/print/1", { viewport });
    await page.waitForSelector(".corner");
    const print = await page.evaluate(() => document.querySelector(".finished").compareDocumentPosition(document.querySelector(".area")) & Node.DOCUMENT_POSITION_FOLLOWING);
    assert.ok(print, "the mount is first for a reader too");
    const [mount, frame, facts] = [await box(page, ".finished .mount"), await box(page, ".area"), await box(page, ".facts")];
    assert.ok(mount.width * mount.height > frame.width * frame.height, `${viewport.width}: ${JSON.stringify([mount, frame])}`);
    assert.ok((mount.y < frame.y - 20 || mount.x < frame.x) && facts.y >= mount.y + mount.height, "its words under it");
    await page.context().close();
  }
});

test("on the table the title comes first, in the serif on two lines at most, and the number small beneath it", { skip }, async (t) => {
  const long = "The evening on which the ferry did not come and everybody stayed at the harbour until the lamps went out";
  const at = await made(t, 90, { 1: { title: "Pears" }, 2: { title: long }, 3: { place: "Kitchen" }, 4: {} });
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  const of = (i) => page.locator(`.print[data-index='${i}']`).evaluate((print) => {
    const rect = (e) => e && (({ x, y, width, height, bottom, right }) => ({ x, y, width, height, bottom, right }))(e.getBoundingClientRect());
    const title = print.querySelector(".title"), no = print.querySelector(".no"), size = (e) => e && parseFloat(getComputedStyle(e).fontSize);
    return { mount: rect(print.querySelector(".mount")), title: rect(title), no: rect(no), sizes: [size(title), size(no)], face: title && getComputedStyle(title).fontFamily };
  });
  const [one, two, place, none] = [await of(0), await of(1), await of(2), await of(3)];
  for (const print of [one, two, place]) {
    assert.ok(print.no.y >= print.title.bottom - 1 && print.sizes[1] < print.sizes[0], JSON.stringify(print));
    assert.match(print.face, /^"?Bench Serif/);
    assert.ok(print.title.width <= print.mount.width + 0.5, "as wide as its mount");
  }
  assert.ok(Math.abs(two.title.height / one.title.height - 2) < 0.1, `two lines: ${two.title.height} against ${one.title.height}`);
  assert.ok(none.title === null && none.no.height > 0);
  // The row leaves room for the longest of its captions.
  const next = await page.locator(".print .mount").evaluateAll((all) => all.map((m) => m.getBoundingClientRect().y).find((y, i, ys) => y > ys[0] + 50));
  assert.ok(next > two.no.bottom + 8, `${next} lies below ${two.no.bottom}`);
  assert.match(await page.locator(".print:focus").evaluate((e) => e.textContent), /^Print 1 Pears/, "said in the order of before");
  await page.context().close();
});

test("prints of a row stand on one line, whatever the white around them", { skip }, async (t) => {
  const at = await made(t, 90), row = at.desk.row.bind(at.desk);
  // One has more white than the others.
  at.desk.row = (p) => { const r = row(p); return p.id === 2 ? { ...r, canvas_mm: [r.size_mm[0] + 40, r.size_mm[1] + 40] } : r; };
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  const prints = await page.evaluate(async () => {
    const { rows } = await fetch("/api/prints?q=&order=number&from=0&count=4").then((r) => r.json());
    return rows.map((r, i) => {
      const box = document.querySelector(`.print[data-index='${i}'] .mount`).getBoundingClientRect(), scale = box.width / r.canvas_mm[0];
      return { foot: box.bottom - (scale * (r.canvas_mm[1] - r.size_mm[1])) / 2, scale };
    });
  });
  for (const { foot, scale } of prints) assert.ok(Math.abs(foot - prints[0].foot) < 1 && Math.abs(scale - prints[0].scale) < 0.01, JSON.stringify(prints));
  await page.context().close();
});

test("few prints fill the table, and keep their scale to one another; larger and smaller start from there", { skip }, async (t) => {
  const named = (title, ...ids) => Object.fromEntries(ids.map((id) => [id, { title }]));
  const at = await made(t, 400, { ...named("Zephyr", 1), ...named("Quokka", 2, 60), ...named("Ibex", 3, 4, 61, 64, 70, 80) });
  for (const viewport of [{ width: 1440, height: 900 }, { width: 1280, height: 800 }, { width: 768, height: 1024 }]) {
    const page = await open(chrome, at.url, "/table", { viewport });
    await page.waitForSelector(".print:focus");
    const measure = () => page.evaluate(() => {
      const lie = document.querySelector(".lie"), all = [...document.querySelectorAll(".print")].map((p) => p.querySelector(".mount").getBoundingClientRect());
      return { height: lie.clientHeight, width: lie.clientWidth, tall: lie.scrollHeight, mounts: all.map((b) => [b.width, b.height]), low: Math.max(...all.map((b) => b.bottom)) - lie.getBoundingClientRect().y, right: Math.max(...all.map((b) => b.right)) - Math.min(...all.map((b) => b.x)) };
    });
    const many = await measure();
    for (const [line, n] of [["zephyr", 1], ["quokka", 2], ["ibex", 6]]) {
      await page.fill("#line", line);
      await becomes(() => page.locator(".print").count(), n);
      const few = await measure(), { rows } = await api(page, `/api/prints?${new URLSearchParams({ q: line, order: "number", from: "0", count: "9" })}`);
      assert.ok(few.mounts[0][0] > 1.3 * many.mounts[0][0], `${n} prints are larger: ${few.mounts[0]} against ${many.mounts[0]}`);
      assert.ok(few.low <= few.height, "all are seen whole");
      const scales = rows.map((r, i) => few.mounts[i][0] / r.canvas_mm[0]);
      for (const scale of scales) assert.ok(Math.abs(scale / scales[0] - 1) < 0.01, `${scales}`);
      // They fill it: a tenth more would not fit, or they are as large as they may be.
      assert.ok(scales[0] > 4.9 || few.low > 0.6 * few.height || few.right > 0.8 * few.width, JSON.stringify(few));
    }
    await page.locator(".print").first().focus();
    const before = (await measure()).mounts[0][0];
    await press(page, "n");
    await until(async () => (await measure()).mounts[0][0], (w) => w > before * 1.1, "larger");
    await press(page, "f", "f");
    await until(async () => (await measure()).mounts[0][0], (w) => w < before * 0.95, "smaller");
    await page.context().close();
  }
});

test("the sheets of paper lie on one line, and nothing moves when one is chosen or added", { skip }, async (t) => {
  const at = await made(t, 200);
  at.desk.post_edit({ do: "put", name: "wide", ids: at.desk.prints.map((p) => p.id) });
  const page = await open(chrome, at.url);
  await page.waitForSelector(".print:focus");
  await until(() => page.locator(".paper").count(), (n) => n >= 3, "three sheets");
  const lie = () => page.evaluate(() => [...document.querySelectorAll(".pile .all, .paper")].map((e) => { const b = e.getBoundingClientRect(); return [b.x, b.y, b.width, b.height].map((v) => Math.round(v * 10) / 10); }));
  const first = () => page.locator(".print[data-index='0'] .mount").evaluate((m) => { const b = m.getBoundingClientRect(); return [b.x, b.y].map(Math.round); });
  const tabs = await lie(), print = await first();
  assert.equal(new Set(tabs.map(([, y, , h]) => `${y} ${h}`)).size, 1, `${JSON.stringify(tabs)}: one line`);
  await page.locator(".paper.wide").click();
  await page.waitForSelector(".lie.on-sheet");
  assert.deepEqual(await lie(), tabs, "chosen, none is moved");
  await becomes(first, print, "nor is a print");
  // A paler sheet with a quiet edge.
  const looks = await page.evaluate(() => [".lie.on-sheet", "html"].map((w) => getComputedStyle(document.querySelector(w))).map((s) => [Number(/\d+/.exec(s.backgroundColor)[0]), s.borderTopWidth]));
  assert.ok(looks[0][0] > looks[1][0] && looks[0][0] < 255 && parseFloat(looks[0][1]) <= 1, JSON.stringify(looks));
  await page.getByRole("button", { name: "New edit" }).click();
  await page.keyboard.type("For Pia");
  assert.deepEqual(await lie(), tabs, "nor while one is named");
  await press(page, "Enter");
  await becomes(() => page.locator(".paper").count(), 4);
  assert.deepEqual((await lie()).slice(0, 4), tabs);
  assert.deepEqual(await first(), print);
  assert.deepEqual(page.faults, []);
});

test("what is in hand has one thin frame, clear of its mount and of every caption", { skip }, async (t) => {
  const at = await made(t, 200), page = await open(chrome, at.url);
  at.desk.post_stack({ do: "propose", ids: [] });
  await page.waitForSelector(".print:focus");
  await page.waitForSelector(".print.heap");
  await press(page, ".", "ArrowRight", ".", "ArrowRight", "ArrowRight", "ArrowRight", ".");
  for (const index of [0, 1, 3, 4]) {
    const found = await page.evaluate((i) => {
      document.querySelector(`.print[data-index='${i}']`).focus();
      const print = document.querySelector(`.print[data-index='${i}']`), mount = print.querySelector(".mount"), s = getComputedStyle(mount), box = mount.getBoundingClientRect();
      const out = parseFloat(s.outlineOffset) + parseFloat(s.outlineWidth), frame = { left: box.left - out, right: box.right + out, top: box.top - out, bottom: box.bottom + out };
      const through = [...document.querySelectorAll(".print .words > *")].filter((e) => !e.matches(".unseen") && e.getBoundingClientRect().height).filter((e) => {
        const b = e.getBoundingClientRect();
        return b.left < frame.right && b.right > frame.left && b.top < frame.bottom && b.bottom > frame.top;
      }).map((e) => e.textContent);
      return { style: s.outlineStyle, width: parseFloat(s.outlineWidth), offset: parseFloat(s.outlineOffset), through, air: print.querySelector(".words").firstElementChild && [...print.querySelectorAll(".title, .no")][0].getBoundingClientRect().top - frame.bottom };
    }, index);
    assert.ok(found.style === "solid" && found.width <= 2 && found.offset >= 4, JSON.stringify(found));
    assert.deepEqual(found.through, []);
  }
  await page.context().close();
});

test("on a handed-on site too the prints of a row stand on one line, and captions are as wide as their mounts", { skip }, async () => {
  const style = readFileSync(new URL("../../crates/publish/src/gallery/look.css", import.meta.url), "utf8"), page = await (await chrome.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
  const item = (w, h, words) => `<li style="--w:${w}"><a href="#"><img width="${w * 10}" height="${h * 10}" alt="" src="data:image/svg+xml,%3Csvg xmlns='http://www.w3.org/2000/svg' width='${w * 10}' height='${h * 10}'/%3E"></a><p>${words}</p></li>`;
  await page.setContent(`<!doctype html><style>${style}</style><main><ol class="wall">${item(106, 125, "Pears")}${item(72, 104, "The evening on which the ferry did not come and everybody stayed at the harbour")}${item(126, 104, "Low tide <span>2009</span>")}</ol></main>`);
  await page.waitForFunction(() => [...document.images].every((i) => i.complete && i.naturalWidth));
  const all = await page.evaluate(() => [...document.querySelectorAll(".wall li")].map((li) => [li.querySelector("img"), li.querySelector("p")].map((e) => { const b = e.getBoundingClientRect(); return { y: b.y, bottom: b.bottom, width: b.width }; })));
  for (const [image, words] of all) {
    assert.ok(Math.abs(image.bottom - all[0][0].bottom) < 1, JSON.stringify(all));
    assert.ok(words.width <= image.width + 0.5 && words.y >= image.bottom);
  }
  await page.context().close();
});

test("the words of the rig's drawings collide with nothing, wherever the light stands", { skip }, async (t) => {
  const at = await made(t, 12), faults = [];
  for (const viewport of [{ width: 1280, height: 800 }, { width: 768, height: 1024 }, PHONE]) {
    const page = await open(chrome, at.url, "/rig", { viewport });
    await page.waitForSelector(".side .lamp");
    for (const [distance, elevation, from] of [["120 cm", "35", "left"], ["48 cm", "69", "left"], ["50 cm", "52", "upper-left"], ["40 cm", "12", "bottom"], ["230 cm", "10", "top"], ["200 cm", "75", "right"], ["60 cm", "45", "lower-right"]]) {
      await page.fill(".answer input[name=light_distance]", distance);
      await press(page, "Enter");
      await page.fill(".answer input[name=elevation]", elevation);
      await press(page, "Enter");
      await page.selectOption(".answer .fields label:last-of-type select", from);
      const angle = `${Number(elevation)}°`;
      await until(() => page.locator(".side text").allTextContents(), (words) => words.some((w) => w.endsWith(`${angle} up`)) && words.some((w) => w.startsWith(distance.startsWith("230") ? "2.3 m" : distance.startsWith("200") ? "2 m" : distance.startsWith("120") ? "1.2 m" : distance)), "it is drawn");
      // The drawing has another size, and its words are set again.
      await page.waitForTimeout(300);
      faults.push(...(await page.evaluate(() => {
        const found = [], meet = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.5;
        for (const view of document.querySelectorAll(".view")) {
          const all = [...view.querySelectorAll("text")].map((e) => [e.textContent, e.getBoundingClientRect()]), whole = view.closest("figure").getBoundingClientRect();
          // Letters fill three quarters of their line.
          const ink = (b) => ({ left: b.left, right: b.right, top: b.top + 0.15 * b.height, bottom: b.bottom - 0.1 * b.height });
          const things = [...view.querySelectorAll(".lamp rect, rect.solid, .stop")].map((e) => [e.getAttribute("class"), e.getBoundingClientRect()]);
          all.forEach(([words, box], i) => {
            for (const [other, b] of [...all.slice(i + 1).map(([w, b]) => [w, ink(b)]), ...things]) if (meet(ink(box), b)) found.push(`“${words}” lies on ${other}`);
            if (box.left < whole.left - 1 || box.right > whole.right + 1 || box.top < whole.top - 2) found.push(`“${words}” leaves the drawing`);
          });
        }
        return found;
      })).map((f) => `${viewport.width}, ${distance} ${elevation} ${from}: ${f}`));
    }
    faults.push(...page.faults);
    await page.context().close();
  }
  assert.deepEqual(faults, []);
});

test("the complete plan is words: a list of things and what is said of each", { skip }, async (t) => {
  const at = await made(t, 12), page = await open(chrome, at.url, "/rig", { viewport: PHONE });
  await page.waitForSelector(".side .lamp");
  await page.locator(".whole summary").click();
  const parts = await page.locator(".whole dl > div").evaluateAll((all) => all.map((d) => [d.querySelector("dt").textContent, d.querySelectorAll("dd p").length, getComputedStyle(d).fontFamily]));
  assert.ok(parts.length >= 4 && parts.every(([label, n, face]) => label && n > 0 && /^"?Bench Sans/.test(face)), JSON.stringify(parts));
  assert.ok(parts.some(([label]) => label === "Camera"));
  assert.equal(await page.locator(".rig pre").count(), 0);
  assert.ok(await page.evaluate(() => document.querySelector(".whole").scrollWidth <= document.querySelector(".whole").clientWidth + 1));
  assert.deepEqual([...(await violations(page, "the plan")), ...page.faults], []);
});
