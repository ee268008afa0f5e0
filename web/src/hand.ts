// Keys: each room binds what its keys do; one listener hears them, the innermost room first.
import { useEffect, useRef } from "preact/hooks";
import { KEYS, type Room } from "./keys";

/** What a command does; false lets the key go on to whoever waits for it. */
type Act = (event: KeyboardEvent) => boolean | void;
type Acts<R extends Room> = Record<keyof (typeof KEYS)[R], Act>;
interface Bound { name: Room; acts: Record<string, Act> }

const rooms: { current: Bound }[] = [];
/** Rooms laid over another as a dialog. */
const OVER: readonly Room[] = ["Side by side"];

/** Binds the keys of a room, as long as it is open. */
export function useKeys<R extends Room>(name: R, acts: Acts<R>): void {
  const mine = useRef<Bound>({ name, acts });
  mine.current = { name, acts };
  useEffect(() => {
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

function hear(event: KeyboardEvent): void {
  const name = nameOf(event);
  if (event.defaultPrevented || event.isComposing || wanted(event.target, name)) return;
  const over = document.querySelector("dialog[open]") !== null;
  for (const { current } of [...rooms].reverse()) {
    if (over && !OVER.includes(current.name) && name !== "Ctrl+z") continue;
    for (const [command, [, ...keys]] of Object.entries<readonly string[]>(KEYS[current.name])) {
      if (keys.includes(name) && current.acts[command]?.(event) !== false) {
        event.preventDefault();
        return;
      }
    }
  }
}

addEventListener("keydown", hear);
