// Parts of the page that are fetched when they are first opened.
import type { ComponentType } from "preact";
import { useEffect, useState } from "preact/hooks";
import { tell } from "./store";
import { Trouble } from "./wire";

/** A component that is fetched when it is first shown. */
export function later<P extends object>(load: () => Promise<ComponentType<P>>): ComponentType<P> {
  let Got: ComponentType<P> | null = null;
  return function Later(props: P) {
    const [, draw] = useState({});
    useEffect(() => {
      if (Got) return;
      load().then((it) => {
        Got = it;
        draw({});
      }, () => tell(new Trouble("The desk does not answer.", "Check whether `fallside desk` is still running.")));
    }, []);
    return Got ? <Got {...props} /> : null;
  };
}
