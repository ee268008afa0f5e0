// The plan of a rig: what is asked for, and how often.
import type { Answer, Measured, PlanRequest } from "../wire.generated";

export type Plan = Answer;
export type { Measured };
export type Words = PlanRequest;

export const FIRST: Words = {
  format: "square-integral", aim: "book", sensor: "36 × 24", pixels: "24 MP", lens: "70 macro",
  flash_gn: "26", source: "70 × 50 mm", ambient: "60 lx", light_from: "left", elevation: "35deg", light_distance: "120cm",
};

/** Sides of the frame clockwise from the right, 45 degrees each, as the plan reads them. */
export const SIDES = ["right", "lower-right", "bottom", "lower-left", "left", "upper-left", "top", "upper-right"];

/** Sends the newest of many requests: one at a time, and at least `pause` ms between them. */
export class Newest<T> {
  private waiting: T | null = null;
  private busy = false;
  constructor(private readonly send: (wish: T) => Promise<void>, private readonly pause = 50) {}
  want(wish: T): void {
    this.waiting = wish;
    if (!this.busy) void this.run();
  }
  private async run(): Promise<void> {
    this.busy = true;
    while (this.waiting !== null) {
      const wish = this.waiting;
      this.waiting = null;
      await this.send(wish);
      await new Promise((later) => setTimeout(later, this.pause));
    }
    this.busy = false;
  }
}
