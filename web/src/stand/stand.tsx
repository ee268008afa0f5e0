// The stand: one picture, one word, one sentence and the move. Read from two metres, answered with one big key.
import { useEffect, useRef, useState } from "preact/hooks";
import { arrived, changes, desk, go, tell } from "../desk";
import { useKeys } from "../hand";
import { useHeld } from "../hold";
import { Mark } from "../marks";
import { capital, count, minutes } from "../measures";
import { sound } from "../sound";
import { type Stand as State, get, picture } from "../wire";
import { Watch } from "./watch";

const QUIET = "fallside.quiet";

export function Stand() {
  const [state, set] = useState<State | null>(null), [seen, acknowledge] = useState<string | null>(null), [setting, setUp] = useState(false);
  const [quiet, hush] = useState(localStorage.getItem(QUIET) === "yes");
  const change = useHeld(changes), last = useHeld(arrived), known = useHeld(desk);
  const heard = useRef(last.count), whole = useRef<HTMLDivElement>(null);
  useEffect(() => void get<State>("/api/stand").then(set, tell), [change, last]);
  useEffect(() => whole.current?.focus(), [state === null]);
  useEffect(() => {
    const verdict = last.verdict ?? state?.last?.verdict;
    if (last.count === heard.current || !verdict) return;
    heard.current = last.count;
    if (!quiet && state?.sound !== false) sound(verdict);
  }, [last, state]);

  function next(): void {
    acknowledge(state?.last?.name ?? null);
  }
  function sounds(): void {
    localStorage.setItem(QUIET, quiet ? "no" : "yes");
    hush(!quiet);
    if (quiet) sound("keep");
  }
  useKeys("Stand", {
    seen: next,
    quiet: sounds,
    again: () => document.querySelector<HTMLElement>("#again")?.focus(),
    open: () => { if (state?.last?.print != null) go(`/print/${state.last.print}`); },
    back: () => go("/table"),
  });
  if (!state) return <div class="stand" ref={whole} tabIndex={-1} />;
  const watching = state.folder !== null;
  if (setting || (!watching && !known?.reads_only)) {
    return <Watch state={state} close={watching ? () => setUp(false) : null} begun={() => { setUp(false); void get<State>("/api/stand").then(set, tell); }} />;
  }
  const now = state.last, done = now !== null && seen === now.name;
  return (
    <div class="stand" ref={whole} tabIndex={-1}>
      <section class={`now ${now?.verdict ?? "none"}${done ? " done" : ""}`} aria-live="polite" aria-atomic="true">
        <Picture state={state} />
        <div class="word">
          {now === null ? <h2>Ready</h2> : <h2><Mark verdict={now.verdict} />{capital(now.verdict)}</h2>}
          {now === null ? <p class="sentence">Lay the first print and press the shutter.</p> : (
            <>
              <p class="sentence">{now.sentence}</p>
              {now.do && <p class="move">{now.do}</p>}
              <p class="which">{now.label ? `Print ${now.label}` : "No print"}, {now.role}, {now.name}</p>
            </>
          )}
          {state.owed && <p class="owed">{state.owed}</p>}
        </div>
      </section>
      <aside class="tally" aria-label="This sleeve">
        <p class="count"><b>{state.count}</b> {state.left ? `of ${state.count + state.left.prints}` : state.count === 1 ? "print" : "prints"}</p>
        <p>{[state.box, state.sleeve && `sleeve ${state.sleeve}`].filter(Boolean).join(", ")}</p>
        <p>{state.pace_s ? `One every ${Math.round(state.pace_s)} seconds` : ""}{state.left ? `, ${minutes(state.left.minutes)} left` : ""}</p>
        <Again state={state} />
        <p class="set">
          <button type="button" aria-pressed={!quiet} onClick={sounds}>Sound {quiet ? "off" : "on"} <kbd>Q</kbd></button>
          {!known?.reads_only && <button type="button" onClick={() => setUp(true)}>Change the sleeve</button>}
        </p>
      </aside>
      <button type="button" class="big" onClick={next} disabled={now === null}>
        {done ? "Ready for the next print" : "Seen"} <kbd>Space</kbd>
      </button>
    </div>
  );
}

function Picture({ state }: { state: State }) {
  const now = state.last;
  // The verdict comes before its picture is made.
  if (now?.frame == null) return <div class="sight" />;
  const kind = now.picture ? "mount" : "frame";
  const what = `${now.label ? `Print ${now.label}` : now.name}, ${now.role}`;
  return (
    <div class="sight">
      <img class={kind} src={picture(now.frame, kind, 900, now.picture)} alt={what} />
    </div>
  );
}

function Again({ state }: { state: State }) {
  if (!state.reshoot.length) return <p class="second">Nothing to take again.</p>;
  return (
    <div class="again" id="again" tabIndex={-1}>
      <h3>Take again: {count(state.reshoot.length, "print", "prints")}</h3>
      <ul>{state.reshoot.map((r) => <li key={r.name}><b>{r.label}</b> {r.sentence}</li>)}</ul>
    </div>
  );
}

