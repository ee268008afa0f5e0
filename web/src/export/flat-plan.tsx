// The book as a wall of spreads: the order of its prints, by hand or by keys, before anything is made.
import { useEffect, useRef, useState } from "preact/hooks";
import { act, changes, desk, go, say } from "../store";
import { useKeys } from "../keyboard";
import { useObservable } from "../observable";
import { count } from "../measures";
import type { PlacedPrint, SheetSeen } from "../wire.generated";
import { useAnswer } from "./answers";
import { Drawn, called } from "./drawn";
import { lift } from "./lifted";
import { LAYOUTS, asked, choice, choose, editOf, nextEdit } from "./request";
import "../style/export.css";
import "../style/plan.css";

/** Widths of a spread on the wall, CSS px. */
const WIDTHS = [260, 400, 580, 840];

export function FlatPlan() {
  const known = useObservable(desk), change = useObservable(changes), now = useObservable(choice), edits = known?.edits ?? [];
  const book = { ...now, form: "book" as const }, edit = editOf(book, edits);
  const seen = useAnswer("/api/preview", known ? asked(book) : null, change);
  const [at, walk] = useState<number | null>(null), [size, grow] = useState(1);
  const whole = useRef<HTMLDivElement>(null), wall = useRef<HTMLUListElement>(null);
  /** The edit as the hand has ordered it: moves in a row do not wait for the wall. */
  const order = useRef<number[]>([]), moving = useRef(0);
  useEffect(() => void (seen && moving.current === 0 && (order.current = seen.order)), [seen]);
  const sheets = seen?.sheets ?? [], prints = sheets.flatMap((s) => s.prints.filter((p) => !p.back)), ids = prints.map((p) => p.print);
  const here = ids.indexOf(at) < 0 ? 0 : ids.indexOf(at);
  useEffect(() => (focusOn(at) ? undefined : whole.current?.focus()), [seen === null]);
  // Its place on the wall is another, its focus is not.
  useEffect(() => void (at !== null && document.activeElement?.closest(".spreads, body") && focusOn(at)), [seen]);

  function focusOn(id: number | null): boolean {
    const it = wall.current?.querySelector<HTMLElement>(`[data-print="${id}"]`);
    it?.focus();
    return it != null;
  }
  function to(i: number): void {
    const id = ids[Math.min(Math.max(i, 0), ids.length - 1)] ?? null;
    walk(id);
    focusOn(id);
  }
  /** Up and down: the nearest print of the spreads above or below. */
  function row(step: number): void {
    const all = [...(wall.current?.querySelectorAll("[data-print]") ?? [])].map((it) => it.getBoundingClientRect()), from = all[here];
    if (!from) return;
    // A line of spreads is nearer than a place in it.
    const far = ({ x, y, width }: DOMRect): number => Math.abs(y - from.y) * 3 + Math.abs(x + width / 2 - from.x - from.width / 2);
    const near = all.filter((r) => step * (r.y - from.y) > from.height / 2).sort((a, b) => far(a) - far(b))[0];
    if (near) to(all.indexOf(near));
  }
  /** Moves a print to the place of another: those between make room. */
  function put(id: number, there: number): void {
    if (known?.reads_only || id === there) return;
    if (!edit) return say("All prints lie by number. Choose an edit to order them.");
    const from = order.current.indexOf(id), onto = order.current.indexOf(there);
    if (from < 0 || onto < 0) return;
    const rest = order.current.filter((other) => other !== id), place = rest.indexOf(there) + (from < onto ? 1 : 0);
    order.current = [...rest.slice(0, place), id, ...rest.slice(place)];
    walk(id);
    moving.current++;
    void act("/api/edit", { do: "move", name: edit, ids: [id], at: place }).then(() => void moving.current--);
  }
  function step(by: number): void {
    // Prints that are not on the wall, such as private ones, keep their places.
    const on = order.current.filter((id) => ids.includes(id)), id = ids[here] ?? null;
    if (id === null) return;
    if (!edit) return say("All prints lie by number. Choose an edit to order them.");
    const there = on[on.indexOf(id) + by];
    if (there !== undefined) put(id, there);
    else say(by < 0 ? "It is the first print." : "It is the last print.");
  }
  const open = (): boolean | void => (ids[here] == null ? false : go(`/print/${ids[here]}`));
  const near = (by: number): void => grow((s) => Math.min(Math.max(s + by, 0), WIDTHS.length - 1));
  const next = (): void => choose({ layout: LAYOUTS[(LAYOUTS.findIndex(([word]) => word === now.layout) + 1) % LAYOUTS.length]![0] });
  const make = (): void => {
    choose({ form: "book" });
    go("/hand");
  };
  useKeys("Book", {
    walk: (e) => to(here + (e.key === "ArrowLeft" ? -1 : 1)), rows: (e) => row(e.key === "ArrowUp" ? -1 : 1), ends: (e) => to(e.key === "Home" ? 0 : ids.length - 1),
    move: (e) => step(e.key === "ArrowLeft" ? -1 : 1), open, layout: next,
    edit: () => nextEdit(book, edits),
    near: (e) => near(e.key === "n" ? 1 : -1),
    make, back: () => (document.activeElement?.closest(".title") ? whole.current?.focus() : go("/hand")),
  }, { here: () => seen !== null, free: ["back", "make"] });
  const chosen = prints[here];
  return (
    <div class="flat-plan" ref={whole} tabIndex={-1}>
      <header class="title">
        <h2>Book</h2>
        <label>Prints <select value={edit} onChange={(e) => choose({ edit: e.currentTarget.value })}>
          {edits.map((e) => <option key={e.name} value={e.name}>{e.name}, {count(e.count, "print", "prints")}</option>)}
          <option value="">All prints</option>
        </select></label>
        <label>Layout <select value={now.layout} onChange={(e) => choose({ layout: e.currentTarget.value })}>
          {LAYOUTS.map(([word, says]) => <option key={word} value={word}>{says}</option>)}
        </select></label>
        <p class="second">{seen && !seen.trouble && `${count(seen.pages, "page", "pages")}${seen.of === sheets.length ? `, ${count(prints.length, "print", "prints")}` : ""}`}</p>
        <div class="tools">
          <button type="button" disabled={!edit || !chosen || known?.reads_only} onClick={() => step(-1)}>Earlier <kbd>Alt ←</kbd></button>
          <button type="button" disabled={!edit || !chosen || known?.reads_only} onClick={() => step(1)}>Later <kbd>Alt →</kbd></button>
          <button type="button" onClick={() => near(1)}>Larger <kbd>N</kbd></button>
          <button type="button" onClick={() => near(-1)}>Smaller <kbd>F</kbd></button>
          <button type="button" onClick={make}>Export <kbd>M</kbd></button>
        </div>
      </header>
      {seen?.trouble && <p class="trouble" role="alert">{seen.trouble}</p>}
      {seen && !seen.trouble && prints.length === 0 && <p class="second">No prints here yet. Add some to an edit on the table.</p>}
      <ul class="spreads" ref={wall} aria-label="Spreads" onPointerDown={(e) => lift(e, put)} style={{ "--spread": `${WIDTHS[size]}px` }}>
        {sheets.map((sheet) => <Spread key={sheet.pages[0]} sheet={sheet} css={WIDTHS[size]!} at={ids[here] ?? null} see={walk} open={(id) => go(`/print/${id}`)} />)}
      </ul>
      {seen && seen.of > sheets.length && <p class="second">and {count(seen.of - sheets.length, "more spread", "more spreads")}</p>}
    </div>
  );
}

