// A dialog over the room: it keeps the focus and closes with Escape.
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";

export function Dialog(props: { title: string; name?: string; close: () => void; children: ComponentChildren }) {
  const sheet = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const dialog = sheet.current!, before = document.activeElement;
    dialog.showModal();
    // It opens on its first field, not on the button that closes it.
    dialog.querySelector<HTMLElement>("input:not([disabled]), select, textarea")?.focus();
    return () => {
      dialog.close();
      // The element that had the focus may have been redrawn meanwhile: then focus the current print, or the room.
      const find = (what: string): HTMLElement | null => document.querySelector<HTMLElement>(`#room ${what}`);
      const to = before instanceof HTMLElement && before.isConnected && before !== document.body ? before : find(".print[tabindex='0']") ?? find("[tabindex='-1']");
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
