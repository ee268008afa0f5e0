// A print of the wall lifted by mouse or pen, and laid on the place of another. A finger scrolls instead: it has buttons.

/** Movement in px below which a press is not a drag. */
const STILL = 6;

export class Lifted {
  private readonly stop = new AbortController();
  private ghost: HTMLElement | null = null;
  private onto: HTMLElement | null = null;

  constructor(private readonly wall: HTMLElement, private readonly laid: (id: number, there: number) => void) {
    wall.addEventListener("pointerdown", (down) => this.down(down), { signal: this.stop.signal });
  }

  /** Listens no longer. */
  end(): void {
    this.stop.abort();
    this.drop();
  }

  private down(down: PointerEvent): void {
    const print = this.print(down.target);
    if (!print || down.button !== 0 || down.pointerType === "touch") return;
    const over = new AbortController(), { signal } = over;
    addEventListener("pointermove", (move) => {
      if (!this.ghost && Math.hypot(move.clientX - down.clientX, move.clientY - down.clientY) > STILL) this.lift(print);
      if (this.ghost) this.carry(print, move);
    }, { signal });
    const done = (lay: boolean): void => {
      over.abort();
      const onto = this.onto, carried = this.ghost !== null;
      this.drop();
      if (lay && carried && onto) this.laid(Number(print.dataset["print"]), Number(onto.dataset["print"]));
    };
    addEventListener("pointerup", () => done(true), { signal });
    addEventListener("pointercancel", () => done(false), { signal });
    addEventListener("keydown", (e) => e.key === "Escape" && this.ghost && (e.preventDefault(), e.stopPropagation(), done(false)), { signal, capture: true });
  }

  private print(target: EventTarget | null): HTMLElement | null {
    return target instanceof Element ? target.closest<HTMLElement>("[data-print]") : null;
  }

  private lift(print: HTMLElement): void {
    const { width, height } = print.getBoundingClientRect();
    this.ghost = document.createElement("div");
    this.ghost.className = "carried-plate";
    Object.assign(this.ghost.style, { width: `${width}px`, height: `${height}px` });
    document.body.append(this.ghost);
    print.classList.add("away");
    document.documentElement.classList.add("dragging");
  }

  private carry(print: HTMLElement, { clientX, clientY }: PointerEvent): void {
    this.ghost!.style.transform = `translate(${clientX + 8}px,${clientY + 8}px)`;
    const under = this.under(clientX, clientY), onto = under === print ? null : under;
    if (onto === this.onto) return;
    this.onto?.classList.remove("onto");
    onto?.classList.add("onto");
    this.onto = onto;
  }

  /** The print under the pointer, or the nearest one of the spread under it. */
  private under(x: number, y: number): HTMLElement | null {
    const at = document.elementFromPoint(x, y), print = this.print(at);
    if (print) return print;
    const spread = at?.closest(".spreads > li");
    if (!spread || !this.wall.contains(spread)) return null;
    const far = (it: Element): number => { const r = it.getBoundingClientRect(); return Math.hypot(r.left + r.width / 2 - x, r.top + r.height / 2 - y); };
    return [...spread.querySelectorAll<HTMLElement>("[data-print]")].sort((a, b) => far(a) - far(b))[0] ?? null;
  }

  private drop(): void {
    this.ghost?.remove();
    this.ghost = null;
    this.onto?.classList.remove("onto");
    this.onto = null;
    this.wall.querySelector(".away")?.classList.remove("away");
    document.documentElement.classList.remove("dragging");
  }
}
