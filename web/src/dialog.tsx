// A sheet laid over the room: holds the focus, goes away with Escape.
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";

export function Dialog(props: { title: string; name?: string; close: () => void; children: ComponentChildren }) {
  const sheet = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const dialog = sheet.current!, before = document.activeElement;
    dialog.showModal();
    return () => {
      dialog.close();
      // What had the focus may have been laid anew meanwhile: then whatever the Tab key would come to first in the room.
      const to = before instanceof HTMLElement && before.isConnected && before !== document.body ? before : document.querySelector<HTMLElement>("#room .print[tabindex='0'], #room [tabindex='-1']");
      to?.focus({ preventScroll: true });
    };
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
