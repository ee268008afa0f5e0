// Exported pictures: all of them, or one enlarged; details beside it.
import { thousands } from "../measures";
import type { HandedOn, Shared } from "../wire.generated";
import { Print, made } from "./exported";

export function Shares({ it, at, large, see }: { it: HandedOn; at: number; large: boolean; see: (i: number, large: boolean) => void }) {
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

export function ShareDetails({ share }: { share: Shared | undefined }) {
  if (!share) return null;
  const [w, h] = share.size_px;
  return (
    <>
      <h3><Print label={share.print} /></h3>
      <p class="alt">{share.alt}</p>
      {share.alt_is_made && <p class="trouble">No alt text yet: this one is composed from the print's other facts.</p>}
      <p class="second">{w} × {h} pixels, {thousands(share.bytes / 1000)} kB.</p>
      {share.shadow && share.shadow !== "as shot" && <p>Shadow {share.shadow}.</p>}
      {share.notes.map((n) => <p key={n}>{n}</p>)}
      <p>{share.kept.length ? `Metadata in the file: ${share.kept.join(", ")}.` : "Metadata in the file: alt text only."}</p>
      {share.left_out.length > 0 && <p>Left out: {share.left_out.map(([word, why]) => `${word} (${why})`).join(", ")}.</p>}
    </>
  );
}
