// Side view, top view and the print close up, all to scale, with the planned values where they apply.
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { degrees, length, stops } from "../measures";
import { type Box, type Label, SIZE, type Spot, along as onLine, set } from "./labels";
import { Picture } from "./picture";
import { type Measured, type Plan, SIDES } from "./plan";

export interface Light { azimuth: number; elevation: number; distance: number }
type Place = (light: Light, settled: boolean) => void;

const rad = (deg: number): number => (deg * Math.PI) / 180;
const clamp = (v: number, least: number, most: number): number => Math.max(least, Math.min(most, v));
/** Where a light may stand: between the plan's own bounds, and no nearer than the print is long. */
const hold = (l: Light): Light => ({ azimuth: ((l.azimuth % 360) + 360) % 360, elevation: clamp(l.elevation, 8, 80), distance: clamp(l.distance, 150, 2400) });

/** World mm in one px of a drawing as it is shown, so that words are as large in every one. */
function useUnit(svg: { current: SVGSVGElement | null }, width: number, height: number): number {
  const [box, see] = useState<[number, number]>([600, 400]);
  useEffect(() => {
    const watch = new ResizeObserver(([entry]) => entry && see([entry.contentRect.width || 600, entry.contentRect.height || 400]));
    watch.observe(svg.current!);
    return () => watch.disconnect();
  }, []);
  return Math.max(width / box[0], height / box[1]);
}

/** World mm at a pointer. */
function at(svg: SVGSVGElement, event: PointerEvent): { x: number; y: number } {
  const matrix = svg.getScreenCTM();
  return matrix ? new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse()) : { x: 0, y: 0 };
}

/** A light that is dragged and moved by keys. */
function Lamp(props: { light: Light; x: number; y: number; turn: number; size: [number, number]; unit: number; says: string; text: string; now: number; to: (p: { x: number; y: number }) => Light; keys: (e: KeyboardEvent) => Light | null; place: Place; svg: { current: SVGSVGElement | null } }) {
  const down = (e: PointerEvent): void => {
    const lamp = e.currentTarget as SVGGElement;
    e.preventDefault();
    lamp.focus();
    lamp.setPointerCapture(e.pointerId);
    const move = (m: PointerEvent): void => props.place(hold(props.to(at(props.svg.current!, m))), false);
    const up = (u: PointerEvent): void => {
      lamp.removeEventListener("pointermove", move);
      props.place(hold(props.to(at(props.svg.current!, u))), true);
    };
    lamp.addEventListener("pointermove", move);
    lamp.addEventListener("pointerup", up, { once: true });
  };
  const [w, h] = props.size, r = props.unit * 22;
  return (
    <g
      class="lamp" tabindex={0} role="slider" aria-label={props.says} aria-valuetext={props.text} aria-valuenow={Math.round(props.now)} aria-valuemin={0} aria-valuemax={2400}
      transform={`translate(${props.x} ${props.y})`} onPointerDown={down}
      onKeyDown={(e) => {
        const next = props.keys(e);
        if (!next) return;
        e.preventDefault();
        props.place(hold(next), true);
      }}
    >
      <circle class="grip" r={r} />
      <g transform={`rotate(${props.turn})`}>
        <rect class="solid" x={-w} y={-h / 2} width={w} height={h} />
        <path class="face" d={`M0 ${-h / 2}V${h / 2}`} />
      </g>
    </g>
  );
}

function Words(props: { x: number; y: number; unit: number; end?: boolean; middle?: boolean; class?: string | undefined; children: ComponentChildren }) {
  return <text x={props.x} y={props.y} font-size={props.unit * SIZE} text-anchor={props.end ? "end" : props.middle ? "middle" : "start"} class={props.class}>{props.children}</text>;
}

/** Half of a rectangle's extent along a direction. */
const along = (w: number, h: number, azimuth: number): number => (Math.abs(Math.cos(rad(azimuth))) * w + Math.abs(Math.sin(rad(azimuth))) * h) / 2;
export const laid = (p: Plan["print"]): [number, number] => (p.sideways ? [p.height_mm, p.width_mm] : [p.width_mm, p.height_mm]);

