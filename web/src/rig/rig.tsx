// The rig: the plan drawn to scale; move the light and see what changes; measured values beside the planned ones.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { arrived, changes, desk, go, tell, undoer } from "../store";
import { useKeys } from "../keyboard";
import { observable, useObservable } from "../observable";
import { degrees, formatName, length, stops, two } from "../measures";
import { post } from "../wire";
import type { Planned } from "../wire.generated";
import { FIRST, type Measured, Newest, type Plan, SIDES, type Words } from "./plan";
import { Steps } from "./undo";
import { Close, type Light, Side, Top } from "./views";
import "../style/rig.css";

/** What was typed, kept while the page is open. */
const words = observable<Words>(FIRST);
const steps = new Steps(words);
const FIELDS: ["lens" | "sensor" | "pixels" | "flash_gn" | "source" | "ambient" | "light_distance" | "elevation", string][] = [
  ["lens", "Lens"], ["sensor", "Sensor, mm"], ["pixels", "Pixels"], ["flash_gn", "Flash guide number"], ["source", "Size of the light"],
  ["ambient", "Ambient light"], ["light_distance", "Light distance"], ["elevation", "Light elevation"],
];

export function Rig() {
  const said = useObservable(words), known = useObservable(desk), change = useObservable(changes), last = useObservable(arrived);
  const [planned, set] = useState<Planned | null>(null), [light, place] = useState<Light | null>(null), [trouble, complain] = useState<string | null>(null);
  const [extent, reach] = useState<[number, number]>([1500, 900]);
  const dragging = useRef(false), whole = useRef<HTMLDivElement>(null);
  const newest = useMemo(() => new Newest<Words>(async (wish) => {
    try {
      const answer = await post("/api/plan", wish);
      complain(answer.trouble);
      if (answer.answer) set(answer);
    } catch (error) {
      tell(error);
    }
  }), []);
  useEffect(() => newest.want(said), [said, change, last]);
  useEffect(() => whole.current?.focus(), [planned === null]);
  useEffect(() => {
    steps.tell();
    return () => undoer.set(null);
  }, []);
  const plan = planned?.answer ?? null;
  useEffect(() => {
    if (!plan || dragging.current) return;
    const { azimuth_deg, elevation_deg, distance_mm } = plan.light;
    place({ azimuth: azimuth_deg, elevation: elevation_deg, distance: distance_mm });
    // Room for the light and its words, in steps, so that the drawing does not breathe.
    const step = (mm: number): number => Math.ceil(mm / 300) * 300;
    const tall = Math.max(plan.camera.height_mm, plan.light.height_mm);
    reach([Math.max(900, step(plan.light.aside_mm + 260)), Math.max(600, step(tall + 130))]);
  }, [plan]);

  function move(next: Light, settled: boolean): void {
    dragging.current = !settled;
    place(next);
    const side = SIDES[Math.round(next.azimuth / 45) % 8]!;
    steps.set("Moved the light", { light_from: side, elevation: `${next.elevation.toFixed(1)}deg`, light_distance: `${Math.round(next.distance)}mm` }, !settled);
  }
  const say = (word: keyof Words) => (e: { currentTarget: HTMLInputElement | HTMLSelectElement }): void => steps.set(`Changed the ${word.replaceAll("_", " ")}`, { [word]: e.currentTarget.value.trim() });
  useKeys("Rig", {
    light: () => document.querySelector<SVGElement>(".side .lamp")?.focus(),
    round: () => document.querySelectorAll<SVGElement>(".lamp")[1]?.focus(),
    back: () => go("/table"),
  });
  const formats = [...new Set([said.format!, ...(known?.formats.map((f) => f.name) ?? [])])];
  return (
    <div class="rig" ref={whole} tabIndex={-1}>
      <div class="drawings">
        {plan && light ? (
          <>
            <figure class="wide"><Side plan={plan} light={light} extent={extent[0]} tall={extent[1]} place={move} /><figcaption>From the side. Drag the light<span class="by-key">, or <kbd>L</kbd> and arrows</span>.</figcaption></figure>
            <figure><Top plan={plan} light={light} extent={extent[0]} place={move} /><figcaption>From above. Drag it around<span class="by-key">, or <kbd>R</kbd> and arrows</span>.</figcaption></figure>
            <figure><Close plan={plan} light={light} measured={planned?.measured ?? null} /><figcaption>Light on the print.</figcaption></figure>
          </>
        ) : <p class="second">Calculating.</p>}
      </div>
      <aside class="answer" aria-label="The plan">
        {trouble && <p class="trouble">{trouble}</p>}
        {plan && <Concerns plan={plan} />}
        {plan && <Beside plan={plan} measured={planned?.measured ?? null} />}
        <form class="fields" onSubmit={(e) => e.preventDefault()}>
          <h2>Equipment and setup</h2>
          <label>Format <select value={said.format!} onChange={say("format")}>{formats.map((f) => <option key={f} value={f}>{formatName(f)}</option>)}</select></label>
          <label>Purpose <select value={said.aim!} onChange={say("aim")}>{["web", "book", "archive"].map((a) => <option key={a}>{a}</option>)}</select></label>
          {FIELDS.map(([word, label]) => <label key={word}>{label} <input value={said[word] ?? ""} spellcheck={false} autocomplete="off" dir="auto" onChange={say(word)} /></label>)}
          <label>Light from <select value={said.light_from!} onChange={say("light_from")}>{SIDES.map((s) => <option key={s} value={s}>{s.replace("-", " ")}</option>)}</select></label>
        </form>
        {planned && <details><summary>The complete plan as text</summary><pre tabIndex={0}>{planned.text}</pre></details>}
        <p class="second">Secure the camera with a strap and weight the base before anything hangs over prints or hands. Do not look into the flash. Follow the manufacturers' instructions.</p>
      </aside>
    </div>
  );
}

