// Tabs for all prints and for each edit; a print dropped on a tab is added to that edit.
import { useState } from "preact/hooks";
import { act, desk } from "../store";
import { useObservable } from "../observable";
import { thousands } from "../measures";
import { TITLES, rounds } from "./edits";

/** A name that is as wide in bold as it is plain, so that nothing moves when its sheet is chosen. */
const Name = ({ of }: { of: string }) => <span class="name" data-name={of}>{of}</span>;

export function EditTabs({ sheet, choose }: { sheet: string | null; choose: (name: string | null) => void }) {
  const known = useObservable(desk);
  const [naming, name] = useState<"" | "make" | "rename">("");
  const mine = known?.edits.find((e) => e.name === sheet && e.kind === "own");
  const three = rounds(known?.edits ?? []).map((r) => ({ ...r, title: TITLES[r.kind] as string }));
  const own = (known?.edits ?? []).filter((e) => e.kind === "own").map((e) => ({ ...e, title: e.name }));
  return (
    <nav class="pile" aria-label="Edits">
      <button type="button" class="all" aria-pressed={sheet === null} onClick={() => choose(null)}>
        <Name of="All prints" /> <span class="n">{thousands(known?.prints ?? 0)}</span>
      </button>
      <span class="sheets">
        {[...three, ...own].map((edit) => (
          <button
            key={edit.name} type="button" class={`paper ${edit.kind}`} data-sheet={edit.name} aria-pressed={sheet === edit.name}
            onClick={() => choose(edit.name)}
          >
            <Name of={edit.title} /> <span class="n">{thousands(edit.count)}</span>
            {sheet === edit.name && <em>shown</em>}
          </button>
        ))}
      </span>
      {naming ? (
        <form
          class="new"
          onSubmit={(e) => {
            e.preventDefault();
            const wanted = (new FormData(e.currentTarget).get("name") as string).trim();
            if (wanted && naming === "make") void act("/api/edit", { do: "make", name: wanted });
            if (wanted && naming === "rename" && mine) void act("/api/edit", { do: "rename", name: mine.name, to: wanted }).then((done) => done && choose(wanted));
            name("");
          }}
        >
          <label>Name <input name="name" autocomplete="off" dir="auto" ref={(el) => el?.focus()} onKeyDown={(e) => { if (e.key === "Escape") { e.stopPropagation(); name(""); } }} /></label>
        </form>
      ) : (
        <span class="plain">
          {mine && <button type="button" onClick={() => name("rename")}>Rename</button>}
          {mine && <button type="button" onClick={() => void act("/api/edit", { do: "drop", name: mine.name }).then((done) => done && choose(null))}>Delete</button>}
          <button type="button" onClick={() => name("make")}>New edit</button>
        </span>
      )}
    </nav>
  );
}
