// The frame as shot with the outline on it. Corners are dragged, or moved by arrow keys; the frame is finished again after each move.
import { useEffect, useRef, useState } from "preact/hooks";
import { unfinished } from "../store";
import { type Corners, type Point, picture } from "../wire";
import type { Frame } from "../wire.generated";
import { among } from "./frames";

const NAMES = ["Upper left", "Upper right", "Lower right", "Lower left"];
/** One press of an arrow, and of an arrow with Alt, mm: as fine as a corner is seen, and a tenth of it. */
const STEP_MM = 0.3;
const FINE_MM = 0.03;
/** After the last arrow, before it is finished, ms: between two presses, and no longer than a hand waits. */
const PAUSE_MS = 600;
/** Half of what the magnifier shows, mm. */
const LOUPE_MM = 5;

/** A corner moved, kept inside the frame. */
export function moved(corners: Corners, index: number, to: Point, [w, h]: [number, number]): Corners {
  const inside: Point = [Math.max(0, Math.min(w, to[0])), Math.max(0, Math.min(h, to[1]))];
  return corners.map((corner, i) => (i === index ? inside : corner)) as Corners;
}

/** Where a drawn outline begins where none was found: an eighth inside the frame. */
function begun([w, h]: [number, number]): Corners {
  const [x, y] = [w / 8, h / 8];
  return [[x, y], [w - x, y], [w - x, h - y], [x, h - y]];
}

export function Outline({ frame, busy, mend }: { frame: Frame; busy: boolean; mend: (outline: Corners) => void }) {
  const [corners, set] = useState(frame.outline), [at, hold] = useState<number | null>(null);
  const area = useRef<HTMLDivElement>(null), latest = useRef(corners), pause = useRef(0);
  latest.current = corners;
  const held = frame.outline?.join();
  // A corner that was moved on meanwhile stays where it is.
  useEffect(() => { if (!pause.current) set(frame.outline); }, [held]);
  // What was moved is finished also when the print is left at once.
  useEffect(() => () => { if (pause.current) finish(); }, []);
  const [w, h] = frame.size_px, mm = frame.px_per_mm ?? w / 160;
  const changed = corners !== null && corners.join() !== held;

  function drag(index: number, down: PointerEvent): void {
    const corner = down.currentTarget as HTMLElement;
    down.preventDefault();
    corner.focus();
    corner.setPointerCapture(down.pointerId);
    const box = area.current!.getBoundingClientRect();
    const [x0, y0] = latest.current![index]!;
    const move = (e: PointerEvent): void => {
      // With Alt the corner follows a tenth as far.
      const k = (e.altKey ? 0.1 : 1) * (w / box.width);
      set(moved(latest.current!, index, [x0 + (e.clientX - down.clientX) * k, y0 + (e.clientY - down.clientY) * k], frame.size_px));
    };
    const up = (): void => {
      corner.removeEventListener("pointermove", move);
      if (latest.current!.join() !== held) mend(latest.current!);
    };
    corner.addEventListener("pointermove", move);
    corner.addEventListener("pointerup", up, { once: true });
    corner.addEventListener("pointercancel", up, { once: true });
  }
  function key(index: number, e: KeyboardEvent): void {
    const way = ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] } as Record<string, Point>)[e.key];
    if (!way || e.ctrlKey || e.metaKey) return;
    e.preventDefault();
    const step = (e.altKey ? FINE_MM : STEP_MM) * mm, [x, y] = latest.current![index]!;
    const next = moved(latest.current!, index, [x + way[0] * step, y + way[1] * step], frame.size_px);
    latest.current = next;
    set(next);
    clearTimeout(pause.current);
    pause.current = window.setTimeout(finish, PAUSE_MS);
    unfinished.set(finish);
  }
  function finish(): void {
    clearTimeout(pause.current);
    pause.current = 0;
    unfinished.set(null);
    mend(latest.current!);
  }
  const points = corners?.map((p) => p.join()).join(" ");
  return (
    <figure class="frame">
      <div class="area" ref={area} style={{ aspectRatio: `${w} / ${h}`, "--ratio": String(w / h) }}>
        <img src={picture(frame.id, "frame", 700, frame.picture)} alt={`The frame ${frame.name} as it was taken${among(frame) ? `, ${among(frame)}` : ""}.`} draggable={false} />
        {corners && (
          <svg class="drawn" viewBox={`0 0 ${w} ${h}`} preserveAspectRatio="none" aria-hidden="true">
            <polygon class="under" points={points} />
            <polygon class={changed ? "line open" : "line"} points={points} />
          </svg>
        )}
        {corners?.map(([x, y], i) => (
          <button
            key={i} type="button" class="corner" style={{ left: `${(100 * x) / w}%`, top: `${(100 * y) / h}%` }}
            aria-label={`${NAMES[i]} corner, ${(x / mm).toFixed(1)} mm from the left, ${(y / mm).toFixed(1)} mm from the top. Arrows move it.`}
            onPointerDown={(e) => drag(i, e)} onKeyDown={(e) => key(i, e)} onFocus={() => hold(i)} onBlur={() => hold(null)}
          />
        ))}
        {corners && at !== null && <Loupe frame={frame} corners={corners} at={at} mm={mm} />}
      </div>
      <figcaption>
        {busy ? "Finishing again." : corners
          ? <>{frame.confidence !== null && frame.confidence < 0.9 ? `The outline is ${Math.round(frame.confidence * 100)} % certain. ` : ""}Drag a corner<span class="by-key">, or <kbd>C</kbd> and arrows; <kbd>Alt</kbd> moves it finely</span>.</>
          : <>No outline was found. <button type="button" onClick={() => { const first = begun(frame.size_px); set(first); }}>Draw one</button></>}
      </figcaption>
    </figure>
  );
}

/** The current corner, magnified, in the quarter of the frame where it hides least. */
function Loupe({ frame, corners, at, mm }: { frame: Frame; corners: Corners; at: number; mm: number }) {
  const [w, h] = frame.size_px, [x, y] = corners[at]!, r = LOUPE_MM * mm;
  const side = `${x < w / 2 ? "right" : "left"} ${y < h / 2 ? "bottom" : "top"}`;
  return (
    <svg class={`loupe ${side}`} viewBox={`${x - r} ${y - r} ${2 * r} ${2 * r}`} aria-hidden="true">
      <image href={picture(frame.id, "frame", 2560, frame.picture)} x={0} y={0} width={w} height={h} preserveAspectRatio="none" />
      <polygon points={corners.map((p) => p.join()).join(" ")} />
    </svg>
  );
}
