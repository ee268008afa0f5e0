// How high the print's edges stand above the paper: drawn outwards from its outline, with the error as a band.
import type { Lift as LiftOf } from "../wire.generated";

const points = (line: [number, number][]): string => line.map((p) => p.join(",")).join(" ");

export function Lift({ lift }: { lift: LiftOf }) {
  const { size, print, mark, edges } = lift.drawing, [x, y, w, h] = print, [mx, my, length] = mark;
  return (
    <section class="lift">
      <h3>Lift</h3>
      <svg viewBox={`0 0 ${size[0]} ${size[1]}`} style={{ aspectRatio: `${size[0]} / ${size[1]}` }} role="img" aria-label={lift.says}>
        <rect x={x} y={y} width={w} height={h} />
        {edges.map((e, i) => (
          <g key={i} class={e.seen ? "seen" : "told"}>
            <polygon points={points(e.band)} />
            <polyline points={points(e.line)} />
            <text x={e.at[0]} y={e.at[1]} text-anchor={e.anchor}>{e.label}</text>
          </g>
        ))}
        <path d={`M${mx} ${my}h${length}`} />
        <text x={mx + length + 4} y={my + 3}>1 mm</text>
      </svg>
      <p class="second">Height of each edge above the paper, outwards. Dashed: from the sheet's form alone.</p>
    </section>
  );
}
