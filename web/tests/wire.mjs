// The desk's wire as docs/reference/desk.schema.json has it: checks requests, answers and events, of the invented desk and the real one.
import { readFileSync } from "node:fs";
import Ajv from "ajv/dist/2020.js";

const schema = JSON.parse(readFileSync(new URL("../../docs/reference/desk.schema.json", import.meta.url), "utf8"));
// Formats are Rust's number types; whether a number is whole is checked by its type.
const ajv = new Ajv({ strict: false, allErrors: true, validateFormats: false });
ajv.addSchema({ $id: "wire", $defs: schema.$defs });

/** `#/$defs/State` as a schema of its own; a schema without a reference as it is. */
const check = new Map();
function compiled(part) {
  const key = JSON.stringify(part);
  if (!check.has(key)) check.set(key, ajv.compile(JSON.parse(key.replaceAll('"#/', '"wire#/'))));
  return check.get(key);
}

/** What is wrong with a value, one line for each field; empty where it fits. */
export function faults(part, value, what) {
  const fits = compiled(part);
  if (fits(value)) return [];
  return fits.errors.slice(0, 6).map((e) => `${what}: ${e.instancePath || "it"} ${e.message} ${JSON.stringify(e.params)}`);
}

const matches = (pattern, path) => new RegExp(`^${pattern.replace(/\{\w+\}/g, "[^/]+")}$`).test(path);
/** The calls of the desk, and those of the paired device. */
export const calls = { desk: schema.desk, device: schema.device };

/** What is wrong with one exchange between page and desk. `device`: it was the paired device's. */
export function exchange({ method, path, status, sent, got, device = false }) {
  const what = `${method} ${path}`, call = calls[device ? "device" : "desk"].find((c) => c.method === method && matches(c.path, path));
  if (status >= 400) return faults(schema.refusal, got, `${what} ${status}`);
  if (!call) return [`${what}: the wire has no such call`];
  return [...(method === "POST" ? faults(call.request, sent, `${what} sent`) : []), ...faults(call.answer, got, `${what} answered`)];
}

export const event = (value) => faults(schema.event, value, `event ${value.kind}`);
