// The rig: the plan drawn to scale; move the light and see what changes; measured values beside the planned ones.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { arrived, changes, desk, go, tell, undoer } from "../store";
import { useKeys } from "../keyboard";
import { observable, useObservable } from "../observable";
import { count, degrees, formatName, length, stops, two } from "../measures";
import { get, post } from "../wire";
import type { CheckedRig, Planned } from "../wire.generated";
import { FIRST, type Measured, Newest, type Plan, SIDES, type Words } from "./plan";
import { Steps } from "./undo";
import { Close, type Light, Side, Top } from "./views";
import "../style/rig.css";

/** What was typed, kept in the project. */
const words = observable<Words>(FIRST);
const steps = new Steps(words);
let fetched = false;
type Word = "print" | "lens" | "closest_focus" | "sensor" | "pixels" | "flash_gn" | "source" | "ambient" | "light_distance" | "light_reach" | "elevation";
/** Fields with their label and an example of what they take. */
const FIELDS: [Word, string, string][] = [
  ["print", "Print size", "100 × 150 mm"],
  ["lens", "Lens, mm", "50, or 70 macro"], ["closest_focus", "Closest focus", "as marked on it: 25 cm"], ["sensor", "Sensor, mm", "23.5 × 15.6"], ["pixels", "Pixels", "24 MP"],
  ["flash_gn", "Flash guide number", "26"], ["source", "Size of the light, mm", "70 × 50"], ["ambient", "Ambient light, lx", "60, or 5 EV"],
  ["light_distance", "Light distance", "120 cm"], ["light_reach", "Room for the light", "no limit"], ["elevation", "Light elevation", "35°"],
];

/** The fields that say something. */
const typed = (said: Words): Record<string, string> => Object.fromEntries(Object.entries(said).filter((pair): pair is [string, string] => typeof pair[1] === "string" && pair[1] !== ""));

export function Rig() {
  const said = useObservable(words), known = useObservable(desk), change = useObservable(changes), last = useObservable(arrived);
  const [planned, set] = useState<Planned | null>(null), [light, place] = useState<Light | null>(null), [trouble, complain] = useState<string | null>(null);
  const [extent, reach] = useState<[number, number]>([1500, 900]);
  const dragging = useRef(false), whole = useRef<HTMLDivElement>(null);
  const newest = useMemo(() => new Newest<Words>(async (wish) => {
    try {
      const answer = await post("/api/plan", wish);
      complain(answer.trouble);
      // The drawing stays where the rig as a whole cannot be; a field that is not understood is told beside it.
      set((before) => (answer.answer || !before ? answer : { ...answer, answer: before.answer, heading: before.heading, parts: before.parts }));
    } catch (error) {
      tell(error);
    }
  }), []);
  const [ready, read] = useState(fetched);
  useEffect(() => {
    if (fetched) return;
    get("/api/plan/words").then(({ words: kept }) => {
      if (kept) words.set({ ...FIRST, ...kept });
    }).catch(tell).finally(() => read((fetched = true)));
  }, []);
  useEffect(() => {
    if (ready) newest.want(said);
  }, [said, change, last, ready]);
  useEffect(() => {
    if (!ready || said === FIRST || known?.reads_only) return;
    // When the hand rests: a light that is dragged has many places.
    const wait = setTimeout(() => void post("/api/plan/words", { words: typed(said) }).catch(tell), 500);
    return () => clearTimeout(wait);
  }, [said, ready]);
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
    const step = (mm: number): number => Math.ceil(mm / 150) * 150;
    const tall = Math.max(plan.camera.height_mm, plan.light.height_mm);
    reach([Math.max(600, step(plan.light.aside_mm + 260)), Math.max(450, step(1.06 * tall + 110))]);
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
        {plan && <Beside plan={plan} measured={planned?.measured ?? null} checked={planned?.checked ?? null} />}
        <form class="fields" onSubmit={(e) => e.preventDefault()}>
          <h2>Equipment and setup</h2>
          <label>Format <select value={said.format!} onChange={say("format")}>{formats.map((f) => <option key={f} value={f}>{formatName(f)}</option>)}</select></label>
          <label>Purpose <select value={said.aim!} onChange={say("aim")}>{["web", "book", "archive"].map((a) => <option key={a}>{a}</option>)}</select></label>
          {FIELDS.filter(([word]) => word !== "print" || said.format === "plain").map(([word, label, example]) => (
            <Entry key={word} word={word} label={label} example={example} said={said[word] ?? ""} wrong={planned?.fields.find((f) => f.field === word)?.says} say={say(word)} />
          ))}
          <label>Light from <select value={said.light_from!} onChange={say("light_from")}>{SIDES.map((s) => <option key={s} value={s}>{s.replace("-", " ")}</option>)}</select></label>
        </form>
        {plan && <p><a href={`/card?${new URLSearchParams(typed(said)).toString()}`} target="_blank" rel="noopener">Rig card to print</a> <span class="second">one page to pin above the desk</span></p>}
        {planned && planned.parts.length > 0 && <Whole planned={planned} />}
        <p class="second">Secure the camera with a strap and weight the base before anything hangs over prints or hands. Do not look into the flash. Follow the manufacturers' instructions.</p>
      </aside>
    </div>
  );
}

