// What was changed in the rig, step by step, so that it can be undone. A drag is one step, and so are keys in a row.
import { type Undoer, undoer } from "../store";
import type { Observable } from "../observable";
import type { Words } from "./plan";

interface Step { says: string; before: Words; after: Words; at: number }

/** Keys this close, ms, are one movement of the hand. */
const ROW = 1000;

export class Steps {
  private past: Step[] = [];
  private future: Step[] = [];
  private open = false;
  constructor(private readonly words: Observable<Words>) {}

  /** Sets what is asked for. `going`: the drag is not over. */
  set(says: string, change: Partial<Words>, going = false): void {
    const before = this.words.get(), after = { ...before, ...change }, last = this.past.at(-1), at = Date.now();
    if ((Object.keys(change) as (keyof Words)[]).every((word) => before[word] === after[word])) {
      this.open = going;
      return;
    }
    const goesOn = last?.says === says && this.future.length === 0 && (this.open || at - last.at < ROW);
    if (last && goesOn) Object.assign(last, { after, at });
    else this.past.push({ says, before, after, at });
    this.future = [];
    this.open = going;
    this.words.set(after);
    this.tell();
  }

  private step(which: "undo" | "redo"): string | null {
    const [from, to] = which === "undo" ? [this.past, this.future] : [this.future, this.past], step = from.pop();
    if (!step) return null;
    // The next movement is a step of its own.
    to.push({ ...step, at: 0 });
    this.words.set(which === "undo" ? step.before : step.after);
    this.tell();
    return step.says;
  }

  /** The rig's own undo, as long as the room is open. */
  tell(): void {
    const mine: Undoer = { undo: this.past.at(-1)?.says ?? null, redo: this.future.at(-1)?.says ?? null, step: (which) => this.step(which) };
    undoer.set(mine);
  }
}
