// Words for one print or several. For several: what they share and what differs; words are added or removed, and a text that is there
// is replaced only where a person says so.
import { useEffect, useRef, useState } from "preact/hooks";
import { desk, tell } from "../store";
import { Dialog } from "../dialog";
import { get, post } from "../wire";
import { count } from "../measures";
import type { DescribeRequest, Fact, KeptBack, Together } from "../wire.generated";
import { Field } from "./field";
import { NOTHING, describe, fields, shown } from "./words";

type Wish = Required<Omit<DescribeRequest, "ids">>;
const nothing = (): Wish => structuredClone(NOTHING);
const said = (wish: Wish): boolean => Object.entries(wish).some(([how, of]) => how !== "seen" && Object.keys(of).length > 0);

export function Describe({ ids, label, close }: { ids: number[]; label: string; close: () => void }) {
  const wish = useRef<Wish>(nothing());
  const [now, know] = useState<Together[] | null>(null), [own, read] = useState<Record<string, string> | null>(null);
  const [back, keep] = useState<KeptBack[]>([]), [wrong, complain] = useState("");
  useEffect(() => {
    if (ids.length === 1) get(`/api/print/${ids[0]!}`).then((p) => read(p.facts), tell);
    else post("/api/shared", { ids }).then(know, tell);
  }, []);
  const form = useRef<HTMLFormElement>(null);
  async function save(): Promise<void> {
    const open = form.current?.querySelector<HTMLInputElement>("input[data-replace]:not(:checked)");
    if (open) {
      complain("A text that is there is not replaced until you say so.");
      return open.focus();
    }
    if (!said(wish.current)) return close();
    const kept = await describe({ ids, ...wish.current });
    if (!kept) return;
    if (kept.length === 0) return close();
    // What was written is not written again; what was not stays in its field.
    const words = new Set(kept.map((k) => k.fact));
    for (const how of ["facts", "fill", "add", "remove"] as const) {
      wish.current[how] = Object.fromEntries(Object.entries(wish.current[how]).filter(([word]) => words.has(word))) as never;
    }
    keep(kept);
    complain("");
  }
  const all = fields(desk.get()?.facts ?? []);
  return (
    <Dialog title={`Describe ${label.toLowerCase()}`} name="plain words" close={close} unsaved={() => said(wish.current)} save={() => void save()}>
      <form class="fields" ref={form} onSubmit={(e) => { e.preventDefault(); void save(); }}>
        {own && all.map((fact) => {
          const value = shown(own, fact.word);
          return (
            <Field key={fact.word} fact={fact} value={value} later edtf={own["date"]} back={back.find((k) => k.fact === fact.word) ?? null} keep={(text, { seen, edtf = "", dated }) => {
              if (text === value) {
                delete wish.current.facts[fact.word];
                return;
              }
              wish.current.facts[fact.word] = text;
              if (dated !== undefined) wish.current.facts["dated"] = dated;
              wish.current.seen[fact.word] = fact.word === "date" ? [seen, edtf] : [seen];
            }} />
          );
        })}
        {now && all.map((fact) => <Several key={fact.word} fact={fact} of={ids.length} shared={now.find((s) => s.fact === fact.word)!} wish={wish.current} back={back.find((k) => k.fact === fact.word) ?? null} />)}
        {back.filter((k) => !all.some((f) => f.word === k.fact)).map((k) => <p class="trouble" key={k.fact}>{k.says}</p>)}
        {wrong && <p class="trouble" role="alert">{wrong}</p>}
        <button type="submit" class="main">Save</button>
      </form>
    </Dialog>
  );
}

interface SeveralProps { fact: Fact; of: number; shared: Together; wish: Wish; back: KeptBack | null }

function Several(props: SeveralProps) {
  return props.fact.kind === "list" ? <Items {...props} /> : <Text {...props} />;
}