/** The plane of light and lens, seen from the side, the light on the left. */
export function Side({ plan, light, extent, tall: high, place }: { plan: Plan; light: Light; extent: number; tall: number; place: Place }) {
  const svg = useRef<SVGSVGElement>(null);
  const { camera, gloss, shadow } = plan, az = light.azimuth;
  // A narrow screen's words take more of the world.
  const narrow = innerWidth < 640, right = narrow ? 640 : 330, width = extent + right;
  const under = width * (narrow ? 0.16 : 0.09), unit = useUnit(svg, width, high + under);
  const half = along(...laid(plan.print), az), see = along(camera.field_mm[0]!, camera.field_mm[1]!, az);
  const x = -light.distance * Math.cos(rad(light.elevation)), y = -light.distance * Math.sin(rad(light.elevation));
  const glare = -Math.hypot(gloss.glare_mm[0]!, gloss.glare_mm[1]!), lens = -camera.lens_height_mm;
  const arc = Math.min(light.distance * 0.4, 260), far = half + shadow.end_mm;
  const face: [number, number] = [unit * 14, Math.max(...plan.light.source_mm, 40)];
  const card = along(gloss.card_mm[0]!, gloss.card_mm[1]!, az), top = -camera.height_mm - 50, line = SIZE * unit * 1.3, gap = unit * 8, mirrors = gloss.clear_mm < 0;
  const beside = (to: number, from: number, at: number): Spot[] => [{ x: to + gap, y: at, anchor: "start" }, { x: from - gap, y: at, anchor: "end" }];
  const body = Math.hypot(face[0], face[1] / 2), above = y - body - gap, shade = half + gap;
  const labels: (Label & { kind?: string })[] = [
    { text: `${length(light.distance)}, ${degrees(light.elevation)} up`, bold: true, kind: "set", spots: [{ x, y: above, anchor: "middle" }, { x: x - body - gap, y, anchor: "end" }, { x: x + body + gap, y, anchor: "start" }, { x, y: y + body + unit * 18, anchor: "middle" }, { x: x - body - gap, y: above, anchor: "end" }] },
    { text: `sensor ${length(camera.height_mm)}`, bold: true, kind: "set", spots: [...beside(65, -65, -camera.height_mm), ...beside(65, -65, top), { x: 0, y: top - gap, anchor: "middle" }] },
    { text: `lens ${length(camera.lens_height_mm)}`, spots: [...beside(Math.max(see, card), -gloss.card_to_light_mm, lens + unit * 5), ...beside(see * 0.5, -see * 0.5, lens + line)] },
    { text: `shadow ${length(shadow.width_mm)}`, spots: [1, 2, 3].map((row) => ({ x: shade, y: unit * 6 + row * line, anchor: "start" })) },
    { text: mirrors ? "glare on the print" : `glare ${length(gloss.clear_mm)} off the print`, ...(mirrors ? { kind: "bad", bold: true } : {}), spots: [1, 2, 3].map((row) => ({ x: glare, y: unit * 6 + row * line, anchor: "middle" })) },
  ];
  const things: Box[] = [
    { left: x - body, right: x + body, top: y - body, bottom: y + body },
    { left: -65, right: 65, top, bottom: top + 65 }, { left: -camera.lens_front_mm / 2, right: camera.lens_front_mm / 2, top: -camera.height_mm, bottom: lens },
    { left: -gloss.card_to_light_mm, right: card, top: lens - unit * 2, bottom: lens + unit * 2 }, { left: -extent, right, top: -unit * 2, bottom: unit * 3 },
  ];
  const lines = [...onLine([x, y], [0, 0], unit), ...onLine([x, y], [glare, 0], unit), ...onLine([glare, 0], [0, lens], unit), ...onLine([0, lens], [-see, 0], unit), ...onLine([0, lens], [see, 0], unit)];
  const spots = set(labels, { left: -extent, right, top: -high, bottom: under }, things, lines, unit);
  return (
    <svg ref={svg} class="view side" viewBox={`${-extent} ${-high} ${width} ${high + under}`} role="group" aria-label={`Side view to scale: the sensor ${length(camera.height_mm)} above the bed, the light ${length(light.distance)} from the print at ${degrees(light.elevation)}.`}>
      <path class="bed" d={`M${-extent} 0H${right}`} />
      <path class="sight" d={`M0 ${lens}L${-see} 0M0 ${lens}L${see} 0`} />
      <rect class="solid" x={-camera.lens_front_mm / 2} y={-camera.height_mm} width={camera.lens_front_mm} height={camera.height_mm + lens} />
      <rect class="solid" x={-65} y={-camera.height_mm - 50} width={130} height={65} />
      <path class="card" d={`M${-gloss.card_to_light_mm} ${lens}H${-gloss.hole_mm / 2}M${gloss.hole_mm / 2} ${lens}H${along(gloss.card_mm[0]!, gloss.card_mm[1]!, az)}`} />
      <path class="beam" d={`M${x} ${y}L0 0`} />
      <path class={gloss.clear_mm < 0 ? "mirror bad" : "mirror"} d={`M${x} ${y}L${glare} 0L0 ${lens}`} />
      <path class="arc" d={`M${-arc} 0A${arc} ${arc} 0 0 1 ${-arc * Math.cos(rad(light.elevation))} ${-arc * Math.sin(rad(light.elevation))}`} />
      <path class="fall" d={`M${half} 0H${Math.max(far, half + unit * 3)}`} stroke-width={unit * 5} />
      <path class="print" d={`M${-half} 0H${half}`} stroke-width={unit * 5} />
      <Lamp
        light={light} x={x} y={y} turn={light.elevation} size={face} unit={unit} svg={svg} place={place} says="The light, seen from the side. Left and right move it away and nearer, up and down raise and lower it."
        text={`${length(light.distance)} away, ${degrees(light.elevation)} up`} now={light.distance}
        to={(p) => ({ ...light, distance: Math.hypot(p.x, p.y), elevation: (Math.atan2(-p.y, -p.x) * 180) / Math.PI })}
        keys={(e) => arrow(e, light)}
      />
      {labels.map(({ text, kind }, i) => <text key={i} x={spots[i]!.x} y={spots[i]!.y} font-size={unit * SIZE} text-anchor={spots[i]!.anchor} class={kind}>{text}</text>)}
    </svg>
  );
}

