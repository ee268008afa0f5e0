// One export: the files themselves, and details about them.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { act, go, handed, inOrder, tell, working } from "../store";
import { forget, useKeys } from "../keyboard";
import { useObservable } from "../observable";
import { count, thousands } from "../measures";
import type { HandedOn } from "../wire.generated";
import { Book, BookDetails } from "./book";
import { when } from "./export";
import { ShareDetails, Shares } from "./shares";
import { formName } from "./request";

/** The address of an exported file. */
export const made = (name: string, file: string): string => `/made/${name}/${file}`;

export function Exported({ name }: { name: string }) {
  const [it, set] = useState<HandedOn | null>(null), [at, walk] = useState(0), [large, enlarge] = useState(false), [white, lay] = useState(false), [busy, work] = useState(false);
  const ended = useObservable(handed), told = useObservable(working);
  const whole = useRef<HTMLDivElement>(null), look = useMemo(() => inOrder<`/api/hand/${string}`>(set), []);
  useEffect(() => {
    // After an update it is fetched again.
    work(false);
    void look(`/api/hand/${name}`).catch((error: unknown) => {
      tell(error);
      forget();
      go("/hand");
    });
  }, [name, ended]);
  useEffect(() => whole.current?.focus(), [it === null]);
  const many = it?.book ? it.book.spreads.length : it?.shares.length ?? 0;
  const still = (act: () => void) => (): boolean => {
    // A website has keys of its own.
    if (!many) return false;
    act();
    return true;
  };
  const [copy, compare] = useState("");
  async function begin(start: () => Promise<unknown>): Promise<void> {
    if (!it?.again || busy) return;
    work(true);
    if (!(await start())) work(false);
  }
  const again = (): void => void begin(() => act(`/api/hand/${name}/again`, {}));
  const check = (): void => void begin(() => act(`/api/hand/${name}/check`, { copy: copy.trim() || null }));
  useKeys("One export", {
    walk: (e) => still(() => {
      const to = Math.min(Math.max(at + (e.key === "ArrowLeft" ? -1 : 1), 0), many - 1);
      walk(to);
      document.querySelectorAll<HTMLElement>(".sheets button")[to]?.focus();
    })(),
    large: still(() => enlarge(!large)),
    ground: still(() => lay(!white)),
    into: () => document.querySelector<HTMLElement>(".seen iframe")?.focus(),
    again: () => (it?.again ? again() : false),
    check: () => (it?.again && it.form === "pack" ? check() : false),
    told: () => document.querySelector<HTMLElement>(".told")?.focus(),
    back: () => {
      if (document.activeElement?.matches(".told input")) return whole.current?.focus();
      if (!large) return go("/hand");
      enlarge(false);
      requestAnimationFrame(() => (document.querySelectorAll<HTMLElement>(".sheets button")[at] ?? whole.current)?.focus());
    },
  }, { here: () => it !== null, free: ["back"] });
  if (!it) return <div class="seen" ref={whole} tabIndex={-1}><p class="second">Loading.</p></div>;
  const see = (i: number, big: boolean): void => {
    walk(i);
    enlarge(big);
    if (big) whole.current?.focus();
  };
  return (
    <div class={`seen ${it.form}`} ref={whole} tabIndex={-1}>
      <header class="title">
        <h2>{formName(it.form)}{it.edit ? `: ${it.edit}` : ""}</h2>
        <p class="second">{count(it.count, "print", "prints")}, {when(it.at)}</p>
        {busy && <p role="status">{told ? `${told.name}: ${thousands(told.done)} of ${thousands(told.of)} done.` : "Checking what is there."}</p>}
        <div class="tools">
          {many > 0 && <button type="button" aria-pressed={large} onClick={() => see(at, !large)}>{large ? "Show all" : "Enlarge"} <kbd>{large ? "Escape" : "Enter"}</kbd></button>}
          {many > 0 && <button type="button" aria-pressed={white} onClick={() => lay(!white)}>White background <kbd>G</kbd></button>}
          {it.again && <button type="button" disabled={busy} title="Only what changed is exported" onClick={again}>Update <kbd>M</kbd></button>}
          {!large && <button type="button" onClick={() => go("/hand")}>Back <kbd>Escape</kbd></button>}
        </div>
      </header>
      <div class={white ? "show white" : "show"}>
        {it.form === "gallery" && <iframe key={it.at} onLoad={(e) => out(e.currentTarget, () => whole.current?.focus())} title={`The website “${it.title}”`} src={made(name, "index.html")} sandbox="allow-scripts allow-same-origin" />}
        {it.form === "share" && <Shares it={it} at={at} large={large} see={see} />}
        {it.form === "pack" && <ReadMe key={it.at} file={made(name, it.files[0]!)} />}
        {it.book && <Book it={it} book={it.book} at={at} large={large} see={see} />}
      </div>
      <aside class="told" tabIndex={-1} aria-label="Details">
        {it.form === "share" && <ShareDetails share={it.shares[at]} />}
        {it.book && <BookDetails it={it} book={it.book} at={large ? at : null} />}
        {it.form === "pack" && it.says.map((s) => <p key={s}>{s}</p>)}
        {it.checked && <h3>Last check</h3>}
        {it.checked?.says.map((s) => <p key={s}>{s}</p>)}
        {it.checked && <Problems list={it.checked.problems} />}
        {it.form === "pack" && it.again && (
          <form
            class="fields"
            onSubmit={(e) => {
              e.preventDefault();
              check();
            }}
          >
            <label>Second copy <input value={copy} placeholder="full path, or empty" autocomplete="off" dir="auto" spellcheck={false} onInput={(e) => compare(e.currentTarget.value)} /></label>
            <p><button type="submit" disabled={busy}>Check <kbd>V</kbd></button></p>
          </form>
        )}
        <Told it={it} />
      </aside>
    </div>
  );
}

