// What the stand watches: a folder, and the sleeve that the prints come from.
import { useState } from "preact/hooks";
import { changed, desk, tell } from "../store";
import { post } from "../wire";
import type { Stand } from "../wire.generated";

export function Watch({ state, begun, close, device }: { state: Stand; begun: () => void; close: (() => void) | null; device: () => void }) {
  const [busy, work] = useState(false);
  const boxes = desk.get()?.boxes ?? [];
  return (
    <div class="watch">
      <h2>The stand</h2>
      <p>Enter the folder where the camera's pictures arrive. Each new frame is judged as soon as it is completely written.</p>
      <form
        class="fields"
        onSubmit={(e) => {
          e.preventDefault();
          const form = new FormData(e.currentTarget), text = (name: string): string => String(form.get(name) ?? "").trim();
          work(true);
          const asked = { folder: text("folder"), box: text("box") || null, sleeve: text("sleeve") || null, of: Number(text("of")) || null, backs: form.has("backs"), sound: true };
          post("/api/stand", asked).then(() => { changed(); begun(); }, tell).finally(() => work(false));
        }}
      >
        <label>Folder <input name="folder" required autocomplete="off" spellcheck={false} defaultValue={state.folder ?? ""} ref={(el) => { if (!state.folder) el?.focus(); }} /></label>
        <label>Box <input name="box" list="stand-boxes" autocomplete="off" defaultValue={state.box ?? ""} /></label>
        <datalist id="stand-boxes">{boxes.map((b) => <option key={b.box} value={b.box} />)}</datalist>
        <label>Sleeve <input name="sleeve" autocomplete="off" defaultValue={state.sleeve ?? ""} /></label>
        <label>Prints in it <input name="of" inputMode="numeric" autocomplete="off" /></label>
        <label class="tick"><input type="checkbox" name="backs" /> I photograph every back too</label>
        <p>
          <button type="submit" class="main" disabled={busy}>Start watching</button>
          {close && <button type="button" onClick={close}>Back</button>}
          <button type="button" onClick={device}>Connect a device</button>
        </p>
      </form>
      <p class="second">Secure the camera with a strap and weight the base of the stand. Keep hands and prints away while anything moves above them. Follow the manufacturer's instructions.</p>
    </div>
  );
}
