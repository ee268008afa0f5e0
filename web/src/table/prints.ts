// The rows of a search, page by page: the first at once, the rest in the background; a new search cancels them.
import { get } from "../wire";
import type { Prints, Row } from "../wire.generated";

/** Rows of the first page: more than fills any screen. Then larger bites. */
const FIRST = 200;
const BITE = 1000;

/** A search; `open` are the open stacks, null where no stack is to be closed. */
export interface Asked { line: string; order: string; open: readonly number[] | null }

export class Fetching {
  rows: (Row | undefined)[] = [];
  total = 0;
  /** How many prints these places hold. */
  prints = 0;
  says: string | null = null;
  private stop = new AbortController();

  constructor(private readonly told: (whole: boolean) => void, private readonly trouble: (error: unknown) => void) {}

  /** Asks again. What is shown stays until the first page of the answer arrives. */
  async ask(asked: Asked): Promise<void> {
    this.stop.abort();
    const { signal } = (this.stop = new AbortController());
    try {
      const first = await page(asked, 0, FIRST, signal);
      this.rows = Array.from({ length: first.total }, (_, i) => first.rows[i]);
      this.total = first.total;
      this.prints = first.prints;
      this.says = first.says;
      this.told(first.rows.length >= first.total);
      for (let from = first.rows.length; from < first.total; from += BITE) {
        const next = await page(asked, from, BITE, signal);
        next.rows.forEach((row, i) => (this.rows[from + i] = row));
        // Fewer than when the first page was counted: the change event will ask again.
        const whole = from + BITE >= first.total || next.rows.length === 0;
        this.told(whole);
        if (whole) break;
      }
    } catch (error) {
      if (!signal.aborted) this.trouble(error);
    }
  }

  close(): void {
    this.stop.abort();
  }
}

function page({ line, order, open }: Asked, from: number, count: number, signal: AbortSignal): Promise<Prints> {
  const query = new URLSearchParams({ q: line, order, from: String(from), count: String(count) });
  if (open) query.set("stacks", open.join());
  return get(`/api/prints?${query.toString()}`, signal);
}
