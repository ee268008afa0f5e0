// The rooms of the desk. To add one: its own file, its keys in `keys.ts`, and one line here.
import type { ComponentType } from "preact";
import { Table } from "./table/table";
import { Sheet } from "./sheet/sheet";
import { Stand } from "./stand/stand";
import { Rig } from "./rig/rig";
import { Export } from "./export/export";
import { FlatPlan } from "./export/flat-plan";
import { Exported } from "./export/exported";
import { Nowhere } from "./nowhere";

export interface Room {
  /** The first part of its path, by which the address bar and links find it. */
  path: `/${string}`;
  name: string;
  Shown: ComponentType;
}

/** In the order of the navigation, and of the keys 1, 2, 3, … that open them. */
export const ROOMS: readonly Room[] = [
  { path: "/table", name: "Table", Shown: Table },
  { path: "/stand", name: "Stand", Shown: Stand },
  { path: "/rig", name: "Rig", Shown: Rig },
  { path: "/hand", name: "Export", Shown: Export },
  { path: "/book", name: "Book", Shown: FlatPlan },
];

/** Rooms that show one thing: what it is, from the path. They belong to a room of the navigation. */
const DETAILS: { path: RegExp; of: `/${string}`; name: (one: string) => string; Shown: ComponentType<{ one: string }> }[] = [
  { path: /^\/print\/(\d+)$/, of: "/table", name: (id) => `Print ${id}`, Shown: ({ one }) => <Sheet id={Number(one)} /> },
  { path: /^\/hand\/([\w-]+)$/, of: "/hand", name: () => "Export", Shown: ({ one }) => <Exported name={one} /> },
];

/** The room at a path, and what it shows; no room where none has it. The first room is also at the desk's own address. */
export function roomAt(path: string): { room: Room | null; name: string; shown: preact.JSX.Element } {
  for (const detail of DETAILS) {
    const one = detail.path.exec(path)?.[1];
    const room = ROOMS.find((r) => r.path === detail.of);
    if (one !== undefined && room) return { room, name: detail.name(one), shown: <detail.Shown key={path} one={one} /> };
  }
  const room = path === "/" ? ROOMS[0]! : ROOMS.find((r) => r.path === path);
  if (!room) return { room: null, name: "Nothing here", shown: <Nowhere path={path} /> };
  return { room, name: room.name, shown: <room.Shown key={room.path} /> };
}
