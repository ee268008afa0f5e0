// The table: prints, search, edits and actions.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { act, believable, changes, desk, go, say, takingIn, tell } from "../store";
import { forget, useKeys } from "../keyboard";
import { observable, useObservable } from "../observable";
import { Trouble, get } from "../wire";
import type { Row } from "../wire.generated";
import { count, formatName } from "../measures";
import { Describe } from "../facts/describe";
import { SearchBar } from "./search-bar";
import { Compare } from "./compare";
import { type Move, move, nextOf } from "./edits";
import { Actions } from "./actions";
import { EditTabs } from "./edit-tabs";
import { Fetching } from "./prints";
import { fan, fanned, lift, pile, propose, spread } from "./stacks";
import { Surface } from "./surface";
import "../style/table.css";

/** The zoom step that the table begins with, px per mm. */
const USUAL = 1.35;

/** State of the table, kept while the page is open: coming back from a print restores it. */
export const left = { line: observable(""), order: observable("number"), sheet: observable<string | null>(null), scale: observable(USUAL), at: 0, top: 0, rows: [] as (Row | undefined)[] };

/** Zoom steps, px per mm. */
const SCALES = [0.55, 0.8, 1.1, 1.35, 1.7, 2.2, 3];

export const calm = (): boolean => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** Everything that decides which prints are shown. */
function wished(line: string, order: string, sheet: string | null, out: readonly number[]): string {
  return JSON.stringify(sheet ? [line, sheet] : [line, order, out]);
}

const wishedNow = (): string => wished(left.line.get(), left.order.get(), left.sheet.get(), fanned.get());

/** Heading of a group. All prints of a stack are in the group of its first print. */
function heading(order: string): (row: Row) => string | null {
  const of = group(order), first = new Map<number, string | null>();
  return (row) => {
    if (!row.stack || order.startsWith("edit:")) return of(row);
    if (!first.has(row.stack.id)) first.set(row.stack.id, of(row));
    return first.get(row.stack.id)!;
  };
}

/** Heading of a print's group, by the sort order. */
function group(order: string): (row: Row) => string | null {
  switch (order) {
    case "box": return (row) => [row.box ?? "No box", row.sleeve && `sleeve ${row.sleeve}`].filter(Boolean).join(", ");
    case "format": return (row) => formatName(row.format);
    case "verdict": return (row) => row.verdict ?? "not judged";
    case "place": return (row) => row.place ?? "No place";
    case "exposed": return (row) => row.exposed?.slice(0, 4) ?? "No date";
    default: return () => null;
  }
}

