// The desk: which room is open, the line at the foot, and the keys that work everywhere.
import { useEffect, useState } from "preact/hooks";
import { desk, go, place, said, undo, working } from "./desk";
import { Dialog } from "./dialog";
import { type Key, allKeys, useKeys, written } from "./hand";
import { useHeld } from "./hold";
import { Rig } from "./rig/rig";
import { Sheet } from "./sheet/sheet";
import { Stand } from "./stand/stand";
import { Table } from "./table/table";

const ROOMS = [
  { path: "/table", name: "Table", key: "1" },
  { path: "/stand", name: "Stand", key: "2" },
  { path: "/rig", name: "Rig", key: "3" },
];

export function App() {
  const at = useHeld(place);
  const known = useHeld(desk);
  const [listed, list] = useState(false);
  useKeys([
    { room: "Everywhere", keys: ["?"], says: "this list of keys", do: () => list(true) },
    { room: "Everywhere", keys: ["Ctrl+z"], says: "undo, and say what was undone", do: () => void undo() },
    { room: "Everywhere", keys: ["Ctrl+Shift+z", "Ctrl+y"], says: "do it again", do: () => void undo("redo") },
    ...ROOMS.map((room): Key => ({ room: "Everywhere", keys: [room.key], says: `go to the ${room.name.toLowerCase()}`, do: () => go(room.path) })),
  ]);
  const print = /^\/print\/(\d+)$/.exec(at);
  const room = at === "/" ? "/table" : at;
  useEffect(() => {
    const name = print ? `Print ${print[1]}` : ROOMS.find((r) => r.path === room)?.name ?? "Table";
    document.title = known ? `${name}: ${known.project}` : name;
  }, [at, known?.project]);
  return (
    <>
      <a class="skip" href="#room">To the prints</a>
      <header class="top">
        <h1>{known?.project ?? "Fallside"}</h1>
        <nav aria-label="Rooms">
          {ROOMS.map((r) => (
            <a
              key={r.path}
              href={r.path}
              aria-current={room === r.path || (print && r.path === "/table") ? "page" : undefined}
              onClick={(e) => {
                e.preventDefault();
                go(r.path);
              }}
            >
              {r.name}
            </a>
          ))}
        </nav>
        <div class="tools">
          <button type="button" disabled={!known?.undo} title={known?.undo ? `Undo: ${known.undo}` : "Nothing to undo"} onClick={() => void undo()}>Undo</button>
          <button type="button" disabled={!known?.redo} title={known?.redo ? `Do again: ${known.redo}` : "Nothing to do again"} onClick={() => void undo("redo")}>Redo</button>
          <button type="button" onClick={() => list(true)}>Keys <kbd>?</kbd></button>
        </div>
      </header>
      {known?.reads_only && <p class="notice">{known.why ?? "This desk only reads: another one has the project open."}</p>}
      <main id="room" tabIndex={-1}>
        {print ? <Sheet key={print[1]} id={Number(print[1])} /> : room === "/stand" ? <Stand /> : room === "/rig" ? <Rig /> : <Table />}
      </main>
      <Foot />
      {listed && <Keys close={() => list(false)} />}
    </>
  );
}

function Foot() {
  const last = useHeld(said), busy = useHeld(working);
  return (
    <footer class={last.text || busy ? "foot" : "foot empty"}>
      <p role="status" class={last.trouble ? "trouble" : undefined}>
        {last.text} {last.remedy}
      </p>
      {busy && (
        <p class="busy">
          {busy.name}: {busy.done} of {busy.of}
        </p>
      )}
    </footer>
  );
}

function Keys({ close }: { close: () => void }) {
  const [keys] = useState(allKeys);
  const rooms = [...new Set(keys.map((key) => key.room.replace("*", "")))];
  return (
    <Dialog title="Keys" name="keys" close={close}>
      {rooms.map((room) => (
        <section key={room}>
          <h3>{room}</h3>
          <dl>
            {keys.filter((key) => key.room.replace("*", "") === room && key.says).map((key) => (
              <div key={key.says}>
                <dt>{key.keys.map((k) => <kbd key={k}>{written(k)}</kbd>)}</dt>
                <dd>{key.says}</dd>
              </div>
            ))}
          </dl>
        </section>
      ))}
    </Dialog>
  );
}
