// The desk: which room is open, the line at the foot, and the keys that work everywhere.
import { useEffect, useState } from "preact/hooks";
import { desk, go, place, said, undo, working } from "./desk";
import { Dialog } from "./dialog";
import { Handing } from "./handing/handing";
import { Seen } from "./handing/seen";
import { openRooms, useKeys } from "./hand";
import { useHeld } from "./hold";
import { KEYS, type Room, written } from "./keys";
import { Rig } from "./rig/rig";
import { Sheet } from "./sheet/sheet";
import { Stand } from "./stand/stand";
import { Table } from "./table/table";

const ROOMS = [
  { path: "/table", name: "Table" },
  { path: "/stand", name: "Stand" },
  { path: "/rig", name: "Rig" },
  { path: "/hand", name: "Hand on" },
];

export function App() {
  const at = useHeld(place);
  const known = useHeld(desk);
  const [listed, list] = useState(false);
  useKeys("Everywhere", {
    list: () => list(true), undo: () => void undo(), redo: () => void undo("redo"),
    table: () => go("/table"), stand: () => go("/stand"), rig: () => go("/rig"), hand: () => go("/hand"),
  });
  const print = /^\/print\/(\d+)$/.exec(at);
  const seen = /^\/hand\/([\w-]+)$/.exec(at);
  const room = at === "/" ? "/table" : seen ? "/hand" : at;
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
        {print ? <Sheet key={print[1]} id={Number(print[1])} /> : room === "/stand" ? <Stand /> : room === "/rig" ? <Rig /> : seen ? <Seen key={seen[1]} name={seen[1]!} /> : room === "/hand" ? <Handing /> : <Table />}
      </main>
      <Foot />
      {listed && <Keys close={() => list(false)} />}
    </>
  );
}

function Foot() {
  const last = useHeld(said), busy = useHeld(working);
  return (
    <footer class={last.text || busy ? "foot" : "foot quiet"}>
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
  // The room one is in comes first.
  const [order] = useState(() => [...new Set<Room>([...openRooms(), ...(Object.keys(KEYS) as Room[])])]);
  return (
    <Dialog title="Keys" name="keys" close={close}>
      <div class="rooms">
        {order.map((room) => (
          <section key={room}>
            <h3>{room}</h3>
            <dl>
              {Object.values<readonly string[]>(KEYS[room]).map(([says, ...keys]) => (
                <div key={says}>
                  <dt>{keys.map((k) => <kbd key={k}>{written(k)}</kbd>)}</dt>
                  <dd>{says}</dd>
                </div>
              ))}
            </dl>
          </section>
        ))}
      </div>
    </Dialog>
  );
}
