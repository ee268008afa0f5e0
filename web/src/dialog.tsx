// A sheet laid over the room: holds the focus, goes away with Escape.
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";

export function Dialog(props: { title: string; name?: string; close: () => void; children: ComponentChildren }) {
  const sheet = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const before = document.activeElement;
    sheet.current?.showModal();
    return () => void (before instanceof HTMLElement && before.isConnected && before.focus());
  }, []);
  return (
    <dialog
      ref={sheet}
      class={props.name ?? "plain"}
      aria-label={props.title}
      onCancel={(e) => {
        e.preventDefault();
        props.close();
      }}
    >
      <header>
        <h2>{props.title}</h2>
        <button type="button" onClick={props.close}>
          Close <kbd>Escape</kbd>
        </button>
      </header>
      {props.children}
    </dialog>
  );
}
