// What every room knows: the desk's counts, what was done last, and how to do and undo.
import { held } from "./hold";
import { type Desk, type Did, type Ended, type Event, type FrameVerdict, Trouble, get, listen, post } from "./wire";

export const desk = held<Desk | null>(null);
/** The line at the foot: what was done, or what stands in the way. */
export const said = held<{ text: string; remedy?: string; trouble: boolean }>({ text: "", trouble: false });
/** Counts up whenever the catalogue changed. */
export const changes = held(0);
export const working = held<{ name: string; done: number; of: number } | null>(null);
/** The verdict that arrived last, counted so that two alike are still two. */
export const arrived = held<{ verdict: FrameVerdict | null; count: number }>({ verdict: null, count: 0 });
/** How handing on ended last. */
export const handed = held<Ended | null>(null);
/** Whose words take the place of prints: where the page is. */
export const place = held(location.pathname);

export function go(path: string): void {
  if (path !== location.pathname) history.pushState(null, "", path);
  place.set(path);
}

export function back(): void {
  go("/table");
}

const ask = inOrder<Desk>((now) => desk.set(now));

export function look(): void {
  void ask("/api/desk").catch(tell);
}

/** Says a trouble at the foot. */
export function tell(error: unknown): void {
  if (error instanceof Trouble) said.set({ text: error.says, remedy: error.remedy, trouble: true });
  else if (!(error instanceof DOMException && error.name === "AbortError")) throw error;
}

export function say(text: string): void {
  said.set({ text, trouble: false });
}

let queue: Promise<unknown> = Promise.resolve();
/** Things done so far, and those not answered yet. */
let begun = 0, unanswered = 0;

/** Whether an answer to what is asked now may be believed when it comes: nothing was being done, and nothing was begun since. What is
 * done is followed by asking anew. */
export function believable(): () => boolean {
  const at = begun, quiet = unanswered === 0;
  return () => quiet && begun === at;
}

/** A way to ask that tells its answers in the order they were asked for, and whether each may be believed: one that a newer answer
 * overtook is not told. */
export function inOrder<T>(told: (answer: T, believed: boolean) => void): (path: string) => Promise<void> {
  let asked = 0, last = 0;
  return async (path) => {
    const mine = ++asked, believed = believable(), now = await get<T>(path);
    if (mine < last) return;
    last = mine;
    told(now, believed());
  };
}

/** Does something to the catalogue and says what was done. Null where it could not be. */
export async function act<T extends Partial<Did> = Did>(path: string, body: unknown): Promise<T | null> {
  begun++;
  unanswered++;
  // One after another, as the hand did them.
  const mine = queue.then(() => post<T>(path, body));
  queue = mine.catch(() => null);
  try {
    const done = await mine;
    if (done.did) say(done.did);
    const now = desk.get();
    if (now) desk.set({ ...now, undo: done.undo ?? null, redo: done.redo ?? null });
    changed();
    return done;
  } catch (error) {
    tell(error);
    changed();
    return null;
  } finally {
    unanswered--;
  }
}

/** Finishes what the hand has begun and still holds, such as a corner between two presses. */
export const unfinished = held<(() => void) | null>(null);

export async function undo(which: "undo" | "redo" = "undo"): Promise<void> {
  const now = desk.get(), finish = unfinished.get();
  // What is seen is undone, not what was done before it.
  finish?.();
  if (!finish && now && !now[which]) return say(which === "undo" ? "Nothing to undo." : "Nothing to do again.");
  await act(`/api/${which}`, {});
}

let waiting = 0;

/** Several changes in a row are looked at once: 80 ms is under what an eye calls late. */
export function changed(): void {
  clearTimeout(waiting);
  waiting = window.setTimeout(() => {
    look();
    changes.set(changes.get() + 1);
  }, 80);
}

function hear(event: Event): void {
  if (event.kind === "changed" || event.kind === "settled") changed();
  else if (event.kind === "working") working.set(event.done < event.of ? event : null);
  else if (event.kind === "handed") {
    working.set(null);
    handed.set(event);
    said.set({ text: event.says, remedy: event.do ?? "", trouble: event.name === null });
  } else if (event.kind === "trouble") said.set({ text: event.says, trouble: true });
  else arrived.set({ verdict: event.last?.verdict ?? null, count: arrived.get().count + 1 });
}

export function open(): void {
  addEventListener("popstate", () => place.set(location.pathname));
  listen(hear);
  look();
}
