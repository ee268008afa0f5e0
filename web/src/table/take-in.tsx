// Importing frames: a folder, the box and sleeve they come from, by reference or copied.
import { useState } from "preact/hooks";
import { act, desk } from "../store";
import { useObservable } from "../observable";
import { count } from "../measures";
import { when } from "../export/export";
import { Dialog } from "../dialog";

export function TakeIn({ close }: { close: () => void }) {
  const [busy, setBusy] = useState(false);
  const known = useObservable(desk), boxes = known?.boxes ?? [], takes = known?.takes ?? [];
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
        <label>Folder <input name="folder" required autocomplete="off" dir="auto" spellcheck={false} /></label>
        <label>Box <input name="box" list="boxes" autocomplete="off" dir="auto" /></label>
        <datalist id="boxes">{boxes.map((b) => <option key={b.box} value={b.box} />)}</datalist>
        <label>Sleeve <input name="sleeve" autocomplete="off" dir="auto" /></label>
        <label class="tick"><input type="checkbox" name="copy" /> Copy the frames into the project</label>
        <p class="second">Originals are never changed. Without a copy, the project remembers where they are.</p>
        <button type="submit" class="main" disabled={busy}>Import</button>
      </form>
      {takes.length > 0 && (
        <section class="takes">
          <h3>Imported so far</h3>
          <ul>
            {takes.map((t) => (
              <li key={t.take}>
                <span>{count(t.frames, "frame", "frames")} from <b dir="auto">{t.from}</b>, {when(t.at)}</span>
                <button type="button" disabled={busy} onClick={() => void act("/api/undo", { take: t.take })}>Undo this import</button>
              </li>
            ))}
          </ul>
          <p class="second">Undo removes its prints and frames from the catalogue. The files stay where they are.</p>
        </section>
      )}
    </Dialog>
  );
}
