// The sheet: one print. Its mount with its words beneath, as on the back of a photograph; beside it the frame as shot and what can be mended.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { act, back, changes, desk, go, inOrder, say, tell, unfinished } from "../store";
import { forget, useKeys } from "../keyboard";
import { useObservable } from "../observable";
import { VerdictWord } from "../verdict";
import { capital, formatName } from "../measures";
import { left } from "../table/table";
import { TITLES, move, rounds, type Move } from "../table/edits";
import type { Corners } from "../wire";
import type { Frame, Print } from "../wire.generated";
import { Back } from "../facts/back";
import { FrameLight } from "../light/light";
import { Findings } from "./findings";
import { Frames } from "./frames";
import { Lift } from "./lift";
import { Mount } from "./mount";
import { Outline } from "./outline";
import { Calibrate, trueScale } from "./true-size";
import { Story } from "./story";
import "../style/sheet.css";

export interface Mend { outline?: Corners; format?: string; turn?: number; shadow?: number; light?: string; as_measured?: boolean }

export function Sheet({ id }: { id: number }) {
  // Undefined until the desk answers, null where there is no such print.
  const [print, setPrint] = useState<Print | null>(), [seen, see] = useState<number | null>(null);
  const [mending, work] = useState(0), [large, setLarge] = useState(false), [calibrating, calibrate] = useState(false);
  const change = useObservable(changes), known = useObservable(desk), scale = useObservable(trueScale);
  const whole = useRef<HTMLDivElement>(null);
  /** Whether keys may act on what is shown: it is not older than the last key. */
  const sure = useRef(false);
  const ask = useMemo(() => inOrder<`/api/print/${number}`>((now, believed) => {
    sure.current ||= believed;
    setPrint((shown) => (shown && !believed ? shown : now));
  }), []);
  useEffect(() => {
    let newest = true;
    ask(`/api/print/${id}`).catch((error: unknown) => {
      if (!newest) return;
      sure.current = true;
      setPrint((shown) => shown ?? null);
      forget();
      tell(error);
    });
    return () => void (newest = false);
  }, [id, change]);
  useEffect(() => whole.current?.focus(), [print === undefined]);
  const busy = mending > 0;

  const frame = print?.frames.find((f) => f.id === seen) ?? print?.frames.find((f) => f.chosen) ?? print?.frames[0] ?? null;

  async function mend(what: Mend): Promise<void> {
    if (!frame) return;
    work((n) => n + 1);
    const asked = { frame: frame.id, ...what };
    const done = await act("/api/refinish", asked, `print/${id}`);
    work((n) => n - 1);
    const fresh = done?.frame;
    if (fresh) setPrint((now) => now && { ...now, frames: now.frames.map((f) => (f.id === fresh.id ? fresh : f)) });
  }

  function turnOver(): void {
    const other = print?.frames.find((f) => (f.role === "back") !== (frame?.role === "back") && (f.role === "back" || f.chosen));
    if (other) see(other.id);
    else say(`Print ${print?.label ?? id} has no other side.`);
  }

  /** A text that could not be written is not left behind: its field asks about it. */
  function waiting(): boolean {
    const field = whole.current?.querySelector<HTMLInputElement>(".facts .waiting input");
    field?.focus();
    if (field) say("This text is not saved yet. Escape asks whether to discard it.");
    return field !== null && field !== undefined;
  }

  function neighbour(step: number): void {
    if (waiting()) return;
    const ids = left.rows.map((row) => row?.id);
    const next = ids[ids.indexOf(id) + step];
    if (ids.includes(id) && next !== undefined) {
      left.at += step;
      go(`/print/${next}`);
    }
  }
  const quarter = (step: number): void => void mend({ turn: ((frame?.turn ?? 0) + step + 4) % 4 });
  function edit(which: Move): void {
    if (!print) return;
    const now = { ...print };
    void move(which, [now], known?.edits ?? []);
    // At once, so that the next press goes on from there.
    setPrint(now);
  }
  const actual = (): void => (scale ? setLarge(!large) : calibrate(true));
  const focus = (what: string) => (): void => document.querySelector<HTMLElement>(what)?.focus();
  useKeys("Sheet", {
    back: () => leave(),
    walk: (e) => neighbour(e.key === "ArrowRight" ? 1 : -1),
    turn: turnOver,
    quarter: (e) => quarter(e.key === "]" ? 1 : -1),
    upright: () => (frame && !frame.turn_known ? quarter(0) : false),
    corner: focus(".corner"),
    depth: focus("#depth"),
    light: focus("#light"),
    words: focus(".facts [name=title]"),
    size: actual,
    apart: () => void (frame && act("/api/join", { frame: frame.id, print: null })),
    join: focus("#join"),
    into: () => edit("in"),
    out: () => edit("out"),
  }, { here: () => sure.current && !busy, free: ["walk", "back"] });

  function leave(): void {
    const at = document.activeElement;
    if (at instanceof HTMLElement && at !== whole.current && at.matches("input,select,.corner")) whole.current?.focus();
    else if (!waiting()) back();
  }

  if (!print) return <div class="sheet" ref={whole} tabIndex={-1}><p class="second">{print === null ? `Print ${id} could not be loaded.` : `Loading print ${id}.`}</p></div>;
  const inEdits = rounds(known?.edits ?? []).filter((r) => print.edits.includes(r.name));
  const facts = known?.facts ?? [], place = facts.some((f) => f.word === "box") ? null : print.box;
  return (
    <div class="sheet" ref={whole} tabIndex={-1}>
      <header class="title">
        <h2 class="unseen">{print.facts["title"] ?? print.title ?? ""} Print {print.label}</h2>
        <VerdictWord verdict={frame?.verdict ?? print.verdict} />
        <div class="tools">
          <button type="button" onClick={back}>Table <kbd>Escape</kbd></button>
          <button type="button" onClick={turnOver}>Turn over <kbd>Space</kbd></button>
          <button type="button" onClick={() => edit("in")}>Add to next edit <kbd>+</kbd></button>
          <button type="button" onClick={() => edit("out")}>Remove from edit <kbd>−</kbd></button>
        </div>
      </header>
      <div class={busy ? "faces busy" : "faces"}>
        <div class="photograph" style={frame?.canvas_px ? { "--ratio": String(frame.canvas_px[0] / frame.canvas_px[1]) } : {}}>
          {frame && <Mount frame={frame} large={large} scale={scale} />}
          <section class="facts" aria-label="Description">
            <Back key={id} print={print} facts={facts} />
            <p class="second">
              Print <span class="number">{print.label}</span>. {capital(formatName(frame?.format ?? print.format))}
              {print.size_mm && `, ${print.size_mm[0]} × ${print.size_mm[1]} mm`}
              {place && `. ${place}`}{place && print.sleeve && `, sleeve ${print.sleeve}`}.
              {" "}{inEdits.length ? `In the ${inEdits.map((r) => TITLES[r.kind].toLowerCase()).join(", ")}.` : "Not in an edit."}
            </p>
          </section>
        </div>
        <div class="making">
          {frame && <Outline key={`${frame.id}`} frame={frame} busy={busy} mend={(outline) => void mend({ outline })} />}
          {frame && (
            <div class="set-line" role="toolbar" aria-label="Finishing">
              <label>Format
                <select value={frame.format ?? ""} onChange={(e) => void mend({ format: e.currentTarget.value })}>
                  {frame.format === null && <option value="">unknown</option>}
                  {[...new Set([...(known?.formats.map((f) => f.name) ?? []), ...(frame.format ? [frame.format] : [])])].map((name) => <option key={name} value={name}>{formatName(name)}</option>)}
                </select>
              </label>
              <Depth frame={frame} mend={(shadow) => void mend({ shadow })} />
              <FrameLight key={frame.id} light={frame.light} lights={known?.lights ?? []} use={(light) => void mend({ light })}
                name={async (name, light) => (await act("/api/light", { do: "name", name, light })) !== null} drop={(name) => void act("/api/light", { do: "drop", name })} />
              <p class="turns">
                <button type="button" onClick={() => quarter(-1)}>Turn left <kbd>[</kbd></button>
                <button type="button" onClick={() => quarter(1)}>Turn right <kbd>]</kbd></button>
                {!frame.turn_known && <button type="button" onClick={() => quarter(0)}>It is upright <kbd>Y</kbd></button>}
                <button type="button" aria-pressed={large} onClick={actual}>Actual size <kbd>T</kbd></button>
                {/* An outline that a hand drew is certain. */}
                <button type="button" disabled={frame.confidence !== 1 || busy} title="Take back the outline that was drawn by hand" onClick={() => void mend({ as_measured: true })}>Outline as measured</button>
                {scale > 0 && <button type="button" onClick={() => calibrate(true)}>Calibrate the screen again</button>}
              </p>
            </div>
          )}
          {frame?.cast && (frame.cast !== "as shot" || frame.cast_why) && (
            <p class="cast">Shadow {frame.cast}.{frame.cast_why && <span class="trouble"> {frame.cast_why}</span>}</p>
          )}
          <section class="found"><h3>Problems</h3>{frame ? <Findings frame={frame} /> : <p class="second">This print has no frame.</p>}</section>
        </div>
      </div>
      <div class="below">
        <Frames print={print} seen={frame} see={see} />
        {frame?.lift && <Lift lift={frame.lift} />}
        <Story print={print} />
      </div>
      {calibrating && <Calibrate close={(measured) => { calibrate(false); if (measured) setLarge(true); }} />}
    </div>
  );
}

