// A folder chosen by pointing, or by keys: arrows walk, Enter opens, Backspace goes up, letters find, a whole path goes there.
import { useEffect, useRef, useState } from "preact/hooks";
import { tell } from "../store";
import { get } from "../wire";
import { count } from "../measures";
import type { Folder, Folders, Start } from "../wire.generated";

const plain = (text: string): string => text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
const many = (frames: number | null): string => (frames === null ? "" : frames ? count(frames, "frame", "frames") : "");
/** What a place to begin with is called. */
const called = ({ kind, name }: Start): string => (kind === "home" ? "Home" : kind === "card" ? `Card ${name}` : name);

/** `chosen` hears the folder that is open and how many frames it holds, none while a path is being typed; `on`: it is the right one. */
export function Chooser({ chosen, on }: { chosen: (at: string, frames: number | null) => void; on: () => void }) {
  const [now, open] = useState<Folders | null>(null), [text, write] = useState(""), [at, walk] = useState(-1), [wrong, complain] = useState("");
  const typed = useRef(""), input = useRef<HTMLInputElement>(null), list = useRef<HTMLUListElement>(null), asked = useRef(0);
  const path = text.trim().startsWith("/"), found = !now ? [] : path ? [] : now.folders.filter((f) => plain(f.name).includes(plain(text.trim())));

  function go(to: string | null, from?: string): void {
    const mine = ++asked.current, before = typed.current;
    get(`/api/folders?${new URLSearchParams(to === null ? {} : { at: to }).toString()}`).then((there) => {
      if (mine !== asked.current) return;
      open(there);
      // What was typed meanwhile stays; but what is shown is what is imported.
      if (typed.current !== before) return type(typed.current, there);
      write((typed.current = ""));
      complain("");
      // Coming up, the folder one was in is under the hand; else the first, where there is nothing to take here.
      const left = there.folders.findIndex((f) => f.path === from);
      walk(left >= 0 ? left : there.frames ? -1 : there.folders.length ? 0 : -1);
      chosen(there.at, there.frames);
    }, (error: unknown) => {
      if (mine !== asked.current) return;
      if (error instanceof Error && "says" in error) complain(String(error.says));
      else tell(error);
    });
  }
  useEffect(() => go(null), []);
  useEffect(() => list.current?.children[at]?.scrollIntoView({ block: "nearest" }), [at, now]);

  function type(next: string, here: Folders | null = now): void {
    write((typed.current = next));
    complain("");
    walk(next.trim() && !next.trim().startsWith("/") ? 0 : -1);
    if (here) chosen(here.at, next.trim().startsWith("/") ? null : here.frames);
  }
  function key(e: KeyboardEvent): void {
    if (e.key === "ArrowDown" || e.key === "ArrowUp") walk((i) => Math.max(found.length ? 0 : -1, Math.min(found.length - 1, i + (e.key === "ArrowDown" ? 1 : -1))));
    else if (e.key === "Enter") {
      if (path) go(text.trim());
      else if (found[at]) go(found[at].path);
      else if (text.trim() === "" && now?.frames) on();
      else return e.preventDefault();
    } else if (e.key === "Backspace" && text === "" && now?.above != null) go(now.above, now.at);
    else if (e.key === "Escape" && input.current!.value !== "") {
      // The field itself is asked and emptied, not what was drawn last: a key may come before the drawing. Only an empty field lets the
      // dialog close.
      input.current!.value = "";
      type("");
      e.stopPropagation();
    } else return;
    e.preventDefault();
  }
  const option = (f: Folder, i: number) => (
    <li key={f.path} id={`folder-${i}`} role="option" aria-selected={i === at} onClick={() => { go(f.path); input.current?.focus(); }}>
      <span dir="auto">{f.name}</span><span class="second">{many(f.frames)}</span>
    </li>
  );
  return (
    <div class="chooser">
      {now && now.starts.length > 0 && (
        <p class="starts">{now.starts.map((s) => (
          <button type="button" key={s.path} title={s.path} aria-pressed={s.path === now.at} onClick={() => { go(s.path); input.current?.focus(); }}>{called(s)}</button>
        ))}</p>
      )}
      <p class="at"><b dir="auto">{now?.at ?? ""}</b> <button type="button" disabled={now?.above == null} onClick={() => { go(now!.above, now!.at); input.current?.focus(); }}>Up <kbd>Backspace</kbd></button></p>
      <label>Folder <input
        name="folder" ref={input} value={text} autocomplete="off" dir="auto" spellcheck={false} placeholder="type to find, or a whole path"
        role="combobox" aria-expanded={found.length > 0} aria-controls="folders" aria-activedescendant={found[at] ? `folder-${at}` : undefined} aria-describedby="folder-says"
        onInput={(e) => type(e.currentTarget.value)} onKeyDown={key}
      /></label>
      <ul id="folders" role="listbox" aria-label="Folders here" ref={list}>{found.map(option)}</ul>
      <p id="folder-says" class={wrong ? "trouble" : "second"} role="status">{wrong || says(now, text, found.length, at >= 0)}</p>
    </div>
  );
}

function says(now: Folders | null, text: string, found: number, held: boolean): string {
  if (!now) return "";
  if (text.trim().startsWith("/")) return "Enter goes to this folder.";
  if (text.trim()) return found ? "Enter opens the folder." : "No folder here has this in its name.";
  const here = now.frames ? `${count(now.frames, "frame", "frames")} in this folder.` : now.folders.length ? "No frames in this folder itself." : "No frames and no folders here.";
  const next = held && found ? "Enter opens the marked folder." : now.frames ? "Enter goes on with it." : "";
  return [here, next, now.says].filter(Boolean).join(" ");
}
