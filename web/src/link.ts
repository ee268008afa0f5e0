// The link to the desk: its end is noticed at once, and it is asked again until it answers.
import { observable } from "./observable";
import { Trouble, get, listen } from "./wire";
import type { Event, State } from "./wire.generated";

/** `gone`: nobody answers. `other`: a desk answers that this page does not belong to, as after a restart. */
export const link = observable<"here" | "gone" | "other">("here");

/** Between two tries whether the desk answers again, ms: below what a person waits for without wondering. */
const AGAIN = 700;
/** How long an answer is waited for, ms. A desk that answers at all does so in a tenth of it. */
const PATIENCE = 1500;

/** Listens to the desk for good. `fresh` gets the desk's state when it answers again: events were missed meanwhile. */
export function connect(hear: (event: Event) => void, fresh: (now: State) => void): void {
  const end = listen<Event>(hear, () => {
    end();
    void look();
  });
  async function look(): Promise<void> {
    try {
      const now = await get("/api/desk", AbortSignal.timeout(PATIENCE));
      connect(hear, fresh);
      fresh(now);
      link.set("here");
    } catch (error) {
      link.set(error instanceof Trouble && error.status === 403 ? "other" : "gone");
      setTimeout(look, AGAIN);
    }
  }
}