/** A field of the rig. What is being typed stays, whatever is answered meanwhile. */
function Entry({ word, label, example, said, wrong, say }: { word: Word; label: string; example: string; said: string; wrong: string | undefined; say: (e: { currentTarget: HTMLInputElement }) => void }) {
  const [text, write] = useState(said);
  useEffect(() => write(said), [said]);
  return (
    <label>{label}
      <input
        name={word} value={text} placeholder={example} spellcheck={false} autocomplete="off" dir="auto" onInput={(e) => write(e.currentTarget.value)} onChange={say}
        aria-invalid={wrong ? true : undefined} aria-describedby={wrong ? `wrong-${word}` : undefined}
      />
      {wrong && <span id={`wrong-${word}`} class="wrong trouble">{wrong} The plan takes what is usual.</span>}
    </label>
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

/** The complete plan: what it says, thing by thing. */
function Whole({ planned }: { planned: Planned }) {
  return (
    <details class="whole">
      <summary>The complete plan in words</summary>
      <h3>{planned.heading.replace(/^[^,]+/, formatName)}</h3>
      <dl>
        {planned.parts.map(({ label, says }) => (
          <div key={label}><dt>{label}</dt><dd>{says.map((line) => <p key={line}>{line}</p>)}</dd></div>
        ))}
      </dl>
    </details>
  );
}

/** Planned beside measured: by the newest print, and by the check. */
function Beside({ plan, measured, checked }: { plan: Plan; measured: Measured | null; checked: CheckedRig | null }) {
  const { camera, light, shadow, exposure, focus } = plan;
  const side = (azimuth: number): string => SIDES[Math.round((((azimuth % 360) + 360) % 360) / 45) % 8]!.replace("-", " ");
  const seen = (value: number | undefined, as: (value: number) => string): string => (value === undefined ? "–" : as(value));
  const row = <K extends string>(what: string, planned: string, as: (value: number) => string, key: K): [string, string, string, string] =>
    [what, planned, seen((measured as Partial<Record<K, number>> | null)?.[key], as), seen((checked as Partial<Record<K, number>> | null)?.[key], as)];
  const rows = [
    row("Fall-off", stops(light.fall_off_stops), stops, "fall_off_stops"),
    row("Light from", side(light.azimuth_deg), side, "azimuth_deg"),
    row("Light distance", length(light.distance_mm), length, "distance_mm"),
    row("Light elevation", degrees(light.elevation_deg), degrees, "elevation_deg"),
    row("Shadow width", length(shadow.width_mm), length, "shadow_width_mm"),
    row("Pixels per mm", two(camera.px_per_mm), two, "px_per_mm"),
    row("Camera tilt", `within ${degrees(focus.level_deg)}`, degrees, "lean_deg"),
    row("Ambient below flash", exposure.ambient_below_stops === undefined ? "not set" : stops(exposure.ambient_below_stops), stops, "ambient_below_stops"),
    row("Sensor height", length(camera.height_mm), length, "height_mm"),
    row("Aperture", `f/${two(focus.f_number)}`, two, "f_number"),
  ];
  const by = [measured && `Measured on ${measured.name}`, checked && `checked on ${count(checked.frames, "frame", "frames")}`].filter(Boolean).join(", ");
  return (
    <table>
      <caption class="second">{by ? `${by[0]!.toUpperCase()}${by.slice(1)}.` : "After you photograph a print at the stand, or run a check of this project, the measurements appear here."}</caption>
      <thead><tr><th scope="col">What</th><th scope="col">Planned</th>{measured && <th scope="col">Measured</th>}{checked && <th scope="col">Checked</th>}</tr></thead>
      <tbody>{rows.map(([what, asPlanned, asMeasured, asChecked]) => <tr key={what}><th scope="row">{what}</th><td>{asPlanned}</td>{measured && <td>{asMeasured}</td>}{checked && <td>{asChecked}</td>}</tr>)}</tbody>
    </table>
  );
}