/** After the last key, before the frame is finished again, ms: between two presses, and no longer than a hand waits. */
const PAUSE_MS = 600;

function Depth({ frame, mend }: { frame: Frame; mend: (shadow: number) => void }) {
  const [depth, set] = useState(frame.shadow ?? 1), pause = useRef(0), latest = useRef(depth), finish = useRef(() => {});
  useEffect(() => set(frame.shadow ?? 1), [frame.shadow, frame.id]);
  // Keys in a row are one change, finished once and undone in one step.
  finish.current = () => {
    if (!pause.current) return;
    clearTimeout(pause.current);
    pause.current = 0;
    unfinished.set(null);
    mend(latest.current);
  };
  useEffect(() => () => finish.current(), [frame.id]);
  function wait(shadow: number): void {
    latest.current = shadow;
    clearTimeout(pause.current);
    pause.current = window.setTimeout(() => finish.current(), PAUSE_MS);
    unfinished.set(() => finish.current());
  }
  const says = depth === 0 ? "none" : depth === 1 ? "as shot" : `${depth.toFixed(1)} × as shot`;
  return (
    <label>Shadow
      <input id="depth" type="range" min={0} max={2} step={0.1} value={depth} aria-valuetext={says}
        onInput={(e) => set(Number(e.currentTarget.value))} onChange={(e) => wait(Number(e.currentTarget.value))} onBlur={() => finish.current()} />
      <span class="value">{says}</span>
    </label>
  );
}
