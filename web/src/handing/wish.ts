// What can be handed on and as what: the forms by what they are for, and the choices of each.
import { desk } from "../desk";
import { held } from "../hold";
import type { Edit, Form } from "../wire";

/** Forms in the order in which they are offered. Another one gets its line here, its fields in `Choices` and its sight in `Seen`. */
export const FORMS: { form: Form; name: string; says: string; key: string }[] = [
  { form: "share", name: "To post", says: "Each print whole, on a white sheet of one shape: a picture file each.", key: "p" },
  { form: "gallery", name: "A site", says: "A wall of all prints and a page for each, as plain files for any host.", key: "s" },
  { form: "book", name: "A book", says: "Prints at their true size on white pages: a file for the press.", key: "b" },
  { form: "pack", name: "An archive", says: "Originals, results and words in plain files, to be read in twenty years.", key: "a" },
];
/** What a form that was handed on is called. */
export const formName = (form: string): string => FORMS.find((f) => f.form === form)?.name ?? form;

export interface Wish {
  /** Null until someone chooses: then the narrowest edit that holds any print. An empty text is every print. */
  edit: string | null; form: Form;
  shape: string; other: string; pixels: string; kilobytes: string; one_scale: boolean; asked: boolean;
  title: string | null; address: string; newsletter: string; backs: boolean; author: string; page: string; size: string; layout: string; printer: string; first_dot: string; captions: boolean; proof: boolean; dummy: boolean; deck: boolean; place: string;
}
/** The choices as they were left, while the page is open. */
export const wish = held<Wish>({
  edit: null, form: "share", shape: "4:5", other: "", pixels: "2160", kilobytes: "", one_scale: false, asked: false,
  title: null, address: "", newsletter: "", backs: false, author: "", page: "240x240", size: "", layout: "single", printer: "", first_dot: "", captions: true, proof: false, dummy: false, deck: false, place: "",
});
export const want = (more: Partial<Wish>): void => wish.set({ ...wish.get(), ...more });

export const SHAPES: [string, string][] = [
  ["4:5", "4 : 5, upright"], ["1:1", "1 : 1, square"], ["3:2", "3 : 2, across"], ["9:16", "9 : 16, a phone's screen"], ["16:9", "16 : 9, a wide screen"],
];
export const PAGES: [string, string][] = [
  ["240x240", "240 × 240 mm, square"], ["300x300", "300 × 300 mm, square"], ["210x297", "210 × 297 mm, upright (A4)"], ["297x210", "297 × 210 mm, across (A4)"], ["148x210", "148 × 210 mm, upright (A5)"],
];
export const LAYOUTS: [string, string][] = [
  ["single", "one print to a spread"], ["facing", "two prints facing"], ["back", "each print across from its back"], ["row=3", "three in a row"], ["grid=2x2", "four to a page"],
];

/** The edit that is meant: the narrowest that holds a print, for an archive every print; unless one was chosen. */
export function editOf({ edit: chosen, form }: Wish, edits: Edit[]): string {
  if (chosen === "" || edits.some((e) => e.name === chosen)) return chosen ?? "";
  if (form === "pack") return "";
  const full = (kind: Edit["kind"]): Edit | undefined => edits.find((e) => e.kind === kind && e.count > 0);
  return (full("sequence") ?? full("tight") ?? full("wide") ?? edits.find((e) => e.count > 0))?.name ?? "";
}

/** A number where one was written. */
const amount = (text: string): number | null => (text.trim() === "" ? null : Number(text));

/** The wish as the server reads it. */
export function asked(w: Wish): unknown {
  const edit = editOf(w, desk.get()?.edits ?? []) || null, title = (w.title ?? desk.get()?.project ?? "").trim();
  if (w.form === "share") {
    const shape = w.shape === "other" ? w.other.trim() : w.shape;
    return { edit, form: w.form, shape, pixels: w.pixels.trim(), kilobytes: amount(w.kilobytes), one_scale: w.one_scale, asked: w.asked };
  }
  if (w.form === "gallery") return { edit, form: w.form, title, address: w.address.trim(), newsletter: amount(w.newsletter), backs: w.backs, asked: w.asked };
  if (w.form === "pack") return { edit, form: w.form, title, place: w.place.trim() };
  const page = (w.page === "other" ? w.size : w.page).split(/[x×]/).map((side) => Number.parseFloat(side) || 0);
  const { captions, proof, dummy, deck } = w, printer = w.printer.trim() || null;
  return { edit, form: w.form, title, author: w.author.trim(), trim_mm: [page[0] ?? 0, page[1] ?? 0], layout: [w.layout], printer, first_dot: amount(w.first_dot), captions, proof, dummy, deck };
}
