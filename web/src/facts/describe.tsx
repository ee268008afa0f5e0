// Facts of one print or several at once: what is filled in is written to all of them, what stays empty is unchanged.
import { useRef } from "preact/hooks";
import { act, desk } from "../store";
import { Dialog } from "../dialog";
import { Field } from "./field";

export function Describe({ ids, label, close }: { ids: number[]; label: string; close: () => void }) {
  const facts = useRef<Record<string, string>>({});
  const keep = (word: string) => (value: string): void => {
    if (value) facts.current[word] = value;
    else delete facts.current[word];
  };
  return (
    <Dialog title={`Describe ${label.toLowerCase()}`} name="plain words" close={close}>
      <form
        class="fields"
        onSubmit={(e) => {
          e.preventDefault();
          // The field that Enter was pressed in has not been left yet.
          for (const input of e.currentTarget.querySelectorAll<HTMLInputElement>("input[name]")) keep(input.name)(input.value.trim());
          if (Object.keys(facts.current).length) void act("/api/describe", { ids, facts: facts.current }).then((done) => done && close());
          else close();
        }}
      >
        {desk.get()?.facts.map((fact) => <Field key={fact.word} fact={fact} value="" keep={keep(fact.word)} />)}
        <p class="second">{ids.length > 1 ? "Empty fields change nothing." : "Empty fields change nothing. To delete a text, open the print's sheet."}</p>
        <button type="submit" class="main">Save</button>
      </form>
    </Dialog>
  );
}
