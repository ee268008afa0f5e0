// A desk of invented prints with the real desk's wire, for the page's tests and for working on it. The tests check its answers against
// docs/reference/desk.schema.json. No dependency, nothing kept.
// usage: node mock/serve.mjs [PORT [PRINTS]]
import { createServer } from "node:http";
import { existsSync, readFileSync } from "node:fs";
import { extname, join, normalize } from "node:path";
import { fileURLToPath } from "node:url";
import { Desk } from "./desk.mjs";
import { frame, mount } from "./draw.mjs";
import { FORMATS } from "./data.mjs";
import { Handing } from "./export.mjs";
import { plan } from "./plan.mjs";
import { preview, ready } from "./ready.mjs";

const DIST = fileURLToPath(new URL("../dist", import.meta.url));
const TYPES = { ".html": "text/html; charset=utf-8", ".js": "text/javascript", ".css": "text/css", ".woff2": "font/woff2", ".svg": "image/svg+xml" };
/** What the real server sends: nothing inline, nothing from elsewhere. */
export const POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

function send(response, status, body, type = "application/json", more = {}) {
  response.writeHead(status, { "Content-Type": type, "Cache-Control": "no-store", "Content-Security-Policy": POLICY, "X-Content-Type-Options": "nosniff", ...more });
  response.end(type === "application/json" ? JSON.stringify(body) : body);
}

/** Starts a desk; `port` 0 takes any. */
export async function start({ prints = 10_000, port = 0, widest = 640, token = "invented" } = {}) {
  const desk = Object.assign(new Desk(prints), { widest, secret: token }), listeners = new Map(), pictures = new Map();
  desk.handing = new Handing(desk);
  desk.tell = (event) => {
    for (const [to, device] of listeners) {
      const told = device ? forDevice(event) : event;
      if (told) to.write(`data: ${JSON.stringify(told)}\n\n`);
    }
  };
  const server = createServer((request, response) => {
    handle(desk, listeners, pictures, request, response).catch((error) => send(response, error.status ?? 500, { says: error.says ?? String(error), do: error.do ?? "" }));
  });
  await new Promise((ready) => server.listen(port, "127.0.0.1", ready));
  desk.guests = `http://127.0.0.1:${server.address().port}/guest`;
  return { url: `http://127.0.0.1:${server.address().port}/?t=${token}`, desk, close: () => { for (const l of listeners.keys()) l.end(); server.closeAllConnections(); server.close(); } };
}

async function handle(desk, listeners, pictures, request, response) {
  const url = new URL(request.url, "http://desk"), path = url.pathname;
  if (url.searchParams.has("t")) return send(response, 303, "", "text/plain", { Location: "/", "Set-Cookie": `fallside=${url.searchParams.get("t")}; HttpOnly; SameSite=Strict; Path=/` });
  // The desk of an earlier run let this page in.
  if (/^\/(api|events)/.test(path) && !fromGuest(request) && /fallside=/.test(request.headers.cookie ?? "") && !request.headers.cookie.includes(`fallside=${desk.secret}`)) throw Object.assign(new Error(), { status: 403, says: "This page was not opened from this desk.", do: "Open the address that `fallside desk` wrote." });
  if (path === "/events") {
    response.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" });
    response.write(": here\n\n");
    listeners.set(response, fromGuest(request));
    return request.on("close", () => listeners.delete(response));
  }
  if (path.startsWith("/picture/")) return draw(desk, pictures, url, response);
  if (path.startsWith("/made/")) {
    const [, , name, file] = path.split("/"), found = desk.handing.file(name, file);
    // The page's own policy, but that the page may frame it.
    return found ? send(response, 200, found[0], found[1], { "Content-Security-Policy": "default-src 'none'; frame-ancestors 'self'" }) : send(response, 404, { says: "There is no such file.", do: "" });
  }
  if (path.startsWith("/api/")) return send(response, 200, await answer(desk, request, url));
  if (path === "/card") return send(response, 200, `<!doctype html><title>Rig card</title><h1>Rig card: ${url.searchParams.get("format")}</h1>`, TYPES[".html"]);
  if (path.startsWith("/assets/")) {
    const file = join(DIST, normalize(path));
    if (file.startsWith(DIST) && existsSync(file)) return send(response, 200, readFileSync(file), TYPES[extname(file)] ?? "application/octet-stream", { "Cache-Control": "max-age=31536000, immutable" });
    return send(response, 404, { says: "There is no such file.", do: "" });
  }
  return send(response, 200, readFileSync(join(DIST, path === "/guest" ? "guest.html" : "index.html")), TYPES[".html"]);
}

