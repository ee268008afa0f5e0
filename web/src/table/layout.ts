// Layout of the table: rows filled from the left, every print at one scale, bottom edges aligned.

/** A print to lay: its mount's size in mm, and the heading that a new group begins with. */
export interface Lying { w: number; h: number; head: string | null }

export interface Laid {
  x: Float64Array; y: Float64Array; w: Float64Array; h: Float64Array;
  row: Int32Array;
  rows: { first: number; last: number; top: number; height: number }[];
  heads: { text: string; top: number }[];
  height: number;
}

/** Room in px: between prints, under each for its words, above a group for its heading, around all. */
export const ROOM = { between: 22, words: 52, head: 46, side: 28, top: 14, foot: 80 };

/** Lays all prints on a table `width` px wide, at `scale` px per mm. */
export function lay(prints: readonly Lying[], width: number, scale: number): Laid {
  const n = prints.length;
  const out: Laid = {
    x: new Float64Array(n), y: new Float64Array(n), w: new Float64Array(n), h: new Float64Array(n),
    row: new Int32Array(n), rows: [], heads: [], height: 0,
  };
  const right = width - ROOM.side;
  let top = ROOM.top, first = 0;
  while (first < n) {
    const head = prints[first]?.head;
    if (head) {
      out.heads.push({ text: head, top });
      top += ROOM.head;
    }
    let end = first, x = ROOM.side, tall = 0;
    for (; end < n; end++) {
      const print = prints[end]!;
      const w = print.w * scale;
      if (end > first && (x + w > right || print.head)) break;
      out.x[end] = x;
      out.w[end] = w;
      out.h[end] = print.h * scale;
      tall = Math.max(tall, print.h * scale);
      x += w + ROOM.between;
    }
    const whole = end < n && !prints[end]?.head;
    settle(out, first, end, top, tall, whole ? right - (x - ROOM.between) : 0);
    top += tall + ROOM.words;
    first = end;
  }
  out.height = top + ROOM.foot;
  return out;
}

/** Sets a row's prints on its line, and shares what is left of a full row between them. */
function settle(out: Laid, first: number, end: number, top: number, tall: number, left: number): void {
  const gap = end - first > 1 ? Math.max(0, left) / (end - first - 1) : 0;
  for (let i = first; i < end; i++) {
    out.x[i]! += gap * (i - first);
    out.y[i] = top + tall - out.h[i]!;
    out.row[i] = out.rows.length;
  }
  out.rows.push({ first, last: end - 1, top, height: tall + ROOM.words });
}

/** The rows that show between `from` and `to` px, as the first and last print. */
export function between(laid: Laid, from: number, to: number): [number, number] {
  const { rows } = laid;
  let low = 0, high = rows.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    const row = rows[mid]!;
    if (row.top + row.height < from) low = mid + 1;
    else high = mid;
  }
  const begin = rows[low];
  if (!begin) return [0, -1];
  let last = low;
  while (last + 1 < rows.length && rows[last + 1]!.top <= to) last++;
  return [begin.first, rows[last]!.last];
}

/** The print above or below another: the one whose middle lies nearest. */
export function neighbour(laid: Laid, at: number, rows: number): number {
  const row = laid.rows[Math.max(0, Math.min(laid.rows.length - 1, (laid.row[at] ?? 0) + rows))];
  if (!row) return at;
  const middle = laid.x[at]! + laid.w[at]! / 2;
  let best = row.first, least = Infinity;
  for (let i = row.first; i <= row.last; i++) {
    const away = Math.abs(laid.x[i]! + laid.w[i]! / 2 - middle);
    if (away < least) [best, least] = [i, away];
  }
  return best;
}
