// Words of prints as they are sent, and what came back.
import { act, said } from "../store";
import type { DescribeRequest, Fact, KeptBack } from "../wire.generated";
import type { Beside } from "./field";

export const NOTHING = { facts: {}, fill: {}, add: {}, remove: {}, seen: {} };

/** The facts that have a field of their own: a date's words stand in the date's field. */
export const fields = (facts: readonly Fact[]): Fact[] => facts.filter((f) => f.word !== "dated");

/** What stands in a fact's field: a date in its own words. */
export const shown = (facts: Record<string, string>, word: string): string => (word === "date" && facts["dated"]) || (facts[word] ?? "");

/** Describes prints; gives what was kept back, or null where the desk could not be asked. */
export async function describe(asked: DescribeRequest): Promise<KeptBack[] | null> {
  const done = await act("/api/describe", asked);
  if (!done) return null;
  const [first] = done.kept_back;
  if (first) said.set({ text: first.says, trouble: true });
  return done.kept_back;
}

/** Writes one fact of one print, based on what was seen there. */
export async function one(id: number, word: string, value: string, { seen, edtf = "", dated }: Beside): Promise<KeptBack | null> {
  const facts = { [word]: value, ...(dated === undefined ? {} : { dated }) };
  // A date is compared as a date, whatever its words.
  const kept = await describe({ ids: [id], ...NOTHING, facts, seen: { [word]: word === "date" ? [seen, edtf] : [seen] } });
  return kept?.[0] ?? null;
}
