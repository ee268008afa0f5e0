// The verdict marks: drawings of a print, never a coloured dot, and always beside the word.
import { ofPrint } from "./wire";
import type { Verdict } from "./wire.generated";
import { capital } from "./measures";

/** *keep*: a print lying flat; *look*: the same with an eye-sized gap in its border; *reshoot*: the print lifted and turned. */
export function Mark({ verdict: said }: { verdict: Verdict | null }) {
  // The marks draw prints; a frame without one has the empty one.
  const verdict = ofPrint(said);
  return (
    <svg class="mark" viewBox="0 0 48 48" aria-hidden="true" focusable="false">
      {verdict === "reshoot" ? (
        <>
          <path class="shade far" d="M17 16h26v28H17z" />
          <g transform="rotate(-15 21 21)">
            <path class="leaf" d="M8 4h26v33H8z" />
            <path class="pane" d="M11 7h20v20H11z" />
          </g>
        </>
      ) : verdict === null ? (
        <path class="leaf dash" d="M10 6h26v33H10z" />
      ) : (
        <>
          <path class="shade" d="M13 9h26v33H13z" />
          <path class="leaf" d={verdict === "keep" ? "M10 6h26v33H10z" : "M36 14.5V6H10v33h26v-8.5"} />
          <path class="pane" d="M13 9h20v20H13z" />
          {verdict === "look" && <path class="lid" d="M28 22.5q8-9 16 0q-8 9-16 0z" />}
          {verdict === "look" && <circle class="iris" cx="36" cy="22.5" r="2.6" />}
        </>
      )}
    </svg>
  );
}

export function VerdictWord({ verdict }: { verdict: Verdict | null }) {
  return (
    <span class={`verdict ${verdict ?? "none"}`}>
      <Mark verdict={verdict} />
      <b>{verdict ? capital(verdict) : "Not judged"}</b>
    </span>
  );
}
