// What was measured on a frame and wants minding: what is so, what to do, the value beside its limit.
import type { Frame } from "../wire";
import { inUnit } from "../measures";

export function Findings({ frame }: { frame: Frame }) {
  if (!frame.findings.length) return <p class="second">Nothing to mend.</p>;
  return (
    <ul class="findings">
      {frame.findings.map((f) => (
        <li key={f.code} class={f.severity}>
          <p class="says">{f.says}</p>
          <p>{f.do}</p>
          <p class="second">{f.severity === "note" ? "Note" : f.severity === "look" ? "Look" : "Reshoot"}: {inUnit(f.value, f.unit)}, limit {inUnit(f.limit, f.unit)}</p>
        </li>
      ))}
    </ul>
  );
}
