// The table's surface: lays out thousands of prints, draws only those in view; moving, selecting, turning and dragging.
import { render } from "preact";
import { h } from "preact";
import { Mark } from "../verdict";
import { type Size, picture } from "../wire";
import type { PrintVerdict, Row } from "../wire.generated";
import { capital, formatName } from "../measures";
import { Drag } from "./drag";
import { stackWords } from "./stacks";
import { type Laid, type Lying, ROOM, between, filling, lay, middle, neighbour } from "./layout";

export interface Told {
  at(row: Row | undefined): void;
  hand(ids: readonly number[]): void;
  open(row: Row): void;
  drop(sheet: string, ids: number[]): void;
  move(ids: number[], to: number): void;
}

/** Above this speed, px per second, no picture can be recognised: mounts stay white until scrolling slows down. */
const BLUR = 5000;
/** Scrolling has stopped after this many ms without a scroll event. */
const STOPPED_MS = 90;

/** Below this height and width of the window, px, a row of prints is made to fit it: a screen at 400 % has 256 (WCAG 2.2, 1.4.10). */
const LOW = 420, LOW_WIDE = 500;
/** The smallest scale at which a print is recognised, px per mm. */
const LOWEST = 0.5;
/** So many prints may be few: more do not fit a large screen, 3840 × 2160, at the scale that the table begins with. */
const FEW = 200;

/** Canvas of a square print, mm: what is taken for a print not heard of yet. */
const USUAL: Size = [106, 125];

/** The mount's size of a print, mm; where nothing is finished yet, the print with some white around it. */
export function canvas(row: Row | undefined): Size {
  if (row?.canvas_mm) return row.canvas_mm;
  return row?.size_mm ? [row.size_mm[0] + 18, row.size_mm[1] + 18] : USUAL;
}

const pen = document.createElement("canvas").getContext("2d")!, widths = new Map<string, number>();
/** How wide a title is in one line, px. A twentieth more than measured: a line breaks at a word, and the typeface may come later. */
function titleWidth(text: string): number {
  const known = widths.get(text);
  if (known !== undefined) return known;
  pen.font = '17px "Bench Serif", Georgia, serif';
  const width = pen.measureText(text).width * 1.05;
  // Until the typeface is there, what is measured is another one.
  if (document.fonts.check(pen.font)) widths.set(text, width);
  return width;
}

/** What a screen reader says of a print besides the words that are seen under it. */
export function spoken(row: Row): string {
  const seen = row.title ?? row.place;
  const parts = [formatName(row.format), stackWords(row), row.verdict ?? "not judged", row.place === seen ? null : row.place, row.exposed, row.back ? "has a back" : null, row.alt];
  return parts.filter(Boolean).join(", ");
}

function marks(): Record<PrintVerdict, Node> {
  const draw = (verdict: PrintVerdict): Node => {
    const at = document.createElement("div");
    render(h(Mark, { verdict }), at);
    return at.firstChild as Node;
  };
  return { keep: draw("keep"), look: draw("look"), reshoot: draw("reshoot") };
}

function part(className: string, parent: Element, tag = "div"): HTMLElement {
  const element = document.createElement(tag);
  element.className = className;
  parent.append(element);
  return element;
}

export class Surface {
  rows: (Row | undefined)[] = [];
  /** The print that the keys act on. */
  at = 0;
  /** The prints in hand. */
  readonly hand = new Set<number>();
  /** True where prints may be moved within their order. */
  ordered = false;
  laid: Laid = lay([], 0, 1);
  scale = 1.5;
  /** The scale that a person has not changed: at it few prints fill the table, and larger and smaller start from there. */
  usual = 1.5;
  private heading: (row: Row) => string | null = () => null;
  private readonly shown = new Map<number, HTMLElement>();
  private readonly over = new Set<number>();
  private readonly list: HTMLElement;
  private readonly heads: HTMLElement;
  private readonly marks = marks();
  private readonly sizes: ResizeObserver;
  private width = 0;
  private height = 0;
  private due = 0;
  private last = { top: 0, at: 0 };
  private rushing = false;
  private stopped = 0;

