// What leaves must be ready: one list before anything is made, each line with the key or the press that mends it.
import { useEffect, useRef, useState } from "preact/hooks";
import { act, go } from "../store";
import { picture } from "../wire";
import { count } from "../measures";
import type { NotReady as Item, NotReadyPrint as One, PastHand, Ready as List } from "../wire.generated";
import { openAt } from "./mend";
import { choose } from "./request";

/** Prints of a line that are shown at once; the others are asked for. */
const FEW = 6;
/** The sides of a small print in the list, CSS px. */
const SMALL = 96;

/** The field that a line's prints are opened at. */
const FIELD: Partial<Record<Item["what"], string>> = { alt: "alt", privacy: "privacy" };

export interface ReadyProps { list: List; fixed: boolean; past: PastHand[]; again: (name: string) => void }

export function Ready({ list, fixed, past, again }: ReadyProps) {
  const leaving = count(list.prints, "print", "prints"), inside = useRef(false);
  useEffect(() => {
    const see = (e: FocusEvent): void => void (inside.current = e.target instanceof Element && e.target.closest(".ready") !== null);
    addEventListener("focusin", see);
    return () => removeEventListener("focusin", see);
  }, []);
  // A line that was mended is gone: the hand goes on with the next.
  useEffect(() => {
    if (!inside.current || document.activeElement !== document.body) return;
    (document.querySelector<HTMLElement>(".ready .turns [data-upright]") ?? document.querySelector<HTMLElement>(".ready [data-line]") ?? document.querySelector<HTMLElement>(".handing"))?.focus();
  }, [list]);
  if (list.items.length === 0) return <p class="ready second" role="status">{list.prints === 0 ? "No print would be exported." : `${leaving}: all ready.`}</p>;
  return (
    <section class="ready" aria-labelledby="unready">
      <h3 id="unready">Before it leaves <kbd>R</kbd></h3>
      <p class="unseen" role="status">{count(list.items.length, "thing", "things")} to settle.</p>
      <ul>{list.items.map((item) => <Line key={item.what} item={item} fixed={fixed} past={past} again={again} />)}</ul>
    </section>
  );
}

function Line({ item, fixed, past, again }: { item: Item } & Omit<ReadyProps, "list">) {
  const [all, show] = useState(false);
  // A list that is to be looked at one by one shows the next when one is done.
  const shown = all ? item.prints : item.prints.slice(0, FEW), more = item.count - shown.length;
  return (
    <li class={item.what}>
      <p class="says"><b>{item.says}</b></p>
      {item.what === "privacy" && <Privacy fixed={fixed} />}
      {item.what === "pixels" && item.pixels !== null && item.pixels > 0 && <p><button type="button" data-line onClick={() => choose({ pixels: String(item.pixels) })}>Use {item.pixels} pixels</button></p>}
      {item.what === "reshoot" && <p><button type="button" data-line onClick={() => go("/stand")}>Go to the stand</button></p>}
      {item.what === "leftover" && <p class="second">Delete the files named here, and where you published them.</p>}
      {item.what === "leftover" && past.map((p) => <button type="button" key={p.name} data-line disabled={fixed} onClick={() => again(p.name!)}>Update {p.name}: takes them away</button>)}
      <ul class={item.what === "turn" ? "turns" : "prints"}>
        {shown.map((one) => (item.what === "turn" && one.frame !== null
          ? <Turn key={`${one.frame}`} one={one} fixed={fixed} />
          : <li key={`${one.name}${one.back}${one.says}`}><Open one={one} field={FIELD[item.what]} />{one.says && <span class="second"> {one.says}</span>}</li>))}
      </ul>
      {more > 0 && (item.prints.length > shown.length
        ? <button type="button" onClick={() => show(true)}>Show {count(more, "more", "more")}</button>
        : <p class="second">And {count(more, "more", "more")}.</p>)}
    </li>
  );
}

/** A print's name and title, which open it where the missing thing is written. */
function Open({ one, field, aside = false }: { one: One; field: string | undefined; aside?: boolean }) {
  const says = <><span class="no">{one.name}</span>{one.title && ` ${one.title}`}{one.back && ", its back"}</>;
  if (one.print === null) return says;
  return <a href={`/print/${one.print}`} data-line={aside ? undefined : true} onClick={(e) => { e.preventDefault(); openAt(one.print!, field); }}>{says}</a>;
}

/** A print of which nobody knows the top: it is turned here at once, and finished again when a person says that it is upright. */
function Turn({ one, fixed }: { one: One; fixed: boolean }) {
  const [by, turn] = useState(0), [busy, work] = useState(false);
  const settle = async (): Promise<void> => {
    if (busy || fixed) return;
    work(true);
    await act("/api/refinish", { frame: one.frame!, turn: (one.turn + by) % 4 });
    work(false);
  };
  const name = `${one.name}${one.back ? ", its back" : ""}`;
  return (
    <li class={busy ? "busy" : undefined}>
      <span class="small"><img src={picture(one.frame!, "mount", SMALL, one.stamp.slice(0, 16))} alt={`${name} as it would leave`} style={{ transform: `rotate(${by * 90}deg)` }} /></span>
      <span class="which"><Open one={one} field={undefined} aside /></span>
      <span class="turn" role="group" aria-label={`Turn ${name}`} data-turn>
        <button type="button" data-step="-1" disabled={busy || fixed} onClick={() => turn((by + 3) % 4)}>Left <kbd>[</kbd></button>
        <button type="button" data-step="1" disabled={busy || fixed} onClick={() => turn((by + 1) % 4)}>Right <kbd>]</kbd></button>
        <button type="button" data-line data-upright disabled={busy || fixed} onClick={() => void settle()}>Upright <kbd>Y</kbd></button>
      </span>
    </li>
  );
}

/** Asked once for a project: until it is answered, names and places stay behind. */
function Privacy({ fixed }: { fixed: boolean }) {
  const decide = (unsaid: "open" | "ask" | "private"): void => void act("/api/privacy", { unsaid });
  return (
    <div class="unsaid" role="group" aria-label="Who may see them">
      <p>Names and places stay behind until you decide, once for this project, what that means.</p>
      <p>
        <button type="button" data-line disabled={fixed} onClick={() => decide("open")}>Everybody may see them</button>
        <button type="button" disabled={fixed} onClick={() => decide("ask")}>Names and places only with permission</button>
        <button type="button" disabled={fixed} onClick={() => decide("private")}>They stay private</button>
      </p>
    </div>
  );
}

/** Walks from line to line with a key; false where there is none. */
export function walkList(step: number): boolean {
  const lines = [...document.querySelectorAll<HTMLElement>(".ready [data-line]")], at = document.activeElement;
  if (lines.length === 0) return false;
  const inside = at?.closest(".turns li")?.querySelector("[data-line]") ?? at, now = lines.indexOf(inside as HTMLElement);
  lines[now < 0 ? 0 : Math.min(Math.max(now + step, 0), lines.length - 1)]!.focus();
  return true;
}

/** Presses a button of the turn that has the focus, or of the first; false where there is none. */
export function onTurn(which: string): boolean {
  const rows = [...document.querySelectorAll<HTMLElement>(".ready .turns li")], row = rows.find((r) => r.contains(document.activeElement)) ?? rows[0];
  const button = row?.querySelector<HTMLButtonElement>(which);
  if (!button || button.disabled) return false;
  if (!row!.contains(document.activeElement)) row!.querySelector<HTMLElement>("[data-upright]")?.focus();
  button.click();
  return true;
}
