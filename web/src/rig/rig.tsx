// The rig: what was planned, drawn to scale; move the light and see what changes; what a frame measured stands beside it.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { arrived, changes, desk, go, tell } from "../desk";
import { useKeys } from "../hand";
import { held, useHeld } from "../hold";
import { degrees, formatName, length, stops, two } from "../measures";
import { post } from "../wire";
import { type Check, FIRST, Newest, type Plan, type Planned, SIDES, type Words } from "./plan";
import { Close, type Light, Side, Top } from "./views";

/** The words as they were left, while the page is open. */
const words = held<Words>(FIRST);
const FIELDS: [string, string][] = [
  ["lens", "Lens"], ["sensor", "Sensor, mm"], ["pixels", "Pixels"], ["flash-gn", "Flash, guide number"], ["source", "Its face"],
  ["ambient", "Room's light"], ["light-distance", "Light, distance"], ["elevation", "Light, height as an angle"],
];

export function Rig() {
  const said = useHeld(words), known = useHeld(desk), change = useHeld(changes), last = useHeld(arrived);
  const [planned, set] = useState<Planned | null>(null), [light, place] = useState<Light | null>(null), [trouble, complain] = useState<string | null>(null);
  const [extent, reach] = useState<[number, number]>([1500, 900]);
  const dragging = useRef(false), whole = useRef<HTMLDivElement>(null);
  const newest = useMemo(() => new Newest<Words>(async (wish) => {
    try {
      const answer = await post<Planned>("/api/plan", wish);
      complain(answer.trouble);
      if (answer.answer) set(answer);
    } catch (error) {
      tell(error);
    }
  }), []);
  useEffect(() => newest.want(said), [said, change, last]);
  useEffect(() => whole.current?.focus(), [planned === null]);
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
    words.set({ ...words.get(), "light-from": side, elevation: `${next.elevation.toFixed(1)}deg`, "light-distance": `${Math.round(next.distance)}mm` });
  }
  const say = (word: string) => (e: { currentTarget: HTMLInputElement | HTMLSelectElement }): void => words.set({ ...words.get(), [word]: e.currentTarget.value.trim() });
  useKeys("Rig", {
    light: () => document.querySelector<SVGElement>(".side .lamp")?.focus(),
    round: () => document.querySelectorAll<SVGElement>(".lamp")[1]?.focus(),
    back: () => go("/table"),
  });
  const formats = [...new Set([said["format"]!, ...(known?.formats.map((f) => f.name) ?? [])])];
  return (
    <div class="rig" ref={whole} tabIndex={-1}>
      <div class="drawings">
        {plan && light ? (
          <>
            <figure class="wide"><Side plan={plan} light={light} extent={extent[0]} tall={extent[1]} place={move} /><figcaption>From the side. Drag the light<span class="by-key">, or <kbd>L</kbd> and arrows</span>.</figcaption></figure>
            <figure><Top plan={plan} light={light} extent={extent[0]} place={move} /><figcaption>From above. Drag it round<span class="by-key">, or <kbd>R</kbd> and arrows</span>.</figcaption></figure>
            <figure><Close plan={plan} light={light} check={planned?.check ?? null} /><figcaption>On the print.</figcaption></figure>
          </>
        ) : <p class="second">Planning.</p>}
      </div>
      <aside class="answer" aria-label="The plan">
        {trouble && <p class="trouble">{trouble}</p>}
        {plan && <Concerns plan={plan} />}
        {plan && <Beside plan={plan} check={planned?.check ?? null} />}
        <form class="fields" onSubmit={(e) => e.preventDefault()}>
          <h2>What is known</h2>
          <label>Format <select value={said["format"]} onChange={say("format")}>{formats.map((f) => <option key={f} value={f}>{formatName(f)}</option>)}</select></label>
          <label>For <select value={said["aim"]} onChange={say("aim")}>{["web", "book", "archive"].map((a) => <option key={a}>{a}</option>)}</select></label>
          {FIELDS.map(([word, label]) => <label key={word}>{label} <input value={said[word] ?? ""} spellcheck={false} autocomplete="off" onChange={say(word)} /></label>)}
          <label>Light from <select value={said["light-from"]} onChange={say("light-from")}>{SIDES.map((s) => <option key={s} value={s}>{s.replace("-", " ")}</option>)}</select></label>
        </form>
        {planned && <details><summary>The whole plan in words</summary><pre tabIndex={0}>{planned.text}</pre></details>}
        <p class="second">Strap the camera and weigh the base before anything hangs over prints or hands. Do not look into the flash. The makers' leaflets decide.</p>
      </aside>
    </div>
  );
}

function Concerns({ plan }: { plan: Plan }) {
  if (!plan.concerns.length) return <p class="well">The rig keeps every wish.</p>;
  return (
    <ul class="findings">
      {plan.concerns.map((c) => (
        <li key={c.code} class={c.breaks_a_wish ? "reshoot" : "look"}>
          <p class="says">{c.breaks_a_wish ? "Falls short: " : "Mind: "}{c.says}</p>
          <p>{c.do}</p>
        </li>
      ))}
    </ul>
  );
}

/** Planned beside measured. */
function Beside({ plan, check }: { plan: Plan; check: Check | null }) {
  const { camera, light, shadow, exposure, focus } = plan;
  const side = (azimuth: number): string => SIDES[Math.round((((azimuth % 360) + 360) % 360) / 45) % 8]!.replace("-", " ");
  const rows: [string, string, string | null][] = [
    ["Fall-off", stops(light.fall_off_stops), check?.fall_off_stops === undefined ? null : stops(check.fall_off_stops)],
    ["Light from", side(light.azimuth_deg), check?.azimuth_deg === undefined ? null : side(check.azimuth_deg)],
    ["Shadow", length(shadow.width_mm), check?.shadow_width_mm === undefined ? null : length(check.shadow_width_mm)],
    ["Pixels per mm", two(camera.px_per_mm), check?.px_per_mm === undefined ? null : two(check.px_per_mm)],
    ["Camera's lean", `within ${degrees(focus.level_deg)}`, check?.lean_deg === undefined ? null : degrees(check.lean_deg)],
    ["Room under the flash", exposure.ambient_below_stops === undefined ? "not said" : stops(exposure.ambient_below_stops), check?.ambient_below_stops === undefined ? null : stops(check.ambient_below_stops)],
    ["Sensor over the bed", length(camera.height_mm), null],
    ["Aperture", `f/${two(focus.f_number)}`, null],
  ];
  return (
    <table>
      <caption class="second">{check ? `Measured on ${check.name}.` : "Take a frame at the stand, and what it measures is written here."}</caption>
      <thead><tr><th scope="col">What</th><th scope="col">Planned</th>{check && <th scope="col">Measured</th>}</tr></thead>
      <tbody>{rows.map(([what, plan_, seen]) => <tr key={what}><th scope="row">{what}</th><td>{plan_}</td>{check && <td>{seen ?? ""}</td>}</tr>)}</tbody>
    </table>
  );
}
