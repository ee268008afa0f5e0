// How many pixels of this screen are a millimetre: measured once, by laying a card or a ruler on the glass.
import { useEffect, useRef, useState } from "preact/hooks";
import { Dialog } from "../dialog";
import { observable } from "../observable";

const PLACE = "fallside.px-per-mm";
/** A bank card is 85.60 × 53.98 mm (ISO/IEC 7810, ID-1), its corners rounded by 3.18 mm. */
const CARD: [number, number] = [85.6, 53.98];
/** A CSS pixel is 1/96 inch where nobody measured. */
const GUESS = 96 / 25.4;

function read(): number {
  const value = Number(localStorage.getItem(PLACE));
  return value > 1 && value < 20 ? value : 0;
}

/** CSS pixels per mm, 0 where it was not measured. */
export const trueScale = observable(read());

export function Calibrate({ close }: { close: (measured: boolean) => void }) {
  const [scale, set] = useState(trueScale.get() || GUESS), [by, choose] = useState<"card" | "ruler">("card");
  const slider = useRef<HTMLInputElement>(null);
  useEffect(() => slider.current?.focus(), []);
  // Upright where the screen is narrower than the card.
  const upright = CARD[0] * scale > innerWidth - 90;
  const [w, h] = (upright ? [CARD[1], CARD[0]] : CARD).map((mm) => mm * scale) as [number, number];
  const ruler = 100 * scale > innerWidth - 90 ? 50 : 100;
  return (
    <Dialog title="Calibrate actual size" name="plain wide calibrate" close={() => close(false)}>
      <p>{by === "card" ? "Hold a bank card against the drawing. Change its size until both edges match the card." : `Hold a ruler against the line. Change its length until it is ${ruler} mm.`}</p>
      <p class="choices">
        <button type="button" aria-pressed={by === "card"} onClick={() => choose("card")}>With a bank card</button>
        <button type="button" aria-pressed={by === "ruler"} onClick={() => choose("ruler")}>With a ruler</button>
      </p>
      <div class="glass">
        {by === "card"
          ? <svg width={w + 4} height={h + 4} aria-hidden="true"><rect x={2} y={2} width={w} height={h} rx={3.18 * scale} /></svg>
          : <svg width={ruler * scale + 4} height={64} aria-hidden="true">
              <path d={Array.from({ length: ruler + 1 }, (_, i) => `M${2 + i * scale} 40V${i % 10 ? (i % 5 ? 34 : 28) : 18}`).join("") + `M2 40H${2 + ruler * scale}`} />
              <text x={2} y={58}>0</text><text x={2 + ruler * scale} y={58} text-anchor="end">{ruler} mm</text>
            </svg>}
      </div>
      <label class="slide">Size
        <input ref={slider} type="range" min={2} max={9} step={0.005} value={scale} aria-valuetext={`${(100 * scale).toFixed(0)} pixels for 100 mm`} onInput={(e) => set(Number(e.currentTarget.value))} />
      </label>
      <p class="second">{(100 * scale).toFixed(0)} pixels for 100 mm. Saved in this browser until you calibrate again.</p>
      <button type="button" class="main" onClick={() => { localStorage.setItem(PLACE, String(scale)); trueScale.set(scale); close(true); }}>It matches</button>
    </Dialog>
  );
}
