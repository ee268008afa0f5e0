// A print as one knows it: white, a picture in its window, and the wide border where it has one.
import type { Plan } from "./plan";
import { SIDES } from "./plan";

/** The window as shares of the print, from its left, top, right and bottom: drawn, not measured. */
function borders(format: string): [number, number, number, number] {
  if (format === "plain") return [0, 0, 0, 0];
  // A print that was peeled has nearly the same border all round; the others carry their chemistry in a wide foot.
  return format.startsWith("peel") ? [0.06, 0.06, 0.06, 0.06] : [0.06, 0.06, 0.06, 0.2];
}

/** Lies with its middle at 0, 0 and its top where the plan lays it. */
export function Picture({ print }: { print: Plan["print"] }) {
  const { width_mm: w, height_mm: h } = print, [left, top, right, bottom] = borders(print.format);
  const x = -w / 2 + left * w, y = -h / 2 + top * h, wide = w * (1 - left - right), tall = h * (1 - top - bottom);
  const towards = Math.max(0, SIDES.indexOf(print.top_towards)) * 45, at = (u: number, v: number): string => `${x + u * wide} ${y + v * tall}`;
  return (
    <g transform={`rotate(${towards - 270})`}>
      <rect class="leaf" x={-w / 2} y={-h / 2} width={w} height={h} />
      <rect class="sky" x={x} y={y} width={wide} height={tall} />
      <circle class="sun" cx={x + 0.68 * wide} cy={y + 0.27 * tall} r={0.08 * Math.min(wide, tall)} />
      <path class="far-hill" d={`M${at(0, 0.62)}C${at(0.3, 0.42)} ${at(0.55, 0.5)} ${at(1, 0.6)}L${at(1, 1)}L${at(0, 1)}Z`} />
      <path class="near-hill" d={`M${at(0, 0.8)}C${at(0.3, 0.86)} ${at(0.6, 0.62)} ${at(1, 0.7)}L${at(1, 1)}L${at(0, 1)}Z`} />
    </g>
  );
}
