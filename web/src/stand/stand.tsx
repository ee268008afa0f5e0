// The stand at the desk: readable from two metres, answered with one large button.
import { useEffect, useMemo, useState } from "preact/hooks";
import { act, changes, desk, go, inOrder, tell } from "../store";
import { useKeys } from "../keyboard";
import { useObservable } from "../observable";
import { Device, accessState } from "./device";
import type { Access } from "../wire.generated";
import { useStand } from "./use-stand";
import { READY, View } from "./view";
import { Watch } from "./watch";
import "../style/stand.css";

export function Stand() {
  const sitting = useStand(), { state } = sitting;
  const [open, setOpen] = useState<"" | "sleeve" | "device">(""), [access, setAccess] = useState<Access | null>(null);
  const known = useObservable(desk), change = useObservable(changes);
  const ask = useMemo(() => inOrder<"/api/guest">(setAccess), []);
  useEffect(() => void ask("/api/guest").catch(tell), [change]);
  const [by, setBy] = useState(0), asks = state?.last?.turn_unknown === true && state.last.frame !== null && !known?.reads_only;
  useEffect(() => setBy(0), [state?.last?.name, state?.last?.picture]);
  const turning = {
    by, turn: (step: number) => setBy((b) => (b + step + 4) % 4),
    settle: () => void act("/api/refinish", { frame: state!.last!.frame!, turn: by }).then(sitting.look),
  };
  useKeys("Stand", {
    quarter: (e) => (asks ? turning.turn(e.key === "]" ? 1 : -1) : false),
    upright: () => (asks ? turning.settle() : false),
    seen: sitting.seen,
    take: sitting.again,
    quiet: sitting.sounds,
    again: () => document.querySelector<HTMLElement>("#again")?.focus(),
    open: () => { if (state?.last?.print != null) go(`/print/${state.last.print}`); },
    device: () => { if (!known?.reads_only) setOpen("device"); },
    back: () => go("/table"),
  });
  const device = open === "device" && <Device access={access} told={setAccess} close={() => setOpen("")} />;
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
      <View sitting={sitting} idle={READY} {...(asks && { turning })}>
        {!known?.reads_only && <button type="button" onClick={() => setOpen("sleeve")}>Change sleeve</button>}
        {!known?.reads_only && <button type="button" onClick={() => setOpen("device")}>{accessState(access)} <kbd>P</kbd></button>}
      </View>
      {device}
    </>
  );
}