  constructor(readonly scroll: HTMLElement, private readonly told: Told) {
    this.heads = part("heads", scroll);
    this.list = part("prints", scroll);
    this.list.setAttribute("role", "listbox");
    this.list.setAttribute("aria-label", "Prints");
    this.list.setAttribute("aria-multiselectable", "true");
    scroll.addEventListener("scroll", this.soon, { passive: true });
    // How high the window is decides only how large few prints are.
    this.sizes = new ResizeObserver(() => (scroll.clientWidth !== this.width || (this.rows.length <= FEW && scroll.clientHeight !== this.height)) && this.relay());
    this.sizes.observe(scroll);
    this.list.addEventListener("click", this.clicked);
    // The focus would walk to the print, and no range would be left.
    this.list.addEventListener("mousedown", (e) => e.shiftKey && e.preventDefault());
    this.list.addEventListener("dblclick", (e) => this.rowOf(e) && this.told.open(this.rowOf(e)!));
    this.list.addEventListener("focusin", (e) => {
      const index = this.indexOf(e);
      if (index !== null && index !== this.at) this.walkTo(index, false);
    });
    new Drag(this, this.list, told);
  }

  close(): void {
    this.sizes.disconnect();
    cancelAnimationFrame(this.due);
    clearTimeout(this.stopped);
    this.list.remove();
    this.heads.remove();
  }

  /** Shows other prints, or the same again. The current print stays current if it is still shown. */
  set(rows: (Row | undefined)[], heading: (row: Row) => string | null, fresh: boolean): void {
    const id = this.rows[this.at]?.id;
    this.rows = rows;
    this.heading = heading;
    const stack = this.rows[this.at]?.stack?.id;
    let same = id === undefined ? -1 : rows.findIndex((row) => row?.id === id);
    // A stack that closed over the current print is current now.
    if (same < 0 && stack !== undefined) same = rows.findIndex((row) => row?.stack?.id === stack);
    this.at = same >= 0 ? same : fresh ? 0 : Math.max(0, Math.min(this.at, rows.length - 1));
    // Rows arrive page by page: what is selected is let go only when all are there.
    if (rows.every(Boolean)) for (const held of [...this.hand]) if (!rows.some((row) => row?.id === held)) this.hand.delete(held);
    if (fresh) this.scroll.scrollTop = 0;
    this.relay();
    this.told.at(rows[this.at]);
    this.told.hand([...this.hand]);
  }

  setScale(scale: number): void {
    const row = this.laid.rows[this.laid.row[this.at] ?? 0];
    const seen = row ? row.top - this.scroll.scrollTop : 0;
    this.scale = scale;
    this.relay();
    const now = this.laid.rows[this.laid.row[this.at] ?? 0];
    if (now) this.scroll.scrollTop = now.top - Math.max(0, seen);
  }

  private relay(): void {
    const focused = this.list.contains(document.activeElement);
    this.width = this.scroll.clientWidth;
    this.height = this.scroll.clientHeight;
    let before: string | null = null;
    const known = this.rows.find(Boolean);
    const lying = this.rows.map((row): Lying => {
      const [w, h] = canvas(row ?? known);
      const head = row ? this.heading(row) : before;
      const begins = head !== null && head !== before;
      before = head;
      return { w, h, foot: row?.size_mm ? Math.max(0, (h - row.size_mm[1]) / 2) : 0, title: titleWidth(row?.title ?? row?.place ?? ""), head: begins ? head : null };
    });
    // The widest print fits on a phone too.
    const widest = (this.width - 2 * ROOM.side) / lying.reduce((most, print) => Math.max(most, print.w), 1);
    // And a row of them on a low screen.
    const tallest = lying.reduce((most, print) => Math.max(most, print.h), 1), low = Math.max(LOWEST, (this.height - ROOM.words) / tallest);
    const isLow = innerHeight < LOW && innerWidth < LOW_WIDE, few = lying.length <= FEW && !isLow;
    const usual = few ? filling(lying, this.width, this.height, Math.min(this.usual, widest)) : this.usual;
    this.laid = lay(lying, this.width, Math.min((this.scale / this.usual) * usual, widest, isLow ? low : Infinity));
    if (few) middle(this.laid, this.width);
    this.list.style.height = `${this.laid.height}px`;
    this.heads.replaceChildren(
      ...this.laid.heads.map(({ text, top }) => {
        const head = document.createElement("h2");
        head.textContent = text;
        head.style.transform = `translateY(${top}px)`;
        return head;
      }),
    );
    for (const element of this.shown.values()) element.remove();
    this.shown.clear();
    // Draw what is in view first, and what surrounds it in the next frame.
    this.draw(0);
    this.drawSoon();
    if (focused) this.focus();
  }

  private readonly soon = (): void => {
    const now = performance.now(), { scrollTop } = this.scroll;
    this.rushing = Math.abs(scrollTop - this.last.top) / Math.max(1, now - this.last.at) > BLUR / 1000 && now - this.last.at < STOPPED_MS;
    this.last = { top: scrollTop, at: now };
    clearTimeout(this.stopped);
    this.stopped = window.setTimeout(() => {
      this.rushing = false;
      this.draw();
    }, STOPPED_MS);
    this.drawSoon();
  };

