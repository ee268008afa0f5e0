// What the hand can do with the print under the finger, or with those in hand: a place to click for every key.
import type { Edit, Row } from "../wire";
import type { Move } from "./edits";

export interface Hand {
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

export function HandLine(hand: Hand) {
  const one = hand.rows[0];
  if (!one) return null;
  const what = hand.held > 0 ? `${hand.held} in hand` : `Print ${one.label}`;
  return (
    <div class="handline" role="toolbar" aria-label={`What to do with ${what}`}>
      <strong>{what}</strong>
      {hand.held > 0 ? <Do says="Lay down" key_="Escape" act={hand.down} /> : <Do says="Open" key_="Enter" act={hand.open} />}
      {hand.held === 0 && <Do says="Turn over" key_="Space" act={hand.turn} off={!one.back} />}
      <Do says={hand.held > 0 ? "One more or less" : "Take in hand"} key_="." act={hand.hold} />
      <Do says="Into the next edit" key_="+" act={() => hand.edit("in")} />
      <Do says="Back out" key_="−" act={() => hand.edit("out")} />
      {hand.kind !== null && <Do says="Earlier" key_="Alt ←" act={() => hand.nudge(-1)} />}
      {hand.kind !== null && <Do says="Later" key_="Alt →" act={() => hand.nudge(1)} />}
      {hand.kind === null && one.stack && <Do says={one.stack.under ? "Open the stack" : "Close the stack"} key_="O" act={hand.fan} />}
      {hand.kind === null && (hand.rows.length > 1 || one.stack?.proposed) && <Do says={hand.rows.length > 1 ? "Put on one another" : "Keep the stack"} key_="P" act={hand.pile} />}
      {hand.kind === null && one.stack && <Do says="Lift out" key_="L" act={hand.lift} />}
      {/* Where the line above has no room for it. */}
      {hand.kind === null && !one.stack && <span class="narrow"><Do says="Stack near-twins" key_="P" act={hand.propose} /></span>}
      <Do says="Side by side" key_="S" act={hand.beside} />
      <Do says="Words" key_="W" act={hand.words} />
    </div>
  );
}
