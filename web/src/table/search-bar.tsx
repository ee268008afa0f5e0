// Search as you type, the number of prints found, and their order.
import { useEffect, useRef, useState } from "preact/hooks";
import { act, desk } from "../store";
import { useObservable } from "../observable";
import { thousands, formatName } from "../measures";
import { left } from "./table";

const ORDERS = [
  ["number", "number"], ["box", "box"], ["exposed", "date exposed"], ["taken", "date taken"],
  ["place", "place"], ["format", "format"], ["verdict", "verdict"],
] as const;

/** Colours that people name; the search knows more, and codes such as #1e3f5c. */
const COLOURS = ["red", "orange", "yellow", "green", "blue", "purple", "brown", "black", "grey", "white"];

const quoted = (text: string): string => (/^[\w-]+$/.test(text) ? text : `"${text}"`);

export function SearchBar(props: { found: { total: number; prints: number; says: string | null } | null; onTake: () => void; propose: () => void; near: (step: number) => void; leave: () => void }) {
  const known = useObservable(desk), line = useObservable(left.line), order = useObservable(left.order), sheet = useObservable(left.sheet);
  const input = useRef<HTMLInputElement>(null);
  const [naming, name] = useState(false);
  /** The saved search that the line is, as a whole. */
  const kept = known?.searches.find((s) => line.trim() === `saved:${quoted(s.name)}`);
  useEffect(() => {
    // The newest text, not the one of this render: the person may have typed on meanwhile.
    if (input.current && input.current.value !== left.line.get()) input.current.value = left.line.get();
  }, [line]);
  const narrow = (word: string): void => {
    if (word) left.line.set([left.line.get().trim(), word].filter(Boolean).join(" "));
  };
  const { found } = props;
  return (
    <form class="bar" role="search" onSubmit={(e) => { e.preventDefault(); props.leave(); }}>
      <label for="line">Search</label>
      <input
        id="line" ref={input} type="search" autocomplete="off" dir="auto" spellcheck={false} aria-describedby="found"
        placeholder="summer 2009, reshoot, harbour OR quay, place:hill"
        onInput={(e) => left.line.set(e.currentTarget.value)}
        onKeyDown={(e) => { if (e.key === "ArrowDown") { e.preventDefault(); props.leave(); } }}
      />
      <output id="found" for="line" class={found?.says ? "trouble" : undefined}>
        {found?.says ?? (found ? `${thousands(found.prints)} ${found.prints === 1 ? "print" : "prints"}${found.total < found.prints ? ` in ${thousands(found.total)} stacks and single prints` : ""}` : "")}
      </output>
      <span class="set">
        <label for="only">Filter</label>
        <select id="only" value="" onChange={(e) => { narrow(e.currentTarget.value); e.currentTarget.value = ""; }}>
          <option value="">all</option>
          {known && known.searches.length > 0 && (
            <optgroup label="Saved searches">{known.searches.map((s) => <option key={s.name} value={`saved:${quoted(s.name)}`}>{s.name}</option>)}</optgroup>
          )}
          <optgroup label="Description"><option value="is:undescribed">not yet described</option><option value="is:described">described</option></optgroup>
          <optgroup label="Box">
            {known?.boxes.map((b) => <option key={b.box} value={`box:${quoted(b.box)}`}>{b.box}, {thousands(b.count)}</option>)}
          </optgroup>
          <optgroup label="Format">
            {known?.formats.filter((f) => f.count > 0).map((f) => <option key={f.name} value={`format:${quoted(f.name)}`}>{formatName(f.name)}, {thousands(f.count)}</option>)}
          </optgroup>
          <optgroup label="Verdict">
            {(["keep", "look", "reshoot"] as const).map((v) => <option key={v} value={`verdict:${v}`}>{v}, {thousands(known?.verdicts[v] ?? 0)}</option>)}
          </optgroup>
          <optgroup label="Colour">{COLOURS.map((c) => <option key={c} value={`colour:${c}`}>{c}</option>)}</optgroup>
        </select>
      </span>
      {line.trim() !== "" && !naming && (kept
        ? <button type="button" onClick={() => void act("/api/search", { name: kept.name, line: "" }).then((done) => done && left.line.set(kept.line))}>Drop this saved search</button>
        : <button type="button" onClick={() => name(true)} disabled={found?.says != null}>Save search</button>)}
      {naming && (
        <label class="set">Save as <input
          name="search-name" autocomplete="off" ref={(el) => el?.focus()} onBlur={() => name(false)}
          onKeyDown={(e) => {
            const wanted = e.currentTarget.value.trim().replaceAll('"', "");
            if (e.key === "Escape") e.stopPropagation();
            else if (e.key !== "Enter") return;
            e.preventDefault();
            name(false);
            if (e.key === "Enter" && wanted) void act("/api/search", { name: wanted, line: left.line.get().trim() }).then((done) => done && left.line.set(`saved:${quoted(wanted)}`));
          }}
        /></label>
      )}
      <span class="set">
        <label for="order">Sort</label>
        <select id="order" value={sheet ? "edit" : order} disabled={sheet !== null} onChange={(e) => left.order.set(e.currentTarget.value)}>
          {sheet && <option value="edit">edit order</option>}
          {ORDERS.map(([value, says]) => <option key={value} value={value}>{says}</option>)}
        </select>
      </span>
      <span class="set near">
        <button type="button" aria-label="Smaller" title="Smaller: F" onClick={() => props.near(-1)}>−</button>
        <button type="button" aria-label="Larger" title="Larger: N" onClick={() => props.near(1)}>+</button>
      </span>
      <button type="button" class="wide" title="Propose stacks of similar prints: P" onClick={props.propose}>Stack similar prints</button>
      <button type="button" title="Import frames: I" onClick={props.onTake}>Import</button>
    </form>
  );
}
