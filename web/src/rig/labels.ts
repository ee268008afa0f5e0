// Where the words of a drawing stand: each has several places, and takes the one that hides least.

/** A rectangle in the drawing's mm. */
export interface Box { left: number; right: number; top: number; bottom: number }
/** A place for a text: its baseline, and which end of it is there. */
export interface Spot { x: number; y: number; anchor: "start" | "middle" | "end" }
/** A text, and its places, the best first. */
export interface Label { text: string; bold?: boolean; spots: Spot[] }

/** Size of the words on the screen, px. */
export const SIZE = 15;
/** What a place costs where it leaves the drawing, lies on other words, on a thing, or on a line; each later place costs a little too. */
const COST = { out: 40, words: 100, thing: 10, line: 1, later: 0.1 };
/** White around words, as a share of their size. */
const AIR = 0.2;

const pen = document.createElement("canvas").getContext("2d")!;
/** How wide a text is, px. Figures that are all as wide as a 0 make it a little wider than the canvas, which has no such figures, says. */
function wide(text: string, bold: boolean): number {
  pen.font = `${bold ? 700 : 400} ${SIZE}px "Bench Sans", "Noto Sans", Verdana, sans-serif`;
  return pen.measureText(text.replace(/\d/g, "0")).width * 1.02;
}

/** The rectangle of a text whose px is `unit` mm. */
function boxOf({ text, bold = false }: Label, { x, y, anchor }: Spot, unit: number): Box {
  const width = wide(text, bold) * unit, size = SIZE * unit, left = anchor === "start" ? x : anchor === "end" ? x - width : x - width / 2;
  return { left, right: left + width, top: y - 0.8 * size, bottom: y + 0.25 * size };
}

const meet = (a: Box, b: Box): boolean => a.left < b.right && a.right > b.left && a.top < b.bottom && a.bottom > b.top;

/** Points along a line, as small boxes: what words should not lie on where they can help it. */
export function along(from: [number, number], to: [number, number], unit: number): Box[] {
  const n = Math.max(1, Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1]) / (SIZE * unit)));
  return Array.from({ length: n + 1 }, (_, i) => {
    const x = from[0] + ((to[0] - from[0]) * i) / n, y = from[1] + ((to[1] - from[1]) * i) / n;
    return { left: x, right: x + unit, top: y, bottom: y + unit };
  });
}

/** A place for each text, in their order. */
export function set(labels: readonly Label[], whole: Box, things: readonly Box[], lines: readonly Box[], unit: number): Spot[] {
  const taken: Box[] = [], air = AIR * SIZE * unit;
  return labels.map((label) => {
    let best = label.spots[0]!, least = Infinity, lies: Box | null = null;
    label.spots.forEach((wanted, i) => {
      const first = boxOf(label, wanted, unit);
      // Into the drawing where only its end leaves it.
      const shift = Math.max(0, whole.left - first.left) - Math.max(0, first.right - whole.right), spot = { ...wanted, x: wanted.x + shift };
      const box = boxOf(label, spot, unit), around = { left: box.left - air, right: box.right + air, top: box.top - air, bottom: box.bottom + air };
      const hit = (all: readonly Box[]): number => all.filter((other) => meet(around, other)).length;
      const out = box.top < whole.top || box.bottom > whole.bottom || box.left < whole.left - unit || box.right > whole.right + unit;
      const cost = (out ? COST.out : 0) + COST.words * hit(taken) + COST.thing * hit(things) + COST.line * hit(lines) + COST.later * i;
      if (cost < least) [best, least, lies] = [spot, cost, box];
    });
    if (lies) taken.push(lies);
    return best;
  });
}
