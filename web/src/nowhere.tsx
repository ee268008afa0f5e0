// An address that no room has.
import { useEffect, useRef } from "preact/hooks";
import { go } from "./store";

export function Nowhere({ path }: { path: string }) {
  const whole = useRef<HTMLDivElement>(null);
  useEffect(() => whole.current?.focus(), []);
  return (
    <div class="nowhere" ref={whole} tabIndex={-1}>
      <h2>There is nothing at this address</h2>
      <p>No room of the desk is called <b>{path}</b>. The prints are on the table.</p>
      <p><button type="button" class="main" onClick={() => go("/table")}>Go to the table</button></p>
    </div>
  );
}
