// One fact of a print: a field that offers words already used, says what a date means, and never loses what was typed.
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { get } from "../wire";
import type { DateChoice, DateRead, Fact, KeptBack } from "../wire.generated";

/** What goes with a value: what was there when the person began (of a date, the date too), and a date's own words where one was chosen for
 * them. */
export interface Beside { seen: string; edtf?: string; dated?: string }
/** Keeps a value; gives what was kept back, if anything. */
export type Keep = (value: string, beside: Beside) => void | Promise<KeptBack | null>;
/** `later`: a form saves it, and asks before it is lost. `edtf`: the date that the value was understood as. `asks`: it rests as a caption
 * until it has the focus, and as these words where nothing is written; `labelled`: its label stands before the caption. */
export interface FieldProps {
  fact: Fact; value: string; keep: Keep; placeholder?: string; later?: boolean; back?: KeptBack | null; edtf?: string | undefined; asks?: string; labelled?: boolean;
}

export function Field(props: FieldProps) {
  const { fact } = props;
  if (fact.kind === "choice") return <Choice {...props} />;
  return <Written {...props} key={fact.word} />;
}

/** The classes of a field that rests as a caption. */
const caption = ({ fact, asks, labelled }: FieldProps, text: string): string =>
  asks === undefined ? "field" : `field caption of-${fact.word}${text ? " written" : ""}${text && labelled ? " labelled" : ""}`;

/** What is seen of a field at rest; the field itself lies over it unseen, and says the same to those who do not see. */
const Rest = ({ says, asks }: { says: string; asks: string | undefined }) => (asks === undefined ? null : <span class="rest" dir="auto" aria-hidden="true">{says || asks}</span>);

function Choice(props: FieldProps) {
  const { fact, value, keep } = props, id = useId();
  return (
    <div class={caption(props, value)}>
      <label for={id}>{fact.label}</label>
      <Rest says={value} asks={props.asks} />
      <select id={id} name={fact.word} value={value} onChange={(e) => void keep(e.currentTarget.value, { seen: value })}>
        <option value="">not set</option>
        {fact.choices.map((choice) => <option key={choice} value={choice}>{choice}</option>)}
      </select>
    </div>
  );
}

