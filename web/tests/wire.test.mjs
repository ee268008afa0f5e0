// The invented desk answers every call as the schema says. What pages ask in the other tests is checked as they ask it.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { start } from "../mock/serve.mjs";
import { calls, event, exchange, faults } from "./wire.mjs";

let at, origin;
before(async () => {
  at = await start({ prints: 120 });
  origin = new URL(at.url).origin;
});
after(() => at.close());

async function ask(method, path, sent, agent = "desk") {
  const body = sent && { body: JSON.stringify(sent) };
  const response = await fetch(origin + path, { method, headers: { "Content-Type": "application/json", "X-Fallside": "1", "User-Agent": agent }, ...body });
  return { method, path: path.split("?")[0], status: response.status, sent, got: await response.json(), device: agent === "guest" };
}

const pause = (ms) => new Promise((later) => setTimeout(later, ms));

test("every call of the wire is answered by the invented desk as the schema says", async () => {
  const told = [];
  const tell = at.desk.tell;
  at.desk.tell = (e) => { told.push(structuredClone(e)); tell(e); };
  const { id } = at.desk.prints[0], frame = at.desk.front(at.desk.prints[0]).id, all = [4, 5];
  const choices = { share: { shape: "4:5", pixels: "2160", light: "upper-left" }, gallery: { title: "Low water" }, book: { trim_mm: [240, 240], layout: ["single"], captions: true, title: "Low water" }, pack: { title: "Low water", place: "/media/archive" } };
  const asked = [
    ["GET", "/api/desk"], ["GET", "/api/prints?q=&order=number&from=0&count=50&stacks="], ["GET", "/api/prints?q=plase:x"], ["GET", `/api/print/${id}`], ["GET", "/api/offers?fact=place&start=ha"],
    ["GET", "/api/date?text=summer%202009%3F"], ["GET", "/api/date?text=03%2F04%2F2005"], ["POST", "/api/shared", { ids: all }], ["POST", "/api/search", { name: "mine", line: "harbour" }], ["POST", "/api/search", { name: "mine", line: "" }], ["POST", "/api/privacy", { unsaid: "ask" }],
    ["POST", "/api/describe", { ids: all, facts: { date: "03/04/2005" }, fill: { title: "One" }, add: { people: ["Ada"] }, remove: { people: ["Bo"] }, seen: {} }],
    ["POST", "/api/describe", { ids: all, facts: { place: "The quay" } }],
    ["POST", "/api/edit", { do: "put", name: "tight", ids: all }], ["POST", "/api/edit", { do: "move", name: "tight", ids: [4], at: 1 }], ["POST", "/api/edit", { do: "take", name: "tight", ids: [4] }],
    ["POST", "/api/edit", { do: "make", name: "For Ada" }], ["POST", "/api/edit", { do: "rename", name: "For Ada", to: "For Bo" }], ["POST", "/api/edit", { do: "drop", name: "For Bo" }],
    ["POST", "/api/stack", { do: "propose" }], ["POST", "/api/stack", { do: "put", ids: [1, 2] }], ["POST", "/api/stack", { do: "lift", ids: [1] }], ["GET", "/api/prints?q=&stacks="],
    ["POST", "/api/join", { frame, print: 2 }], ["POST", "/api/undo", {}], ["POST", "/api/redo", {}], ["POST", "/api/undo", {}], ["POST", "/api/front", { print: id, frame }], ["POST", "/api/role", { frame, role: "counter" }],
    ["POST", "/api/refinish", { frame, turn: 1 }], ["POST", "/api/light", { do: "name", name: "North window", light: "200,40,20" }], ["POST", "/api/refinish", { frame, light: "North window" }], ["GET", `/api/print/${id}`], ["POST", "/api/light", { do: "drop", name: "North window" }], ["GET", `/api/print/${id}`], ["GET", "/api/print/9999"],
    ["GET", "/api/folders"], ["GET", "/api/folders?at=/nowhere"], ["POST", "/api/take", { folder: "/card" }], ["GET", "/api/take"], ["POST", "/api/take/stop", {}], ["GET", "/api/take"], ["GET", "/api/stand"], ["POST", "/api/stand", { folder: "/tether", box: "Shoebox 3", of: 40 }],
    ["POST", "/api/plan", { format: "square-integral", lens: "70mm", light_distance: "120cm", elevation: "35deg", ambient: "60lx", light_from: "left", aim: "book" }], ["POST", "/api/plan", { format: "square-integral", light_distance: "far" }], ["POST", "/api/plan/words", { words: { lens: "50" } }], ["GET", "/api/plan/words"],
    ["GET", "/api/guest"], ["POST", "/api/guest", { do: "open" }],
  ];
  const done = [];
  for (const [method, path, sent] of asked) done.push(await ask(method, path, sent));
  for (const form of Object.keys(choices)) {
    done.push(await ask("POST", "/api/ready", { edit: "tight", form, ...choices[form] }), await ask("POST", "/api/preview", { edit: null, form, ...choices[form] }));
    done.push(await ask("POST", "/api/hand", { edit: "tight", form, ...choices[form] }), await ask("GET", "/api/hand"));
    await pause(500);
    const { past } = (await ask("GET", "/api/hand")).got, name = past[0].name;
    done.push(await ask("GET", `/api/hand/${name}`), await ask("GET", "/api/hand"));
    if (form === "gallery" || form === "pack") {
      done.push(await ask("POST", `/api/hand/${name}/again`, {}));
      await pause(500);
    }
    if (form === "pack") {
      done.push(await ask("POST", `/api/hand/${name}/check`, { copy: "/media/second" }));
      await pause(400);
      done.push(await ask("GET", `/api/hand/${name}`));
    }
  }
  at.desk.arrive("reshoot");
  done.push(await ask("GET", "/api/stand"));
  const { name } = at.desk.stand.last;
  done.push(await ask("POST", "/api/mark", { name, mark: "again" }), await ask("GET", "/api/stand", undefined, "guest"), await ask("POST", "/api/code", { code: "000000" }, "guest"));
  done.push(await ask("POST", "/api/code", { code: at.desk.way.code }, "guest"), await ask("GET", "/api/stand", undefined, "guest"), await ask("POST", "/api/mark", { name, mark: "seen" }, "guest"));
  done.push(await ask("POST", "/api/guest", { do: "close" }));
  assert.deepEqual(done.flatMap(exchange), []);
  assert.ok(told.some((e) => e.kind === "verdict") && told.some((e) => e.kind === "handed") && told.some((e) => e.kind === "working"), "events were sent");
  assert.deepEqual(told.flatMap(event), []);
  // Every call was made, and none only to be refused.
  const missing = [...calls.desk.map((c) => ({ ...c, device: false })), ...calls.device.map((c) => ({ ...c, device: true }))]
    .filter((c) => c.answer && !done.some((d) => d.status < 400 && d.device === c.device && d.method === c.method && new RegExp(`^${c.path.replace(/\{\w+\}/g, "[^/]+")}$`).test(d.path)));
  assert.deepEqual(missing.map((c) => `${c.method} ${c.path}`), []);
});

test("an answer that has drifted is found", async () => {
  const drifted = await ask("GET", "/api/prints?q=");
  assert.deepEqual(exchange(drifted), []);
  drifted.got.rows[0].print_mm = [9, 9];
  assert.match(exchange(drifted).join(), /additional properties.*print_mm/);
  delete drifted.got.rows[0].print_mm;
  delete drifted.got.rows[0].label;
  assert.match(exchange(drifted).join(), /required property 'label'/);
  const call = calls.desk.find((c) => c.path === "/api/describe");
  assert.deepEqual(faults(call.request, { ids: [1], facts: { place: "" } }, "sent"), []);
  assert.notDeepEqual(faults(call.request, { ids: ["1"], facts: {} }, "sent"), []);
});
