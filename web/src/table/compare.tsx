// Two or more prints side by side, large, at one scale.
import { useEffect, useRef, useState } from "preact/hooks";
import { believable, changes, desk, tell } from "../store";
import { Dialog } from "../dialog";
import { useKeys } from "../keyboard";
import { useObservable } from "../observable";
import { VerdictWord } from "../verdict";
import { get, picture } from "../wire";
import type { Print, Row } from "../wire.generated";
import { type Move, move } from "./edits";
import { canvas, spoken } from "./surface";

/** Between two prints, px. */
const GAP = 24;
/** Under each for its words, px. */
const WORDS = 92;

/** The largest scale at which all fit, in as many rows as serve them best. */
export function fit(sizes: readonly [number, number][], width: number, height: number): { scale: number; columns: number } {
  const w = Math.max(...sizes.map((s) => s[0])), h = Math.max(...sizes.map((s) => s[1]));
  let best = { scale: 0, columns: 1 };
  for (let columns = 1; columns <= sizes.length; columns++) {
    const rows = Math.ceil(sizes.length / columns);
    const scale = Math.min((width - GAP * (columns - 1)) / (columns * w), (height - GAP * (rows - 1) - WORDS * rows) / (rows * h));
    if (scale > best.scale) best = { scale, columns };
  }
  return best;
}

export function Compare(props: { rows: Row[]; close: () => void }) {
  const [rows, setRows] = useState(props.rows);
  const [at, walk] = useState(0), [over, turn] = useState<Record<number, { frame: number; picture: string | null }>>({});
  const space = useRef<HTMLDivElement>(null);
  const [room, setRoom] = useState({ w: 0, h: 0 });
  const change = useObservable(changes);
  useEffect(() => {
    const see = new ResizeObserver(() => setRoom({ w: (space.current?.clientWidth ?? 20) - 20, h: space.current?.clientHeight ?? 0 }));
    see.observe(space.current!);
    return () => see.disconnect();
  }, []);
  useEffect(() => {
    if (!change) return;
    // The person may have acted since the request was sent, and removed one meanwhile.
    const believed = believable();
    const lay = (prints: Print[]): void => setRows((now) => now.map((row) => ({ ...row, ...prints.find((print) => print.id === row.id), frames: row.frames })));
    void Promise.all(rows.map((row) => get(`/api/print/${row.id}`))).then((prints) => believed() && lay(prints), tell);
  }, [change]);
  useEffect(() => space.current?.querySelectorAll<HTMLElement>("[data-at]")[at]?.focus(), [at, room.w]);

  async function flip(): Promise<void> {
    const row = rows[at]!;
    if (over[row.id]) return turn(({ [row.id]: _, ...rest }) => rest);
    const print = await get(`/api/print/${row.id}`).catch(tell);
    const back = print?.frames.find((frame) => frame.role === "back");
    if (back) turn({ ...over, [row.id]: { frame: back.id, picture: back.picture } });
  }
  const edit = (which: Move): void => void move(which, [rows[at]!], desk.get()?.edits ?? []);
  useKeys("Compare", {
    before: () => walk(Math.max(0, at - 1)),
    after: () => walk(Math.min(rows.length - 1, at + 1)),
    turn: () => void flip(),
    into: () => edit("in"),
    out: () => edit("out"),
    away: () => {
      if (rows.length < 2) return;
      setRows(rows.filter((_, i) => i !== at));
      walk(Math.max(0, at - 1));
    },
    back: props.close,
  });
  const { scale, columns } = fit(rows.map(canvas), room.w, room.h);
  return (
    <Dialog title={rows.length === 1 ? `Print ${rows[0]!.label}, large` : `${rows.length} prints compared`} name="beside" close={props.close}>
      <div class="space" ref={space}>
        <div class="row" style={{ gridTemplateColumns: `repeat(${columns}, auto)` }}>
          {rows.map((row, i) => {
            const [w, h] = canvas(row).map((mm) => mm * scale) as [number, number];
            const side = over[row.id] ?? (row.frame == null ? null : { frame: row.frame, picture: row.picture });
            return (
              <figure key={row.id} data-at tabIndex={i === at ? 0 : -1} class={i === at ? "at" : undefined} style={{ width: `${w}px` }} aria-label={`Print ${row.label}, ${spoken(row)}`} onFocus={() => walk(i)} onClick={() => walk(i)}>
                <div class="mount" style={{ width: `${w}px`, height: `${h}px` }}>
                  {side && scale > 0 && <img src={picture(side.frame, side.picture ? "mount" : "frame", w, side.picture)} alt="" />}
                </div>
                <figcaption>
                  <span class="title" dir="auto">{row.title ?? row.place}</span>
                  <span class="state"><b class="no">{row.label}</b> <VerdictWord verdict={row.verdict} /> {row.edits.at(-1) && <span>{row.edits.at(-1)}</span>}</span>
                </figcaption>
              </figure>
            );
          })}
        </div>
      </div>
      <div class="handline" role="toolbar" aria-label="Actions for this print">
        <strong>Print {rows[at]?.label}</strong>
        <button type="button" onClick={() => void flip()} disabled={!rows[at]?.back}>Turn over <kbd>Space</kbd></button>
        <button type="button" onClick={() => edit("in")}>Add to next edit <kbd>+</kbd></button>
        <button type="button" onClick={() => edit("out")}>Remove from edit <kbd>−</kbd></button>
      </div>
    </Dialog>
  );
}
