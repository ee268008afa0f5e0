// Importing frames: a folder chosen by pointing, the box and sleeve they come from; then how it goes, and how it ended.
import { useEffect, useRef, useState } from "preact/hooks";
import { act, desk, imports } from "../store";
import { useObservable } from "../observable";
import { count } from "../measures";
import { when } from "../export/export";
import { Dialog } from "../dialog";
import { Chooser } from "./chooser";
import { Ended, Goes } from "./goes";

export function TakeIn({ close }: { close: () => void }) {
  const { now, last } = useObservable(imports), [again, choose] = useState(false);
  // Whoever began it, and whenever this was opened: the end of an import is shown before another folder is chosen.
  useEffect(() => { if (now) choose(false); }, [now]);
  return (
    <Dialog title="Import frames" name="plain import" close={close}>
      {now ? <Goes now={now} close={close} /> : last && !again ? <Ended last={last} again={() => choose(true)} /> : <Choose />}
      {!now && <Takes />}
    </Dialog>
  );
}

function Choose() {
  const [busy, setBusy] = useState(false), [frames, know] = useState<number | null>(null);
  const folder = useRef(""), box = useRef<HTMLInputElement>(null), boxes = useObservable(desk)?.boxes ?? [];
  return (
    <form
      class="fields"
      onSubmit={(e) => {
        e.preventDefault();
        const form = new FormData(e.currentTarget), text = (name: string): string => String(form.get(name) ?? "").trim();
        setBusy(true);
        const asked = { folder: text("folder").startsWith("/") ? text("folder") : folder.current, box: text("box") || null, sleeve: text("sleeve") || null, copy: form.has("copy") };
        void act("/api/take", asked).then((done) => { if (!done) setBusy(false); });
      }}
    >
      <Chooser chosen={(at, many) => { folder.current = at; know(many); }} on={() => box.current?.focus()} />
      <label>Box <input name="box" list="boxes" autocomplete="off" dir="auto" ref={box} /></label>
      <datalist id="boxes">{boxes.map((b) => <option key={b.box} value={b.box} />)}</datalist>
      <label>Sleeve <input name="sleeve" autocomplete="off" dir="auto" /></label>
      <label class="tick"><input type="checkbox" name="copy" /> Copy the frames into the project</label>
      <p class="second">Originals are never changed. Without a copy, the project remembers where they are.</p>
      <button type="submit" class="main" disabled={busy || frames === 0}>{frames ? `Import ${count(frames, "frame", "frames")}` : "Import"}</button>
    </form>
  );
}

/** What was imported, each to be undone as a whole. */
function Takes() {
  const takes = useObservable(desk)?.takes ?? [];
  if (!takes.length) return null;
  return (
    <section class="takes">
      <h3>Imported so far</h3>
      <ul>
        {takes.map((t) => (
          <li key={t.take}>
            <span>{count(t.frames, "frame", "frames")} from <b dir="auto">{t.from}</b>, {when(t.at)}</span>
            <button type="button" onClick={() => void act("/api/undo", { take: t.take })}>Undo this import</button>
          </li>
        ))}
      </ul>
      <p class="second">Undo removes its prints and frames from the catalogue. The files stay where they are.</p>
    </section>
  );
}
