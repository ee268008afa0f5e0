// Export: which prints, what for, a few choices; progress; and earlier exports.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { act, changes, desk, go, handed, inOrder, tell, working } from "../store";
import { useKeys } from "../keyboard";
import { useObservable } from "../observable";
import { count, thousands } from "../measures";
import type { Hands, PastHand } from "../wire.generated";
import { useAnswer } from "./answers";
import { Choices } from "./choices";
import { Preview } from "./preview";
import { Ready, onTurn, walkList } from "./ready";
import { FORMS, asked, choice, choose, editOf, formName, nextEdit } from "./request";
import "../style/export.css";

export function Export() {
  const known = useObservable(desk), change = useObservable(changes), now = useObservable(choice), ended = useObservable(handed);
  const [hands, set] = useState<Hands | null>(null), [busy, work] = useState(false);
  const whole = useRef<HTMLDivElement>(null), first = useRef(ended);
  const look = useMemo(() => inOrder<"/api/hand">(set), []);
  const edits = known?.edits ?? [], edit = editOf(now, edits);
  useEffect(() => whole.current?.focus(), []);
  useEffect(() => {
    void look("/api/hand").catch(tell);
    // An export that ends while this room is open is shown at once.
    if (ended !== first.current && ended?.name) go(`/hand/${ended.name}`);
  }, [change, ended]);

  const making = hands?.making ?? null, stuck = !making && !busy && hands?.ended && !hands.ended.name ? hands.ended : null;
  const unable = busy || making !== null || known === null || known.reads_only || known.prints === 0;
  const form = useRef<HTMLFormElement>(null), wish = known ? asked(now) : null;
  const ready = useAnswer("/api/ready", wish, change), becomes = useAnswer("/api/preview", wish, change);
  const make = (): void => {
    // The browser shows what is wrong beside the field.
    if (form.current?.reportValidity()) void begin(() => act("/api/hand", asked(choice.get())));
  };
  async function begin(start: () => Promise<unknown>): Promise<void> {
    if (unable) return;
    work(true);
    await start();
    await look("/api/hand").catch(tell);
    work(false);
  }
  // Made again, a website takes away what is no longer chosen.
  const sites = hands?.past.filter((p) => p.name && p.again && p.form === "gallery" && now.form === "gallery" && (p.edit ?? "") === edit) ?? [];
  useKeys("Export", {
    post: () => choose({ form: "share" }), site: () => choose({ form: "gallery" }), book: () => choose({ form: "book" }), archive: () => choose({ form: "pack" }),
    edit: () => nextEdit(now, edits),
    make,
    list: () => walkList(0), lines: (e) => walkList(e.key === "ArrowUp" ? -1 : 1),
    quarter: (e) => onTurn(`[data-step="${e.key === "]" ? 1 : -1}"]`), upright: () => onTurn("[data-upright]"),
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
        <header>
          <h2>Export</h2>
          <label class="which">
            <span>Prints <kbd>E</kbd></span>
            <select value={edit} onChange={(e) => choose({ edit: e.currentTarget.value })}>
              {edits.map((e) => <option key={e.name} value={e.name}>{e.name}, {count(e.count, "print", "prints")}</option>)}
              <option value="">All prints, {count(known?.prints ?? 0, "print", "prints")}</option>
            </select>
          </label>
        </header>
        <div class="stage">
          <div class="forms" role="group" aria-label="Format">
            {FORMS.map((f) => (
              <button key={f.form} type="button" aria-pressed={now.form === f.form} onClick={() => choose({ form: f.form })}>
                <b>{f.name} <kbd>{f.key.toUpperCase()}</kbd></b>
              </button>
            ))}
          </div>
          <p class="second">{FORMS.find((f) => f.form === now.form)?.says}</p>
          <Preview seen={becomes} form={now.form} />
          {ready && known && <Ready list={ready} fixed={known.reads_only} past={sites} again={(name) => void begin(() => act(`/api/hand/${name}/again`, {}))} />}
          {making || busy ? <Progress making={making} /> : (
            <p class="make">
              <button type="submit" class="main" disabled={unable}>Export <kbd>M</kbd></button>
              <span class="second">{known?.prints === 0 ? "There are no prints yet." : now.form === "pack" ? "Every file is read again after packing. Exporting to the same folder again continues where it stopped." : "Files go to a new folder in the project; nothing is overwritten."}</span>
            </p>
          )}
          {stuck && <p class="trouble" role="alert">{stuck.says} {stuck.do}</p>}
        </div>
        <Choices now={now} project={known?.project ?? ""} />
      </form>
      <section class="past" aria-label="Earlier exports">
        <h3>Earlier exports <kbd>H</kbd></h3>
        {hands?.past.length === 0 && <p class="second">None yet.</p>}
        <ol>{hands?.past.map((p) => <Before key={`${p.at}${p.place}`} past={p} again={() => void begin(() => act(`/api/hand/${p.name!}/again`, {}))} />)}</ol>
      </section>
    </div>
  );
}

function Progress({ making }: { making: Hands["making"] }) {
  const told = useObservable(working);
  const at = told && told.name === making?.name ? told : making?.of ? making : null;
  return (
    <div class="progress">
      <progress aria-label="Progress" value={at?.done ?? 0} max={at?.of || 1} />
      <p role="status">{at ? `${thousands(at.done)} of ${thousands(at.of)} done.` : "Reading the prints, or writing the last files."} You can keep working meanwhile.</p>
    </div>
  );
}

/** "26 November 2026, 14:05", in this machine's time. */
export const when = (at: string): string => new Date(at).toLocaleString("en-GB", { day: "numeric", month: "long", year: "numeric", hour: "2-digit", minute: "2-digit" });

function Before({ past, again }: { past: PastHand; again: () => void }) {
  const what = `${formName(past.form)}${past.edit ? `: ${past.edit}` : ""}`, path = `/hand/${past.name}`;
  return (
    <li>
      {past.seen ? (
        <a href={path} onClick={(e) => { e.preventDefault(); go(path); }}>{what}</a>
      ) : <b>{what}</b>}
      , {past.whole ? count(past.count, "print", "prints") : "not finished"}
      <span class="second"><time dateTime={past.at}>{when(past.at)}</time>{past.there ? "" : ", files no longer there"}</span>
      <span class="second lies">{past.place}</span>
      {past.again && !past.seen && <button type="button" onClick={again} aria-label={`${past.whole ? "Update" : "Finish"}: ${what}`}>{past.whole ? "Update" : "Finish"}</button>}
    </li>
  );
}
