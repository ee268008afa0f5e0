// Words: dates as people write them, words for many prints, two tabs at one text, searches, what an unsaid privacy means, the rig's fields.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { REAL, browser, desk, open } from "./browser.mjs";
import { api, becomes, hears, press, until } from "./steps.mjs";

let chrome, at;
before(async () => { [chrome, at] = [await browser(), await desk(120)]; });
after(async () => { await chrome.close(); at.close(); });

const post = (page, path, body) => page.evaluate(async ([to, sent]) => (await fetch(to, { method: "POST", headers: { "Content-Type": "application/json", "X-Fallside": "1" }, body: JSON.stringify(sent) })).json(), [path, body]);
const facts = async (page, id) => (await api(page, `/api/print/${id}`)).facts;
const firstIds = async (page, n) => (await api(page, `/api/prints?q=&order=number&from=0&count=${n}`)).rows.map((r) => r.id);
async function sheet(page, id) {
  await page.goto(new URL(`/print/${id}`, at.url).href);
  await page.waitForSelector(".facts input[name=date]");
}
/** Back to what the project was. */
async function undoAll(page) {
  for (let i = 0; i < 60 && (await api(page, "/api/desk")).undo; i++) await post(page, "/api/undo", {});
}

test("a date is understood as it is typed, kept as EDTF, and its words stay in the field", async () => {
  const page = await open(chrome, at.url), [id] = await firstIds(page, 1);
  await sheet(page, id);
  const field = page.locator(".facts input[name=date]"), says = page.locator(".facts .field.date .says");
  await field.fill("summer 2009?");
  await becomes(() => says.innerText(), "summer 2009, perhaps");
  await press(page, "Enter");
  await until(() => facts(page, id), (f) => f.date === "2009-22?" && f.dated === "summer 2009?", "kept with its words");
  await page.reload();
  await page.waitForSelector(".facts input[name=date]");
  await becomes(() => page.locator(".facts input[name=date]").inputValue(), "summer 2009?");
  await becomes(() => says.innerText(), "summer 2009, perhaps");
  // EDTF itself is a date too.
  await field.fill("2009-07");
  await becomes(() => says.innerText(), "July 2009");
  await press(page, "Enter");
  await until(() => facts(page, id), (f) => f.date === "2009-07" && !f.dated, "EDTF needs no words beside it");
  await undoAll(page);
  assert.deepEqual(page.faults, []);
});

test("what can mean two days is asked, and the answer keeps the words", async () => {
  const page = await open(chrome, at.url), [id] = await firstIds(page, 1);
  await sheet(page, id);
  await page.locator(".facts input[name=date]").fill("03/04/2005");
  const choice = page.locator(".facts .field.date .ask button", { hasText: "4 March 2005" });
  await choice.waitFor();
  assert.equal((await facts(page, id)).dated ?? "", "", "nothing is guessed");
  await choice.click();
  await until(() => facts(page, id), (f) => f.date === "2005-03-04" && f.dated === "03/04/2005", "the chosen day, and the words");
  await becomes(() => page.locator(".facts .field.date .says").innerText(), "4 March 2005");
  await undoAll(page);
  assert.deepEqual(page.faults, []);
});

test("one bad date holds nothing else back", async () => {
  const page = await open(chrome, at.url), [id] = await firstIds(page, 1);
  await page.waitForSelector(".print:focus");
  await press(page, "w");
  await page.locator("dialog input[name=title]").fill("Low water");
  await page.locator("dialog input[name=date]").fill("the day it rained");
  await page.locator("dialog button.main", { hasText: "Save" }).click();
  await until(() => facts(page, id), (f) => f.title === "Low water", "the title is written");
  await page.locator("dialog .field.date .says.trouble").waitFor();
  assert.equal(await page.locator("dialog input[name=date]").inputValue(), "the day it rained", "and the date waits in its field");
  await page.locator("dialog input[name=date]").fill("14.7.2009");
  await page.locator("dialog button.main", { hasText: "Save" }).click();
  await page.waitForSelector("dialog", { state: "detached" });
  assert.equal((await facts(page, id)).date, "2009-07-14");
  await undoAll(page);
  assert.deepEqual(page.faults, []);
});