/** A list: each name with how many prints have it, added or removed for all. */
function Items({ fact, of, shared, wish, back }: SeveralProps) {
  const [, draw] = useState({});
  const removed = wish.remove[fact.word] ?? [], added = wish.add[fact.word] ?? [];
  const toggle = (which: "add" | "remove", name: string): void => {
    const held = wish[which][fact.word] ?? [], next = held.includes(name) ? held.filter((n) => n !== name) : [...held, name];
    if (next.length) wish[which][fact.word] = next;
    else delete wish[which][fact.word];
    draw({});
  };
  const typed = useRef<string[]>([]);
  const items = [...shared.all.map((name) => ({ name, count: of })), ...shared.some];
  return (
    <>
      <Field fact={{ ...fact, label: `${fact.label}: add` }} value="" later back={back} keep={(text) => {
        // The names typed take the place of those typed before; those added by their button stay.
        const names = text.split(/;\s*/).map((n) => n.trim()).filter(Boolean);
        const next = [...added.filter((n) => !typed.current.includes(n)), ...names];
        typed.current = names;
        if (next.length) wish.add[fact.word] = next;
        else delete wish.add[fact.word];
      }} />
      {items.length > 0 && (
        <div class="field"><p class="items" aria-label={`${fact.label} of these prints`}>
          {items.map(({ name, count: n }) => (
            <span key={name}>
              {removed.includes(name) ? <s>{name}</s> : name} <span class="second">{n === of ? "in all" : added.includes(name) ? "added to all" : `in ${n} of ${of}`}</span>
              {n < of && <button type="button" aria-pressed={added.includes(name)} aria-label={`Add ${name} to all`} onClick={() => toggle("add", name)}>+</button>}
              <button type="button" aria-pressed={removed.includes(name)} aria-label={`Remove ${name}`} onClick={() => toggle("remove", name)}>−</button>
            </span>
          ))}
        </p></div>
      )}
    </>
  );
}

/** A text: what all or some say; written where nothing is said, and elsewhere only when it is to be replaced. */
function Text({ fact, of, shared, wish, back }: SeveralProps) {
  const [text, write] = useState(""), [replace, decide] = useState(false);
  const dated = useRef<string>(), there = of - shared.empty, values = [...shared.all, ...shared.some.map((s) => s.name)];
  const tells = shared.all[0] ? `all: ${shared.all[0]}` : there ? `${there} of ${of}: ${shared.some.slice(0, 3).map((s) => s.name).join(", ")}${shared.some.length > 3 ? " …" : ""}` : "";
  function put(value: string, whole: boolean): void {
    for (const how of ["facts", "fill"] as const) {
      delete wish[how][fact.word];
      if (fact.word === "date") delete wish[how]["dated"];
    }
    delete wish.seen[fact.word];
    if (!value) return;
    const to = whole ? wish.facts : wish.fill;
    to[fact.word] = value;
    if (fact.word === "date" && dated.current) to["dated"] = dated.current;
    // Only what was shown is replaced: what somebody else writes meanwhile is not.
    if (whole) wish.seen[fact.word] = [...values, ""];
  }
  return (
    <>
      <Field fact={fact} value="" later back={back} {...(tells && { placeholder: tells })} keep={(value, beside) => {
        dated.current = beside.dated;
        write(value);
        put(value, replace || there === 0);
      }} />
      {tells && fact.kind === "choice" && <div class="field"><p class="items second">{tells}</p></div>}
      {text && there > 0 && (
        <div class="field"><label class="tick">
          <input
            type="checkbox" checked={replace} {...(shared.empty === 0 && { "data-replace": true })}
            onChange={(e) => { decide(e.currentTarget.checked); put(text, e.currentTarget.checked); }}
          />
          Replace what {count(there, "print says", "prints say")}: {values.slice(0, 3).join(", ")}{values.length > 3 ? " …" : ""}{shared.empty > 0 && `. Otherwise only ${count(shared.empty, "empty one", "empty ones")}`}
        </label></div>
      )}
    </>
  );
}
