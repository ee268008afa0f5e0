// What the stand watches: a folder, and the sleeve that the prints come from.
import { useEffect, useRef, useState } from "preact/hooks";
import { changed, desk, tell } from "../store";
import { Trouble, post } from "../wire";
import type { Stand } from "../wire.generated";

export function Watch({ state, begun, close, device }: { state: Stand; begun: () => void; close: (() => void) | null; device: () => void }) {
  const [busy, work] = useState(false), [wrong, complain] = useState<Trouble | null>(null);
  // What was watched last, also before the desk was closed, is offered again.
  const known = state.folder !== null ? { ...state, of: null, backs: false, one: false } : state.remembered;
  const boxes = desk.get()?.boxes ?? [];
  // Enter starts what is offered; where nothing is, the folder is written first.
  const first = useRef<HTMLInputElement>(null), again = useRef<HTMLButtonElement>(null);
  useEffect(() => (known ? again : first).current?.focus(), []);
  return (
    <div class="watch">
      <h2>The stand</h2>
      <p>Enter the folder where the camera's pictures arrive. Each new frame is judged as soon as it is completely written.</p>
      {known && !close && <p><b>Watched last:</b> {[known.folder, known.box, known.sleeve && `sleeve ${known.sleeve}`].filter(Boolean).join(", ")}. Start it again, or change it.</p>}
      <p role="alert" class="trouble">{wrong && `${wrong.says} ${wrong.remedy}`}</p>
      <form
        class="fields"
        onSubmit={(e) => {
          e.preventDefault();
          const form = new FormData(e.currentTarget), text = (name: string): string => String(form.get(name) ?? "").trim();
          work(true);
          const asked = { folder: text("folder"), box: text("box") || null, sleeve: text("sleeve") || null, of: Number(text("of")) || null, backs: form.has("backs"), one: known?.one ?? false, sound: true };
          post("/api/stand", asked).then(() => { changed(); begun(); }, (error: unknown) => (error instanceof Trouble ? complain(error) : tell(error))).finally(() => work(false));
        }}
      >
        <label>Folder <input name="folder" required autocomplete="off" spellcheck={false} dir="auto" defaultValue={known?.folder ?? ""} ref={first} /></label>
        <label>Box <input name="box" list="stand-boxes" autocomplete="off" dir="auto" defaultValue={known?.box ?? ""} /></label>
        <datalist id="stand-boxes">{boxes.map((b) => <option key={b.box} value={b.box} />)}</datalist>
        <label>Sleeve <input name="sleeve" autocomplete="off" dir="auto" defaultValue={known?.sleeve ?? ""} /></label>
        <label>Prints in it <input name="of" inputMode="numeric" autocomplete="off" dir="auto" defaultValue={known?.of ?? ""} /></label>
        <label class="tick"><input type="checkbox" name="backs" defaultChecked={known?.backs ?? false} /> I photograph every back too</label>
        <p>
          <button type="submit" class="main" disabled={busy} ref={again}>Start watching</button>
          {close && <button type="button" onClick={close}>Back</button>}
          <button type="button" onClick={device}>Connect a device</button>
        </p>
      </form>
      <p class="second">Secure the camera with a strap and weight the base of the stand. Keep hands and prints away while anything moves above them. Follow the manufacturer's instructions.</p>
    </div>
  );
}
