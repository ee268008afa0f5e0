// The few choices of each form, with what is usual set.
import type { ComponentChildren } from "preact";
import { LAYOUTS, PAGES, SHAPES, type Wish, want } from "./wish";

type Text = "other" | "pixels" | "kilobytes" | "address" | "newsletter" | "author" | "size" | "printer" | "first_dot" | "place";
type Tick = "one_scale" | "asked" | "backs" | "captions" | "proof" | "dummy" | "deck";

/** A field of words, or of a number in its bounds. */
function Field({ now, word, label, placeholder, from }: { now: Wish; word: Text; label: string; placeholder?: string; from?: { min: number; max?: number; step?: string } }) {
  return (
    <label>
      {label}
      <input value={now[word]} placeholder={placeholder} autocomplete="off" spellcheck={false} {...(from && { type: "number", ...from })} onInput={(e) => want({ [word]: e.currentTarget.value })} />
    </label>
  );
}

function Ticked({ now, word, children }: { now: Wish; word: Tick; children: ComponentChildren }) {
  return <label class="tick"><input type="checkbox" checked={now[word]} onChange={(e) => want({ [word]: e.currentTarget.checked })} /> {children}</label>;
}

function Choice({ now, word, label, from, other }: { now: Wish; word: "shape" | "page" | "layout"; label: string; from: [string, string][]; other?: string }) {
  return (
    <label>
      {label}
      <select value={now[word]} onChange={(e) => want({ [word]: e.currentTarget.value })}>
        {from.map(([value, says]) => <option key={value} value={value}>{says}</option>)}
        {other && <option value="other">{other}</option>}
      </select>
    </label>
  );
}

export function Choices({ now, project }: { now: Wish; project: string }) {
  const ask = <Ticked now={now} word="asked">I have asked: names and places of prints marked “ask” may go out</Ticked>;
  const title = <label>Title <input value={now.title ?? project} autocomplete="off" onInput={(e) => want({ title: e.currentTarget.value })} /></label>;
  if (now.form === "share") {
    return (
      <div class="fields choices" key="share">
        <Choice now={now} word="shape" label="Shape of the sheet" from={SHAPES} other="another" />
        {now.shape === "other" && <Field now={now} word="other" label="Width to height" placeholder="as 1.91:1" />}
        <Field now={now} word="pixels" label="Longer side, pixels" />
        <Field now={now} word="kilobytes" label="A file at most, kB" placeholder="as large as it is" from={{ min: 10 }} />
        <Ticked now={now} word="one_scale">One scale for all, so that a mini looks mini</Ticked>
        {ask}
      </div>
    );
  }
  if (now.form === "gallery") {
    return (
      <div class="fields choices" key="gallery">
        {title}
        <Field now={now} word="address" label="Its address" placeholder="as https://example.org/prints/, once you know" />
        <Field now={now} word="newsletter" label="A newsletter too, kB" placeholder="none; 1000 is usual" from={{ min: 20 }} />
        <Ticked now={now} word="backs">Backs too, of prints that everyone may see</Ticked>
        {ask}
      </div>
    );
  }
  if (now.form === "pack") {
    return (
      <div class="fields choices" key="pack">
        {title}
        <Field now={now} word="place" label="Folder for it" placeholder="whole path, best on another disk" />
      </div>
    );
  }
  return (
    <div class="fields choices" key="book">
      {title}
      <Field now={now} word="author" label="Author" />
      <Choice now={now} word="page" label="Page after the cut" from={PAGES} other="another" />
      {now.page === "other" && <Field now={now} word="size" label="Width × height, mm" placeholder="as 200x250" />}
      <Choice now={now} word="layout" label="Arrangement" from={LAYOUTS} />
      <Field now={now} word="printer" label="Printer's profile" placeholder="whole path of an .icc file; none: sRGB" />
      <Field now={now} word="first_dot" label="Its first dot, per cent" placeholder="3; ask the printer" from={{ min: 0, max: 20, step: "any" }} />
      <Ticked now={now} word="captions">Words under the prints</Ticked>
      <Ticked now={now} word="proof">A proof sheet too: the three hardest prints, tints and a scale</Ticked>
      <Ticked now={now} word="dummy">A dummy too, at half size, to leaf through</Ticked>
      <Ticked now={now} word="deck">A deck too: the prints as cards to cut out and deal on a table</Ticked>
    </div>
  );
}
