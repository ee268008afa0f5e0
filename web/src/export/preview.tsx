// The chosen prints as the page, wall or card that they become, before they are made.
import { go } from "../store";
import { count } from "../measures";
import type { Preview as Seen, SheetSeen } from "../wire.generated";
import { Drawn } from "./drawn";
import type { Form } from "./request";
import "../style/plan.css";

/** Sheets shown here; the whole book is a room of its own. */
const FEW = 24;
/** Height of a picture to post and of a spread, CSS px; of a wall, px for each millimetre. */
const HIGH = 150, WALL = 1.1;

export function Preview({ seen, form }: { seen: Seen | null; form: Form }) {
  // Its place is kept from the beginning.
  if (!seen) return <div class="becomes" />;
  if (seen.trouble) return <p class="becomes trouble" role="status">{seen.trouble}</p>;
  const sheets = seen.sheets.slice(0, FEW), more = seen.of - sheets.length;
  const wall = form === "gallery" || form === "pack";
  return (
    <section class={`becomes ${form}`} aria-label="Preview">
      <ul class={wall ? "wall" : ""} tabIndex={0} aria-label="As it will be">
        {sheets.map((sheet, i) => <li key={i} style={sized(sheet, wall)}><Shown sheet={sheet} wall={wall} /></li>)}
        {more > 0 && <li class="more second">and {count(more, "more", "more")}</li>}
      </ul>
      {form === "book" && seen.pages > 0 && (
        <p><span class="second">{count(seen.pages, "page", "pages")}. </span><button type="button" onClick={() => go("/book")}>Order the spreads <kbd>5</kbd></button></p>
      )}
      {seen.cards.length > 0 && (
        <>
          <h3>Deck of cards</h3>
          <ul tabIndex={0} aria-label="Sheets of cards">{seen.cards.slice(0, FEW).map((sheet, i) => <li key={i} style={sized(sheet, false)}><Drawn sheet={sheet} css={(HIGH * sheet.size[0]) / sheet.size[1]} /></li>)}</ul>
        </>
      )}
    </section>
  );
}

function sized({ size: [w, h] }: SheetSeen, wall: boolean): Record<string, string> {
  return { width: `${Math.round(wall ? w * WALL : (HIGH * w) / h)}px` };
}

function Shown({ sheet, wall }: { sheet: SheetSeen; wall: boolean }) {
  const css = wall ? sheet.size[0] * WALL : (HIGH * sheet.size[0]) / sheet.size[1];
  return (
    <>
      <Drawn sheet={sheet} css={css} />
      {wall && sheet.lines.map((l) => <p key={l.text} dir="auto" class={l.italic ? "when" : undefined}>{l.text}</p>)}
      {sheet.pages.length > 0 && <p class="folio">{sheet.pages.join("–")}</p>}
    </>
  );
}
