// A hand on the page, and the patience to see what comes of it.
import assert from "node:assert/strict";
import { PATIENCE, focused, said } from "./browser.mjs";

export const press = async (page, ...keys) => { for (const key of keys) await page.keyboard.press(key); };
/** What the page's desk answers. */
export const api = (page, path, room = null) => page.evaluate(([p, at]) => fetch(p, { headers: { "X-Fallside-Room": at ?? (location.pathname.slice(1).replace(/^hand.*/, "hand") || "table") } }).then((r) => r.json()), [path, room]);

/** Reads until what was read holds, and answers with it; says what it was last if it never does. */
export async function until(read, holds, what) {
  let last;
  for (const end = Date.now() + PATIENCE; Date.now() < end;) {
    last = await read();
    if (holds(last)) return last;
    await new Promise((later) => setTimeout(later, 100));
  }
  assert.fail(`${what}: ${JSON.stringify(last)?.slice(0, 600)}`);
}
/** Reads until it is what it should be. */
export async function becomes(read, wanted, what = "it becomes so") {
  const same = JSON.stringify(wanted);
  await until(read, (now) => JSON.stringify(now) === same, `${what}, wanted ${same}`);
}
/** Waits until the foot says something like this. */
export const hears = (page, like) => page.waitForFunction(([source, flags]) => new RegExp(source, flags).test([...document.querySelectorAll(".foot [role=status], .foot [role=alert]")].map((p) => p.textContent).join("")), [like.source, like.flags])
  .catch(async (late) => { throw new Error(`waited for ${like}, and the foot says “${await said(page)}” at ${await focused(page)}`, { cause: late }); });
/** Reads until it has stayed the same for half a second: what a hand did is drawn a frame or more later. Until it is no longer `before`, if that is given. */
export async function rests(read, before, what = "it changes") {
  const was = JSON.stringify(before);
  let last, since = Date.now();
  return until(async () => {
    const now = await read(), text = JSON.stringify(now);
    if (text !== last) [last, since] = [text, Date.now()];
    return now;
  }, () => last !== was && Date.now() - since > 500, what);
}
