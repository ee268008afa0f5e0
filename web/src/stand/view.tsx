// One picture, one word, one sentence and the remedy; the sleeve's count beside it, two large buttons below.
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { Mark } from "../verdict";
import { capital, count, minutes } from "../measures";
import { picture } from "../wire";
import type { Amiss, Last, Role, Stand } from "../wire.generated";
import type { StandState } from "./use-stand";

/** A print of which nobody knows the top: quarter turns shown so far, and how to say that it is upright so. */
export interface Turning { by: number; turn: (step: number) => void; settle: () => void }

/** `idle` is shown before the first frame. */
export function View({ sitting, idle: [word, sentence], turning, children }: { sitting: StandState; idle: readonly [string, string]; turning?: Turning; children?: ComponentChildren }) {
  const { state, done, listed, amiss } = sitting, whole = useRef<HTMLDivElement>(null);
  useEffect(() => whole.current?.focus({ preventScroll: true }), [state === null]);
  // On a low screen the page scrolls: the word comes into sight.
  useEffect(() => {
    if (document.documentElement.scrollHeight > innerHeight) whole.current?.scrollIntoView({ block: "start" });
  }, [state === null, state?.last?.name, amiss?.number]);
  if (!state) return <div class="stand" ref={whole} tabIndex={-1} />;
  const now = state.last;
  return (
    <div class="stand" ref={whole} tabIndex={-1}>
      {/* Trouble interrupts a screen reader. It is in the page before there is any. */}
      <p class="unseen" role="alert">{amiss && `Trouble. ${amiss.name ?? ""} ${amiss.says} ${amiss.do}`}</p>
      {amiss ? <Trouble amiss={amiss} folder={state.folder} /> : <section class={`now ${now?.verdict ?? "none"}${done ? " done" : ""}`} aria-live="polite" aria-atomic="true">
        <Picture state={state} by={turning?.by ?? 0} />
        <div class="word">
          {now === null ? <h2>{word}</h2> : <h2><Mark verdict={now.verdict} />{capital(now.verdict)}</h2>}
          {now === null ? <p class="sentence">{sentence}</p> : (
            <>
              <p class="sentence">{now.sentence}</p>
              {now.do && <p class="move">{now.do}</p>}
              <p class="which">{which(now)}, {now.of > 1 ? `one of ${now.of} in ${now.name}` : now.name}</p>
            </>
          )}
          {state.amiss && <p class="owed still">{state.amiss.says}</p>}
          {turning && now?.turn_unknown && now.frame !== null && (
            <p class="owed upright">Nothing on it says which way is up. <button type="button" onClick={() => turning.turn(-1)}>Left <kbd>[</kbd></button> <button type="button" onClick={() => turning.turn(1)}>Right <kbd>]</kbd></button> <button type="button" onClick={turning.settle}>Upright <kbd>Y</kbd></button></p>
          )}
          {state.owed && <p class="owed">{state.owed}</p>}
        </div>
      </section>}
      <aside class="tally" aria-label="This sleeve">
        <p class="count"><b>{state.count}</b> {state.left ? `of ${state.count + state.left.prints}` : state.count === 1 ? "print" : "prints"}</p>
        <p>{[state.box, state.sleeve && `sleeve ${state.sleeve}`].filter(Boolean).join(", ")}</p>
        <p>{state.pace_s ? `One every ${Math.round(state.pace_s)} seconds` : ""}{state.left ? `, ${minutes(state.left.minutes)} left` : ""}</p>
        <Again state={state} />
        <p class="set">
          <button type="button" aria-pressed={!sitting.quiet} onClick={sitting.sounds}>Sound {sitting.quiet ? "off" : "on"} <kbd>Q</kbd></button>
          {children}
        </p>
      </aside>
      <p class="answers">
        <button type="button" class="big" onClick={sitting.seen} disabled={now === null && amiss === null}>
          {done ? "Ready for the next print" : "Seen"} <kbd>Space</kbd>
        </button>
        <button type="button" class="other" aria-pressed={listed} onClick={sitting.again} disabled={now?.label == null || amiss !== null}>
          {listed ? "Do not reshoot" : "Reshoot"} <kbd>A</kbd>
        </button>
      </p>
    </div>
  );
}

export const READY = ["Ready", "Place the first print and press the shutter."] as const;

/** What a frame shows, as a person says it. */
const ROLES: Record<Role, string> = {
  front: "front", back: "back", blank: "bare bed", chart: "colour chart", ruler: "ruler", counter: "lit from the other side", ambient: "flash off",
};

/** Which print it is. A print that is still being catalogued has no number yet. */
function which(now: Last): string {
  if (now.label) return `Print ${now.label}, ${ROLES[now.role]}`;
  if (!OF_PRINTS.includes(now.role)) return capital(ROLES[now.role]);
  return `${now.frame === null ? "Being catalogued" : "No print"}, ${ROLES[now.role]}`;
}
const OF_PRINTS: readonly Role[] = ["front", "back", "counter"];

/** In the place of the verdict, and as large. */
function Trouble({ amiss, folder }: { amiss: Amiss; folder: string | null }) {
  return (
    <section class="now amiss">
      <div class="sight" />
      <div class="word">
        <h2><Mark verdict={null} />Trouble</h2>
        <p class="sentence">{amiss.says}</p>
        <p class="move">{amiss.do}</p>
        <p class="which">{amiss.name ?? folder}{amiss.others.length > 0 && `. Also ${amiss.others.join(", ")}`}</p>
      </div>
    </section>
  );
}

function Picture({ state, by }: { state: Stand; by: number }) {
  const now = state.last;
  // The verdict comes before its picture is made.
  if (now?.frame == null) return <div class="sight" />;
  const kind = now.picture ? "mount" : "frame";
  const what = `${now.label ? `Print ${now.label}` : now.name}, ${ROLES[now.role]}`;
  return (
    <div class="sight">
      <img class={kind} src={picture(now.frame, kind, 900, now.picture)} alt={what} style={by ? { transform: `rotate(${by * 90}deg)` } : undefined} />
    </div>
  );
}

function Again({ state }: { state: Stand }) {
  if (!state.reshoot.length) return <p class="second">Nothing to reshoot.</p>;
  return (
    <div class="again" id="again" tabIndex={-1}>
      <h3>Reshoot: {count(state.reshoot.length, "print", "prints")}</h3>
      <ul>{state.reshoot.map((r) => <li key={r.name}><b>{r.label}</b> {r.sentence}</li>)}</ul>
    </div>
  );
}
