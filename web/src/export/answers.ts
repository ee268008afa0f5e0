// What the desk says of the choices before anything is made: what is not ready, and the prints as what they become.
import { useEffect, useState } from "preact/hooks";
import { type Answers, post } from "../wire";
import type { ExportRequest } from "../wire.generated";

/** After the last change of a choice, ms: between two keys, and no longer than a hand waits. */
const PAUSE = 160;

/** The desk's answer to choices, asked again whenever they or the catalogue change. It stays until the next one is there. */
export function useAnswer<P extends "/api/ready" | "/api/preview">(path: P, wish: ExportRequest | null, change: number): Answers<P> | null {
  const [now, set] = useState<Answers<P> | null>(null), words = JSON.stringify(wish);
  useEffect(() => {
    let newest = wish !== null;
    const due = window.setTimeout(() => {
      if (!wish) return;
      post(path, wish).then((got) => newest && set(got), () => {
        // Choices that make no sense yet are told where they are made.
        if (newest) set(null);
      });
    }, PAUSE);
    return () => {
      newest = false;
      clearTimeout(due);
    };
  }, [path, words, change]);
  return now;
}