export function Table() {
  const scroll = useRef<HTMLDivElement>(null), surface = useRef<Surface>();
  const line = useObservable(left.line), order = useObservable(left.order), sheet = useObservable(left.sheet), scale = useObservable(left.scale);
  const change = useObservable(changes), known = useObservable(desk), out = useObservable(fanned);
  const [found, setFound] = useState<{ total: number; prints: number; says: string | null } | null>(null);
  const [beside, layBeside] = useState<Row[]>([]);
  const [at, setAt] = useState<Row>(), [hand, setHand] = useState<readonly number[]>([]);
  const [open, setOpen] = useState<"" | "beside" | "words">("");
  const asked = sheet ? `edit:${sheet}` : order, wish = wished(line, order, sheet, out);
  const kind = known?.edits.find((edit) => edit.name === sheet)?.kind;

  useEffect(() => {
    const table = new Surface(scroll.current!, {
      at: setAt,
      hand: setHand,
      open: (row) => leave(`/print/${row.id}`),
      drop: (name, ids) => void act("/api/edit", { do: "put", name, ids }),
      move: (ids, to) => void reorder(ids, to),
    });
    table.scale = left.scale.get();
    table.usual = USUAL;
    surface.current = table;
    return () => table.close();
  }, []);

  /** Which search the shown prints answer, and whether all of them have loaded. */
  const lying = useRef({ wish: "", whole: true });
  const first = useRef(true), last = useRef(""), nudged = useRef<{ hand: string; at: number } | null>(null);
  useEffect(() => {
    let pages = 0;
    const believed = believable();
    const ask = new Fetching((whole) => {
      const table = surface.current!;
      // The person may have acted since the request was sent: an older answer is shown only on an empty table.
      if (!believed() && (table.rows.length || lying.current.wish === wish)) return;
      lying.current = { wish, whole };
      table.ordered = sheet !== null;
      nudged.current = null;
      setFound({ total: ask.total, prints: ask.prints, says: ask.says });
      // The shown prints stay while the search is not understood.
      if (ask.says && ask.total === 0) return;
      left.rows = ask.rows;
      // A new search starts at the top, also when its first answer was dropped as too old.
      const fresh = last.current !== `${line}\n${asked}` && !first.current;
      last.current = `${line}\n${asked}`;
      table.set(ask.rows, heading(asked), fresh);
      if (pages++ > 0) return;
      if (first.current) restore(table);
      // Keys work at once: the prints get the focus unless something else has it.
      if (document.activeElement === document.body || document.activeElement?.id === "room") table.focus();
    }, (error) => {
      // The prints shown before do not answer this search: keys must not act on them.
      if (lying.current.wish !== wish) {
        surface.current!.set((left.rows = []), () => null, false);
        setFound(null);
      }
      lying.current = { wish, whole: true };
      if (wish === wishedNow()) forget();
      tell(error);
    });
    void ask.ask({ line, order: asked, open: sheet ? null : out });
    return () => ask.close();
  }, [wish, change]);
  useEffect(() => surface.current?.setScale(scale), [scale]);
  useEffect(() => () => void (left.top = scroll.current?.scrollTop ?? 0), []);

  function restore(table: Surface): void {
    first.current = false;
    if (left.at) table.walkTo(left.at, false);
    if (left.top) table.scroll.scrollTop = left.top;
  }

  function leave(path: string): void {
    left.at = surface.current?.at ?? 0;
    left.top = scroll.current?.scrollTop ?? 0;
    go(path);
  }

  async function reorder(ids: number[], to: number): Promise<void> {
    // The surface outlives this render: read the current edit again.
    const name = left.sheet.get();
    if (name) await act("/api/edit", { do: "move", name, ids, at: Math.max(0, to) });
  }

  async function edit(which: Move): Promise<void> {
    const table = surface.current!, rows = table.acting();
    const done = move(which, rows, known?.edits ?? []);
    // A print that was removed from this edit disappears at once, not only when the desk answers.
    if (sheet && rows.some((row) => !row.edits.includes(sheet))) {
      left.rows = table.rows.filter((row) => !row || row.edits.includes(sheet));
      table.set(left.rows, heading(asked), false);
    } else table.redrawAll();
    await done;
  }

  async function turn(): Promise<void> {
    const table = surface.current!, row = table.rows[table.at];
    if (!row || !row.back) return tell(new Trouble(`Print ${row?.label ?? ""} has no back.`, "Photograph it at the stand, or move a frame to this print on its sheet."));
    if (row.back_frame != null) return table.turn({ frame: row.back_frame, picture: row.back_picture }, calm());
    const print = await get(`/api/print/${row.id}`).catch(tell);
    const back = print?.frames.find((frame) => frame.role === "back");
    if (back) table.turn({ frame: back.id, picture: back.picture }, calm());
  }

  function nudge(step: number): boolean | void {
    const table = surface.current!;
    if (!sheet) return false;
    const rows = table.acting();
    const place = table.rows.findIndex((row) => row?.id === rows[0]?.id);
    if (!rows.length) return;
    const ids = rows.map((row) => row.id), hand = ids.join();
    // A second press may come before the table knows of the first.
    const from = nudged.current?.hand === hand ? nudged.current.at : place;
    const at = Math.max(0, Math.min(from + step, table.rows.length - rows.length));
    nudged.current = { hand, at };
    void reorder(ids, at);
  }

  function onTable(step: (table: Surface) => void): boolean {
    const table = surface.current;
    if (!table?.rows.length) return false;
    step(table);
    return true;
  }
  const near = (step: number): void => left.scale.set(SCALES[Math.max(0, Math.min(SCALES.length - 1, SCALES.indexOf(scale) + step))]!);
  /** Whether the current print belongs to the current search. */
  const here = (): boolean => {
    const table = surface.current, { wish, whole } = lying.current;
    return wish === wishedNow() && (whole || table?.rows[table.at] !== undefined);
  };
  const forward = (e: KeyboardEvent, keys: string[]): number => (keys.includes(e.key) ? 1 : -1);
  useKeys("Table", {
    walk: (e) => onTable((t) => t.walk(forward(e, ["ArrowRight"]))),
    rows: (e) => onTable((t) => t.walkRows(forward(e, ["ArrowDown"]))),
    page: (e) => onTable((t) => t.walkRows(forward(e, ["PageDown"]) * t.page())),
    ends: (e) => onTable((t) => t.walkTo(e.key === "Home" ? 0 : t.rows.length - 1)),
    search: () => void document.querySelector<HTMLInputElement>("#line")?.select(),
    open: () => onTable((t) => t.rows[t.at] && leave(`/print/${t.rows[t.at]!.id}`)),
    turn: () => void turn(),
    hold: () => onTable((t) => t.hold()),
    reach: (e) => onTable((t) => t.holdTo(t.at + forward(e, ["ArrowRight"]))),
    all: () => onTable((t) => t.holdAll()),
    into: () => void edit("in"),
    out: () => void edit("out"),
    move: (e) => nudge(forward(e, ["ArrowRight"])),
    beside: () => void sideBySide(),
    words: () => setOpen("words"),
    sheet: () => nextSheet(),
    fan: () => openOut(),
    pile: () => { if (!sheet) laid(); },
    lift: () => { if (!sheet) lift(surface.current?.acting() ?? []); },
    near: (e) => near(forward(e, ["n", "N"])),
    take: () => takingIn.set(true),
    back: () => escape(),
  }, { here, free: ["search", "sheet", "near", "take", "back"] });

  function escape(): void {
    const table = surface.current!;
    const at = document.activeElement;
    if (at instanceof HTMLInputElement || !table.hand.size) left.line.set("");
    else table.layDown();
    if (at instanceof HTMLElement) at.blur();
    table.focus();
  }

  function openOut(): void {
    const table = surface.current!;
    if (!sheet && !fan(table.rows[table.at])) say("It is not in a stack.");
  }

  const laid = (): void => void pile(surface.current?.acting() ?? [], propose, () => surface.current?.layDown());

  async function sideBySide(): Promise<void> {
    const rows = surface.current?.acting() ?? [];
    // A closed stack is compared as a whole: that is how one of its prints is chosen.
    const all = sheet ? rows : await spread(rows).catch(tell);
    if (!all?.length) return;
    layBeside(all);
    setOpen("beside");
  }

  function nextSheet(): void {
    left.sheet.set(nextOf(sheet, known?.edits ?? []));
    requestAnimationFrame(() => surface.current?.focus());
  }

  const acting = useMemo(() => surface.current?.acting() ?? [], [at, hand, found]);
  const empty = found?.total === 0;
  return (
    <div class="table">
      <SearchBar found={found} onTake={() => takingIn.set(true)} propose={propose} near={near} leave={() => surface.current?.focus()} />
      <EditTabs sheet={sheet} choose={(name) => left.sheet.set(name)} />
      <div class={sheet ? "lie on-sheet" : "lie"} ref={scroll} />
      {empty && <Empty line={line} sheet={sheet} says={found?.says ?? null} take={() => takingIn.set(true)} />}
      <Actions
        rows={acting} held={hand.length} kind={kind ?? null}
        turn={() => void turn()} open={() => at && leave(`/print/${at.id}`)} hold={() => surface.current?.hold()}
        edit={(which) => void edit(which)} beside={() => void sideBySide()} words={() => setOpen("words")} nudge={nudge} down={() => surface.current?.layDown()}
        fan={openOut} propose={propose} pile={laid} lift={() => lift(acting)}
      />
      {open === "beside" && <Compare rows={beside} close={() => setOpen("")} />}
      {open === "words" && acting.length > 0 && <Describe ids={acting.map((row) => row.id)} label={named(acting)} close={() => setOpen("")} />}
    </div>
  );
}

function named(rows: Row[]): string {
  return rows.length === 1 ? `Print ${rows[0]!.label}` : count(rows.length, "print", "prints");
}

function Empty(props: { line: string; sheet: string | null; says: string | null; take: () => void }) {
  const { line, sheet } = props;
  if (props.says) return null;
  return (
    <div class="empty">
      {line ? <p>No print matches “{line}”{sheet ? ` in the ${sheet} edit` : ""}.</p>
        : sheet ? <p>This edit is empty. Select a print on the table and press <kbd>+</kbd>, or drag it here.</p>
          : <><p>No prints yet.</p><button type="button" onClick={props.take}>Import a folder of frames</button></>}
    </div>
  );
}
