// Measures as a person says them: two figures unless the third decides something, and always a unit.
import type { Finding } from "./wire.generated";

/** Two significant figures. */
export function two(value: number): string {
  if (value === 0 || !Number.isFinite(value)) return "0";
  const whole = Math.abs(value) >= 100;
  return whole ? thousands(Math.round(value)) : String(Number(value.toPrecision(2)));
}

export function thousands(value: number): string {
  return Math.round(value).toString().replace(/\B(?=(\d{3})+$)/g, ",");
}

export function count(n: number, one: string, many: string): string {
  return `${thousands(n)} ${n === 1 ? one : many}`;
}

/** Under a metre in mm or cm as hands measure it. */
export function length(mm: number): string {
  const size = Math.abs(mm);
  if (size < 100) return `${two(mm)} mm`;
  return size < 1000 ? `${Number((mm / 10).toFixed(size < 200 ? 1 : 0))} cm` : `${Number((mm / 1000).toFixed(2))} m`;
}

export function degrees(value: number): string {
  return `${two(value)}°`;
}

export function percent(share: number): string {
  return `${two(share * 100)} %`;
}

const THIRDS = ["", "⅓", "⅔"];

/** Stops in thirds where they are set; in hundredths where they are measured and small. */
export function stops(value: number): string {
  if (Math.abs(value) < 1) return `${value.toFixed(2)} stop`;
  const thirds = Math.round(Math.abs(value) * 3);
  const said = `${Math.floor(thirds / 3) || ""}${THIRDS[thirds % 3]}`;
  return `${value < 0 ? "−" : ""}${said} ${thirds === 3 ? "stop" : "stops"}`;
}

export function minutes(value: number): string {
  if (value < 1) return "under a minute";
  if (value < 90) return `about ${Math.round(value)} ${Math.round(value) === 1 ? "minute" : "minutes"}`;
  return `about ${(value / 60).toFixed(1)} hours`;
}

/** A finding's value or limit in its unit. */
export function inUnit(value: number, unit: Finding["unit"]): string {
  switch (unit) {
    case "mm": return length(value);
    case "deg": return degrees(value);
    case "stops": return stops(value);
    case "share": return percent(value);
    case "dE": return `${two(value)} ΔE`;
    case "prints": return count(value, "print", "prints");
    default: return `${two(value)} ${unit}`.trim();
  }
}

/** A format's generic name as words. */
export function formatName(name: string | null): string {
  return name ? name.replaceAll("-", " ") : "format not known";
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
