// Problems found in a frame: what is wrong, what to do, the value and its limit.
import type { Frame } from "../wire.generated";
import { inUnit } from "../measures";

export function Findings({ frame }: { frame: Frame }) {
  if (!frame.findings.length) return <p class="second">No problems found.</p>;
  return (
    <ul class="findings">
      {frame.findings.map((f) => (
        <li key={f.code} class={f.severity}>
          <p class="says">{f.says}</p>
          <p>{f.do}</p>
          <p class="second">{f.severity === "note" ? "Note" : f.severity === "look" ? "Look" : "Reshoot"}{f.value !== null && `: ${inUnit(f.value, f.unit)}`}{f.limit !== null && `, limit ${inUnit(f.limit, f.unit)}`}</p>
        </li>
      ))}
    </ul>
  );
}