/** Keys on the light: away and nearer by 2 cm, up and down by a degree; with Alt a fifth of it. */
function arrow(e: KeyboardEvent, light: Light): Light | null {
  const k = e.altKey ? 0.2 : 1;
  switch (e.key) {
    case "ArrowLeft": return { ...light, distance: light.distance + 20 * k };
    case "ArrowRight": return { ...light, distance: light.distance - 20 * k };
    case "ArrowUp": return { ...light, elevation: light.elevation + k };
    case "ArrowDown": return { ...light, elevation: light.elevation - k };
    default: return null;
  }
}

/** From above: frame, print, light and the way its shadow falls. */
export function Top({ plan, light, extent, place }: { plan: Plan; light: Light; extent: number; place: Place }) {
  const svg = useRef<SVGSVGElement>(null);
  const r = extent * 0.92, unit = useUnit(svg, 2 * r, 2 * r), [fw, fh] = plan.camera.field_mm as [number, number];
  const aside = light.distance * Math.cos(rad(light.elevation)), x = aside * Math.cos(rad(light.azimuth)), y = aside * Math.sin(rad(light.azimuth));
  const side = SIDES[Math.round(light.azimuth / 45) % 8]!, lamp = unit * 14 + 40;
  const frame: Label = { text: `frame ${Math.round(fw)} × ${Math.round(fh)} mm`, spots: [fh / 2 + unit * 18, -fh / 2 - unit * 8, aside + unit * 24, -aside - unit * 12, r - unit * 6].map((v) => ({ x: 0, y: v, anchor: "middle" })) };
  const around = Array.from({ length: 48 }, (_, i) => ({ x: aside * Math.cos(rad(i * 7.5)), y: aside * Math.sin(rad(i * 7.5)) }));
  const things: Box[] = [{ left: x - lamp, right: x + lamp, top: y - lamp, bottom: y + lamp }, ...around.map((p) => ({ left: p.x - unit * 3, right: p.x + unit * 3, top: p.y - unit * 3, bottom: p.y + unit * 3 }))];
  const [spot] = set([frame], { left: -r, right: r, top: -r, bottom: r }, things, onLine([x, y], [0, 0], unit), unit);
  return (
    <svg ref={svg} class="view" viewBox={`${-r} ${-r} ${2 * r} ${2 * r}`} role="group" aria-label={`Top view to scale: the light at the frame's ${side.replace("-", " ")}.`}>
      <circle class="arc" r={aside} />
      {SIDES.map((name, i) => <circle key={name} class="stop" r={unit * 3} cx={aside * Math.cos(rad(i * 45))} cy={aside * Math.sin(rad(i * 45))} />)}
      <rect class="field" x={-fw / 2} y={-fh / 2} width={fw} height={fh} />
      <Picture print={plan.print} />
      <path class="beam" d={`M${x} ${y}L0 0`} />
      <Lamp
        light={light} x={x} y={y} turn={light.azimuth + 180} size={[unit * 14, Math.max(plan.light.source_mm[0] ?? 70, 40)]} unit={unit} svg={svg} place={place}
        says="The light, seen from above. Left and right move it around the frame." text={`at the frame's ${side.replace("-", " ")}`} now={light.azimuth}
        to={(p) => ({ ...light, azimuth: Math.round((Math.atan2(p.y, p.x) * 180) / Math.PI / 45) * 45 })}
        keys={(e) => (e.key === "ArrowLeft" || e.key === "ArrowRight" ? { ...light, azimuth: light.azimuth + (e.key === "ArrowRight" ? 45 : -45) } : null)}
      />
      <Words x={spot!.x} y={spot!.y} unit={unit} middle>{frame.text}</Words>
    </svg>
  );
}

