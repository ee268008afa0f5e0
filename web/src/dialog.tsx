// A dialog over the room: it keeps the focus and closes with Escape.
import type { ComponentChildren } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";

/** `unsaved` tells whether something was typed that would be lost: then closing asks first. `save` saves it. */
export function Dialog(props: { title: string; name?: string; close: () => void; unsaved?: () => boolean; save?: () => void; children: ComponentChildren }) {
  const [asks, ask] = useState(false);
  const close = (): void => (props.unsaved?.() && !asks ? ask(true) : props.close());
  const sheet = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    const dialog = sheet.current!, before = document.activeElement;
    dialog.showModal();
    // It opens on its first field, not on the button that closes it, also where its fields come a moment later: until the focus moves.
    const opened = document.activeElement;
    const begin = (): boolean => {
      if (document.activeElement !== opened) return true;
      const field = dialog.querySelector<HTMLElement>("input:not([disabled]), select, textarea");
      field?.focus();
      return field !== null;
    };
    const late = new MutationObserver(() => begin() && late.disconnect());
    if (!begin()) late.observe(dialog, { childList: true, subtree: true });
    return () => {
      late.disconnect();
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
        close();
      }}
    >
      <header>
        <h2>{props.title}</h2>
        <button type="button" onClick={close}>
          Close <kbd>Escape</kbd>
        </button>
      </header>
      {asks && (
        <div class="unsaved" role="alertdialog" aria-label="Not saved">
          <p class="trouble">What you wrote is not saved.</p>
          <button type="button" class="main" ref={(el) => el?.focus()} onClick={() => { ask(false); props.save?.(); }}>Save</button>
          <button type="button" onClick={() => ask(false)}>Keep writing</button>
          <button type="button" onClick={props.close}>Discard <kbd>Escape</kbd></button>
        </div>
      )}
      {props.children}
    </dialog>
  );
}
