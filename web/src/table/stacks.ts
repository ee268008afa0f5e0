// Stacks of similar prints on the table: which are open, what is done to them, and how they are described.
import { act, say, tell } from "../store";
import { observable } from "../observable";
import { count } from "../measures";
import { get } from "../wire";
import type { Row } from "../wire.generated";

/** The open stacks, by number. */
export const fanned = observable<readonly number[]>([]);

/** Opens or closes a print's stack. False where it is in none. */
export function fan(row: Row | undefined): boolean {
  const stack = row?.stack;
  if (!stack) return false;
  const open = fanned.get();
  fanned.set(open.includes(stack.id) ? open.filter((id) => id !== stack.id) : [...open, stack.id]);
  return true;
}

/** A print's stack in words; empty where it is in none. */
export function stackWords({ stack }: Row): string {
  if (!stack) return "";
  const proposed = stack.proposed ? ", proposed" : "";
  if (stack.under > 0) return `${stack.under + 1 === stack.of ? "stack" : `${stack.under + 1} here, stack`} of ${stack.of}${proposed}`;
  return `${stack.place} of ${stack.of} in a stack${proposed}`;
}

/** Stacks the selected prints and deselects them; a proposed stack alone is confirmed. */
export async function pile(rows: readonly Row[], all: () => void, down: () => void): Promise<void> {
  const one = rows[0];
  if (rows.length > 1) await act("/api/stack", { do: "put", ids: rows.map((row) => row.id) }).then((done) => done && down());
  else if (one?.stack?.proposed) await members(one).then((all) => act("/api/stack", { do: "put", ids: all.map((row) => row.id) }), tell);
  else if (one?.stack) say(`It is in a stack of ${count(one.stack.of, "print", "prints")}. Select another print too to add it to the stack.`);
  else all();
}

export function lift(rows: readonly Row[]): void {
  const ids = rows.filter((row) => row.stack).map((row) => row.id);
  if (ids.length) void act("/api/stack", { do: "lift", ids });
  else say("It is not in a stack.");
}

export const propose = (): void => void act("/api/stack", { do: "propose" });

/** Every print of a print's stack, in its order. */
async function members(row: Row): Promise<Row[]> {
  const { rows } = await get(`/api/prints?${new URLSearchParams({ q: `stack:${row.stack!.id}`, order: "number", from: "0", count: "1000" }).toString()}`);
  return rows.sort((a, b) => (a.stack?.place ?? 0) - (b.stack?.place ?? 0));
}

/** The prints with all that lies under them. */
export async function spread(rows: readonly Row[]): Promise<Row[]> {
  const all = await Promise.all(rows.map((row) => (row.stack?.under ? members(row) : [row])));
  return all.flat();
}
