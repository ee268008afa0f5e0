// Invented folders, and an import that goes on when a test says so.
const trouble = (says) => Object.assign(new Error(says), { status: 409, says, do: "" });
/** Each folder with its frames. */
const FOLDERS = {
  "/": 0, "/home": 0, "/home/ada": 0, "/home/ada/Pictures": 3, "/home/ada/Pictures/Box 9": 12, "/home/ada/Pictures/Box 10": 40, "/home/ada/Pictures/Été": 0, "/home/ada/Writing": 0,
  "/media": 0, "/media/ada": 0, "/media/ada/CARD1": 19, "/media/ada/CARD1/DCIM": 19,
};
const STARTS = [{ kind: "card", name: "CARD1", path: "/media/ada/CARD1" }, { kind: "home", name: "ada", path: "/home/ada" }];
const above = (path) => (path === "/" ? null : path.slice(0, path.lastIndexOf("/")) || "/");

export class Intake {
  constructor(desk) { Object.assign(this, { desk, now: null, last: null }); }

  folders(at) {
    const path = at ?? STARTS[0].path;
    if (!(path in FOLDERS)) throw trouble(`There is nothing at ${path}.`);
    const folders = Object.keys(FOLDERS).filter((f) => f !== "/" && above(f) === path).map((f) => ({ name: f.split("/").at(-1), path: f, frames: FOLDERS[f] }));
    folders.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }));
    return { at: path, above: above(path), frames: FOLDERS[path], folders, starts: STARTS, says: path === "/home" ? "1 folder is not shown: you may not read it." : "" };
  }

  imports() { return { now: this.now, last: this.last }; }
  tell() { this.desk.tell({ kind: "importing", ...structuredClone(this.imports()) }); }

  begin(folder) {
    if (this.now) throw trouble(`${this.now.folder} is being imported. Wait until it is done, or stop it.`);
    this.now = { folder, stage: "reading", done: 0, of: FOLDERS[folder] || 19, frame: "F0001.jpg", stopping: false };
    this.last = null;
    this.tell();
  }

  /** Only tests say so. */
  goOn(stage, done, frame) {
    Object.assign(this.now, { stage, done, frame });
    this.tell();
  }

  stop() {
    if (!this.now) throw trouble("No import is running.");
    this.now.stopping = true;
    this.tell();
    return { did: "Stopping the import: the frame in hand is finished first", ...this.desk.words() };
  }

  /** Only tests say so. */
  end(unread = []) {
    const { folder, done, of, stopping } = this.now, left = stopping ? of - done : 0, frames = done - unread.length;
    const says = [`${frames} frames imported.`, left && `Stopped: ${left} frames are left untouched. Import the folder again to go on.`, unread.length && `${unread.length} files could not be read.`];
    Object.assign(this, { now: null, last: { folder, frames, known: 0, left, stopped: left > 0, says: says.filter(Boolean).join(" "), trouble: unread.length > 0, unread } });
    this.tell();
    this.desk.tell({ kind: "changed" });
  }
}
