// State of the stand, at the desk and on the paired device: the last verdict, its sound, and marks on it.
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { arrived, changes, inOrder, tell } from "../store";
import { useObservable } from "../observable";
import { sound } from "../sound";
import { post } from "../wire";
import type { Amiss, Stand } from "../wire.generated";

const QUIET = "fallside.quiet";

export interface StandState {
  state: Stand | null; quiet: boolean; done: boolean;
  /** What went wrong and was not read yet: it has the place of the verdict. */
  amiss: Amiss | null;
  /** Whether the last print is on the list to reshoot. */
  listed: boolean;
  look(): void; sounds(): void; seen(): void; again(): void;
}

export function useStand(trouble: (error: unknown) => void = tell): StandState {
  const [state, set] = useState<Stand | null>(null), [seen, acknowledge] = useState<string | null>(null);
  const [quiet, hush] = useState(localStorage.getItem(QUIET) === "yes");
  const [read, reading] = useState<number | null>(null), told = useRef<number | null>(null);
  const change = useObservable(changes), last = useObservable(arrived), heard = useRef(last.count);
  const ask = useMemo(() => inOrder<"/api/stand">(set), []);
  const look = (): void => void ask("/api/stand").catch(trouble);
  useEffect(look, [change, last]);
  useEffect(() => {
    const verdict = last.verdict ?? state?.last?.verdict;
    if (last.count === heard.current || !verdict) return;
    heard.current = last.count;
    if (!quiet && state?.sound !== false) sound(verdict);
  }, [last, state]);
  const wrong = state?.amiss ?? null, amiss = wrong && !wrong.seen && wrong.number !== read ? wrong : null;
  useEffect(() => {
    // What was so when the page was opened makes no sound.
    const first = told.current === null, newer = (wrong?.number ?? 0) > (told.current ?? 0);
    if (state) told.current = Math.max(told.current ?? 0, wrong?.number ?? 0);
    if (!first && newer && amiss && !quiet && state?.sound !== false) sound("trouble");
  }, [state]);
  const now = state?.last ?? null;
  const listed = now?.label != null && state!.reshoot.some((r) => r.label === now.label);
  function mark(what: "seen" | "again" | "enough"): void {
    if (now) void post("/api/mark", { name: now.name, mark: what }).then(look, trouble);
  }
  return {
    state, quiet, listed, look, amiss,
    done: amiss === null && now !== null && [seen, state?.seen].includes(now.name),
    sounds() {
      localStorage.setItem(QUIET, quiet ? "no" : "yes");
      hush(!quiet);
      if (quiet) sound("keep");
    },
    seen() {
      // At once, without waiting for the answer.
      if (amiss) {
        reading(amiss.number);
        void post("/api/mark", { name: String(amiss.number), mark: "noticed" }).then(look, trouble);
        return;
      }
      acknowledge(now?.name ?? null);
      mark("seen");
    },
    again: () => mark(listed ? "enough" : "again"),
  };
}
