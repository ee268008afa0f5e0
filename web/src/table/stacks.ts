// Stacks of near-twins on the table: which lie fanned out, what is done to them, and how they are said.
import { act, say, tell } from "../desk";
import { held } from "../hold";
import { count } from "../measures";
import { type Prints, type Row, get } from "../wire";

/** The stacks that lie fanned out, by number. */
export const fanned = held<readonly number[]>([]);

/** Opens a print's stack out, or closes it. False where it lies in none. */
export function fan(row: Row | undefined): boolean {
  const stack = row?.stack;
  if (!stack) return false;
  const open = fanned.get();
  fanned.set(open.includes(stack.id) ? open.filter((id) => id !== stack.id) : [...open, stack.id]);
  return true;
}

/** What is said of a print's stack; empty where it lies in none. */
export function stackWords({ stack }: Row): string {
  if (!stack) return "";
  const proposed = stack.proposed ? ", proposed" : "";
  if (stack.under > 0) return `${stack.under + 1 === stack.of ? "stack" : `${stack.under + 1} here, stack`} of ${stack.of}${proposed}`;
  return `${stack.place} of ${stack.of} in a stack${proposed}`;
}

/** Lays the prints in hand on one another, and them out of the hand; a proposed stack alone is kept as it is. */
export async function pile(rows: readonly Row[], all: () => void, down: () => void): Promise<void> {
  const one = rows[0];
  if (rows.length > 1) await act("/api/stack", { do: "put", ids: rows.map((row) => row.id) }).then((done) => done && down());
  else if (one?.stack?.proposed) await members(one).then((all) => act("/api/stack", { do: "put", ids: all.map((row) => row.id) }), tell);
  else if (one?.stack) say(`It lies in a stack of ${count(one.stack.of, "print", "prints")}. Take another print in hand too to put it there.`);
  else all();
}

export function lift(rows: readonly Row[]): void {
  const ids = rows.filter((row) => row.stack).map((row) => row.id);
  if (ids.length) void act("/api/stack", { do: "lift", ids });
  else say("It lies in no stack.");
}

export const propose = (): void => void act("/api/stack", { do: "propose", ids: [] });

/** Every print of a print's stack, in its order. */
async function members(row: Row): Promise<Row[]> {
  const { rows } = await get<Prints>(`/api/prints?${new URLSearchParams({ q: `stack:${row.stack!.id}`, order: "number", from: "0", count: "1000" })}`);
  return rows.sort((a, b) => (a.stack?.place ?? 0) - (b.stack?.place ?? 0));
}

/** The prints with all that lies under them. */
export async function spread(rows: readonly Row[]): Promise<Row[]> {
  const all = await Promise.all(rows.map((row) => (row.stack?.under ? members(row) : [row])));
  return all.flat();
}
