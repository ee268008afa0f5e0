// The light that casts shadows: as shot, mirrored, one with a name, or one in degrees; for a print on its sheet, and for an export.
import { useEffect, useState } from "preact/hooks";
import type { LightSeen, NamedLight } from "../wire.generated";

/** A light that is entered in degrees. */
export interface Degrees { from: string; height: string; width: string }
/** What is chosen: a light's word, or `other` with its degrees. */
export interface Chosen { word: string; degrees: Degrees }

export const AS_SHOT = "as-shot";
const MIRRORED = "mirrored", OTHER = "other";
/** A window or lamp at the upper left, as reproductions are lit. */
const USUAL: Degrees = { from: "225", height: "45", width: "12" };

export const asShot: Chosen = { word: AS_SHOT, degrees: USUAL };

/** The words that the desk reads. */
export function wordsOf({ word, degrees }: Chosen): string {
  return word === OTHER ? [degrees.from, degrees.height, degrees.width].map((v) => v.trim()).join(",") : word;
}

/** What a frame's light is among those that have a name. */
export function chosenOf(light: LightSeen, lights: NamedLight[]): Chosen {
  if (light.how === "as-shot") return asShot;
  if (light.how === "mirrored") return { word: MIRRORED, degrees: USUAL };
  const same = (l: NamedLight): boolean => l.name === light.name && l.azimuth_deg === light.azimuth_deg && l.elevation_deg === light.elevation_deg && l.size_deg === light.size_deg;
  const degrees = { from: String(light.azimuth_deg ?? ""), height: String(light.elevation_deg ?? ""), width: String(light.size_deg ?? "") };
  // A name that another light has now is no longer this one's.
  return { word: lights.find(same)?.name ?? OTHER, degrees };
}

/** "upper-left" as it is said. */
const spoken = (name: string): string => name.replaceAll("-", " ");

/** `none` is what no light of one's choice is called here. */
export function Select({ none, now, lights, choose }: { none: string; now: Chosen; lights: NamedLight[]; choose: (light: Chosen) => void }) {
  const own = lights.filter((l) => l.own), usual = lights.filter((l) => !l.own);
  const pick = (word: string): void => {
    const known = lights.find((l) => l.name === word);
    choose({ word, degrees: known ? { from: String(known.azimuth_deg), height: String(known.elevation_deg), width: String(known.size_deg) } : now.degrees });
  };
  return (
    <label>
      Light
      <select id="light" value={now.word} onChange={(e) => pick(e.currentTarget.value)}>
        <option value={AS_SHOT}>{none}</option>
        <option value={MIRRORED}>mirrored</option>
        {own.length > 0 && <optgroup label="This project">{own.map((l) => <option key={l.name} value={l.name}>{l.name}</option>)}</optgroup>}
        <optgroup label="45° high, 12° wide">{usual.map((l) => <option key={l.name} value={l.name}>{spoken(l.name)}</option>)}</optgroup>
        <option value={OTHER}>in degrees</option>
      </select>
    </label>
  );
}

export function InDegrees({ now, choose }: { now: Chosen; choose: (light: Chosen) => void }) {
  if (now.word !== OTHER) return null;
  const field = (key: keyof Degrees, label: string, min: number, max: number) => (
    <label>
      {label}
      <input type="number" required min={min} max={max} step="any" value={now.degrees[key]} onInput={(e) => choose({ ...now, degrees: { ...now.degrees, [key]: e.currentTarget.value } })} />
    </label>
  );
  return (
    <>
      {field("from", "Comes from, °", -360, 360)}
      {field("height", "Height, °", 20, 85)}
      {field("width", "Width, °", 0.5, 60)}
    </>
  );
}

/** The light of one frame: a light with a name is used at once, one in degrees when it is complete; it can get a name for the project. */
export function FrameLight({ light, lights, use, name, drop }: {
  light: LightSeen; lights: NamedLight[];
  use: (words: string) => void; name: (name: string, words: string) => Promise<boolean>; drop: (name: string) => void;
}) {
  const kept = chosenOf(light, lights), [now, set] = useState(kept), [called, call] = useState("");
  useEffect(() => set(kept), [JSON.stringify(light), lights.length]);
  const choose = (next: Chosen): void => {
    set(next);
    if (next.word !== OTHER) use(wordsOf(next));
  };
  const own = lights.find((l) => l.own && l.name === now.word);
  async function apply(): Promise<void> {
    const title = called.trim();
    if (!title) return use(wordsOf(now));
    if (!(await name(title, wordsOf(now)))) return;
    call("");
    use(title);
  }
  return (
    <form
      class="light"
      onSubmit={(e) => {
        e.preventDefault();
        void apply();
      }}
    >
      <Select none="as shot" now={now} lights={lights} choose={choose} />
      <InDegrees now={now} choose={set} />
      {now.word === OTHER && <label>Name <input value={called} maxLength={40} placeholder="optional" autocomplete="off" spellcheck={false} onInput={(e) => call(e.currentTarget.value)} /></label>}
      {now.word === OTHER && <button type="submit">Cast the shadow</button>}
      {now.word === OTHER && <span class="second">From 0 right, 90 below, 180 left, 270 above.</span>}
      {own && <button type="button" onClick={() => drop(own.name)}>Delete the name “{own.name}”</button>}
    </form>
  );
}
