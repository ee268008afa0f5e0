// Dragging prints with a mouse or pen: onto an edit's tab, or to another place in an edit. A finger scrolls instead.
import { ROOM } from "./layout";
import type { Surface, Told } from "./surface";

/** Movement in px below which a press is not a drag. */
const STILL = 6;

export class Drag {
  private ids: number[] = [];
  private ghost: HTMLElement | null = null;
  private bar: HTMLElement | null = null;
  private onto: Element | null = null;
  private to: number | null = null;

  constructor(private readonly surface: Surface, list: HTMLElement, private readonly told: Told) {
    list.addEventListener("pointerdown", (down) => this.down(down));
  }

  private down(down: PointerEvent): void {
    const print = down.target instanceof Element ? down.target.closest<HTMLElement>(".print") : null;
    const row = this.surface.rows[Number(print?.dataset["index"])];
    if (!print || !row || down.button !== 0 || down.pointerType === "touch" || down.ctrlKey || down.shiftKey || down.metaKey) return;
    const stop = new AbortController(), { signal } = stop;
    const move = (event: PointerEvent): void => {
      const far = Math.hypot(event.clientX - down.clientX, event.clientY - down.clientY);
      if (!this.ghost && far > STILL) this.lift(print, row.id);
      if (this.ghost) this.carry(event);
    };
    const end = (drop: boolean): void => {
      stop.abort();
      this.lay(drop);
    };
    addEventListener("pointermove", move, { signal });
    addEventListener("pointerup", () => end(true), { signal });
    addEventListener("pointercancel", () => end(false), { signal });
    addEventListener("keydown", (e) => e.key === "Escape" && this.ghost && (e.preventDefault(), e.stopPropagation(), end(false)), { signal, capture: true });
  }

  private lift(print: HTMLElement, id: number): void {
    const { hand } = this.surface;
    this.ids = hand.has(id) ? this.surface.acting().map((row) => row.id) : [id];
    this.ghost = document.createElement("div");
    this.ghost.className = "carried";
    const mount = print.querySelector(".mount")!.cloneNode(true) as HTMLElement;
    mount.style.width = print.style.width;
    this.ghost.append(mount);
    if (this.ids.length > 1) this.ghost.append(`${this.ids.length} prints`);
    document.body.append(this.ghost);
    this.bar = document.createElement("div");
    this.bar.className = "between";
    document.documentElement.classList.add("dragging");
  }

  private carry({ clientX, clientY }: PointerEvent): void {
    this.ghost!.style.transform = `translate(${clientX + 10}px,${clientY + 10}px)`;
    const under = document.elementFromPoint(clientX, clientY)?.closest("[data-sheet]") ?? null;
    if (under !== this.onto) {
      this.onto?.classList.remove("under");
      under?.classList.add("under");
      this.onto = under;
    }
    this.to = under || !this.surface.ordered ? null : this.gap(clientX, clientY);
  }

  /** The gap between two prints nearest to the pointer, and the bar drawn in it. */
  private gap(clientX: number, clientY: number): number | null {
    const { laid, scroll } = this.surface, box = scroll.getBoundingClientRect();
    const x = clientX - box.left, y = clientY - box.top + scroll.scrollTop;
    const row = laid.rows.find((r) => y >= r.top && y < r.top + r.height);
    if (!row) return null;
    let to = row.last + 1;
    for (let i = row.last; i >= row.first; i--) if (x < laid.x[i]! + laid.w[i]! / 2) to = i;
    const edge = to <= row.last ? laid.x[to]! - ROOM.between / 2 : laid.x[row.last]! + laid.w[row.last]! + ROOM.between / 2;
    this.bar!.style.transform = `translate(${edge}px,${row.top}px)`;
    this.bar!.style.height = `${row.mounts}px`;
    scroll.append(this.bar!);
    return to;
  }

  private lay(drop: boolean): void {
    if (!this.ghost) return;
    this.ghost.remove();
    this.bar?.remove();
    this.onto?.classList.remove("under");
    document.documentElement.classList.remove("dragging");
    const sheet = this.onto instanceof HTMLElement ? this.onto.dataset["sheet"] : undefined;
    if (drop && sheet) this.told.drop(sheet, this.ids);
    else if (drop && this.to !== null) {
      // The place is counted after the prints were taken out.
      const before = this.surface.rows.slice(0, this.to).filter((row) => row && this.ids.includes(row.id)).length;
      this.told.move(this.ids, this.to - before);
    }
    this.ghost = this.bar = this.onto = this.to = null;
  }
}
