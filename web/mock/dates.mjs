// Dates as the invented desk understands them: a few forms of each kind, enough for the page's tests.
const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
const SEASONS = ["spring", "summer", "autumn", "winter"];

const two = (n) => String(n).padStart(2, "0");
const day = (y, m, d) => ({ edtf: `${y}-${two(m)}-${two(d)}`, says: `${Number(d)} ${MONTHS[m - 1]} ${y}` });

/** EDTF in words; null where it is none. */
function says(edtf) {
  const found = /^(\d{3}[\dX])(?:-(\d\d))?(?:-(\d\d))?([?~]?)$/.exec(edtf);
  if (!found) return null;
  const [, y, m, d, mark] = found, year = y.endsWith("X") ? `the ${y.slice(0, 3)}0s` : y;
  const name = m && (MONTHS[m - 1] ?? SEASONS[m - 21]);
  if (m && !name) return null;
  const plain = [d && Number(d), name, year].filter(Boolean).join(" ");
  return mark === "?" ? `${plain}, perhaps` : mark === "~" ? `about ${plain}` : plain;
}

export function understand(text) {
  const t = text.trim(), one = (edtf) => ({ edtf, says: says(edtf), choices: [] }), none = (why, choices = []) => ({ edtf: null, says: why, choices });
  if (!t) return none("");
  if (says(t)) return one(t);
  let found = /^(\d{1,2})\/(\d{1,2})\/(\d{4})$/.exec(t);
  if (found) {
    const [, a, b, y] = found, both = [day(y, b, a), day(y, a, b)].filter((_, i) => (i ? a : b) <= 12);
    if (both.length > 1 && a !== b) return none(`“${t}” can be ${both[0].says} or ${both[1].says}.`, both);
    return { ...both[0], choices: [] };
  }
  if ((found = /^(\d{1,2})\.(\d{1,2})\.(\d{4})$/.exec(t))) return { ...day(found[3], found[2], found[1]), choices: [] };
  if ((found = /^(\d{3})0s$/.exec(t))) return one(`${found[1]}X`);
  if ((found = /^before (\d{4})$/.exec(t))) return { edtf: `/${found[1] - 1}`, says: `${found[1] - 1} or earlier`, choices: [] };
  if ((found = /^about (\d{4})$/.exec(t))) return one(`${found[1]}~`);
  if ((found = /^(\w+) (\d{4})(\??)$/.exec(t))) {
    const [, word, y, mark] = found, starts = (w) => w.toLowerCase() === word.toLowerCase(), m = MONTHS.findIndex(starts), s = SEASONS.findIndex(starts);
    if (m >= 0) return one(`${y}-${two(m + 1)}${mark}`);
    if (s >= 0) return one(`${y}-${21 + s}${mark}`);
  }
  return none(`“${t}” is not understood as a date. Write for example July 2009, 14.7.2009, summer 2009?, about 2009, 1990s.`);
}
