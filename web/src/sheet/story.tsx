// A print's history, its exports, and similar prints.
import { go } from "../store";
import type { Print } from "../wire.generated";

/** "2026-11-25T18:40:00Z" as "2026-11-25 18:40". */
const when = (text: string): string => text.replace("T", " ").slice(0, 16);

export function Story({ print }: { print: Print }) {
  return (
    <section class="story">
      <h3>History</h3>
      {print.history.length === 0 && <p class="second">No changes yet.</p>}
      <ol>{print.history.map((h, i) => <li key={i}><time>{when(h.when)}</time> {h.says}</li>)}</ol>
      {print.made.length > 0 && <h3>Exports</h3>}
      <ul>{print.made.map((m, i) => <li key={i}>{m.what} <span class="second">{when(m.when)}, {m.place}</span></li>)}</ul>
      {print.likenesses.length > 0 && <h3>Similar prints</h3>}
      <ul>
        {print.likenesses.map((l) => (
          <li key={l.id}>
            <a href={`/print/${l.id}`} onClick={(e) => { e.preventDefault(); go(`/print/${l.id}`); }}>Print {l.id}</a> <span class="second">{l.why}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}