function Concerns({ plan }: { plan: Plan }) {
  if (!plan.concerns.length) return <p class="well">The rig meets every requirement.</p>;
  return (
    <ul class="findings">
      {plan.concerns.map((c) => (
        <li key={c.code} class={c.breaks_a_wish ? "reshoot" : "look"}>
          <p class="says">{c.breaks_a_wish ? "Not met: " : "Note: "}{c.says}</p>
          <p>{c.do}</p>
        </li>
      ))}
    </ul>
  );
}

/** Planned beside measured. */
function Beside({ plan, measured }: { plan: Plan; measured: Measured | null }) {
  const { camera, light, shadow, exposure, focus } = plan;
  const side = (azimuth: number): string => SIDES[Math.round((((azimuth % 360) + 360) % 360) / 45) % 8]!.replace("-", " ");
  const seen = (value: number | undefined, as: (value: number) => string): string | null => (value === undefined ? null : as(value));
  const rows: [string, string, string | null][] = [
    ["Fall-off", stops(light.fall_off_stops), seen(measured?.fall_off_stops, stops)],
    ["Light from", side(light.azimuth_deg), seen(measured?.azimuth_deg, side)],
    ["Shadow width", length(shadow.width_mm), seen(measured?.shadow_width_mm, length)],
    ["Pixels per mm", two(camera.px_per_mm), seen(measured?.px_per_mm, two)],
    ["Camera tilt", `within ${degrees(focus.level_deg)}`, seen(measured?.lean_deg, degrees)],
    ["Ambient below flash", exposure.ambient_below_stops === undefined ? "not set" : stops(exposure.ambient_below_stops), seen(measured?.ambient_below_stops, stops)],
    ["Sensor height", length(camera.height_mm), null],
    ["Aperture", `f/${two(focus.f_number)}`, null],
  ];
  return (
    <table>
      <caption class="second">{measured ? `Measured on ${measured.name}.` : "After you photograph a print at the stand, its measurements appear here."}</caption>
      <thead><tr><th scope="col">What</th><th scope="col">Planned</th>{measured && <th scope="col">Measured</th>}</tr></thead>
      <tbody>{rows.map(([what, asPlanned, asMeasured]) => <tr key={what}><th scope="row">{what}</th><td>{asPlanned}</td>{measured && <td>{asMeasured ?? "–"}</td>}</tr>)}</tbody>
    </table>
  );
}
