// The stand at the desk: read from two metres, answered with one big key.
import { useEffect, useMemo, useState } from "preact/hooks";
import { changes, desk, go, inOrder, tell } from "../desk";
import { useKeys } from "../hand";
import { useHeld } from "../hold";
import { Device, type Way, standing } from "./device";
import { useSitting } from "./sitting";
import { READY, View } from "./view";
import { Watch } from "./watch";

export function Stand() {
  const sitting = useSitting(), { state } = sitting;
  const [open, setOpen] = useState<"" | "sleeve" | "device">(""), [way, setWay] = useState<Way | null>(null);
  const known = useHeld(desk), change = useHeld(changes);
  const ask = useMemo(() => inOrder<Way>(setWay), []);
  useEffect(() => void ask("/api/guest").catch(tell), [change]);
  useKeys("Stand", {
    seen: sitting.seen,
    take: sitting.again,
    quiet: sitting.sounds,
    again: () => document.querySelector<HTMLElement>("#again")?.focus(),
    open: () => { if (state?.last?.print != null) go(`/print/${state.last.print}`); },
    device: () => { if (!known?.reads_only) setOpen("device"); },
    back: () => go("/table"),
  });
  const device = open === "device" && <Device way={way} told={setWay} close={() => setOpen("")} />;
  const watching = state !== null && state.folder !== null;
  if (state && (open === "sleeve" || (!watching && !known?.reads_only))) {
    return (
      <>
        <Watch state={state} close={watching ? () => setOpen("") : null} begun={() => { setOpen(""); sitting.look(); }} device={() => setOpen("device")} />
        {device}
      </>
    );
  }
  return (
    <>
      <View sitting={sitting} idle={READY}>
        {!known?.reads_only && <button type="button" onClick={() => setOpen("sleeve")}>Change the sleeve</button>}
        {!known?.reads_only && <button type="button" onClick={() => setOpen("device")}>{standing(way)} <kbd>P</kbd></button>}
      </View>
      {device}
    </>
  );
}