  private drawSoon(): void {
    this.due ||= requestAnimationFrame(() => {
      this.due = 0;
      this.draw();
    });
  }

  /** Draws the prints in sight and half a window around, or `around` of one; what has the focus stays. */
  private draw(around = 0.5): void {
    const { scrollTop, clientHeight } = this.scroll;
    const [first, last] = between(this.laid, scrollTop - clientHeight * around, scrollTop + clientHeight * (1 + around));
    const keep = (index: number): boolean => (index >= first && index <= last) || index === this.at;
    for (const [index, element] of this.shown) {
      if (keep(index)) continue;
      element.remove();
      this.shown.delete(index);
    }
    const fresh = document.createDocumentFragment();
    for (let index = first; index <= last; index++) if (!this.shown.has(index)) fresh.append(this.make(index));
    if (this.rows.length && !this.shown.has(this.at)) fresh.append(this.make(this.at));
    this.list.append(fresh);
    if (!this.rushing) this.fill();
  }

  /** Gives mounts that passed by white their pictures. */
  private fill(): void {
    for (const mount of this.list.querySelectorAll<HTMLElement>(".mount.white")) {
      const index = Number(mount.parentElement?.dataset["index"]), row = this.rows[index];
      mount.classList.remove("white");
      if (row) this.image(mount, row, index);
    }
  }

  private make(index: number): HTMLElement {
    const row = this.rows[index], { laid } = this;
    const print = document.createElement("div");
    print.className = "print";
    print.setAttribute("role", "option");
    print.dataset["index"] = String(index);
    print.tabIndex = index === this.at ? 0 : -1;
    print.setAttribute("aria-posinset", String(index + 1));
    print.setAttribute("aria-setsize", String(this.rows.length));
    print.setAttribute("aria-selected", String(row ? this.hand.has(row.id) : false));
    print.style.transform = `translate(${laid.x[index]}px,${laid.y[index]}px)`;
    print.style.width = `${laid.w[index]}px`;
    const mount = part("mount", print);
    mount.style.height = `${laid.h[index]}px`;
    if (row?.stack && !this.ordered) print.classList.add(row.stack.under ? "heap" : "fanned");
    if (row) {
      if (this.rushing) mount.classList.add("white");
      else this.image(mount, row, index);
      this.caption(print, row, index);
    } else print.setAttribute("aria-label", "A print that is still loading");
    this.shown.set(index, print);
    return print;
  }

  private image(mount: HTMLElement, row: Row, index: number): void {
    const over = this.over.has(row.id) && row.back_frame != null;
    const frame = over ? row.back_frame : row.frame;
    if (frame == null) return void mount.classList.add("none");
    const image = new Image();
    image.alt = "";
    image.decoding = "async";
    image.draggable = false;
    const hash = over ? row.back_picture ?? null : row.picture;
    image.src = picture(frame, hash ? "mount" : "frame", this.laid.w[index]!, hash);
    mount.replaceChildren(image);
  }

  /** The title first to the eye, the number small beneath it; to the ear the number first. */
  private caption(print: HTMLElement, row: Row, index: number): void {
    const words = part("words", print);
    part("unseen", words, "span").textContent = "Print ";
    part("no", words, "b").textContent = row.label;
    words.append(" ");
    // The count is seen on the narrowest print too; what it counts is said behind it.
    if (row.stack?.under && !this.ordered) {
      const many = part("many", words, "span");
      many.textContent = String(row.stack.under + 1);
      many.ariaHidden = "true";
    }
    const name = row.title ?? row.place;
    if (name) {
      const title = part("title", words, "span");
      title.dir = "auto";
      title.textContent = name;
    }
    const state = part("state", words, "span");
    part("unseen", state, "span").textContent = `, ${spoken(row)}. `;
    if (this.hand.has(row.id)) part("held", state, "span").textContent = "selected ";
    if (row.verdict && row.verdict !== "keep") {
      const word = part(`verdict ${row.verdict}`, state, "span");
      word.append(this.marks[row.verdict].cloneNode(true), capital(row.verdict), " ");
    }
    if (row.stack && !this.ordered) part("stacked", state, "span").textContent = `${stackWords(row)} `;
    // Of nested edits the innermost says all.
    const edit = row.edits.at(-1);
    if (this.ordered) part("place", state, "span").textContent = `place ${index + 1} `;
    else if (edit) part("edits", state, "span").textContent = `${edit} `;
  }

  private indexOf(event: globalThis.Event): number | null {
    const print = event.target instanceof Element ? event.target.closest<HTMLElement>(".print") : null;
    return print?.dataset["index"] === undefined ? null : Number(print.dataset["index"]);
  }

