// From the list of what is not ready to the place where it is mended.
import { go } from "../store";

/** How long a print's sheet is waited for, ms: a busy desk answers in a tenth of it. */
const PATIENCE = 5000;
/** How long the sheet may take the focus for itself when its print is there, ms: it does so a frame later. */
const SETTLES = 400;

/** Opens a print with a field of its description in focus; without one, the print. */
export function openAt(print: number, field?: string): void {
  go(`/print/${print}`);
  if (!field) return;
  let until = performance.now() + PATIENCE, found = false;
  const path = location.pathname, hand = new AbortController(), end = (): void => hand.abort();
  // What a person does meanwhile has the last word.
  for (const kind of ["keydown", "pointerdown"]) addEventListener(kind, end, { signal: hand.signal, capture: true });
  const look = (): void => {
    const sheet = document.querySelector<HTMLElement>(".sheet"), it = sheet?.querySelector<HTMLElement>(`[name="${field}"]`);
    if (it && document.activeElement !== it) {
      it.focus();
      it.scrollIntoView({ block: "center" });
    }
    if (it && !found) [found, until] = [true, performance.now() + SETTLES];
    if (hand.signal.aborted || performance.now() > until || location.pathname !== path) return end();
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}
