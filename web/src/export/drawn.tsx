// A sheet as it will be: white paper, each print's mount where the desk lays it, its words. Drawn in the sheet's own unit.
import { picture } from "../wire";
import type { PlacedPrint, SheetSeen } from "../wire.generated";

/** "Pages 4 and 5: Low tide, P0012." */
export function spoken(sheet: SheetSeen): string {
  const pages = sheet.pages.length ? `${sheet.pages.length > 1 ? "Pages" : "Page"} ${sheet.pages.join(" and ")}: ` : "";
  const on = sheet.prints.map(called);
  return `${pages}${on.length ? on.join(", ") : sheet.name ?? (sheet.pages.length ? "empty" : "no print")}.`;
}

export const called = (p: PlacedPrint): string => `${p.title || p.name}${p.back ? ", its back" : ""}`;

/** The paper of a sheet: both pages of a spread, or the one that stands alone at the right. */
function papers({ size: [w, h], pages }: SheetSeen): [number, number, number, number][] {
  if (pages.length === 1) return [pages[0]! % 2 ? [w / 2, 0, w / 2, h] : [0, 0, w / 2, h]];
  return [[0, 0, w, h]];
}

/** `css`: how wide it is on the screen, to choose how large a picture is asked for. `held`: a print that is being moved. */
export function Drawn({ sheet, css, held = null }: { sheet: SheetSeen; css: number; held?: number | null }) {
  const [w, h] = sheet.size, fold = sheet.pages.length > 1;
  return (
    <svg class="leaf-drawn" viewBox={`0 0 ${w} ${h}`} role="img" aria-label={spoken(sheet)}>
      {papers(sheet).map(([x, y, pw, ph]) => <rect key={x} class="paper" x={x} y={y} width={pw} height={ph} />)}
      {sheet.prints.map((p, i) => {
        const [x, y, mw, mh] = p.mount, [px, py, pw, ph] = p.at;
        return p.frame === null
          ? <rect key={i} class="noprint" x={px} y={py} width={pw} height={ph} />
          : <image key={i} class={held !== null && held === p.print ? "held" : undefined} href={picture(p.frame, "mount", (css * mw) / w, p.stamp.slice(0, 16))} x={x} y={y} width={mw} height={mh} preserveAspectRatio="none" />;
      })}
      {sheet.pages.length > 0 && sheet.lines.map((l) => <text key={`${l.at}`} x={l.at[0]} y={l.at[1]} font-size={l.size} font-style={l.italic ? "italic" : undefined} direction={l.rtl ? "rtl" : undefined} text-anchor={l.from_right !== l.rtl ? "end" : undefined}>{l.text}</text>)}
      {sheet.name && sheet.prints.length === 0 && sheet.lines.length === 0 && <text class="what" x={sheet.pages[0]! % 2 ? w * 0.75 : w * 0.25} y={h * 0.46} font-size={h * 0.05} text-anchor="middle">{sheet.name}</text>}
      {fold && <path class="fold" d={`M${w / 2} 0V${h}`} />}
    </svg>
  );
}
