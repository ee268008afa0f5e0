// The desk: which room is open, the line at the foot, and the keys that work everywhere.
import { useEffect, useState } from "preact/hooks";
import { desk, go, imports, place, said, takingIn, undo, undoer, working } from "./store";
import { Dialog } from "./dialog";
import { Gone } from "./gone";
import { later } from "./later";
import { openRooms, useKeys } from "./keyboard";
import { useObservable } from "./observable";
import { KEYS, type KeyRoom, written } from "./keys";
import { ROOMS, roomAt } from "./rooms";

const TakeIn = later(() => import("./intake/take-in").then((it) => it.TakeIn));

export function App() {
  const at = useObservable(place);
  const known = useObservable(desk), own = useObservable(undoer), steps = own ?? known;
  const [listed, list] = useState(false), taking = useObservable(takingIn);
  useKeys("Everywhere", {
    list: () => list(true), undo: () => void undo(), redo: () => void undo("redo"),
    room: (e) => {
      const to = ROOMS[Number(e.key) - 1];
      return to ? go(to.path) : false;
    },
  });
  const { room, name, shown } = roomAt(at);
  useEffect(() => {
    document.title = known ? `${name}: ${known.project}` : name;
  }, [at, known?.project]);
  return (
    <>
      <a class="skip" href="#room">Skip to the content</a>
      <header class="top">
        <h1>{known?.project ?? "Fallside"}</h1>
        <nav aria-label="Rooms">
          {ROOMS.map((r) => (
            <a
              key={r.path}
              href={r.path}
              aria-current={room === r ? "page" : undefined}
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
          <button type="button" disabled={!steps?.undo} title={steps?.undo ? `Undo: ${steps.undo}` : "Nothing to undo here"} onClick={() => void undo()}>Undo</button>
          <button type="button" disabled={!steps?.redo} title={steps?.redo ? `Redo: ${steps.redo}` : "Nothing to redo here"} onClick={() => void undo("redo")}>Redo</button>
          <button type="button" onClick={() => list(true)}>Keys <kbd>?</kbd></button>
        </div>
      </header>
      {known?.reads_only && <p class="notice">{known.why ?? "This desk is read-only: another desk has the project open."}</p>}
      <main id="room" tabIndex={-1}>
        {shown}
      </main>
      <Foot />
      {taking && <TakeIn close={() => takingIn.set(false)} />}
      {listed && <Keys close={() => list(false)} />}
      <Gone />
    </>
  );
}

function Foot() {
  const last = useObservable(said), busy = useObservable(working), { now } = useObservable(imports);
  return (
    <footer class={last.text || busy || now ? "foot" : "foot quiet"}>
      {/* Trouble interrupts a screen reader; news waits for its turn. */}
      <p role="status">{!last.trouble && `${last.text} ${last.remedy ?? ""}`}</p>
      <p role="alert" class="trouble">{last.trouble && `${last.text} ${last.remedy ?? ""}`}</p>
      {now && (
        <p class="busy">
          Importing: {now.of > 0 && `${now.done} of ${now.of}`}{now.frame && <>, <span dir="auto">{now.frame}</span></>} <button type="button" onClick={() => takingIn.set(true)}>Show</button>
        </p>
      )}
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
  const [order] = useState(() => [...new Set<KeyRoom>([...openRooms(), ...(Object.keys(KEYS) as KeyRoom[])])]);
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
