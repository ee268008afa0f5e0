// Handing on: which prints, what for, a few choices; how it goes; and what was handed on before.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { act, changes, desk, go, handed, inOrder, tell, working } from "../desk";
import { useKeys } from "../hand";
import { useHeld } from "../hold";
import { count, thousands } from "../measures";
import { type Hands, type Past } from "../wire";
import { Choices } from "./choices";
import { FORMS, asked, editOf, formName, want, wish } from "./wish";

export function Handing() {
  const known = useHeld(desk), change = useHeld(changes), now = useHeld(wish), ended = useHeld(handed);
  const [hands, set] = useState<Hands | null>(null), [busy, work] = useState(false);
  const whole = useRef<HTMLDivElement>(null), first = useRef(ended);
  const look = useMemo(() => inOrder<Hands>(set), []);
  const edits = known?.edits ?? [], edit = editOf(now, edits);
  useEffect(() => whole.current?.focus(), []);
  useEffect(() => {
    void look("/api/hand").catch(tell);
    // What was made while this room is open is shown at once.
    if (ended !== first.current && ended?.name) go(`/hand/${ended.name}`);
  }, [change, ended]);

  const making = hands?.making ?? null, stuck = !making && !busy && hands?.ended && !hands.ended.name ? hands.ended : null;
  const unable = busy || making !== null || known === null || known.reads_only || known.prints === 0;
  const form = useRef<HTMLFormElement>(null);
  const make = (): void => {
    // A number out of its bounds is told beside its field.
    if (form.current?.reportValidity()) void begin("/api/hand", asked(wish.get()));
  };
  async function begin(path: string, what: unknown): Promise<void> {
    if (unable) return;
    work(true);
    await act(path, what);
    await look("/api/hand").catch(tell);
    work(false);
  }
  useKeys("Hand on", {
    post: () => want({ form: "share" }), site: () => want({ form: "gallery" }), book: () => want({ form: "book" }), archive: () => want({ form: "pack" }),
    edit: () => {
      const names = [...edits.map((e) => e.name), ""];
      want({ edit: names[(names.indexOf(edit) + 1) % names.length]! });
    },
    make,
    choices: () => document.querySelector<HTMLElement>(".choices input, .choices select")?.focus(),
    past: () => document.querySelector<HTMLElement>(".past a")?.focus(),
    back: () => {
      if (document.activeElement?.closest(".wish")) whole.current?.focus();
      else go("/table");
    },
  });
  return (
    <div class="handing" ref={whole} tabIndex={-1}>
      <form
        class="wish"
        ref={form}
        noValidate
        onSubmit={(e) => {
          e.preventDefault();
          make();
        }}
      >
        <h2>Hand on</h2>
        <label class="which">
          <span>Prints <kbd>E</kbd></span>
          <select value={edit} onChange={(e) => want({ edit: e.currentTarget.value })}>
            {edits.map((e) => <option key={e.name} value={e.name}>{e.name}, {count(e.count, "print", "prints")}</option>)}
            <option value="">All of them, {count(known?.prints ?? 0, "print", "prints")}</option>
          </select>
        </label>
        <div class="forms" role="group" aria-label="What for">
          {FORMS.map((f) => (
            <button key={f.form} type="button" aria-pressed={now.form === f.form} onClick={() => want({ form: f.form })}>
              <b>{f.name} <kbd>{f.key.toUpperCase()}</kbd></b>
              <span>{f.says}</span>
            </button>
          ))}
        </div>
        <Choices now={now} project={known?.project ?? ""} />
        {making || busy ? <Progress making={making} /> : (
          <p class="make">
            <button type="submit" class="main" disabled={unable}>Make it <kbd>M</kbd></button>
            <span class="second">{known?.prints === 0 ? "There is no print yet." : now.form === "pack" ? "All of it is read again when it is packed. Made again into the same folder, it goes on where it stopped." : "Into a new folder of the project; nothing there is written over."}</span>
          </p>
        )}
        {stuck && <p class="trouble" role="alert">{stuck.says} {stuck.do}</p>}
      </form>
      <section class="past" aria-label="Handed on before">
        <h3>Handed on before <kbd>H</kbd></h3>
        {hands?.past.length === 0 && <p class="second">Nothing yet.</p>}
        <ol>{hands?.past.map((p) => <Before key={`${p.at}${p.place}`} past={p} again={() => void begin(`/api/hand/${p.name}/again`, {})} />)}</ol>
      </section>
    </div>
  );
}

function Progress({ making }: { making: Hands["making"] }) {
  const told = useHeld(working);
  const at = told && told.name === making?.name ? told : making?.of ? making : null;
  return (
    <div class="progress">
      <progress aria-label="How much is done" value={at?.done ?? 0} max={at?.of || 1} />
      <p role="status">{at ? `${thousands(at.done)} of ${thousands(at.of)} done.` : "Looking at the prints, or writing the last of it."} Go on with something else if you like.</p>
    </div>
  );
}

/** "26 November 2026, 14:05", in this machine's time. */
export const when = (at: string): string => new Date(at).toLocaleString("en-GB", { day: "numeric", month: "long", year: "numeric", hour: "2-digit", minute: "2-digit" });

function Before({ past, again }: { past: Past; again: () => void }) {
  const what = `${formName(past.form)}${past.edit ? `: ${past.edit}` : ""}`, path = `/hand/${past.name}`;
  return (
    <li>
      {past.seen ? (
        <a href={path} onClick={(e) => { e.preventDefault(); go(path); }}>{what}</a>
      ) : <b>{what}</b>}
      , {past.whole ? count(past.count, "print", "prints") : "not finished"}
      <span class="second"><time dateTime={past.at}>{when(past.at)}</time>{past.there ? "" : ", no longer there"}</span>
      <span class="second lies">{past.place}</span>
      {past.again && !past.seen && <button type="button" onClick={again} aria-label={`${past.whole ? "Make it again" : "Finish it"}: ${what}`}>{past.whole ? "Make it again" : "Finish it"}</button>}
    </li>
  );
}
