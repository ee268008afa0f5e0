// The back of a print: what is written reads as a caption, and what is not yet written waits as "add …". Each opens as a field when it is
// pressed or has the focus.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Fact, Print } from "../wire.generated";
import { Field } from "./field";
import { fields, one, shown } from "./words";

/** What stands first on the back of a photograph; the other facts follow in their own order. */
const FIRST = ["title", "place", "date", "people", "inscription"];
/** What asks for a fact that has nothing written, where "add" and its label do not. */
const ASKS: Record<string, string> = { alt: "add alt text", batch: "add batch code", privacy: "say who may see it" };

const asks = ({ word, label }: Fact): string => ASKS[word] ?? `add ${label.toLowerCase()}`;
const rank = ({ word }: Fact): number => (FIRST.indexOf(word) + FIRST.length + 1) % (FIRST.length + 1);

/** What is written first, then the rest, each in the order of a caption. */
function laid(facts: readonly Fact[], print: Print): string[] {
  const all = [...fields(facts)].sort((a, b) => rank(a) - rank(b)), said = (f: Fact): boolean => shown(print.facts, f.word) !== "";
  return [...all.filter(said), ...all.filter((f) => !said(f))].map((f) => f.word);
}

export function Back({ print, facts }: { print: Print; facts: readonly Fact[] }) {
  const back = useRef<HTMLDivElement>(null), [order, lay] = useState(() => laid(facts, print));
  // Nothing moves under the hand: what was written takes its place when the hand has left.
  const settle = (): void => {
    if (!back.current?.contains(document.activeElement)) lay(laid(facts, print));
  };
  useEffect(settle, [print, facts]);
  return (
    <div class="back" ref={back} onFocusOut={() => requestAnimationFrame(settle)}>
      {order.map((word) => facts.find((f) => f.word === word)).filter((fact) => fact !== undefined).map((fact) => (
        <Field
          key={`${print.id} ${fact.word}`} fact={fact} value={shown(print.facts, fact.word)} edtf={print.facts["date"]} asks={asks(fact)} labelled={!FIRST.includes(fact.word)}
          keep={(value, beside) => one(print.id, fact.word, value, beside)}
        />
      ))}
    </div>
  );
}
