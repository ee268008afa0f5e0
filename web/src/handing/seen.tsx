// What was handed on, as it is: the files themselves, and what is to be known of them.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { act, go, handed, inOrder, tell, working } from "../desk";
import { forget, useKeys } from "../hand";
import { useHeld } from "../hold";
import { count, thousands } from "../measures";
import { type HandedOn } from "../wire";
import { Book, BookTold } from "./book";
import { when } from "./handing";
import { Sheets, SheetTold } from "./sheets";
import { formName } from "./wish";

/** Where a file that was made is. */
export const made = (name: string, file: string): string => `/made/${name}/${file}`;

export function Seen({ name }: { name: string }) {
  const [it, set] = useState<HandedOn | null>(null), [at, walk] = useState(0), [large, enlarge] = useState(false), [white, lay] = useState(false), [busy, work] = useState(false);
  const ended = useHeld(handed), told = useHeld(working);
  const whole = useRef<HTMLDivElement>(null), look = useMemo(() => inOrder<HandedOn>(set), []);
  useEffect(() => {
    // Made again, it is looked at again.
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
    // A site has its own ways and keys.
    if (!many) return false;
    act();
    return true;
  };
  const [copy, compare] = useState("");
  async function begin(what: "again" | "check", body: unknown): Promise<void> {
    if (!it?.again || busy) return;
    work(true);
    if (!(await act(`/api/hand/${name}/${what}`, body))) work(false);
  }
  const again = (): void => void begin("again", {}), check = (): void => void begin("check", { copy: copy.trim() || null });
  useKeys("Handed on", {
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
  if (!it) return <div class="seen" ref={whole} tabIndex={-1}><p class="second">Looking.</p></div>;
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
        {busy && <p role="status">{told ? `${told.name}: ${thousands(told.done)} of ${thousands(told.of)} done.` : "Looking at what is there."}</p>}
        <div class="tools">
          {many > 0 && <button type="button" aria-pressed={large} onClick={() => see(at, !large)}>{large ? "All of it" : "Large"} <kbd>{large ? "Escape" : "Enter"}</kbd></button>}
          {many > 0 && <button type="button" aria-pressed={white} onClick={() => lay(!white)}>White around it <kbd>G</kbd></button>}
          {it.again && <button type="button" disabled={busy} title="Only what changed is made" onClick={again}>Make it again <kbd>M</kbd></button>}
          {!large && <button type="button" onClick={() => go("/hand")}>Back <kbd>Escape</kbd></button>}
        </div>
      </header>
      <div class={white ? "show white" : "show"}>
        {it.form === "gallery" && <iframe key={it.at} onLoad={(e) => out(e.currentTarget, () => whole.current?.focus())} title={`The site “${it.title ?? ""}”, as it was made`} src={made(name, "index.html")} sandbox="allow-scripts allow-same-origin" />}
        {it.form === "share" && <Sheets it={it} at={at} large={large} see={see} />}
        {it.form === "pack" && <ReadMe key={it.at} file={made(name, it.files[0]!)} />}
        {it.book && <Book it={it} book={it.book} at={at} large={large} see={see} />}
      </div>
      <aside class="told" tabIndex={-1} aria-label="What is to be known of it">
        {it.form === "share" && <SheetTold share={it.shares[at]} />}
        {it.book && <BookTold it={it} book={it.book} at={large ? at : null} />}
        {it.form === "pack" && it.says.map((s) => <p key={s}>{s}</p>)}
        {it.checked && <h3>Read again</h3>}
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
            <label>Its second copy <input value={copy} placeholder="whole path, or none" autocomplete="off" spellcheck={false} onInput={(e) => compare(e.currentTarget.value)} /></label>
            <p><button type="submit" disabled={busy}>Check it <kbd>V</kbd></button></p>
          </form>
        )}
        <Told it={it} />
      </aside>
    </div>
  );
}

/** The plain text that lies in an archive, as whoever opens it in twenty years will read it. */
function ReadMe({ file }: { file: string }) {
  const [text, set] = useState("");
  useEffect(() => void fetch(file).then((answer) => answer.text()).then(set, tell), [file]);
  return <pre tabIndex={0} aria-label="What the archive says of itself">{text}</pre>;
}

/** Escape leads out of a site where it does not lead up in it. */
function out(frame: HTMLIFrameElement, leave: () => void): void {
  const inside = frame.contentWindow;
  inside?.addEventListener("keydown", (e) => {
    if (e.key === "Escape" && !inside.document.querySelector("a[rel=up], dialog[open]")) leave();
  });
}

function Problems({ list }: { list: string[] }) {
  return <ul class="findings">{list.map((p) => <li key={p} class="look"><p class="says">{p}</p></li>)}</ul>;
}

/** What holds for all of it. */
function Told({ it }: { it: HandedOn }) {
  return (
    <>
      {it.problems.length > 0 && <h3>To look at</h3>}
      <Problems list={it.problems} />
      {it.alt_missing.length > 0 && (
        <>
          <h3>No words yet for who cannot see it</h3>
          <p>{it.alt_missing.map((p, i) => <span key={p}>{i > 0 && ", "}<Print label={p} /></span>)}. Write what is seen on the print's sheet, and it goes out everywhere.</p>
        </>
      )}
      {(it.private.length > 0 || it.difference.length > 0) && <h3>What went out, and what stayed</h3>}
      {it.private.length > 0 && <p>Private, and left out: {it.private.join(", ")}.</p>}
      {it.difference.map((d) => <p key={d}>{d}</p>)}
      <h3>Where it lies</h3>
      <p class="lies">{it.place}</p>
      <p class="files">
        {it.files.filter((f) => !/\.jpg$/.test(f)).map((f) => <a key={f} href={made(it.name, f)} target="_blank" rel="noopener">{f}</a>)}
      </p>
      {it.form !== "pack" && (
        <details>
          <summary>As the command says it</summary>
          {it.says.map((s) => <p key={s}>{s}</p>)}
        </details>
      )}
    </>
  );
}

/** "P0004", and the way to its sheet where it is a print's number. */
export function Print({ label }: { label: string }) {
  const id = /^P0*(\d+)$/.exec(label)?.[1];
  return id ? <a href={`/print/${id}`} onClick={(e) => { e.preventDefault(); go(`/print/${id}`); }}>{label}</a> : <>{label}</>;
}
