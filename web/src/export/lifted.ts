// A print of the wall lifted by mouse or pen, and laid on the place of another. A finger scrolls instead: it has buttons.

/** Movement in px below which a press is not a drag. */
const STILL = 6;

const printAt = (target: EventTarget | null): HTMLElement | null => (target as Element | null)?.closest?.<HTMLElement>("[data-print]") ?? null;

/** The print under a point, or the nearest one of the spread under it. */
function under(x: number, y: number): HTMLElement | null {
  const at = document.elementFromPoint(x, y);
  const far = (it: Element): number => { const r = it.getBoundingClientRect(); return Math.hypot(r.x + r.width / 2 - x, r.y + r.height / 2 - y); };
  return printAt(at) ?? [...(at?.closest(".spreads > li")?.querySelectorAll<HTMLElement>("[data-print]") ?? [])].sort((a, b) => far(a) - far(b))[0] ?? null;
}

/** Lifts the print that is pressed; `laid` is told which print was laid on the place of which. Escape lets go of it. */
export function lift(down: PointerEvent, laid: (id: number, there: number) => void): void {
  const print = printAt(down.target), over = new AbortController(), { signal } = over;
  if (!print || down.button !== 0 || down.pointerType === "touch") return;
  let ghost: HTMLElement | null = null, onto: HTMLElement | null = null;
  const mark = (next: HTMLElement | null): void => {
    onto?.classList.remove("onto");
    onto = next;
    onto?.classList.add("onto");
  };
  const done = (lay: boolean): void => {
    const there = onto;
    over.abort();
    mark(null);
    ghost?.remove();
    print.classList.remove("away");
    if (lay && there) laid(Number(print.dataset["print"]), Number(there.dataset["print"]));
  };
  addEventListener("pointermove", ({ clientX: x, clientY: y }) => {
    if (!ghost && Math.hypot(x - down.clientX, y - down.clientY) > STILL) {
      const { width, height } = print.getBoundingClientRect();
      ghost = document.body.appendChild(document.createElement("div"));
      ghost.className = "carried-plate";
      Object.assign(ghost.style, { width: `${width}px`, height: `${height}px` });
      print.classList.add("away");
    }
    if (!ghost) return;
    ghost.style.transform = `translate(${x + 8}px,${y + 8}px)`;
    const at = under(x, y);
    mark(at === print ? null : at);
  }, { signal });
  addEventListener("pointerup", () => done(true), { signal });
  addEventListener("pointercancel", () => done(false), { signal });
  addEventListener("keydown", (e) => {
    if (e.key !== "Escape" || !ghost) return;
    e.preventDefault();
    e.stopPropagation();
    done(false);
  }, { signal, capture: true });
}
