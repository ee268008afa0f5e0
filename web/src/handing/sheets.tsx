// Shares as they were written: all of them, or one large; its words beside it.
import { count, thousands } from "../measures";
import type { HandedOn, Share } from "../wire";
import { Print, made } from "./seen";

export function Sheets({ it, at, large, see }: { it: HandedOn; at: number; large: boolean; see: (i: number, large: boolean) => void }) {
  const one = it.shares[at];
  if (large && one) {
    return (
      <figure class="one">
        <img src={made(it.name, one.file)} alt={one.alt} width={one.size_px[0]} height={one.size_px[1]} />
        <figcaption>{at + 1} of {it.shares.length}</figcaption>
      </figure>
    );
  }
  return (
    <ul class="sheets">
      {it.shares.map((s, i) => (
        <li key={s.file}>
          <button type="button" aria-current={i === at} tabIndex={i === at ? 0 : -1} onFocus={() => i !== at && see(i, false)} onClick={() => see(i, true)}>
            <img src={made(it.name, s.file)} alt={s.alt} width={s.size_px[0]} height={s.size_px[1]} loading="lazy" />
          </button>
        </li>
      ))}
    </ul>
  );
}

export function SheetTold({ share }: { share: Share | undefined }) {
  if (!share) return null;
  const [w, h] = share.size_px;
  return (
    <>
      <h3><Print label={share.print} /></h3>
      <p class="alt">{share.alt}</p>
      {share.alt_is_made && <p class="trouble">Put together from its other words: nobody has written yet what is seen.</p>}
      <p class="second">{w} × {h} pixels, {thousands(share.bytes / 1000)} kB.</p>
      {share.notes.map((n) => <p key={n}>{n}</p>)}
      <p>{share.kept.length ? `In the file: ${share.kept.join(", ")}.` : "No words of it are in the file but what is seen."}</p>
      {share.left_out.length > 0 && <p>{count(share.left_out.length, "word stayed", "words stayed")} behind: {share.left_out.map(([word, why]) => `${word} (${why})`).join(", ")}.</p>}
    </>
  );
}
