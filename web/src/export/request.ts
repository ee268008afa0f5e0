// What can be exported: the forms by what they are for, and the choices of each.
import { desk } from "../store";
import { type Chosen, AS_SHOT, asShot, wordsOf } from "../light/light";
import { observable } from "../observable";
import type { Edit, ExportRequest } from "../wire.generated";

export type Form = ExportRequest["form"];

/** Forms in the order in which they are offered. Another one gets its line here, its fields in `Choices` and its view in `Exported`. */
export const FORMS: { form: Form; name: string; says: string; key: string }[] = [
  { form: "share", name: "Social media", says: "Each print whole on white, all in one shape: one picture file each.", key: "p" },
  { form: "gallery", name: "Website", says: "A gallery of all prints and a page for each, as plain files for any host.", key: "s" },
  { form: "book", name: "Book", says: "Prints at actual size on white pages: a PDF for the printer.", key: "b" },
  { form: "pack", name: "Archive", says: "Originals, results and captions in plain files that can be read in twenty years.", key: "a" },
];
/** The name of a form. */
export const formName = (form: string): string => FORMS.find((f) => f.form === form)?.name ?? form;

export interface Choice {
  /** Null until a person chooses: then the narrowest edit that is not empty. An empty text means every print. */
  edit: string | null; form: Form; light: Chosen;
  shape: string; other: string; pixels: string; kilobytes: string; one_scale: boolean; asked: boolean;
  title: string | null; address: string; newsletter: string; backs: boolean; author: string; page: string; size: string; layout: string; printer: string; first_dot: string; captions: boolean; proof: boolean; dummy: boolean; deck: boolean; place: string;
}
/** The choices, kept while the page is open. */
export const choice = observable<Choice>({
  edit: null, form: "share", light: asShot, shape: "4:5", other: "", pixels: "2160", kilobytes: "", one_scale: false, asked: false,
  title: null, address: "", newsletter: "", backs: false, author: "", page: "240x240", size: "", layout: "single", printer: "", first_dot: "", captions: true, proof: false, dummy: false, deck: false, place: "",
});
export const choose = (more: Partial<Choice>): void => choice.set({ ...choice.get(), ...more });

export const SHAPES: [string, string][] = [
  ["4:5", "4:5, portrait"], ["1:1", "1:1, square"], ["3:2", "3:2, landscape"], ["9:16", "9:16, phone screen"], ["16:9", "16:9, wide screen"],
];
export const PAGES: [string, string][] = [
  ["240x240", "240 × 240 mm, square"], ["300x300", "300 × 300 mm, square"], ["210x297", "210 × 297 mm, portrait (A4)"], ["297x210", "297 × 210 mm, landscape (A4)"], ["148x210", "148 × 210 mm, portrait (A5)"],
];
export const LAYOUTS: [string, string][] = [
  ["single", "one print per spread"], ["facing", "two facing prints"], ["back", "each print facing its back"], ["row=3", "three in a row"], ["grid=2x2", "four per page"],
];

/** The chosen edit; otherwise the narrowest that is not empty, and for an archive every print. */
export function editOf({ edit: chosen, form }: Choice, edits: Edit[]): string {
  if (chosen === "" || edits.some((e) => e.name === chosen)) return chosen ?? "";
  if (form === "pack") return "";
  const full = (kind: Edit["kind"]): Edit | undefined => edits.find((e) => e.kind === kind && e.count > 0);
  return (full("sequence") ?? full("tight") ?? full("wide") ?? edits.find((e) => e.count > 0))?.name ?? "";
}

/** Chooses the next edit, and after the last one every print. */
export function nextEdit(now: Choice, edits: Edit[]): void {
  const names = [...edits.map((e) => e.name), ""];
  choose({ edit: names[(names.indexOf(editOf(now, edits)) + 1) % names.length]! });
}

/** The number in a field, if any. */
const amount = (text: string): number | null => (text.trim() === "" ? null : Number(text));

/** The request for the choices. */
export function asked(w: Choice): ExportRequest {
  const edit = editOf(w, desk.get()?.edits ?? []) || null, title = (w.title ?? desk.get()?.project ?? "").trim();
  const words = wordsOf(w.light), light = words === AS_SHOT ? null : words;
  if (w.form === "share") {
    const shape = w.shape === "other" ? w.other.trim() : w.shape;
    return { edit, form: w.form, shape, pixels: w.pixels.trim(), kilobytes: amount(w.kilobytes), one_scale: w.one_scale, light, asked: w.asked };
  }
  if (w.form === "gallery") return { edit, form: w.form, title, address: w.address.trim(), newsletter: amount(w.newsletter), backs: w.backs, light, asked: w.asked };
  if (w.form === "pack") return { edit, form: w.form, title, place: w.place.trim() };
  const page = (w.page === "other" ? w.size : w.page).split(/[x×]/).map((side) => Number.parseFloat(side) || 0);
  const { captions, proof, dummy, deck } = w, printer = w.printer.trim() || null;
  return { edit, form: w.form, title, author: w.author.trim(), trim_mm: [page[0] ?? 0, page[1] ?? 0], layout: [w.layout], printer, first_dot: amount(w.first_dot), captions, light, proof, dummy, deck };
}
