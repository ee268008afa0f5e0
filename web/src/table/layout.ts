// Layout of the table: rows filled from the left, every print at one scale, all prints of a row on one line.

/** A print to lay: its mount's size in mm, how far below the print its mount ends, how wide its title is in px, and the heading that a new group
 * begins with. */
export interface Lying { w: number; h: number; foot: number; title: number; head: string | null }

export interface Laid {
  x: Float64Array; y: Float64Array; w: Float64Array; h: Float64Array;
  row: Int32Array;
  /** `mounts`: how high its mounts are. */
  rows: { first: number; last: number; top: number; mounts: number; height: number }[];
  heads: { text: string; top: number }[];
  height: number;
}

/** Room in px: between prints, under each for a title of two lines and its number, for the second of these lines, above a group for its
 * heading, around all. */
export const ROOM = { between: 30, words: 90, line: 20, head: 46, side: 12, top: 16, foot: 60 };
/** The largest scale that few prints are laid at, px per mm: of a print 88 mm wide it makes 440 px, about twice its true size. */
const LARGEST = 5;

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
    let end = first, x = ROOM.side, over = 0, under = 0, words = ROOM.words - ROOM.line;
    for (; end < n; end++) {
      const print = prints[end]!;
      const w = print.w * scale;
      if (end > first && (x + w > right || print.head)) break;
      out.x[end] = x;
      out.w[end] = w;
      out.h[end] = print.h * scale;
      over = Math.max(over, (print.h - print.foot) * scale);
      under = Math.max(under, print.foot * scale);
      if (print.title > w) words = ROOM.words;
      x += w + ROOM.between;
    }
    const whole = end < n && !prints[end]?.head;
    const foot = (i: number): number => top + over + prints[i]!.foot * scale;
    settle(out, first, end, foot, whole ? right - (x - ROOM.between) : 0);
    out.rows.push({ first, last: end - 1, top, mounts: over + under, height: over + under + words });
    top += over + under + words;
    first = end;
  }
  out.height = top + ROOM.foot;
  return out;
}

/** Sets a row's prints on its line, and shares what is left of a full row between them. `foot`: where a mount ends. */
function settle(out: Laid, first: number, end: number, foot: (i: number) => number, left: number): void {
  const gap = end - first > 1 ? Math.max(0, left) / (end - first - 1) : 0;
  for (let i = first; i < end; i++) {
    out.x[i]! += gap * (i - first);
    out.y[i] = foot(i) - out.h[i]!;
    out.row[i] = out.rows.length;
  }
}

/** The scale at which few prints fill a table of this size: the largest at which all are seen whole, at most `LARGEST`, at least `scale`. */
export function filling(prints: readonly Lying[], width: number, height: number, scale: number): number {
  const fits = (at: number): boolean => {
    const laid = lay(prints, width, at);
    return laid.height - ROOM.foot <= height && prints.every((print) => print.w * at <= width - 2 * ROOM.side);
  };
  if (prints.length === 0 || !fits(scale)) return scale;
  let low = scale, high = Math.max(scale, LARGEST);
  // Until it no longer shows: a hundredth of a px per mm.
  while (high - low > 0.01) {
    const middle = (low + high) / 2;
    if (fits(middle)) low = middle;
    else high = middle;
  }
  return low;
}

/** Moves prints that are all in one row, and do not fill it, to the middle. */
export function middle(laid: Laid, width: number): void {
  if (laid.rows.length !== 1 || laid.heads.length) return;
  const last = laid.x.length - 1, aside = (width - (laid.x[0]! + laid.x[last]! + laid.w[last]!)) / 2;
  for (let i = 0; i <= last; i++) laid.x[i]! += aside;
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