function Written(props: FieldProps) {
  const { fact, value, keep, placeholder, later, back = null, edtf } = props, id = useId();
  const [text, write] = useState(value), [offers, offer] = useState<string[]>([]), [at, walk] = useState(-1);
  const [kept, tell] = useState<KeptBack | null>(null), [asks, ask] = useState(false), [chosen, pick] = useState<string | null>(null);
  const asked = useRef(new AbortController()), input = useRef<HTMLInputElement>(null);
  /** What was there when the person began to type: an edit is based on it. */
  const base = useRef(value), now = useRef(value), sent = useRef<string | null>(null);
  const baseDate = useRef(edtf ?? "");
  const dirty = (): boolean => now.current.trim() !== base.current;
  useEffect(() => {
    // What is being typed stays; that the text was changed elsewhere is told when it is saved.
    if (dirty() && now.current.trim() !== value) return;
    base.current = now.current = value;
    baseDate.current = edtf ?? "";
    write(value);
    tell(null);
  }, [value, edtf]);
  useEffect(() => tell(back), [back]);
  // Words of which one meaning was chosen mean that one.
  const read = useDate(fact.kind === "date" ? chosen ?? (edtf && text.trim() === value ? edtf : text) : null);
  const choices = kept?.choices.length ? kept.choices : read?.choices ?? [];

  function set(next: string): void {
    now.current = next;
    sent.current = null;
    write(next);
    ask(false);
    pick(null);
    if (kept) tell(null);
    if (later) void keep(next.trim(), { seen: base.current, edtf: baseDate.current });
  }
  function save(next: string, seen = base.current, dated?: string): void {
    ask(false);
    // What was kept back is not sent again until it is changed.
    if (next === sent.current) return;
    sent.current = next;
    void Promise.resolve(keep(next, { seen, edtf: baseDate.current, ...(dated !== undefined && { dated }) })).then((held) => {
      tell(held ?? null);
      if (!held && !later) base.current = now.current.trim();
    });
  }
  function look(start: string): void {
    asked.current.abort();
    const { signal } = (asked.current = new AbortController());
    // In a list each name is offered for itself.
    const last = fact.kind === "list" ? start.split(/;\s*/).at(-1) ?? "" : start;
    if (fact.kind === "date" || last.trim() === "") return offer([]);
    get(`/api/offers?${new URLSearchParams({ fact: fact.word, start: last }).toString()}`, signal)
      .then((found) => offer(found.filter((word) => word !== last).slice(0, 6)), () => offer([]));
  }
  function take(word: string): void {
    const whole = fact.kind === "list" ? [...text.split(/;\s*/).slice(0, -1), word].join("; ") : word;
    set(whole);
    close();
    if (!later) save(whole);
  }
  function choose({ edtf: meant }: DateChoice): void {
    sent.current = null;
    pick(meant);
    save(meant, base.current, now.current.trim());
    tell(null);
  }
  /** Both texts are shown: the person says which one stays. */
  function mine(): void {
    sent.current = null;
    save(now.current.trim(), kept?.theirs ?? "");
  }
  function theirs(): void {
    base.current = kept?.theirs ?? "";
    set(base.current);
    tell(null);
  }
  function close(): void {
    offer([]);
    walk(-1);
  }
  function discard(): void {
    base.current = value;
    set(value);
    tell(null);
    input.current?.focus();
  }
  function key(e: KeyboardEvent): void {
    if (e.key === "Escape") {
      // First the offers go away; then the field asks about what was typed; then the key is the room's.
      if (offers.length) close();
      else if (later || !dirty()) return;
      else if (asks) discard();
      else ask(true);
      e.preventDefault();
      e.stopPropagation();
    } else if (e.key === "Enter" && offers[at] !== undefined) {
      e.preventDefault();
      take(offers[at]);
    } else if ((e.key === "ArrowDown" || e.key === "ArrowUp") && offers.length) {
      e.preventDefault();
      walk((at + (e.key === "ArrowDown" ? 1 : offers.length) + (at < 0 && e.key === "ArrowUp" ? 1 : 0)) % offers.length);
    } else if (e.key === "Enter" && !later && dirty()) {
      sent.current = null;
      save(text.trim());
    }
  }
  const wrong = kept !== null || (read !== null && read.edtf === null && text.trim() !== "");
  const says = kept && !kept.theirs ? kept.says : read?.says ?? "";
  const plain = says.toLowerCase() === text.trim().toLowerCase();
  // A date that was written as the desk writes it is read as a person says it.
  const seen = fact.kind === "list" ? text.split(/;\s*/).join(", ") : fact.kind === "date" && read?.edtf === text.trim() && says ? says : text;
  return (
    <div class={`${caption(props, text.trim())} ${fact.kind}${kept ? " waiting" : ""}${plain || seen === says ? "" : " own"}`}>
      <label for={id}>{fact.label}</label>
      <Rest says={seen.trim()} asks={props.asks} />
      <input
        id={id} ref={input} name={fact.word} value={text} autocomplete="off" placeholder={placeholder ?? (fact.kind === "date" ? "summer 2009?, 14.7.2009, 1990s" : undefined)}
        spellcheck={fact.kind === "text"} dir="auto"
        role="combobox" aria-autocomplete="list" aria-expanded={offers.length > 0} aria-controls={`${id}-offers`}
        aria-activedescendant={at >= 0 ? `${id}-${at}` : undefined} aria-describedby={says ? `${id}-says` : undefined}
        aria-invalid={wrong ? true : undefined}
        onInput={(e) => { set(e.currentTarget.value); walk(-1); look(e.currentTarget.value); }}
        onKeyDown={key}
        onBlur={(e) => {
          close();
          // A button of this field is not away from it.
          const to = e.relatedTarget;
          if (to instanceof Element && e.currentTarget.parentElement?.contains(to)) return;
          if (!later && dirty()) save(text.trim());
        }}
      />
      <ul id={`${id}-offers`} role="listbox" aria-label={`${fact.label}: words used before`} hidden={offers.length === 0}>
        {offers.map((word, i) => (
          <li key={word} id={`${id}-${i}`} role="option" aria-selected={i === at} onPointerDown={(e) => { e.preventDefault(); take(word); }}>{word}</li>
        ))}
      </ul>
      {says && !asks && <p id={`${id}-says`} class={wrong ? "says trouble" : "says"}>{says}</p>}
      {choices.length > 0 && !asks && (
        <p class="ask">{choices.map((c) => <button type="button" key={c.edtf} onClick={() => choose(c)}>{c.says}</button>)}</p>
      )}
      {asks && (
        <p class="ask" role="alert"><span class="trouble">Not saved.</span>
          <button type="button" onClick={() => save(text.trim())}>Save <kbd>Enter</kbd></button>
          <button type="button" onClick={discard}>Discard <kbd>Escape</kbd></button>
        </p>
      )}
      {kept?.theirs != null && (
        <div class="both" role="alert">
          <button type="button" onClick={mine}>Keep mine</button><q>{text}</q>
          <button type="button" onClick={theirs}>Keep the other</button><q>{kept.theirs || "nothing"}</q>
        </div>
      )}
    </div>
  );
}

/** What a text means as a date, a moment after it was typed; null for other facts. */
function useDate(text: string | null): DateRead | null {
  const [read, tell] = useState<DateRead | null>(null);
  useEffect(() => {
    if (text === null) return;
    if (text.trim() === "") return tell(null);
    const stop = new AbortController();
    // Faster than anybody types two letters, so that only a pause asks.
    const wait = setTimeout(() => {
      get(`/api/date?${new URLSearchParams({ text }).toString()}`, stop.signal).then(tell, () => undefined);
    }, 90);
    return () => {
      clearTimeout(wait);
      stop.abort();
    };
  }, [text]);
  return read;
}
