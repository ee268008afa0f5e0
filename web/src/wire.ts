// What the desk's server says and is told: the types of its JSON, and the few ways to ask.

/** What is said of a print. */
export type Verdict = "keep" | "look" | "reshoot";
/** What is said of a frame: one without a print is used for the others, or cannot be. */
export type FrameVerdict = Verdict | "used" | "unusable";
export function ofPrint(verdict: FrameVerdict | null): Verdict | null {
  return verdict === "used" || verdict === "unusable" ? null : verdict;
}
export type Point = [number, number];
export type Corners = [Point, Point, Point, Point];
export type Size = [number, number];

export interface Edit { name: string; kind: "wide" | "tight" | "sequence" | "own"; count: number }
export interface Fact { word: string; label: string; kind: "text" | "date" | "list" | "choice"; choices?: string[] }
export interface Desk {
  project: string; reads_only: boolean; why: string | null; prints: number;
  verdicts: Record<Verdict, number>; edits: Edit[];
  boxes: { box: string; sleeves: string[]; count: number }[];
  formats: { name: string; count: number }[];
  undo: string | null; redo: string | null; facts: Fact[]; fields: string[];
}
/** The stack that a print lies in: its number, how many prints it has, the print's place in it from 1, how many lie under it. */
export interface Pile { id: number; of: number; place: number; under: number; proposed: boolean }
export interface Row {
  id: number; label: string; format: string | null; verdict: Verdict | null;
  size_mm: Size | null; canvas_mm: Size | null; print_mm: Size | null;
  frame: number | null; picture: string | null; box: string | null; sleeve: string | null;
  exposed: string | null; place: string | null; title: string | null;
  edits: string[]; frames: number; back: boolean; alt: string;
  /** The back's frame and picture, for turning over. */
  back_frame?: number | null; back_picture?: string | null;
  stack?: Pile | null;
}
export interface Prints {
  total: number;
  /** How many prints that is, where stacks lie closed. */
  prints?: number;
  says: string | null; rows: Row[];
}
export interface Finding {
  code: string; severity: "note" | "look" | "reshoot"; says: string; do: string; value: number; limit: number; unit: string;
}
export interface Frame {
  id: number; name: string; role: string; verdict: FrameVerdict | null; chosen: boolean; why: string | null; taken: string | null;
  /** Which of the prints in its exposure it shows, of how many, and the exposure's file. */
  part?: [number, number]; file?: string;
  findings: Finding[]; outline: Corners | null; size_px: Size; canvas_px: Size | null; print_px: Corners | null;
  px_per_mm: number | null; picture: string | null; format: string | null; confidence: number | null; turn_known: boolean;
  /** How dark the shadow is drawn, 0 none to 2; absent means 1, as shot. */
  shadow?: number; turn?: number;
}
export interface Print extends Omit<Row, "frames"> {
  facts: Record<string, string>; frames: Frame[];
  history: { when: string; says: string }[];
  made: { what: string; when: string; place: string }[];
  likenesses: { id: number; why: string }[];
}
export interface Did { did: string; undo: string | null; redo: string | null }
export interface Last {
  /** Absent until its pictures are made. */
  frame: number | null; print: number | null; label: string | null; name: string; verdict: FrameVerdict; sentence: string;
  do: string | null; picture: string | null; role: string;
  /** Prints in its frame. */
  of?: number;
}
export interface Stand {
  folder: string | null; last: Last | null; count: number; pace_s: number | null;
  left: { prints: number; minutes: number } | null;
  reshoot: { label: string; name: string; sentence: string }[];
  owed: string | null; box: string | null; sleeve: string | null; sound: boolean;
  /** The frame whose verdict somebody said they have seen, at the desk or on another device. */
  seen?: string | null;
}
export type Form = "share" | "gallery" | "book" | "pack";
/** How handing on ended: the hand-off's name, or what stood in the way. */
export interface Ended { name: string | null; says: string; do: string | null }
/** `seen`: it can be looked at here. `again`: it can be made again in its place now. */
export interface Past { name: string | null; seen: boolean; again: boolean; there: boolean; whole: boolean; at: string; form: string; edit: string | null; count: number; place: string }
export interface Hands { making: { name: string; done: number; of: number } | null; ended: Ended | null; past: Past[] }
export interface Share {
  print: string; file: string; size_px: Size; bytes: number; alt: string; alt_is_made: boolean;
  kept: string[]; left_out: [string, string][]; notes: string[];
}
export interface BookSeen {
  spreads: string[]; plan: string;
  /** Where each spread stands on the plan: left, top, width, height as shares of the plan's own. */
  places: [number, number, number, number][]; pages: number; trim_mm: Size; condition: string | null; paper_white: boolean;
  pictures: { name: string; page: number; ppi: number; says: string; bare_with_ink: number }[];
}
export interface HandedOn {
  name: string; place: string; again: boolean; at: string; form: Form; edit: string | null; title?: string; count: number;
  says: string[]; problems: string[]; private: string[]; difference: string[]; alt_missing: string[]; files: string[];
  shares: Share[]; book: BookSeen | null;
  /** How an archive was found when it was read last. */
  checked?: { says: string[]; problems: string[] };
}
export type Event =
  | { kind: "changed" }
  | { kind: "working"; name: string; done: number; of: number }
  | ({ kind: "verdict" } & Partial<Stand>)
  | { kind: "settled" }
  | ({ kind: "handed" } & Ended)
  | { kind: "trouble"; says: string };

/** What went wrong, in words: what is so, and what to do. */
export class Trouble extends Error {
  constructor(readonly says: string, readonly remedy: string, readonly status: number | null = null) {
    super(says);
  }
}

async function answer<T>(response: Response): Promise<T> {
  const body: unknown = await response.json().catch((error: unknown) => {
    if (error instanceof SyntaxError) return null;
    throw error;
  });
  if (response.ok) return body as T;
  const { says, do: remedy } = (body ?? {}) as { says?: string; do?: string };
  throw new Trouble(says ?? `The desk answered ${response.status}.`, remedy ?? "", response.status);
}

function away(error: unknown): never {
  if (error instanceof Trouble || (error instanceof DOMException && error.name === "AbortError")) throw error;
  throw new Trouble("The desk does not answer.", "See whether `fallside desk` still runs.");
}

export function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return fetch(path, signal ? { signal } : {}).then(answer<T>).catch(away);
}

export function post<T = Did>(path: string, body: unknown): Promise<T> {
  const headers = { "Content-Type": "application/json", "X-Fallside": "1" };
  return fetch(path, { method: "POST", headers, body: JSON.stringify(body) }).then(answer<T>).catch(away);
}

/** The widths that the server makes. */
const WIDTHS = [320, 640, 1280, 2560];

/** Where a picture of a frame is, wide enough for `css` pixels on this screen. */
export function picture(frame: number, kind: "mount" | "frame", css: number, hash: string | null): string {
  const wanted = css * Math.min(devicePixelRatio || 1, 2);
  const width = WIDTHS.find((w) => w >= wanted * 0.9) ?? 2560;
  return `/picture/${frame}/${kind}?w=${width}${hash ? `&v=${encodeURIComponent(hash)}` : ""}`;
}

/** Calls `told` with what arrives, and again after the line was lost; `lost` hears of that. */
export function listen(told: (event: Event) => void, lost?: () => void): () => void {
  const source = new EventSource("/events");
  if (lost) source.onerror = lost;
  source.onmessage = (message) => {
    try {
      told(JSON.parse(message.data as string) as Event);
    } catch {
      // A line that is no JSON tells nothing.
    }
  };
  return () => source.close();
}
