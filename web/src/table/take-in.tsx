// Importing frames: a folder, the box and sleeve they come from, by reference or copied.
import { useState } from "preact/hooks";
import { act, desk } from "../store";
import { Dialog } from "../dialog";

export function TakeIn({ close }: { close: () => void }) {
  const [busy, setBusy] = useState(false);
  const boxes = desk.get()?.boxes ?? [];
  return (
    <Dialog title="Import a folder of frames" close={close}>
      <form
        class="fields"
        onSubmit={(e) => {
          e.preventDefault();
          const form = new FormData(e.currentTarget), text = (name: string): string => String(form.get(name) ?? "").trim();
          setBusy(true);
          const asked = { folder: text("folder"), box: text("box") || null, sleeve: text("sleeve") || null, copy: form.has("copy") };
          void act("/api/take", asked).then((done) => (done ? close() : setBusy(false)));
        }}
      >
        <label>Folder <input name="folder" required autocomplete="off" spellcheck={false} /></label>
        <label>Box <input name="box" list="boxes" autocomplete="off" /></label>
        <datalist id="boxes">{boxes.map((b) => <option key={b.box} value={b.box} />)}</datalist>
        <label>Sleeve <input name="sleeve" autocomplete="off" /></label>
        <label class="tick"><input type="checkbox" name="copy" /> Copy the frames into the project</label>
        <p class="second">Originals are never changed. Without a copy, the project remembers where they are.</p>
        <button type="submit" class="main" disabled={busy}>Import</button>
      </form>
    </Dialog>
  );
}