test("words for many prints are added and removed; a text is replaced only where a person says so", async () => {
  const page = await open(chrome, at.url), [a, b] = await firstIds(page, 2);
  const say = (ids, words) => post(page, "/api/describe", { ids, facts: words });
  await say([a, b], { people: "Ada; Bo", place: "Harbour" });
  await say([b], { people: "Ada" });
  await page.reload();
  await page.waitForSelector(".print:focus");
  await press(page, ".", "ArrowRight", ".", "w");
  const items = page.locator("dialog .items[aria-label^=People]");
  await items.waitFor();
  assert.match(await items.innerText(), /Ada\s+in all[\s\S]*Bo\s+in 1 of 2/);
  await page.getByRole("button", { name: "Add Bo to all" }).click();
  await page.getByRole("button", { name: "Remove Ada" }).click();
  await page.locator("dialog input[name=people]").fill("Cy");
  await page.locator("dialog input[name=place]").fill("Evening quay");
  const save = page.locator("dialog button.main", { hasText: "Save" });
  await save.click();
  await page.locator("dialog [role=alert]", { hasText: "not replaced until you say so" }).waitFor();
  assert.equal((await facts(page, a)).place, "Harbour", "nothing is replaced silently");
  await page.getByRole("checkbox", { name: /Replace what 2 prints say: Harbour/ }).check();
  await save.click();
  await page.waitForSelector("dialog", { state: "detached" });
  const split = (text) => text.split("; ").sort();
  for (const id of [a, b]) {
    const now = await facts(page, id);
    assert.deepEqual([split(now.people), now.place], [["Bo", "Cy"], "Evening quay"]);
  }
  await undoAll(page);
  assert.deepEqual(page.faults, []);
});

test("Escape asks before it discards text, in a form and in a field", async () => {
  const page = await open(chrome, at.url), [id] = await firstIds(page, 1);
  await page.waitForSelector(".print:focus");
  await press(page, "w");
  await page.locator("dialog input[name=title]").fill("Half a thought");
  await press(page, "Escape");
  await page.locator("dialog .unsaved").waitFor();
  await page.getByRole("button", { name: "Keep writing" }).click();
  assert.equal(await page.locator("dialog input[name=title]").inputValue(), "Half a thought");
  await press(page, "Escape");
  await page.locator("dialog .unsaved").waitFor();
  await press(page, "Escape");
  await page.waitForSelector("dialog", { state: "detached" });
  await sheet(page, id);
  const title = page.locator(".facts input[name=title]"), was = await title.inputValue();
  await title.fill("Half a thought");
  await press(page, "Escape");
  await page.locator(".facts .ask", { hasText: "Not saved." }).waitFor();
  assert.equal(await title.inputValue(), "Half a thought", "the first Escape takes nothing away");
  await press(page, "Escape");
  await becomes(() => title.inputValue(), was);
  assert.deepEqual(page.faults, []);
});

test("two tabs do not overwrite each other: both texts are kept for the person to choose", async () => {
  const page = await open(chrome, at.url), [id] = await firstIds(page, 1);
  await sheet(page, id);
  const title = page.locator(".facts input[name=title]");
  await title.fill("Mine");
  // Another tab says something else meanwhile.
  await post(page, "/api/describe", { ids: [id], facts: { title: "Theirs" } });
  await page.waitForTimeout(400);
  assert.equal(await title.inputValue(), "Mine", "what is being typed stays");
  await press(page, "Enter");
  const both = page.locator(".facts .both");
  await both.waitFor();
  assert.match(await both.innerText(), /Mine[\s\S]*Theirs/);
  assert.equal((await facts(page, id)).title, "Theirs", "nothing was written over");
  await page.getByRole("button", { name: "Keep mine" }).click();
  await until(() => facts(page, id), (f) => f.title === "Mine", "the person chose");
  await becomes(() => both.count(), 0);
  // A date is compared as a date.
  const date = page.locator(".facts input[name=date]");
  await date.fill("July 2001");
  await post(page, "/api/describe", { ids: [id], facts: { date: "2002" } });
  await page.waitForTimeout(400);
  await press(page, "Enter");
  await both.waitFor();
  assert.equal((await facts(page, id)).date, "2002");
  // What waits is not left behind by a key.
  await page.locator(".sheet").focus();
  await press(page, "ArrowRight", "Escape");
  assert.equal(new URL(page.url()).pathname, `/print/${id}`);
  await page.getByRole("button", { name: "Keep mine" }).click();
  await until(() => facts(page, id), (f) => f.date === "2001-07" && f.dated === "July 2001", "the date of one's own");
  await becomes(() => both.count(), 0);
  await title.fill("Mine again");
  await post(page, "/api/describe", { ids: [id], facts: { title: "Theirs again" } });
  await page.waitForTimeout(400);
  await press(page, "Enter");
  await page.getByRole("button", { name: "Keep the other" }).click();
  await becomes(() => title.inputValue(), "Theirs again");
  assert.equal((await facts(page, id)).title, "Theirs again");
  await undoAll(page);
  assert.deepEqual(page.faults, []);
});

