// Every key of the desk: what it does, and the keys that do it. Rooms bind the commands; `?` lists them all.

/** By room, by command: its description, then its keys as `nameOf` writes them. */
export const KEYS = {
  Everywhere: {
    list: ["list of keys", "?"],
    undo: ["undo", "Ctrl+z"],
    redo: ["redo", "Ctrl+Shift+z", "Ctrl+y"],
    room: ["go to the table, the stand, the rig, export, the book", "1", "2", "3", "4", "5"],
  },
  Table: {
    walk: ["previous, next print", "ArrowLeft", "ArrowRight"],
    rows: ["row above, row below", "ArrowUp", "ArrowDown"],
    page: ["page up, page down", "PageUp", "PageDown"],
    ends: ["first, last print", "Home", "End"],
    search: ["search", "/"],
    open: ["open the print", "Enter"],
    turn: ["turn the print over", "Space"],
    hold: ["select or deselect the print", "."],
    reach: ["extend the selection", "Shift+ArrowLeft", "Shift+ArrowRight"],
    all: ["select all", "Ctrl+a"],
    into: ["add to the next edit", "+", "="],
    out: ["remove from its last edit", "-"],
    move: ["move earlier, later in an edit", "Alt+ArrowLeft", "Alt+ArrowRight"],
    beside: ["compare the selected prints", "s"],
    words: ["describe the selected prints", "w"],
    sheet: ["show the next edit", "e"],
    fan: ["open or close the stack", "o"],
    pile: ["stack the selected prints; confirm a stack, or propose stacks", "p"],
    lift: ["take the print out of its stack", "l"],
    near: ["larger, smaller", "n", "f"],
    take: ["import frames", "i"],
    back: ["deselect all; then clear the search", "Escape"],
  },
  Compare: {
    before: ["previous print", "ArrowLeft", "ArrowUp"],
    after: ["next print", "ArrowRight", "ArrowDown"],
    turn: ["turn it over", "Space"],
    into: ["add to the next edit", "+", "="],
    out: ["remove from its last edit", "-"],
    away: ["remove it from the comparison", "."],
    back: ["back to the table", "Escape"],
  },
  Sheet: {
    back: ["back to the table", "Escape"],
    walk: ["previous, next print", "ArrowLeft", "ArrowRight"],
    turn: ["turn the print over", "Space"],
    quarter: ["rotate 90° left, right", "[", "]"],
    upright: ["it is upright, where nothing says which way is up", "y"],
    corner: ["a corner of the outline; arrows move it, Alt for fine steps", "c"],
    depth: ["shadow depth", "d"],
    light: ["the light that casts the shadow", "l"],
    words: ["edit the description", "w"],
    size: ["actual size on this screen", "t"],
    apart: ["make a separate print of this frame", "u"],
    join: ["move this frame to another print", "j"],
    into: ["add to the next edit", "+", "="],
    out: ["remove from its last edit", "-"],
  },
  Stand: {
    seen: ["mark as seen: ready for the next print", "Space", "Enter"],
    take: ["mark to be reshot, or not", "a"],
    quarter: ["turn a print that may lie upside down, left, right", "[", "]"],
    upright: ["it is upright", "y"],
    quiet: ["sound off, on", "q"],
    again: ["list of prints to reshoot", "r"],
    open: ["open the print on its sheet", "o"],
    device: ["connect a phone or tablet, or close access", "p"],
    back: ["back to the table", "Escape"],
  },
  Rig: {
    light: ["the light from the side; arrows move it, Alt for fine steps", "l"],
    round: ["the light from above; left and right move it around", "r"],
    back: ["back to the table", "Escape"],
  },
  Export: {
    post: ["social media", "p"],
    site: ["website", "s"],
    book: ["book", "b"],
    archive: ["archive", "a"],
    edit: ["next edit", "e"],
    choices: ["options; Tab for the next one", "c"],
    list: ["what is not ready", "r"],
    lines: ["previous, next line of what is not ready", "ArrowUp", "ArrowDown"],
    quarter: ["turn a print that may lie upside down, left, right", "[", "]"],
    upright: ["it is upright", "y"],
    make: ["export", "m"],
    past: ["earlier exports", "h"],
    back: ["back to the table", "Escape"],
  },
  Book: {
    walk: ["previous, next print", "ArrowLeft", "ArrowRight"],
    rows: ["print above, below", "ArrowUp", "ArrowDown"],
    ends: ["first, last print", "Home", "End"],
    move: ["move the print earlier, later in the book", "Alt+ArrowLeft", "Alt+ArrowRight"],
    open: ["open the print", "Enter"],
    edit: ["next edit", "e"],
    layout: ["next layout", "l"],
    near: ["larger, smaller spreads", "n", "f"],
    make: ["export", "m"],
    back: ["back to export", "Escape"],
  },
  "One export": {
    walk: ["previous, next picture or spread", "ArrowLeft", "ArrowRight"],
    large: ["enlarge one", "Enter"],
    ground: ["white background, grey background", "g"],
    into: ["enter the website; Escape goes up in it and leaves it", "i"],
    told: ["details", "w"],
    again: ["update a website or an archive: only what changed", "m"],
    check: ["check an archive by reading every file", "v"],
    back: ["show all; then back to export", "Escape"],
  },
} as const satisfies Record<string, Record<string, readonly [string, string, ...string[]]>>;

export type KeyRoom = keyof typeof KEYS;

/** A key as it is shown. */
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
