// How an import goes, and how it ended: so many of so many, the frame in hand, how to stop it; and what could not be read.
import { useEffect, useRef } from "preact/hooks";
import { act } from "../store";
import type { Imported, Importing } from "../wire.generated";

/** What is done with the frames, by stage. */
export const STAGES: Record<Importing["stage"], string> = {
  waiting: "Waiting for other work", reading: "Reading files", looking: "Looking at each frame once", finishing: "Finishing prints",
};

export function Goes({ now, close }: { now: Importing; close: () => void }) {
  const on = useRef<HTMLButtonElement>(null);
  useEffect(() => on.current?.focus(), []);
  return (
    <section class="goes" aria-label="The import">
      <p class="from">From <b dir="auto">{now.folder}</b></p>
      <p class="many">{now.of > 0 ? <><b>{now.done}</b> of {now.of}</> : <b>…</b>}</p>
      <progress max={now.of || 1} value={now.of ? now.done : undefined} aria-label="Frames done">{now.done}</progress>
      <p>{STAGES[now.stage]}{now.frame && <>: <span dir="auto">{now.frame}</span></>}</p>
      {now.stopping && <p role="status">Stopping: the frame in hand is finished first.</p>}
      <p class="answers">
        <button type="button" class="main" ref={on} onClick={close}>Go on working</button>
        <button type="button" disabled={now.stopping} onClick={() => void act("/api/take/stop", {})}>Stop the import</button>
      </p>
      <p class="second">It goes on when this closes; the foot of every room shows how far it is. What is imported stays whole if you stop, and the rest is left untouched.</p>
    </section>
  );
}

export function Ended({ last, again }: { last: Imported; again: () => void }) {
  const on = useRef<HTMLButtonElement>(null);
  useEffect(() => on.current?.focus(), []);
  return (
    <section class="goes" aria-label="The last import">
      <p class="from">From <b dir="auto">{last.folder}</b></p>
      <p class={last.trouble ? "ended trouble" : "ended"} role="status">{last.says}</p>
      {last.unread.length > 0 && (
        <>
          <h3>Could not be read</h3>
          <ul class="unread" tabIndex={0} aria-label="Could not be read">
            {last.unread.map((u) => <li key={`${u.file} ${u.says}`}>{u.file && <b dir="auto">{u.file}</b>} {u.says}</li>)}
          </ul>
        </>
      )}
      <p class="answers"><button type="button" class="main" ref={on} onClick={again}>Import another folder</button></p>
    </section>
  );
}