  private rowOf(event: globalThis.Event): Row | undefined {
    const index = this.indexOf(event);
    return index === null ? undefined : this.rows[index];
  }

  private readonly clicked = (event: MouseEvent): void => {
    const index = this.indexOf(event);
    if (index === null) return;
    if (event.shiftKey) this.holdTo(index);
    else {
      this.walkTo(index);
      if (event.ctrlKey || event.metaKey) this.hold();
    }
  };

  /** Walks to a print and brings it into sight. */
  walkTo(index: number, focus = true): void {
    if (!this.rows.length) return;
    const next = Math.max(0, Math.min(this.rows.length - 1, index));
    const old = this.shown.get(this.at);
    if (old) old.tabIndex = -1;
    this.at = next;
    const row = this.laid.rows[this.laid.row[next]!]!;
    const { scrollTop, clientHeight } = this.scroll;
    // A row's heading comes into sight with it.
    if (row.top - 56 < scrollTop) this.scroll.scrollTop = row.top - 56;
    else if (row.top + row.height > scrollTop + clientHeight) this.scroll.scrollTop = row.top + row.height - clientHeight + 8;
    this.draw();
    const element = this.shown.get(next)!;
    element.tabIndex = 0;
    if (focus) element.focus({ preventScroll: true });
    this.told.at(this.rows[next]);
  }

  walk(step: number): void {
    this.walkTo(this.at + step);
  }

  walkRows(rows: number): void {
    this.walkTo(neighbour(this.laid, this.at, rows));
  }

  /** Rows that fit the window. */
  page(): number {
    return Math.max(1, Math.floor(this.scroll.clientHeight / ((this.laid.rows[0]?.height ?? 200) + 1)));
  }

  focus(): void {
    this.shown.get(this.at)?.focus({ preventScroll: true });
    // On a low screen the page scrolls: the prints come into sight whole.
    if (document.documentElement.scrollHeight > innerHeight) this.scroll.scrollIntoView({ block: "nearest" });
  }

  /** Takes the print in hand, or lays it down. */
  hold(): void {
    const row = this.rows[this.at];
    if (row) this.take(row.id, !this.hand.has(row.id));
    this.heldChanged();
  }

  /** Takes all prints from here to there in hand. */
  holdTo(index: number): void {
    const [from, to] = [Math.min(this.at, index), Math.max(this.at, index)];
    for (const row of this.rows.slice(from, to + 1)) if (row) this.take(row.id, true);
    this.walkTo(index);
    this.heldChanged();
  }

  holdAll(): void {
    for (const row of this.rows) if (row) this.hand.add(row.id);
    this.heldChanged();
  }

  layDown(): void {
    this.hand.clear();
    this.heldChanged();
  }

  private take(id: number, held: boolean): void {
    if (held) this.hand.add(id);
    else this.hand.delete(id);
  }

  /** Draws all words in sight again. */
  redrawAll(): void {
    for (const index of this.shown.keys()) this.redraw(index);
  }

  private heldChanged(): void {
    this.redrawAll();
    this.told.hand([...this.hand]);
  }

  /** Draws a print's words again, its picture left alone. */
  private redraw(index: number): void {
    const row = this.rows[index], element = this.shown.get(index);
    if (!row || !element) return;
    element.setAttribute("aria-selected", String(this.hand.has(row.id)));
    for (const old of element.querySelectorAll(".words")) old.remove();
    this.caption(element, row, index);
  }

  /** The selected prints in their order, or the current one. */
  acting(): Row[] {
    const held = this.rows.filter((row): row is Row => row !== undefined && this.hand.has(row.id));
    const one = this.rows[this.at];
    return held.length ? held : one ? [one] : [];
  }

  /** Turns the current print over, to the picture of its back. */
  turn(back: { frame: number; picture: string | null }, calm: boolean): void {
    const row = this.rows[this.at], mount = this.shown.get(this.at)?.querySelector<HTMLElement>(".mount");
    if (!row || !mount) return;
    row.back_frame = back.frame;
    row.back_picture = back.picture;
    if (!this.over.delete(row.id)) this.over.add(row.id);
    const index = this.at;
    if (calm) return this.image(mount, row, index);
    // Half of the 150 ms to the edge, half back.
    const edge = mount.animate([{ transform: "scaleX(1)" }, { transform: "scaleX(0)" }], { duration: 75, easing: "ease-in" });
    edge.onfinish = () => {
      this.image(mount, row, index);
      mount.animate([{ transform: "scaleX(0)" }, { transform: "scaleX(1)" }], { duration: 75, easing: "ease-out" });
    };
  }

  isOver(id: number): boolean {
    return this.over.has(id);
  }
}
