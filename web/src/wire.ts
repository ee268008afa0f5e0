// How the page asks the desk. What is asked and answered: `wire.generated.ts`.
import type { DeviceEvent, DeviceGets, DevicePosts, Event, Frame, Gets, Posts, PrintVerdict, Refusal, Verdict } from "./wire.generated";

export type Point = [number, number];
export type Corners = NonNullable<Frame["outline"]>;
export type Size = [number, number];

/** The verdict on a print, where a frame's verdict is one. */
export function ofPrint(verdict: Verdict | null): PrintVerdict | null {
  return verdict === "used" || verdict === "unusable" ? null : verdict;
}

/** Why a request failed, and what to do about it. */
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
  const refusal = body as Refusal | null;
  throw new Trouble(refusal?.says ?? `The desk answered ${response.status}.`, refusal?.do ?? "", response.status);
}

function away(error: unknown): never {
  if (error instanceof Trouble || (error instanceof DOMException && error.name === "AbortError")) throw error;
  throw new Trouble("The desk does not answer.", "Check whether `fallside desk` is still running.");
}

/** What the paired device asks too: it is served from an address of its own. */
interface AllGets extends Gets, DeviceGets {}
type AllPosts = { [path in keyof Posts]: Posts[path] } & { [path in Exclude<keyof DevicePosts, keyof Posts>]: DevicePosts[path] };

export type GetPath = keyof AllGets & string;
export type PostPath = keyof AllPosts & string;
export type Asks<P extends PostPath> = AllPosts[P]["asks"];
export type Answers<P extends PostPath> = AllPosts[P]["answers"];
export type Got<P extends GetPath> = AllGets[P];

/** The room of a path, as the desk's journal knows it: what is done in it is undone in it. */
export function roomOf(path: string): string {
  const [, room = "", one] = path.split("/");
  return room === "print" && one ? `print/${one}` : room || "table";
}

export function get<P extends GetPath>(path: P, signal?: AbortSignal): Promise<Got<P>> {
  const headers = { "X-Fallside-Room": roomOf(location.pathname) };
  return fetch(path, signal ? { signal, headers } : { headers }).then(answer<Got<P>>).catch(away);
}

export function post<P extends PostPath>(path: P, body: Asks<P>, room = roomOf(location.pathname)): Promise<Answers<P>> {
  const headers = { "Content-Type": "application/json", "X-Fallside": "1", "X-Fallside-Room": room };
  return fetch(path, { method: "POST", headers, body: JSON.stringify(body) }).then(answer<Answers<P>>).catch(away);
}

/** The widths that the server makes. */
const WIDTHS = [320, 640, 1280, 2560];

/** The address of a frame's picture, wide enough for `css` pixels on this screen. */
export function picture(frame: number, kind: "mount" | "frame", css: number, hash: string | null): string {
  const wanted = css * Math.min(devicePixelRatio || 1, 2);
  const width = WIDTHS.find((w) => w >= wanted * 0.9) ?? 2560;
  return `/picture/${frame}/${kind}?w=${width}${hash ? `&v=${encodeURIComponent(hash)}` : ""}`;
}

/** Calls `hear` with each event. The browser connects again by itself; `lost` is called when the connection is lost. */
export function listen<E extends Event | DeviceEvent>(hear: (event: E) => void, lost?: () => void): () => void {
  const source = new EventSource("/events");
  if (lost) source.onerror = lost;
  source.onmessage = (message) => {
    try {
      hear(JSON.parse(message.data as string) as E);
    } catch {
      // Not JSON: ignored.
    }
  };
  return () => source.close();
}
