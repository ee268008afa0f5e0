// What a date in EDTF says, level 0 and 1 of ISO 8601-2:2019 clause 4 (and the Library of Congress's EDTF page of 2019).

const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
// Level 1 has four seasons: 21 to 24.
const SEASONS = ["spring", "summer", "autumn", "winter"];
const DAYS = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
const DOUBT: Record<string, string> = { "?": ", not sure", "~": ", about", "%": ", about and not sure" };

export interface Said { ok: boolean; says: string }

/** The date in words, or how one is written. */
export function edtf(text: string): Said {
  const date = text.trim();
  if (date === "") return { ok: true, says: "" };
  const parts = date.split("/");
  if (parts.length === 2) {
    const [from, to] = parts.map(end);
    if (from && to && !(from === OPEN && to === OPEN)) return { ok: true, says: `${from === OPEN ? "any time" : from} to ${to === OPEN ? "any time" : to}` };
  } else if (parts.length === 1) {
    const says = one(date);
    if (says) return { ok: true, says };
  }
  return { ok: false, says: "Write 2009, 2009-07, 2009-07-14, a season 2009-21, a decade 200X; ? for not sure, ~ for about; from/to." };
}

const OPEN = "\0";

function end(text: string): string | null {
  if (text === "..") return OPEN;
  if (text === "") return "not known";
  return one(text);
}

function one(text: string): string | null {
  const long = /^Y(-?\d{5,})$/.exec(text);
  if (long) return `the year ${long[1]}`;
  const found = /^(-?\d{4}|-?\d{3}X|-?\d{2}XX)(?:-(\d{2}|XX))?(?:-(\d{2}|XX))?([?~%])?$/.exec(text);
  if (!found) return null;
  const [, year = "", month, day, mark] = found;
  const doubt = mark ? DOUBT[mark] ?? "" : "";
  const base = yearName(year);
  if (month === undefined) return base + doubt;
  if (year.includes("X")) return null;
  if (month === "XX") return day === undefined || day === "XX" ? `${base}, month${day ? " and day" : ""} not known${doubt}` : null;
  const m = Number(month);
  if (m >= 21 && m <= 24) return day === undefined ? `${SEASONS[m - 21]} ${base}${doubt}` : null;
  const name = MONTHS[m - 1];
  if (!name) return null;
  if (day === undefined) return `${name} ${base}${doubt}`;
  if (day === "XX") return `${name} ${base}, day not known${doubt}`;
  const d = Number(day), leap = (y: number): boolean => (y % 4 === 0 && y % 100 !== 0) || y % 400 === 0;
  const most = m === 2 && !leap(Number(year)) ? 28 : DAYS[m - 1] ?? 31;
  return d >= 1 && d <= most ? `${d} ${name} ${base}${doubt}` : null;
}

function yearName(year: string): string {
  if (year.endsWith("XX")) return `${year.slice(0, -2)}00s`;
  if (year.endsWith("X")) return `the ${year.slice(0, -1)}0s`;
  return year;
}
