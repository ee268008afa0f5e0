// Keyboard: each room binds what its keys do; one listener handles them, the innermost room first. A key that is pressed before what
// it acts on has loaded waits for it, in order.
import { useLayoutEffect, useRef } from "preact/hooks";
import { KEYS, type KeyRoom as Room } from "./keys";

/** What a command does; false passes the key on to the next room. */
type Act = (event: KeyboardEvent) => boolean | void;
type Acts<R extends Room> = Record<keyof (typeof KEYS)[R], Act>;
/** Whether what a room's keys act on has loaded, and the commands that work without it. */
interface Waits<R extends Room> { here: () => boolean; free: readonly (keyof (typeof KEYS)[R])[] }
interface Bound { name: Room; acts: Record<string, Act>; here: () => boolean; free: readonly string[] }

const rooms: { current: Bound }[] = [];
/** Rooms laid over another as a dialog. */
const OVER: readonly Room[] = ["Compare"];
const AT_ONCE = { here: () => true, free: [] };
/** Keys that wait, and the animation frame in which the first is tried. */
let ahead: KeyboardEvent[] = [], due = 0;

/** Binds the keys of a room, as long as it is open. */
export function useKeys<R extends Room>(name: R, acts: Acts<R>, { here, free }: Waits<R> = AT_ONCE): void {
  const now: Bound = { name, acts, here, free: free as readonly string[] };
  const mine = useRef(now);
  mine.current = now;
  // Before the next key, not after the next picture.
  useLayoutEffect(() => {
    rooms.push(mine);
    return () => void rooms.splice(rooms.indexOf(mine), 1);
  }, []);
}

/** The rooms open now, the innermost first. */
export const openRooms = (): Room[] => rooms.map((room) => room.current.name).reverse();

/** A key press by the name that `KEYS` uses. */
export function nameOf(event: KeyboardEvent): string {
  const ctrl = event.ctrlKey || event.metaKey ? "Ctrl+" : "";
  const alt = event.altKey ? "Alt+" : "";
  // A sign already tells its Shift; a letter or an arrow does not.
  const named = event.key.length > 1 || /[a-z]/i.test(event.key);
  const shift = event.shiftKey && named ? "Shift+" : "";
  const key = event.key === " " ? "Space" : event.key.length === 1 ? event.key.toLowerCase() : event.key;
  return ctrl + alt + shift + key;
}

const is = (target: EventTarget | null, what: string): boolean => target instanceof Element && target.closest(what) !== null;

/** Whether the thing that has the focus wants the key for itself. */
function wanted(target: EventTarget | null, name: string): boolean {
  // While a person types or chooses, only Escape is ours.
  if (is(target, "input:not([type=range],[type=checkbox]),textarea,select")) return name !== "Escape";
  if (is(target, "input[type=range],[role=slider]") && /Arrow|Page|Home|End/.test(name)) return true;
  return (name === "Enter" || name === "Space") && is(target, "button,a,summary,input");
}

/** Runs the command of a key: true once it ran, false where no room binds the key, "later" while what it acts on has not loaded. */
function answer(event: KeyboardEvent, name: string): boolean | "later" {
  const over = document.querySelector("dialog[open]") !== null;
  // Nothing can be done without the desk.
  if (document.querySelector("dialog.gone")) return false;
  for (const { current } of [...rooms].reverse()) {
    if (over && !OVER.includes(current.name) && name !== "Ctrl+z") continue;
    for (const [command, [, ...keys]] of Object.entries<readonly string[]>(KEYS[current.name])) {
      if (!keys.includes(name)) continue;
      if (!current.here() && !current.free.includes(command)) return "later";
      if (current.acts[command]?.(event) !== false) return true;
    }
  }
  return false;
}

const bound = (name: string): boolean => rooms.some(({ current }) => Object.values<readonly string[]>(KEYS[current.name]).some(([, ...keys]) => keys.includes(name)));

function hear(event: KeyboardEvent): void {
  const name = nameOf(event);
  if (event.defaultPrevented || event.isComposing || wanted(event.target, name)) return;
  // Keys behind a waiting key wait too.
  const done = ahead.length ? bound(name) && "later" : answer(event, name);
  if (done) event.preventDefault();
  if (done !== "later") return;
  ahead.push(event);
  due ||= requestAnimationFrame(goOn);
}

/** Runs the first waiting key once it can run; one in each frame, so that each finds the page as the one before it left it. */
function goOn(): void {
  due = 0;
  const event = ahead.shift();
  if (!event) return;
  const name = nameOf(event);
  try {
    // A key meant for a field that an earlier key opened is not a command.
    if (!wanted(document.activeElement, name) && answer(event, name) === "later") ahead.unshift(event);
  } finally {
    // One that fails does not hold up the others.
    if (ahead.length) due ||= requestAnimationFrame(goOn);
  }
}

/** Drops the waiting keys: what they act on will not load. */
export function forget(): void {
  ahead = [];
}

addEventListener("keydown", hear);
