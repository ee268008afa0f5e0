// One fact of a print: a field that offers words already used, and says what a date means.
import { useEffect, useId, useRef, useState } from "preact/hooks";
import { edtf } from "../edtf";
import { get } from "../wire";
import type { Fact } from "../wire.generated";

export interface FieldProps { fact: Fact; value: string; keep: (value: string) => void; placeholder?: string }

export function Field(props: FieldProps) {
  const { fact } = props;
  if (fact.kind === "choice") return <Choice {...props} />;
  return <Written {...props} key={fact.word} />;
}

function Choice({ fact, value, keep }: FieldProps) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{fact.label}</label>
      <select id={id} name={fact.word} value={value} onChange={(e) => keep(e.currentTarget.value)}>
        <option value="">not set</option>
        {fact.choices.map((choice) => <option key={choice} value={choice}>{choice}</option>)}
      </select>
    </div>
  );
}

function Written({ fact, value, keep, placeholder }: FieldProps) {
  const id = useId();
  const [text, write] = useState(value), [offers, offer] = useState<string[]>([]), [at, walk] = useState(-1);
  const asked = useRef(new AbortController());
  useEffect(() => write(value), [value]);
  const says = fact.kind === "date" ? edtf(text) : null;

  function ask(start: string): void {
    asked.current.abort();
    const { signal } = (asked.current = new AbortController());
    // In a list each name is offered for itself.
    const last = fact.kind === "list" ? start.split(/[,;]\s*/).at(-1) ?? "" : start;
    if (fact.kind === "date" || last.trim() === "") return offer([]);
    get(`/api/offers?${new URLSearchParams({ fact: fact.word, start: last }).toString()}`, signal)
      .then((found) => offer(found.filter((word) => word !== last).slice(0, 6)), () => offer([]));
  }
  function take(word: string): void {
    const whole = fact.kind === "list" ? [...text.split(/[,;]\s*/).slice(0, -1), word].join(", ") : word;
    write(whole);
    close();
    keep(whole);
  }
  function close(): void {
    offer([]);
    walk(-1);
  }
  function key(e: KeyboardEvent): void {
    if (e.key === "Escape") {
      // First the offers go away, then what was written, then the key is the room's.
      if (offers.length) close();
      else if (text !== value) write(value);
      else return;
      e.preventDefault();
      e.stopPropagation();
    } else if (e.key === "Enter" && offers[at] !== undefined) {
      e.preventDefault();
      take(offers[at]);
    } else if ((e.key === "ArrowDown" || e.key === "ArrowUp") && offers.length) {
      e.preventDefault();
      walk((at + (e.key === "ArrowDown" ? 1 : offers.length) + (at < 0 && e.key === "ArrowUp" ? 1 : 0)) % offers.length);
    } else if (e.key === "Enter" && fact.word !== "inscription") {
      keep(text.trim());
    }
  }
  return (
    <div class={`field ${fact.kind}`}>
      <label for={id}>{fact.label}</label>
      <input
        id={id} name={fact.word} value={text} autocomplete="off" dir="auto" placeholder={placeholder} spellcheck={fact.kind === "text"}
        role="combobox" aria-autocomplete="list" aria-expanded={offers.length > 0} aria-controls={`${id}-offers`}
        aria-activedescendant={at >= 0 ? `${id}-${at}` : undefined} aria-describedby={says ? `${id}-says` : undefined}
        aria-invalid={says && !says.ok ? true : undefined}
        onInput={(e) => { write(e.currentTarget.value); walk(-1); ask(e.currentTarget.value); }}
        onKeyDown={key}
        onBlur={() => { close(); if (text.trim() !== value) keep(text.trim()); }}
      />
      <ul id={`${id}-offers`} role="listbox" aria-label={`${fact.label}: words used before`} hidden={offers.length === 0}>
        {offers.map((word, i) => (
          <li key={word} id={`${id}-${i}`} role="option" aria-selected={i === at} onPointerDown={(e) => { e.preventDefault(); take(word); }}>{word}</li>
        ))}
      </ul>
      {says && <p id={`${id}-says`} class={says.ok ? "says" : "says trouble"}>{says.says}</p>}
    </div>
  );
}
