// The choices of each form, with their usual values.
import type { ComponentChildren } from "preact";
import { AS_SHOT, InDegrees, Select } from "../light/light";
import { desk } from "../store";
import { useObservable } from "../observable";
import { type Choice as Chosen, LAYOUTS, PAGES, SHAPES, choose } from "./request";

type Text = "other" | "pixels" | "kilobytes" | "address" | "newsletter" | "author" | "size" | "printer" | "first_dot" | "place";
type Tick = "one_scale" | "asked" | "backs" | "captions" | "proof" | "dummy" | "deck";

/** A field for text, or for a number within bounds. */
function Field({ now, word, label, placeholder, from }: { now: Chosen; word: Text; label: string; placeholder?: string; from?: { min: number; max?: number; step?: string } }) {
  return (
    <label>
      {label}
      <input value={now[word]} placeholder={placeholder} autocomplete="off" dir="auto" spellcheck={false} {...(from && { type: "number", ...from })} onInput={(e) => choose({ [word]: e.currentTarget.value })} />
    </label>
  );
}

function Ticked({ now, word, children }: { now: Chosen; word: Tick; children: ComponentChildren }) {
  return <label class="tick"><input type="checkbox" checked={now[word]} onChange={(e) => choose({ [word]: e.currentTarget.checked })} /> {children}</label>;
}

function Choice({ now, word, label, from, other }: { now: Chosen; word: "shape" | "page" | "layout"; label: string; from: [string, string][]; other?: string }) {
  return (
    <label>
      {label}
      <select value={now[word]} onChange={(e) => choose({ [word]: e.currentTarget.value })}>
        {from.map(([value, says]) => <option key={value} value={value}>{says}</option>)}
        {other && <option value="other">{other}</option>}
      </select>
    </label>
  );
}

/** The light of all shadows. */
function Light({ now }: { now: Chosen }) {
  const lights = useObservable(desk)?.lights ?? [], light = (light: Chosen["light"]): void => choose({ light });
  return (
    <>
      <Select none="as finished" now={now.light} lights={lights} choose={light} />
      <InDegrees now={now.light} choose={light} />
      {now.light.word !== AS_SHOT && <p class="second">Prints whose lift is not known well enough keep their shadow; the export names them.</p>}
    </>
  );
}

export function Choices({ now, project }: { now: Chosen; project: string }) {
  const ask = <Ticked now={now} word="asked">I have permission: include names and places marked “ask”</Ticked>;
  const title = <label>Title <input value={now.title ?? project} autocomplete="off" dir="auto" onInput={(e) => choose({ title: e.currentTarget.value })} /></label>;
  if (now.form === "share") {
    return (
      <div class="fields choices" key="share">
        <Choice now={now} word="shape" label="Aspect ratio" from={SHAPES} other="custom" />
        {now.shape === "other" && <Field now={now} word="other" label="Width to height" placeholder="for example 1.91:1" />}
        <Field now={now} word="pixels" label="Longer side, pixels" />
        <Field now={now} word="kilobytes" label="Maximum file size, kB" placeholder="no limit" from={{ min: 10 }} />
        <Light now={now} />
        <Ticked now={now} word="one_scale">Same scale for all prints, so that a small print looks small</Ticked>
        {ask}
      </div>
    );
  }
  if (now.form === "gallery") {
    return (
      <div class="fields choices" key="gallery">
        {title}
        <Field now={now} word="address" label="Web address" placeholder="for example https://example.org/prints/, if you know it" />
        <Field now={now} word="newsletter" label="Newsletter, maximum kB" placeholder="none; 1000 is usual" from={{ min: 20 }} />
        <Light now={now} />
        <Ticked now={now} word="backs">Include the backs of public prints</Ticked>
        {ask}
      </div>
    );
  }
  if (now.form === "pack") {
    return (
      <div class="fields choices" key="pack">
        {title}
        <Field now={now} word="place" label="Folder" placeholder="full path, preferably on another disk" />
      </div>
    );
  }
  return (
    <div class="fields choices" key="book">
      {title}
      <Field now={now} word="author" label="Author" />
      <Choice now={now} word="page" label="Trimmed page size" from={PAGES} other="custom" />
      {now.page === "other" && <Field now={now} word="size" label="Width × height, mm" placeholder="for example 200x250" />}
      <Choice now={now} word="layout" label="Layout" from={LAYOUTS} />
      <Field now={now} word="printer" label="Printer's ICC profile" placeholder="full path of an .icc file; empty: sRGB" />
      <Field now={now} word="first_dot" label="Minimum printable dot, %" placeholder="3; ask the printer" from={{ min: 0, max: 20, step: "any" }} />
      <Light now={now} />
      <Ticked now={now} word="captions">Captions under the prints</Ticked>
      <Ticked now={now} word="proof">Add a proof sheet: the three most demanding prints, tints and a scale</Ticked>
      <Ticked now={now} word="dummy">Add a dummy at half size</Ticked>
      <Ticked now={now} word="deck">Add a deck of cards: small prints to cut out and arrange on a table</Ticked>
    </div>
  );
}
