// Letting one phone or tablet in to the stand: what it will see, the code it must write, and the way to shut it out again.
import { useState } from "preact/hooks";
import { tell } from "../desk";
import { Dialog } from "../dialog";
import { post } from "../wire";

/** The way in for another device, as the desk has it. */
export interface Way { open: boolean; address: string | null; code: string | null; in: boolean; says: string | null }

/** How it stands, in a word or two. */
export function standing(way: Way | null): string {
  if (!way?.open) return "Another device";
  return way.in ? "A device is in" : "A device may come in";
}

/** Six digits in two halves, as they are easiest kept in mind. */
export const halves = (code: string): string => `${code.slice(0, 3)} ${code.slice(3)}`;

export function Device({ way, told, close }: { way: Way | null; told: (way: Way) => void; close: () => void }) {
  const [busy, work] = useState(false);
  function wish(what: "open" | "close"): void {
    work(true);
    void post<Way>("/api/guest", { do: what }).then(told, tell).finally(() => work(false));
  }
  return (
    <Dialog title="Another device at the stand" name="device" close={close}>
      {way?.says && <p class="trouble" role="status">{way.says}</p>}
      {way?.open && way.code && (
        <ol class="steps">
          <li>Open this on a phone or tablet of the same network: <b class="address">{way.address}</b></li>
          <li>Write this code there: <b class="code">{halves(way.code)}</b></li>
        </ol>
      )}
      {way?.in && <p class="inside" role="status">A device is in. If it is not yours, close the way in.</p>}
      <p>One phone or tablet on the same network can be let in. It sees the stand: the last print and its verdict, the count, and the list to take again. It can mark a print as seen, or to be taken again. It sees and changes nothing else of the project.</p>
      <p class="second">
        Nothing is encrypted on its way: whoever shares the network can overhear what the device sees. On a network that you do not know, keep it closed.
        One device, for this run of the desk; five wrong codes close it.
      </p>
      <p>
        {way?.open
          ? <button type="button" class="main" disabled={busy} onClick={() => wish("close")}>Close the way in</button>
          : <button type="button" class="main" disabled={busy} onClick={() => wish("open")}>Let one device in</button>}
      </p>
    </Dialog>
  );
}
