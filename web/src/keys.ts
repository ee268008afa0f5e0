// Every key of the desk: what it says in the list, and the keys that do it. Rooms bind what is done; `?` shows them all.

/** By room, by command: its words, then its keys as `nameOf` writes them. */
export const KEYS = {
  Everywhere: {
    list: ["this list of keys", "?"],
    undo: ["undo, and say what was undone", "Ctrl+z"],
    redo: ["do it again", "Ctrl+Shift+z", "Ctrl+y"],
    table: ["go to the table", "1"],
    stand: ["go to the stand", "2"],
    rig: ["go to the rig", "3"],
    hand: ["go to handing on", "4"],
  },
  Table: {
    walk: ["walk from print to print", "ArrowLeft", "ArrowRight"],
    rows: ["walk from row to row", "ArrowUp", "ArrowDown"],
    page: ["walk a tableful", "PageUp", "PageDown"],
    ends: ["the first print, the last", "Home", "End"],
    search: ["search", "/"],
    open: ["open the print", "Enter"],
    turn: ["turn the print over", "Space"],
    hold: ["take the print in hand, or lay it down", "."],
    reach: ["take its neighbours in hand too", "Shift+ArrowLeft", "Shift+ArrowRight"],
    all: ["take all in hand", "Ctrl+a"],
    into: ["take it into the next edit", "+", "="],
    out: ["take it back out", "-"],
    move: ["move it earlier or later in an edit", "Alt+ArrowLeft", "Alt+ArrowRight"],
    beside: ["lay the prints in hand side by side", "s"],
    words: ["write words for them", "w"],
    sheet: ["the next sheet of paper on top", "e"],
    fan: ["open the stack out, or close it", "o"],
    pile: ["lay the prints in hand on one another; keep a stack, or propose some", "p"],
    lift: ["lift the print out of its stack", "l"],
    near: ["nearer, farther", "n", "f"],
    back: ["lay all down; then clear the search", "Escape"],
  },
  "Side by side": {
    before: ["the print before", "ArrowLeft", "ArrowUp"],
    after: ["the print after", "ArrowRight", "ArrowDown"],
    turn: ["turn it over", "Space"],
    into: ["into the next edit", "+", "="],
    out: ["back out", "-"],
    away: ["put it away from beside the others", "."],
    back: ["back to the table", "Escape"],
  },
  Sheet: {
    back: ["back to the table", "Escape"],
    walk: ["the print before, the print after", "ArrowLeft", "ArrowRight"],
    turn: ["turn the print over", "Space"],
    quarter: ["turn it a quarter left, right", "[", "]"],
    corner: ["a corner of the outline; arrows move it, with Alt finely", "c"],
    depth: ["shadow depth", "d"],
    words: ["write its words", "w"],
    size: ["true size on this screen", "t"],
    apart: ["set the frame shown apart, as a print of its own", "u"],
    join: ["join the frame shown to another print", "j"],
    into: ["take it into the next edit", "+", "="],
    out: ["take it back out", "-"],
  },
  Stand: {
    seen: ["seen: ready for the next print", "Space", "Enter"],
    take: ["take this one again after all, or not", "a"],
    quiet: ["sound off, and on", "q"],
    again: ["what is to be taken again", "r"],
    open: ["open the print on its sheet", "o"],
    device: ["let one phone or tablet in, or out", "p"],
    back: ["back to the table", "Escape"],
  },
  Rig: {
    light: ["the light; arrows move it, with Alt finely", "l"],
    round: ["the light from above; left and right take it round", "r"],
    back: ["back to the table", "Escape"],
  },
  "Hand on": {
    post: ["to post", "p"],
    site: ["a site", "s"],
    book: ["a book", "b"],
    archive: ["an archive", "a"],
    edit: ["the next edit", "e"],
    choices: ["its choices; Tab goes on", "c"],
    make: ["make it", "m"],
    past: ["what was handed on before", "h"],
    back: ["back to the table", "Escape"],
  },
  "Handed on": {
    walk: ["the picture or spread before, after", "ArrowLeft", "ArrowRight"],
    large: ["one at a time, large", "Enter"],
    ground: ["white around it, and the ground again", "g"],
    into: ["into the site; Escape leads up in it and out", "i"],
    told: ["what is to be known of it", "w"],
    again: ["make a site or an archive again in its place: only what changed", "m"],
    check: ["check an archive: all of it is read again", "v"],
    back: ["all of it; then back to handing on", "Escape"],
  },
} as const satisfies Record<string, Record<string, readonly [string, string, ...string[]]>>;

export type Room = keyof typeof KEYS;

/** A key as a person reads it. */
export function written(key: string): string {
  const mac = /Mac|iP(hone|ad)/.test(navigator.platform);
  const names: Record<string, string> = {
    Ctrl: mac ? "Cmd" : "Ctrl", ArrowLeft: "←", ArrowRight: "→", ArrowUp: "↑", ArrowDown: "↓", PageUp: "Page ↑", PageDown: "Page ↓", "-": "−",
  };
  return key
    .split(/\+(?=.)/)
    .map((part) => names[part] ?? (/^[a-z]$/.test(part) ? part.toUpperCase() : part))
    .join(" ");
}
