// What every room reads: the project, the last message, progress, and how to change things and undo them.
import { observable } from "./observable";
import { connect } from "./link";
import { type Answers, type Asks, type GetPath, type Got, type PostPath, Trouble, get, post, roomOf } from "./wire";
import type { Did, Ended, Event, Imports, State, Verdict } from "./wire.generated";

export const desk = observable<State | null>(null);
/** The message at the foot of the page: what was done, or what went wrong. */
export const said = observable<{ text: string; remedy?: string; trouble: boolean; atStand?: boolean }>({ text: "", trouble: false });
/** Counts up whenever the catalogue changed. */
export const changes = observable(0);
export const working = observable<{ name: string; done: number; of: number } | null>(null);
/** The verdict that arrived last, counted so that two alike are still two. */
export const arrived = observable<{ verdict: Verdict | null; count: number }>({ verdict: null, count: 0 });
/** The import that is running, and how the last one ended. */
export const imports = observable<Imports>({ now: null, last: null });
/** Whether the import lies over the room. */
export const takingIn = observable(false);
/** How the last export ended. */
export const handed = observable<Ended | null>(null);
/** Path of the current URL. */
export const place = observable(location.pathname);

export function go(path: string): void {
  if (path !== location.pathname) history.pushState(null, "", path);
  come(path);
}

/** Another room is open: what can be undone is another. */
function come(path: string): void {
  place.set(path);
  look();
  // At the stand it stands in the place of the verdict.
  if (path === "/stand" && said.get().atStand) say("");
}

export function back(): void {
  go("/table");
}

const ask = inOrder<"/api/desk">((now) => desk.set(now));

export function look(): void {
  void ask("/api/desk").catch(tell);
}

/** Shows an error at the foot. */
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

/** Whether the answer to a request that is sent now may be shown when it arrives: no change was waiting for its answer, and none was
 * started since. After every change the page asks again. */
export function believable(): () => boolean {
  const at = begun, quiet = unanswered === 0;
  return () => quiet && begun === at;
}

/** Sends requests and passes their answers on in the order of the requests, each with whether it may be shown. An answer that arrives
 * after a newer one is dropped. */
export function inOrder<P extends GetPath>(told: (answer: Got<P>, believed: boolean) => void): (path: P) => Promise<void> {
  let asked = 0, last = 0;
  return async (path) => {
    const mine = ++asked, believed = believable(), now = await get(path);
    if (mine < last) return;
    last = mine;
    told(now, believed());
  };
}

/** Paths that change something and answer what was done. */
type ActPath = { [P in PostPath]: Answers<P> extends Did ? P : never }[PostPath];

/** Changes something and says what was done. Null where it could not be done. `room`: where it was begun, if that may be left already. */
export async function act<P extends ActPath>(path: P, body: Asks<P>, room = roomOf(location.pathname)): Promise<(Answers<P> & Did) | null> {
  begun++;
  unanswered++;
  // One after another, in the order of the actions.
  const mine = queue.then(() => post(path, body, room) as Promise<Answers<P> & Did>);
  queue = mine.catch(() => null);
  try {
    const done = await mine;
    say(done.did);
    const now = desk.get();
    if (now && room === roomOf(location.pathname)) desk.set({ ...now, undo: done.undo, redo: done.redo });
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

/** Completes a change that was started and not sent yet, such as a corner between two key presses. */
export const unfinished = observable<(() => void) | null>(null);

/** What a room undoes by itself, in the place of the desk's journal: its next steps in words, and how to take one. */
export interface Undoer { undo: string | null; redo: string | null; step(which: "undo" | "redo"): string | null }
export const undoer = observable<Undoer | null>(null);

/** Undoes the last thing done in this room, or redoes it. */
export async function undo(which: "undo" | "redo" = "undo"): Promise<void> {
  const own = undoer.get();
  if (own) {
    const done = own.step(which);
    return say(done === null ? `Nothing to ${which} here.` : `${which === "undo" ? "Undone" : "Redone"}: ${done}`);
  }
  const now = desk.get(), finish = unfinished.get();
  // What is seen is undone, not what was done before it.
  finish?.();
  if (which === "undo") await act("/api/undo", { take: null });
  else if (now && !now.redo) say("Nothing to redo here.");
  else await act("/api/redo", {});
}

let waiting = 0;

/** Several changes in a row are fetched once: 80 ms is too short to notice. */
export function changed(): void {
  clearTimeout(waiting);
  waiting = window.setTimeout(() => {
    look();
    changes.set(changes.get() + 1);
    if (said.get().atStand) void get("/api/stand").then((now) => {
      if (said.get().atStand && (!now.amiss || now.amiss.seen)) say("");
    }, tell);
  }, 80);
}

function hear(event: Event): void {
  if (event.kind === "changed" || event.kind === "settled") changed();
  else if (event.kind === "working") working.set(event.done < event.of ? event : null);
  else if (event.kind === "importing") imported(event);
  else if (event.kind === "handed") {
    working.set(null);
    handed.set(event);
    said.set({ text: event.says, remedy: event.do ?? "", trouble: event.name === null });
  } else if (event.kind === "trouble") {
    if (!event.at_stand) said.set({ text: event.says, trouble: true });
    else if (place.get() !== "/stand") said.set({ text: `At the stand: ${event.says}`, trouble: true, atStand: true });
    if (event.at_stand) changed();
  }
  else arrived.set({ verdict: event.last?.verdict ?? null, count: arrived.get().count + 1 });
}

/** An import goes on, or has ended. */
function imported({ now, last }: Imports): void {
  imports.set({ now, last });
  // Where the import lies over the room, it is told there.
  if (!now && last && !takingIn.get()) said.set({ text: last.says, remedy: last.unread.length ? "Import shows which." : "", trouble: last.trouble });
}

export function open(): void {
  addEventListener("popstate", () => come(location.pathname));
  connect(hear, again);
  look();
  void get("/api/take").then((now) => imports.set(now), tell);
}

/** The desk answers again: everything is looked at anew. */
function again(now: State): void {
  // Another project is another desk: what is shown here means nothing there.
  if (desk.get() && desk.get()!.project !== now.project) return location.replace("/");
  working.set(null);
  void get("/api/take").then((now) => imports.set(now), tell);
  say("The desk answers again.");
  changed();
}
