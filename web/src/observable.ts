// A value that several parts of the page look at together.
import { useEffect, useState } from "preact/hooks";

export interface Observable<T> { get(): T; set(value: T): void; watch(look: (value: T) => void): () => void }

export function observable<T>(first: T): Observable<T> {
  let value = first;
  const watchers = new Set<(value: T) => void>();
  return {
    get: () => value,
    set(next) {
      if (Object.is(next, value)) return;
      value = next;
      for (const look of [...watchers]) look(next);
    },
    watch(look) {
      watchers.add(look);
      return () => void watchers.delete(look);
    },
  };
}

/** The value, and a new drawing whenever it changes. */
export function useObservable<T>(of: Observable<T>): T {
  const [, draw] = useState({}), drawn = of.get();
  useEffect(() => {
    // What it became between the drawing and now is drawn too.
    if (!Object.is(of.get(), drawn)) draw({});
    return of.watch(() => draw({}));
  }, [of]);
  return drawn;
}
