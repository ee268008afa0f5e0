// The plan as the server answers it (`fallside.plan/1`: only what the drawings need), and how it is asked for.

export interface Plan {
  possible: boolean;
  concerns: { code: string; breaks_a_wish: boolean; says: string; do: string }[];
  taken: { what: string; value: string }[];
  print: { format: string; width_mm: number; height_mm: number; curl_mm: number; sideways: boolean; top_towards: string };
  camera: { focal_mm: number; px_per_mm: number; ppi: number; field_mm: number[]; height_mm: number; lens_height_mm: number; lens_front_mm: number };
  focus: { f_number: number; level_deg: number; depth_mm: number };
  light: { azimuth_deg: number; elevation_deg: number; distance_mm: number; height_mm: number; aside_mm: number; source_mm: number[]; fall_off_stops: number; fall_off_asked_stops: number };
  exposure: { iso: number; shutter_s: number; power?: number; ambient_below_stops?: number; ambient_asked_stops: number };
  shadow: { azimuth_deg: number; width_mm: number; end_mm: number; softness_mm: number; depth: number };
  gloss: { glare_mm: number[]; clear_mm: number; card_mm: number[]; card_to_light_mm: number; hole_mm: number };
}
/** What the newest frame of the stand measured; what it could not measure is absent. */
export interface Check {
  name: string; taken?: string; px_per_mm?: number; lean_deg?: number; rotation_deg?: number; fall_off_stops?: number;
  azimuth_deg?: number; shadow_width_mm?: number; shadow_depth?: number; ambient_below_stops?: number;
}
export interface Planned { text: string; answer: Plan | null; trouble: string | null; check?: Check | null }

/** The words of `fallside plan`. */
export type Words = Record<string, string>;

export const FIRST: Words = {
  format: "square-integral", aim: "book", sensor: "36x24", pixels: "6000x4000", lens: "70mm-macro",
  "flash-gn": "26", source: "70x50mm", ambient: "60lx", "light-from": "left", elevation: "35deg", "light-distance": "120cm",
};

/** Sides of the frame clockwise from the right, 45 degrees each, as the command line names them. */
export const SIDES = ["right", "lower-right", "bottom", "lower-left", "left", "upper-left", "top", "upper-right"];

/** Sends the newest of many wishes: one on its way at a time, and at least `pause` ms between them. */
export class Newest<T> {
  private waiting: T | null = null;
  private busy = false;
  constructor(private readonly send: (wish: T) => Promise<void>, private readonly pause = 50) {}
  want(wish: T): void {
    this.waiting = wish;
    if (!this.busy) void this.run();
  }
  private async run(): Promise<void> {
    this.busy = true;
    while (this.waiting !== null) {
      const wish = this.waiting;
      this.waiting = null;
      await this.send(wish);
      await new Promise((later) => setTimeout(later, this.pause));
    }
    this.busy = false;
  }
}
