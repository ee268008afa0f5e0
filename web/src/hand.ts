// Keys: each room lays out what its keys do; one listener hears them, and `?` lists them.
import { useEffect, useRef } from "preact/hooks";
import { held } from "./hold";

export interface Key {
  /** As `KeyboardEvent.key`, with `Ctrl+`, `Alt+`, `Shift+` before it where they matter; Ctrl stands for Cmd too. */
  keys: string[];
  /** As the list names it. */
  says: string;
  /** Where it is listed. */
  room: string;
  /** False lets the key go on to whoever waits for it. */
  do: (event: KeyboardEvent) => boolean | void;
}

const rooms = held<readonly { current: Key[] }[]>([]);

/** Every key that works now, the innermost room first. */
export function allKeys(): Key[] {
  return [...rooms.get()].reverse().flatMap((room) => room.current);
}

/** The keys of a room, as long as it is open. */
export function useKeys(keys: Key[]): void {
  const mine = useRef(keys);
  mine.current = keys;
  useEffect(() => {
    rooms.set([...rooms.get(), mine]);
    return () => rooms.set(rooms.get().filter((room) => room !== mine));
  }, []);
}

/** A key press by the name that `Key.keys` uses. */
export function nameOf(event: KeyboardEvent): string {
  const ctrl = event.ctrlKey || event.metaKey ? "Ctrl+" : "";
  const alt = event.altKey ? "Alt+" : "";
  // A sign already tells its Shift; a letter or an arrow does not.
  const named = event.key.length > 1 || /[a-z]/i.test(event.key);
  const shift = event.shiftKey && named ? "Shift+" : "";
  const key = event.key === " " ? "Space" : event.key.length === 1 ? event.key.toLowerCase() : event.key;
  return ctrl + alt + shift + key;
}

const writes = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement && target.matches("input:not([type=range],[type=checkbox],[type=radio]),textarea,select");
const presses = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement && target.closest("button,a,summary,input,[role=slider]") !== null;

function hear(event: KeyboardEvent): void {
  if (event.defaultPrevented || event.isComposing) return;
  const name = nameOf(event);
  // While someone writes, only Escape is ours; while a button has the focus, Enter and Space are its own.
  if (writes(event.target) && name !== "Escape") return;
  if ((name === "Enter" || name === "Space") && presses(event.target)) return;
  const inDialog = document.querySelector("dialog[open]") !== null;
  for (const room of [...rooms.get()].reverse()) {
    if (inDialog && !(room.current[0]?.room ?? "").startsWith("*") && name !== "Ctrl+z") continue;
    for (const key of room.current) {
      if (key.keys.includes(name) && key.do(event) !== false) {
        event.preventDefault();
        return;
      }
    }
  }
}

addEventListener("keydown", hear);

/** A key as a person reads it. */
export function written(key: string): string {
  const mac = /Mac|iP(hone|ad)/.test(navigator.platform);
  return key
    .split(/\+(?=.)/)
    .map((part) => ({ Ctrl: mac ? "Cmd" : "Ctrl", ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓" })[part] ?? part)
    .map((part) => (part.length === 1 && /[a-z]/.test(part) ? part.toUpperCase() : part))
    .join(" ");
}