/** The plain text inside an archive, for whoever opens it in twenty years. */
function ReadMe({ file }: { file: string }) {
  const [text, set] = useState("");
  useEffect(() => void fetch(file).then((answer) => answer.text()).then(set, tell), [file]);
  return <pre tabIndex={0} aria-label="The archive's own description">{text}</pre>;
}

/** Escape leaves a website where it does not lead up inside it. */
function out(frame: HTMLIFrameElement, leave: () => void): void {
  const inside = frame.contentWindow;
  inside?.addEventListener("keydown", (e) => {
    if (e.key === "Escape" && !inside.document.querySelector("a[rel=up], dialog[open]")) leave();
  });
}

function Problems({ list }: { list: string[] }) {
  return <ul class="findings">{list.map((p) => <li key={p} class="look"><p class="says">{p}</p></li>)}</ul>;
}

/** Details about the whole export. */
function Told({ it }: { it: HandedOn }) {
  return (
    <>
      {it.problems.length > 0 && <h3>Please check</h3>}
      <Problems list={it.problems} />
      {it.alt_missing.length > 0 && (
        <>
          <h3>No alt text yet</h3>
          <p>{it.alt_missing.map((p, i) => <span key={p}>{i > 0 && ", "}<Print label={p} /></span>)}. Write the alt text on the print's sheet: every export then uses it.</p>
        </>
      )}
      {(it.private.length > 0 || it.difference.length > 0) && <h3>Included and left out</h3>}
      {it.private.length > 0 && <p>Left out because private: {it.private.join(", ")}.</p>}
      {it.difference.map((d) => <p key={d}>{d}</p>)}
      <h3>Folder</h3>
      <p class="lies">{it.place}</p>
      <p class="files">
        {it.files.filter((f) => !/\.jpg$/.test(f)).map((f) => <a key={f} href={made(it.name, f)} target="_blank" rel="noopener">{f}</a>)}
      </p>
      {it.form !== "pack" && (
        <details>
          <summary>The command's messages</summary>
          {it.says.map((s) => <p key={s}>{s}</p>)}
        </details>
      )}
    </>
  );
}

/** "P0004", as a link where it is a print's number. */
export function Print({ label }: { label: string }) {
  const id = /^P0*(\d+)$/.exec(label)?.[1];
  return id ? <a href={`/print/${id}`} onClick={(e) => { e.preventDefault(); go(`/print/${id}`); }}>{label}</a> : <>{label}</>;
}
