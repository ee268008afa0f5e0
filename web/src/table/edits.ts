// Moving prints from edit to edit: in by one, out by one.
import { count } from "../measures";
import { act, say } from "../store";
import type { Edit, Row } from "../wire.generated";

export type Move = "in" | "out";
const ROUNDS = ["wide", "tight", "sequence"] as const;
export type Round = (typeof ROUNDS)[number];

export const TITLES: Record<Round, string> = { wide: "Wide edit", tight: "Tight edit", sequence: "Sequence" };

/** The three rounds as they are named in this project, those not begun yet by their kind. */
export function rounds(edits: readonly Edit[]): { kind: Round; name: string; count: number }[] {
  return ROUNDS.map((kind) => {
    const edit = edits.find((e) => e.kind === kind);
    return { kind, name: edit?.name ?? kind, count: edit?.count ?? 0 };
  });
}

/** The sheet after this one: the table, wide, tight, sequence, the user's own, and round. */
export function nextOf(sheet: string | null, edits: readonly Edit[]): string | null {
  const names = [null, ...rounds(edits).map((r) => r.name), ...edits.filter((e) => e.kind === "own").map((e) => e.name)];
  return names[(names.indexOf(sheet) + 1) % names.length] ?? null;
}

/** Takes each print one round on, or one back. Prints that move together go in one step, so that one undo brings them back. */
export async function move(which: Move, rows: readonly Pick<Row, "id" | "edits">[], edits: readonly Edit[]): Promise<void> {
  const names = rounds(edits);
  const groups = new Map<number, number[]>();
  for (const row of rows) {
    const has = names.findLastIndex((round) => row.edits.includes(round.name));
    const to = which === "in" ? has + 1 : has;
    if (to >= 0 && to < names.length) groups.set(to, [...(groups.get(to) ?? []), row.id]);
  }
  if (groups.size === 0 && rows.length) {
    say(which === "in" ? "It is already in the sequence, the last edit." : "It is not in an edit.");
  }
  const steps: Promise<unknown>[] = [], where: string[] = [];
  for (const [to, ids] of groups) {
    const { name } = names[to]!;
    // The rows say so at once, so that the next press goes on from there; what arrives from the desk sets them right.
    for (const row of rows) if (ids.includes(row.id)) row.edits = which === "in" ? [...row.edits, name] : row.edits.filter((e) => e !== name);
    where.push(`${count(ids.length, "print", "prints")} ${which === "in" ? "to" : "from"} the edit ${name}`);
    steps.push(act("/api/edit", { do: which === "in" ? "put" : "take", name, ids }));
  }
  const done = await Promise.all(steps);
  // Each step said its own; of a hand whose prints went to different edits, all is said at once.
  if (steps.length > 1 && done.every((did) => did !== null)) say(`${which === "in" ? "Added" : "Removed"} ${where.join(", ")}.`);
}
