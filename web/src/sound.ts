// Soft sounds: one for each verdict, and one for trouble. Each swells over 40 ms and stays quiet, so that nobody starts at it.
import type { Verdict } from "./wire.generated";

/** Notes of a sound: pitch in Hz, begin and length in seconds. */
const NOTES: Record<Verdict | "trouble", [number, number, number][]> = {
  // One low warm note: nothing to do.
  keep: [[392, 0, 0.35]],
  // Two rising: a question.
  look: [[392, 0, 0.28], [523.25, 0.2, 0.4]],
  // Two falling, lower: take it again.
  reshoot: [[311.13, 0, 0.3], [207.65, 0.24, 0.5]],
  // Three the same, low: something is wrong that no new exposure mends by itself.
  trouble: [[233.08, 0, 0.3], [233.08, 0.34, 0.3], [233.08, 0.68, 0.5]],
  // Frames of the rig ask for the same: nothing, or another one.
  used: [[392, 0, 0.35]],
  unusable: [[311.13, 0, 0.3], [207.65, 0.24, 0.5]],
};
/** A tenth of full level: audible beside a flash's whine, below speech. */
const LEVEL = 0.1;
const SWELL_S = 0.04;

let room: AudioContext | null = null;

export function sound(verdict: Verdict | "trouble"): void {
  room ??= new AudioContext();
  const at = room.currentTime + 0.01;
  void room.resume();
  for (const [hertz, begin, seconds] of NOTES[verdict]) note(room, hertz, at + begin, seconds);
}

function note(to: AudioContext, hertz: number, at: number, seconds: number): void {
  const tone = to.createOscillator(), level = to.createGain();
  tone.type = "sine";
  tone.frequency.value = hertz;
  level.gain.setValueAtTime(0, at);
  level.gain.linearRampToValueAtTime(LEVEL, at + SWELL_S);
  level.gain.exponentialRampToValueAtTime(0.0005, at + seconds);
  tone.connect(level).connect(to.destination);
  tone.start(at);
  tone.stop(at + seconds + 0.02);
}