/** The print close up in its frame: how much darker its far side is, and where its shadow lies. */
export function Close({ plan, light, measured }: { plan: Plan; light: Light; measured: Measured | null }) {
  const [w, h] = laid(plan.print), [fw, fh] = plan.camera.field_mm as [number, number];
  const c = Math.cos(rad(light.azimuth)), s = Math.sin(rad(light.azimuth)), reach = along(w, h, light.azimuth);
  const svg = useRef<SVGSVGElement>(null), below = fh * 0.22, unit = useUnit(svg, fw + 4, fh + 4 + below), { shadow, light: planned } = plan;
  const fall = planned.fall_off_stops, width = shadow.end_mm;
  // A stop is drawn as half of the way to black, so that what the eye sees is what the sensor loses.
  const dark = 1 - 2 ** -fall;
  const over = fall > planned.fall_off_asked_stops;
  return (
    <svg ref={svg} class="view close" viewBox={`${-fw / 2 - 2} ${-fh / 2 - 2} ${fw + 4} ${fh + 4 + below}`} role="img" aria-label={`The print in its frame: ${stops(fall)} darker on the far side, its shadow ${length(shadow.width_mm)} wide.`}>
      <defs>
        <linearGradient id="fall-off" gradientUnits="userSpaceOnUse" x1={c * reach} y1={s * reach} x2={-c * reach} y2={-s * reach}>
          <stop offset="0" stop-color="#000" stop-opacity="0" />
          <stop offset="1" stop-color="#000" stop-opacity={Math.min(0.9, dark)} />
        </linearGradient>
        <marker id="tip" viewBox="0 0 6 6" refX="5" refY="3" markerWidth="7" markerHeight="7" orient="auto"><path d="M0 0L6 3L0 6z" /></marker>
      </defs>
      <rect class="field" x={-fw / 2} y={-fh / 2} width={fw} height={fh} />
      <rect class="fallen" x={-w / 2 - c * width} y={-h / 2 - s * width} width={w} height={h} />
      <Picture print={plan.print} />
      <rect x={-w / 2} y={-h / 2} width={w} height={h} fill="url(#fall-off)" />
      <path class="beam arrow" d={`M${c * (reach + 9)} ${s * (reach + 9)}L${c * (reach + 1.5)} ${s * (reach + 1.5)}`} marker-end="url(#tip)" />
      <Words x={0} y={fh / 2 + unit * 20} unit={unit} middle class={over ? "bad" : "set"}>
        {measured?.fall_off_stops === undefined ? `fall-off ${stops(fall)}, at most ${stops(planned.fall_off_asked_stops)}` : `fall-off ${stops(fall)}, measured ${stops(measured.fall_off_stops)}`}
      </Words>
      <Words x={0} y={fh / 2 + unit * 40} unit={unit} middle>shadow {length(shadow.width_mm)} wide{measured?.shadow_width_mm === undefined ? "" : `, measured ${length(measured.shadow_width_mm)}`}</Words>
    </svg>
  );
}
