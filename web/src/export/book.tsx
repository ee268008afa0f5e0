// A book: its flat plan, its spreads one at a time, and what its certificate proves.
import { count, two } from "../measures";
import type { BookSeen, HandedOn } from "../wire.generated";
import { Print, made } from "./exported";

/** Pages of a spread: the first is page 1 alone at the right. */
const pagesOf = (spread: number, pages: number): number[] => [2 * spread, 2 * spread + 1].filter((p) => p >= 1 && p <= pages);
const spoken = (pages: number[]): string => `${pages.length > 1 ? "Pages" : "Page"} ${pages.join(" and ")}`;

export function Book({ it, book, at, large, see }: { it: HandedOn; book: BookSeen; at: number; large: boolean; see: (i: number, large: boolean) => void }) {
  const spread = book.spreads[at], pages = pagesOf(at, book.pages);
  if (large && spread) {
    const on = book.pictures.filter((p) => pages.includes(p.page)).map((p) => p.name);
    const alt = `${spoken(pages)}: ${on.length ? on.join(", ") : "no print"}.`;
    return (
      <figure class="one spread">
        <img src={made(it.name, spread)} alt={alt} width={2 * book.trim_mm[0]} height={book.trim_mm[1]} />
        <figcaption>{spoken(pages)} of {book.pages}</figcaption>
      </figure>
    );
  }
  return (
    <div class="plan">
      <img src={made(it.name, book.plan)} alt={`Flat plan: all spreads of the book's ${book.pages} pages, small.`} />
      <ul class="sheets" aria-label="Spreads">
        {book.places.map(([x, y, w, h], i) => (
          <li key={i} style={{ left: `${100 * x}%`, top: `${100 * y}%`, width: `${100 * w}%`, height: `${100 * h}%` }}>
            <button type="button" aria-label={spoken(pagesOf(i, book.pages))} aria-current={i === at} tabIndex={i === at ? 0 : -1} onFocus={() => i !== at && see(i, false)} onClick={() => see(i, true)} />
          </li>
        ))}
      </ul>
    </div>
  );
}

export function BookDetails({ it, book, at }: { it: HandedOn; book: BookSeen; at: number | null }) {
  const [w, h] = book.trim_mm, here = at === null ? null : pagesOf(at, book.pages);
  const pictures = here ? book.pictures.filter((p) => here.includes(p.page)) : book.pictures;
  const inked = book.pictures.filter((p) => p.bare_with_ink > 0);
  return (
    <>
      <h3>{("title" in it && it.title) || "The book"}</h3>
      <p>{count(book.pages, "page", "pages")} of {two(w)} × {two(h)} mm, {book.condition ? `for ${book.condition}` : "in sRGB, without a printer's profile"}.</p>
      {book.paper_white ? (
        <p><b>Paper white:</b> no ink on bare paper, nor at the edge of any of its {count(book.pictures.length, "picture", "pictures")}. The certificate beside the book proves it.</p>
      ) : <p class="trouble">Paper white could not be proved for {inked.map((p) => p.name).join(", ")}. Do not print this file.</p>}
      <table class="printed">
        <caption>{here ? "On these pages" : "Resolution on the page"}</caption>
        <thead><tr><th scope="col">Print</th><th scope="col">Page</th><th scope="col">Pixels per inch</th></tr></thead>
        <tbody>
          {pictures.map((p) => (
            <tr key={`${p.name}${p.page}`}><th scope="row"><Print label={p.name} /></th><td>{p.page}</td><td>{Math.round(p.ppi)}{p.says && <span class="few">{p.says}</span>}</td></tr>
          ))}
        </tbody>
      </table>
    </>
  );
}
