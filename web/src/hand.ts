// Keys: each room binds what its keys do; one listener hears them, the innermost room first. Keys pressed before what they act on is
// here wait for it, in their order.
import { useLayoutEffect, useRef } from "preact/hooks";
import { KEYS, type Room } from "./keys";

/** What a command does; false lets the key go on to whoever waits for it. */
type Act = (event: KeyboardEvent) => boolean | void;
type Acts<R extends Room> = Record<keyof (typeof KEYS)[R], Act>;
/** Whether what a room's keys act on is here, and the commands that need it not. */
interface Waits<R extends Room> { here: () => boolean; free: readonly (keyof (typeof KEYS)[R])[] }
interface Bound { name: Room; acts: Record<string, Act>; here: () => boolean; free: readonly string[] }

const rooms: { current: Bound }[] = [];
/** Rooms laid over another as a dialog. */
const OVER: readonly Room[] = ["Side by side"];
const AT_ONCE = { here: () => true, free: [] };
/** What was pressed and waits, and the frame in which the first of it is tried. */
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
  // While someone writes or chooses, only Escape is ours.
  if (is(target, "input:not([type=range],[type=checkbox]),textarea,select")) return name !== "Escape";
  if (is(target, "input[type=range],[role=slider]") && /Arrow|Page|Home|End/.test(name)) return true;
  return (name === "Enter" || name === "Space") && is(target, "button,a,summary,input");
}

/** Does what the key is for: true once it is done, false where nobody waits for the key, "later" while what it acts on is not here. */
function answer(event: KeyboardEvent, name: string): boolean | "later" {
  const over = document.querySelector("dialog[open]") !== null;
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
  // Behind a key that waits all others wait too.
  const done = ahead.length ? bound(name) && "later" : answer(event, name);
  if (done) event.preventDefault();
  if (done !== "later") return;
  ahead.push(event);
  due ||= requestAnimationFrame(goOn);
}

/** Does the first of what waits once it can be done; one in a frame, so that each finds the page as the one before it left it. */
function goOn(): void {
  due = 0;
  const event = ahead.shift();
  if (!event) return;
  const name = nameOf(event);
  try {
    // What was meant for a field that a key before it opened is no command.
    if (!wanted(document.activeElement, name) && answer(event, name) === "later") ahead.unshift(event);
  } finally {
    // One that fails does not hold up the others.
    if (ahead.length) due ||= requestAnimationFrame(goOn);
  }
}

/** What waits for something that does not come is not done. */
export function forget(): void {
  ahead = [];
}

addEventListener("keydown", hear);
