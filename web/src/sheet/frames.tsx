// All frames of a print: which is the front and why, and how a frame is moved to another print.
import { act, tell } from "../store";
import { capital } from "../measures";
import { Trouble, get } from "../wire";
import type { Frame, Print, Role } from "../wire.generated";

const ROLES: readonly Role[] = ["front", "back", "counter", "blank", "chart", "ruler", "ambient"];

/** Moves a frame to the print with a label. */
async function join(frame: number, label: string): Promise<void> {
  const found = await get(`/api/prints?${new URLSearchParams({ q: `id:${label}`, order: "number", from: "0", count: "50" }).toString()}`).catch(tell);
  const row = found?.rows[0];
  if (row) await act("/api/join", { frame, print: row.id });
  else if (found) tell(new Trouble(`There is no print ${label}.`, "Enter the number that is shown under it on the table."));
}

/** "print 2 of 4 in F0007.jpg", where an exposure shows several. */
export function among({ part, file }: Frame): string | null {
  return part[1] > 1 ? `print ${part[0]} of ${part[1]} in ${file}` : null;
}

export function Frames({ print, seen, see }: { print: Print; seen: Frame | null; see: (id: number) => void }) {
  return (
    <div class="frames">
      <h3>Frames</h3>
      <ul>
        {print.frames.map((frame) => (
          <li key={frame.id}>
            <button type="button" aria-pressed={frame.id === seen?.id} onClick={() => see(frame.id)}>
              {capital(frame.role)} <span class="second">{frame.name}</span>
            </button>
            <span class="second">{[among(frame), frame.chosen && "chosen", frame.why, frame.verdict].filter(Boolean).join(", ")}</span>
          </li>
        ))}
      </ul>
      {seen && (
        <div class="mend">
          {seen.role !== "back" && !seen.chosen && <button type="button" onClick={() => void act("/api/front", { print: print.id, frame: seen.id })}>Use as front</button>}
          <button type="button" onClick={() => void act("/api/join", { frame: seen.id, print: null })}>Separate <kbd>U</kbd></button>
          <form
            onSubmit={(e) => {
              e.preventDefault();
              const label = String(new FormData(e.currentTarget).get("label")).trim();
              if (label) void join(seen.id, label);
              e.currentTarget.reset();
            }}
          >
            <label for="join">Move to print</label> <input id="join" name="label" size={5} inputMode="numeric" autocomplete="off" dir="auto" /> <button type="submit">Move</button>
          </form>
          <label>Role
            <select value={seen.role} onChange={(e) => void act("/api/role", { frame: seen.id, role: e.currentTarget.value as Role })}>
              {ROLES.map((role) => <option key={role} value={role}>{role}</option>)}
            </select>
          </label>
        </div>
      )}
    </div>
  );
}