/** The invented desk has one address: the paired device is known by its user agent. */
const fromGuest = (request) => request.headers["user-agent"]?.includes("guest");

/** What the paired device hears of an event. */
function forDevice(event) {
  if (event.kind === "verdict") return event.last && { kind: "verdict", verdict: event.last.verdict };
  if (event.kind === "trouble" && event.at_stand) return { kind: "changed" };
  return ["changed", "settled"].includes(event.kind) ? { kind: "changed" } : null;
}

/** A slow desk: the answer is what was known when it was asked. */
async function late(desk, known) {
  const kept = structuredClone(known);
  if (desk.late) await new Promise((later) => setTimeout(later, desk.late));
  return kept;
}

async function answer(desk, request, url) {
  const room = request.headers["x-fallside-room"] ?? "";
  desk.room = room;
  const [, , what, id, verb] = url.pathname.split("/"), query = url.searchParams;
  if (request.method === "GET") {
    if (what === "desk") return desk.state();
    if (what === "prints") return late(desk, desk.list(query.get("q") ?? "", query.get("order") ?? "number", Number(query.get("from") ?? 0), Number(query.get("count") ?? 300), query.get("stacks")));
    if (what === "print") return late(desk, desk.print(Number(id)));
    if (what === "folders") return desk.intake.folders(query.get("at"));
    if (what === "take") return desk.intake.imports();
    if (what === "date") return desk.date(query.get("text") ?? "");
    if (what === "plan") return { words: desk.planWords };
    if (what === "offers") return desk.offers(query.get("fact"), query.get("start") ?? "");
    if (what === "guest") return desk.way;
    if (what === "stand" && fromGuest(request) && !desk.way.in) throw Object.assign(new Error(), { status: 401, says: "This device is not paired.", do: "Enter the code that the desk shows." });
    // The device is not told where the folder lies.
    if (what === "stand") return fromGuest(request) ? { ...desk.stand, folder: desk.stand.folder && "", remembered: null } : desk.stand;
    if (what === "hand") return id ? desk.handing.one(id) : desk.handing.hands();
  }
  if (request.headers["x-fallside"] !== "1") throw Object.assign(new Error(), { status: 403, says: "This request did not come from the desk's page.", do: "" });
  let text = "";
  for await (const part of request) text += part;
  const body = JSON.parse(text);
  if (what === "take" && id === "stop") return desk.intake.stop();
  if (what === "plan" && id === "words") return (desk.planWords = body.words), { words: body.words };
  if (what === "plan") return plan(body);
  if (what === "ready") return late(desk, ready(desk, body));
  if (what === "preview") return late(desk, preview(desk, body));
  if (what === "code") return desk.come(body.code), { did: "This device is paired." };
  if (what === "hand") return !id ? desk.handing.begin(body) : verb === "check" ? desk.handing.check(id, body) : desk.handing.again(id);
  if (what === "refinish") await new Promise((later) => setTimeout(later, 120));
  if (typeof desk[`post_${what}`] !== "function") throw Object.assign(new Error(), { status: 404, says: `Nothing answers to ${what}.`, do: "" });
  desk.room = room;
  const done = desk[`post_${what}`](body);
  // The device is not told what could be undone.
  return what === "mark" && fromGuest(request) ? { did: done.did } : done;
}

function draw(desk, pictures, url, response) {
  const [, , id, kind] = url.pathname.split("/"), f = desk.frames.get(Number(id));
  if (!f) return send(response, 404, { says: `There is no frame ${id}.`, do: "" });
  // Code draws slowly: more is not worth a test's time.
  const width = Math.min(desk.widest, Number(url.searchParams.get("w") ?? 320)), key = `${kind} ${f.seed} ${f.role} ${f.format} ${width} ${kind === "frame" ? id : f.shadow}`;
  if (!pictures.has(key)) pictures.set(key, kind === "mount" ? mount(FORMATS[f.format], f.seed, f.role, width, f.shadow) : frame(FORMATS[f.format], f.seed, f.role, f, width));
  send(response, 200, pictures.get(key), "image/png", { "Cache-Control": "max-age=31536000, immutable" });
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const { url } = await start({ port: Number(process.argv[2] ?? 4870), prints: Number(process.argv[3] ?? 10_000), widest: 1280 });
  console.log(url);
}
