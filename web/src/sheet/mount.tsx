// The finished print on white: as large as fits, or at actual size.
import { picture } from "../wire";
import type { Frame } from "../wire.generated";

export function Mount({ frame, large, scale }: { frame: Frame; large: boolean; scale: number }) {
  const mm = frame.canvas_px && frame.px_per_mm ? frame.canvas_px.map((px) => px / frame.px_per_mm!) : null;
  if (!frame.picture || !frame.canvas_px) {
    return <figure class="finished none"><p>No finished picture: this frame was not finished.</p></figure>;
  }
  const [w, h] = frame.canvas_px, actual = large && mm && scale > 0;
  const size = actual ? { width: `${mm[0]! * scale}px`, height: `${mm[1]! * scale}px` } : { aspectRatio: `${w} / ${h}`, "--ratio": String(w / h) };
  return (
    <figure class={actual ? "finished actual" : "finished"} tabIndex={actual ? 0 : undefined}>
      <div class="mount" style={size}>
        <img src={picture(frame.id, "mount", actual ? mm[0]! * scale : 960, frame.picture)} alt={`The finished ${frame.role} on white with its shadow.`} draggable={false} />
      </div>
      <figcaption>{actual ? "Actual size on this screen." : mm ? `Mount ${Math.round(mm[0]!)} × ${Math.round(mm[1]!)} mm.` : ""}{frame.turn_known ? "" : " Nothing here says which way is up: turn it with [ and ], or press Y if it is upright."}</figcaption>
    </figure>
  );
}
