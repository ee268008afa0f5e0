// The stand on the paired device: first the code; then the verdicts, and marks on the last print.
import { render } from "preact";
import { useEffect, useState } from "preact/hooks";
import { arrived, changes } from "../store";
import { useStand } from "../stand/use-stand";
import { READY, View } from "../stand/view";
import { useKeys } from "../keyboard";
import { Trouble, get, listen, post } from "../wire";
import type { DeviceEvent } from "../wire.generated";
import "../style/type.css";
import "../style/desk.css";
import "../style/stand.css";

/** Between two tries whether the desk answers again, ms. */
const AGAIN = 1000;

type At = "coming" | "code" | "in" | "out";

function Guest() {
  const [at, go] = useState<At>("coming");
  const ask = (): void => void get("/api/stand").then(() => go("in"), (error) => go(error instanceof Trouble && error.status === 401 ? "code" : "out"));
  useEffect(ask, []);
  useEffect(() => {
    // A device that slept, or went out of reach for a while, comes back by itself.
    const again = at === "out" ? setInterval(ask, AGAIN) : 0;
    return () => clearInterval(again);
  }, [at]);
  return (
    <main id="room" tabIndex={-1}>
      {at === "code" && <Code come={() => go("in")} />}
      {at === "in" && <Inside leave={() => go("out")} />}
      {at === "out" && <Out ask={ask} />}
    </main>
  );
}

function Code({ come }: { come: () => void }) {
  const [wrong, say] = useState<Trouble | null>(null), [busy, work] = useState(false);
  return (
    <form
      class="coming"
      onSubmit={(e) => {
        e.preventDefault();
        const field = e.currentTarget.querySelector("input")!;
        work(true);
        void post("/api/code", { code: field.value }).then(come, (error: unknown) => {
          if (error instanceof Trouble) say(error);
          field.value = "";
          field.focus();
        }).finally(() => work(false));
      }}
    >
      <h1>The stand</h1>
      <label for="code">Enter the six digits that the desk shows.</label>
      <input id="code" name="code" required inputMode="numeric" autocomplete="off" pattern="[0-9 ]{6,8}" maxLength={8} ref={(el) => { if (!wrong) el?.focus(); }} aria-describedby="wrong" />
      <p id="wrong" role="alert" class="trouble">{wrong && `${wrong.says} ${wrong.remedy}`}</p>
      <button type="submit" class="big" disabled={busy}>Connect</button>
    </form>
  );
}

function Inside({ leave }: { leave: () => void }) {
  const [trouble, say] = useState("");
  const sitting = useStand((error) => {
    if (!(error instanceof Trouble)) return;
    // Without a status nobody answered; 401: somebody at the desk let another one in.
    if (error.status === null || error.status === 401) leave();
    else say(`${error.says} ${error.remedy}`);
  });
  useEffect(() => listen<DeviceEvent>(hear, sitting.look), []);
  useEffect(() => say(""), [sitting.state?.last?.name]);
  useKeys("Stand", {
    seen: sitting.seen, take: sitting.again, quiet: sitting.sounds,
    again: () => document.querySelector<HTMLElement>("#again")?.focus(),
    quarter: () => false, upright: () => false, open: () => false, device: () => false, back: () => false,
  });
  const idle = sitting.state?.folder == null ? ["Not ready", "The desk is not watching a folder yet."] as const : READY;
  return (
    <>
      <h1 class="unseen">The stand</h1>
      <View sitting={sitting} idle={idle} />
      <p role="status" class={trouble ? "said trouble" : "unseen"}>{trouble}</p>
    </>
  );
}

function hear(event: DeviceEvent): void {
  if (event.kind === "verdict") arrived.set({ verdict: event.verdict, count: arrived.get().count + 1 });
  else changes.set(changes.get() + 1);
}

function Out({ ask }: { ask: () => void }) {
  return (
    <div class="coming">
      <h1 class="large">The desk does not answer</h1>
      <p role="alert">It has ended or closed access, or this device has left the network. This page goes on by itself as soon as the desk answers.</p>
      <button type="button" class="big" onClick={ask}>Try again</button>
    </div>
  );
}

const ground = document.getElementById("desk");
if (ground) render(<Guest />, ground);