test("search finds what people type, and keeps a search by name", async () => {
  const page = await open(chrome, at.url), [a, b, c] = await firstIds(page, 3);
  await post(page, "/api/describe", { ids: [a], facts: { title: "Zephyr one" } });
  await post(page, "/api/describe", { ids: [b], facts: { title: "Quokka two" } });
  const total = async (line) => (await api(page, `/api/prints?${new URLSearchParams({ q: line, order: "number", from: "0", count: "1" })}`)).prints;
  assert.equal(await total("zephyr OR quokka"), 2);
  const { verdicts } = await api(page, "/api/desk");
  assert.ok((await total("reshoot")) >= verdicts.reshoot);
  assert.ok((await total("square")) >= (await total("format:square-integral")) && (await total("square")) > 0);
  await page.waitForSelector(".print:focus");
  await press(page, "/");
  await page.keyboard.type("zephyr OR quokka");
  await page.waitForFunction(() => /^2 prints$/.test(document.querySelector("#found").textContent));
  await page.getByRole("button", { name: "Save search" }).click();
  await page.keyboard.type("My two");
  await press(page, "Enter");
  await hears(page, /Saved the search My two/);
  await page.waitForFunction(() => document.querySelector("#line").value === 'saved:"My two"' && /^2 prints$/.test(document.querySelector("#found").textContent));
  await page.fill("#line", "");
  await page.selectOption("#only", { label: "My two" });
  await page.waitForFunction(() => /^2 prints$/.test(document.querySelector("#found").textContent));
  await page.getByRole("button", { name: "Drop this saved search" }).click();
  await becomes(async () => (await api(page, "/api/desk")).searches.length, 0);
  await becomes(() => page.inputValue("#line"), "zephyr OR quokka", "its line stays to be seen");
  assert.ok(c);
  await undoAll(page);
  assert.deepEqual(page.faults, []);
});

test("what an unsaid privacy means is asked once", async () => {
  const page = await open(chrome, at.url, "/hand");
  const asks = page.locator(".unsaid");
  await asks.waitFor();
  assert.match(await asks.innerText(), /Names and places stay behind/);
  await page.getByRole("button", { name: "Names and places only with permission" }).click();
  await becomes(async () => (await api(page, "/api/desk")).unsaid, "ask");
  await becomes(() => asks.count(), 0);
  await page.reload();
  await page.waitForSelector(".forms");
  await page.waitForTimeout(300);
  assert.equal(await asks.count(), 0, "and not again");
  assert.deepEqual(page.faults, []);
});

test("the rig's fields take what people type; a wrong one is told beside it, and the plan goes on", async () => {
  const page = await open(chrome, at.url, "/rig");
  await page.waitForSelector(".side .lamp");
  const formats = await page.locator(".answer select").first().locator("option").allInnerTexts();
  assert.ok(formats.length >= 6, `every format is offered: ${formats}`);
  const put = async (name, text) => { await page.fill(`.answer input[name=${name}]`, text); await press(page, "Enter"); };
  await put("lens", "50");
  await put("sensor", "23.5 × 15.6");
  await put("pixels", "24 MP");
  assert.equal(await page.locator(".answer .wrong").count(), 0);
  await put("light_distance", "far away");
  await page.locator("#wrong-light_distance").waitFor();
  assert.ok(!/--/.test(await page.locator(".answer").innerText()), "no word of command-line options");
  const before = await page.locator(".answer tbody td").first().innerText();
  await put("elevation", "25");
  await page.waitForFunction((old) => document.querySelector(".answer tbody td").innerText !== old, before);
  await put("light_distance", "90 cm");
  await becomes(() => page.locator(".answer .wrong").count(), 0);
  await until(() => api(page, "/api/plan/words"), (kept) => kept.words?.lens === "50" && kept.words.light_distance === "90 cm", "the plan is kept");
  await page.reload();
  await page.waitForSelector(".side .lamp");
  await becomes(() => page.inputValue(".answer input[name=lens]"), "50");
  assert.equal(await page.inputValue(".answer input[name=light_distance]"), "90 cm");
  const card = await page.locator("a", { hasText: "Rig card to print" }).getAttribute("href");
  const made = await page.evaluate(async (path) => { const r = await fetch(path); return [r.status, r.headers.get("content-type"), await r.text()]; }, card);
  assert.equal(made[0], 200);
  assert.match(made[1], /text\/html/);
  assert.match(made[2], /Rig card/);
  if (!REAL) assert.match(await page.locator(".answer thead").innerText(), /Checked/);
  assert.deepEqual(page.faults, []);
});

test("what is being typed in the rig stays when the plan of an earlier field is answered", async () => {
  const page = await open(chrome, at.url, "/rig");
  await page.waitForSelector(".side .lamp");
  await page.fill(".answer input[name=lens]", "60");
  const answered = page.waitForResponse((r) => new URL(r.url()).pathname === "/api/plan");
  await press(page, "Tab");
  await page.fill(".answer input[name=pixels]", "45 M");
  await answered;
  await page.waitForTimeout(300);
  assert.equal(await page.inputValue(".answer input[name=pixels]"), "45 M");
  await press(page, "P", "Enter");
  await until(() => api(page, "/api/plan/words"), (kept) => kept.words?.lens === "60" && kept.words.pixels === "45 MP", "both are kept");
  assert.deepEqual(page.faults, []);
});
