// Access to the stand from one phone or tablet: what it can see, the code that pairs it, and how to disconnect it.
import { useState } from "preact/hooks";
import { tell } from "../store";
import { Dialog } from "../dialog";
import { post } from "../wire";
import type { Access } from "../wire.generated";

/** Its state in a few words. */
export function accessState(access: Access | null): string {
  if (!access?.open) return "Connect a device";
  return access.in ? "Device connected" : "Waiting for a device";
}

/** Six digits in two groups, which are easier to remember. */
export const halves = (code: string): string => `${code.slice(0, 3)} ${code.slice(3)}`;

export function Device({ access, told, close }: { access: Access | null; told: (access: Access) => void; close: () => void }) {
  const [busy, work] = useState(false);
  function wish(what: "open" | "close"): void {
    work(true);
    void post("/api/guest", { do: what }).then(told, tell).finally(() => work(false));
  }
  return (
    <Dialog title="Connect a device to the stand" name="device" close={close}>
      {access?.says && <p class="trouble" role="status">{access.says}</p>}
      {access?.open && access.code && (
        <ol class="steps">
          <li>Open this address on a phone or tablet on the same network: <b class="address">{access.address}</b></li>
          <li>Enter this code there: <b class="code">{halves(access.code)}</b></li>
        </ol>
      )}
      {access?.in && <p class="inside" role="status">A device is connected. If it is not yours, close access.</p>}
      <p>One phone or tablet on the same network can connect. It shows the stand: the last print and its verdict, the count, and the list of prints to reshoot. It can mark a print as seen, or to be reshot. It cannot see or change anything else in the project.</p>
      <p class="second">
        The connection is not encrypted: others on the network can read what the device shows. Do not open access on a network that you do not trust.
        Access is for one device, until you close the desk. Five wrong codes close it.
      </p>
      <p>
        {access?.open
          ? <button type="button" class="main" disabled={busy} onClick={() => wish("close")}>Close access</button>
          : <button type="button" class="main" disabled={busy} onClick={() => wish("open")}>Open access</button>}
      </p>
    </Dialog>
  );
}
