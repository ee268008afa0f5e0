// Actions for the current print or the selected ones: a button for every key.
import type { Edit, Row } from "../wire.generated";
import type { Move } from "./edits";

export interface Selection {
  rows: Row[]; held: number; kind: Edit["kind"] | null;
  open: () => void; turn: () => void; hold: () => void; edit: (which: Move) => void; beside: () => void; words: () => void;
  nudge: (step: number) => void; down: () => void;
  fan: () => void; propose: () => void; pile: () => void; lift: () => void;
}

function Do(props: { says: string; key_: string; act: () => void; off?: boolean }) {
  return (
    <button type="button" disabled={props.off} onClick={props.act}>
      {props.says} <kbd>{props.key_}</kbd>
    </button>
  );
}

export function Actions(hand: Selection) {
  const one = hand.rows[0];
  if (!one) return null;
  const what = hand.held > 0 ? `${hand.held} selected` : `Print ${one.label}`;
  return (
    <div class="handline" role="toolbar" aria-label={`Actions for ${what}`}>
      <strong>{what}</strong>
      {hand.held > 0 ? <Do says="Deselect" key_="Escape" act={hand.down} /> : <Do says="Open" key_="Enter" act={hand.open} />}
      {hand.held === 0 && <Do says="Turn over" key_="Space" act={hand.turn} off={!one.back} />}
      <Do says={hand.held > 0 ? "Select or deselect" : "Select"} key_="." act={hand.hold} />
      <Do says="Add to next edit" key_="+" act={() => hand.edit("in")} />
      <Do says="Remove from edit" key_="−" act={() => hand.edit("out")} />
      {hand.kind !== null && <Do says="Earlier" key_="Alt ←" act={() => hand.nudge(-1)} />}
      {hand.kind !== null && <Do says="Later" key_="Alt →" act={() => hand.nudge(1)} />}
      {hand.kind === null && one.stack && <Do says={one.stack.under ? "Open stack" : "Close stack"} key_="O" act={hand.fan} />}
      {hand.kind === null && (hand.rows.length > 1 || one.stack?.proposed) && <Do says={hand.rows.length > 1 ? "Stack" : "Confirm stack"} key_="P" act={hand.pile} />}
      {hand.kind === null && one.stack && <Do says="Unstack" key_="L" act={hand.lift} />}
      {/* Where the search bar has no room for it. */}
      {hand.kind === null && !one.stack && <span class="narrow"><Do says="Stack similar prints" key_="P" act={hand.propose} /></span>}
      <Do says="Compare" key_="S" act={hand.beside} />
      <Do says="Describe" key_="W" act={hand.words} />
    </div>
  );
}
