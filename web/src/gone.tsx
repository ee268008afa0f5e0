// The desk is gone: said over every room, as large as a verdict, until it answers again. What was typed stays beneath it.
import { useEffect, useRef } from "preact/hooks";
import { link } from "./link";
import { useObservable } from "./observable";

const WORDS = {
  gone: ["The desk has ended", "Start it again with", "in the project's folder. This page goes on by itself as soon as the desk answers. What you typed here stays."],
  other: ["The desk was started again", "This page belongs to the earlier one. Open the address that", "wrote this time. Then this page goes on by itself, and what you typed here stays."],
} as const;

export function Gone() {
  const now = useObservable(link);
  return now === "here" ? null : <Sheet why={now} />;
}

function Sheet({ why }: { why: keyof typeof WORDS }) {
  const sheet = useRef<HTMLDialogElement>(null);
  const [says, before, after] = WORDS[why];
  useEffect(() => {
    const dialog = sheet.current!;
    dialog.showModal();
    dialog.querySelector("h2")?.focus();
    return () => dialog.close();
  }, []);
  return (
    <dialog
      ref={sheet} class="gone" role="alertdialog" aria-labelledby="gone-says" aria-describedby="gone-does"
      onCancel={(e) => e.preventDefault()}
      // A browser closes it at a second Escape all the same.
      onClose={(e) => { if (e.currentTarget.isConnected && link.get() !== "here") e.currentTarget.showModal(); }}
    >
      {/* No button: the keys of somebody who is typing would press it. */}
      <h2 id="gone-says" tabIndex={-1}>{says}</h2>
      <p id="gone-does">{before} <code>fallside desk</code> {after}</p>
    </dialog>
  );
}