interface SpreadProps { sheet: SheetSeen; css: number; at: number | null; see: (id: number | null) => void; open: (id: number) => void }

function Spread({ sheet, css, at, see, open }: SpreadProps) {
  const [w, h] = sheet.size, it = useRef<HTMLLIElement>(null), [near, come] = useState(false);
  // A long book's pictures are fetched as they come near.
  useEffect(() => {
    const watch = new IntersectionObserver(([first]) => first?.isIntersecting && come(true), { rootMargin: "600px" });
    watch.observe(it.current!);
    return () => watch.disconnect();
  }, []);
  const share = (p: PlacedPrint): Record<string, string> => ({ left: `${(100 * p.at[0]) / w}%`, top: `${(100 * p.at[1]) / h}%`, width: `${(100 * p.at[2]) / w}%`, height: `${(100 * p.at[3]) / h}%` });
  return (
    <li ref={it}>
      <div class="laid" style={{ aspectRatio: `${w} / ${h}` }}>
        <Drawn sheet={near ? sheet : { ...sheet, prints: [] }} css={css} />
        {sheet.prints.filter((p) => !p.back && p.print !== null).map((p) => (
          <button key={p.print} type="button" data-print={p.print} style={share(p)} tabIndex={p.print === at ? 0 : -1}
            aria-label={`${called(p)}, ${place(sheet, p)}`} onFocus={() => see(p.print)} onDblClick={() => open(p.print!)}
            onClick={(e) => {
              // A key's click; the mouse chooses with one, and opens with two.
              if (e.detail === 0) open(p.print!);
            }} />
        ))}
      </div>
      <p class="folio">{sheet.pages.join("–")}</p>
    </li>
  );
}

/** "page 5". */
function place(sheet: SheetSeen, p: PlacedPrint): string {
  const right = p.at[0] + p.at[2] / 2 > sheet.size[0] / 2;
  return `page ${sheet.pages.length === 1 ? sheet.pages[0]! : sheet.pages[right ? 1 : 0]!}`;
}
