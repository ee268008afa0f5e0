// Invented prints drawn by code: scenes of a few shapes, an instant print around them, a bed and a shadow beneath.
import { deflateSync } from "node:zlib";

const CRC = Uint32Array.from({ length: 256 }, (_, n) => {
  for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
  return n >>> 0;
});
function crc(bytes) {
  let c = 0xffffffff;
  for (const b of bytes) c = CRC[(c ^ b) & 255] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}
function chunk(type, data) {
  const out = Buffer.alloc(12 + data.length);
  out.writeUInt32BE(data.length, 0);
  out.write(type, 4, "latin1");
  data.copy(out, 8);
  out.writeUInt32BE(crc(out.subarray(4, 8 + data.length)), 8 + data.length);
  return out;
}
/** PNG (ISO/IEC 15948), 8-bit RGB, no filter. */
function png(width, height, pixel) {
  const raw = Buffer.alloc(height * (1 + width * 3));
  let at = 0;
  for (let y = 0; y < height; y++) {
    raw[at++] = 0;
    for (let x = 0; x < width; x++) {
      const [r, g, b] = pixel((x + 0.5) / width, (y + 0.5) / height);
      raw[at++] = r; raw[at++] = g; raw[at++] = b;
    }
  }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0); head.writeUInt32BE(height, 4);
  head[8] = 8; head[9] = 2;
  return Buffer.concat([Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]), chunk("IHDR", head), chunk("IDAT", deflateSync(raw, { level: 1 })), chunk("IEND", Buffer.alloc(0))]);
}

const mix = (a, b, t) => { t = Math.max(0, Math.min(1, t)); return [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t]; };
const soft = (edge, width, v) => Math.max(0, Math.min(1, (v - edge) / width + 0.5));
export function random(seed) {
  let s = (seed * 2654435761) >>> 0;
  return () => { s ^= s << 13; s >>>= 0; s ^= s >>> 17; s ^= s << 5; s >>>= 0; return s / 4294967296; };
}

const SKIES = [[[196, 214, 214], [236, 214, 178]], [[150, 178, 190], [232, 226, 204]], [[222, 196, 160], [244, 226, 190]], [[120, 140, 158], [206, 196, 188]]];
const LANDS = [[86, 108, 92], [122, 112, 84], [70, 92, 104], [140, 104, 82], [96, 86, 98]];

/** A scene of one of five kinds: a function from place to colour. */
function scene(seed) {
  const r = random(seed + 7);
  r(); r();
  const [high, low] = SKIES[Math.floor(r() * SKIES.length)], grey = r() < 0.2, kind = Math.floor(r() * 5), horizon = 0.42 + r() * 0.25;
  const sun = [0.2 + r() * 0.6, 0.12 + r() * 0.25, 0.05 + r() * 0.05];
  const shapes = Array.from({ length: 7 }, () => ({ x: r(), y: r(), s: 0.05 + r() * 0.13, c: mix(LANDS[Math.floor(r() * 5)], [238, 222, 196], r() * 0.75) }));
  const land = LANDS[Math.floor(r() * LANDS.length)], wave = 3 + r() * 5;
  const colour = (u, v) => {
    let c = mix(high, low, v / horizon);
    if (kind < 3) c = mix(c, [255, 246, 222], 1 - soft(sun[2], 0.02, Math.hypot(u - sun[0], v - sun[1])));
    if (kind === 0 || kind === 3) {
      if (v > horizon) c = mix(mix(land, [206, 206, 196], 0.45), mix(land, [30, 40, 46], 0.3), (v - horizon) / (1 - horizon) + 0.06 * Math.sin(v * v * 260 + 6 * Math.sin(u * 9)));
      if (kind === 3) for (const s of shapes) if (v > horizon - s.s && v < horizon + s.s * 0.3 && Math.abs(u - s.x) < s.s * (1 - (horizon + s.s * 0.3 - v))) c = s.c;
    } else if (kind === 1) {
      for (let k = 0; k < 4; k++) {
        const edge = horizon + k * 0.13 + 0.06 * Math.sin(u * wave + k * 2.1) + 0.025 * Math.sin(u * wave * 2.7 + k);
        c = mix(c, mix(land, low, 0.62 - k * 0.19), soft(edge, 0.006, v));
      }
    } else if (kind === 2) {
      if (v > 0.78) c = mix([150, 140, 126], [96, 90, 84], (v - 0.78) * 4);
      for (const s of shapes) if (v < 0.8 && v > 0.8 - s.s * 3.4 && Math.abs(u - s.x) < s.s * 0.8) c = Math.abs(((u - s.x) / s.s * 4 + 9) % 1 - 0.5) < 0.2 && Math.abs((v * 22) % 1 - 0.5) < 0.22 ? mix(s.c, [40, 42, 46], 0.6) : s.c;
    } else {
      c = mix(mix(low, land, 0.35), mix(land, [40, 36, 36], 0.5), v * 0.7 + 0.2 * Math.hypot(u - 0.4, v - 0.3));
      if (v > 0.66) c = mix([176, 150, 118], [112, 88, 68], (v - 0.66) * 2.4);
      for (const s of shapes.slice(0, 4)) { const d = Math.hypot(u - 0.15 - s.x * 0.7, (v - 0.66 + s.s * 0.5) * 1.05); c = mix(mix(s.c, [255, 250, 235], 0.4 * Math.max(0, 1 - d / s.s)), c, soft(s.s, 0.008, d)); }
    }
    // Instant film: weak blacks, warm whites, darker corners.
    const dim = 1 - 0.28 * ((u - 0.5) ** 2 + (v - 0.5) ** 2);
    c = [26 + c[0] * 0.86 * dim, 24 + c[1] * 0.84 * dim, 26 + c[2] * 0.8 * dim];
    if (grey) { const y = 0.3 * c[0] + 0.6 * c[1] + 0.1 * c[2]; c = [y * 1.02, y, y * 0.95]; }
    return c;
  };
  return colour;
}

const BORDER = [242, 240, 233];
/** The print itself at a place in mm from its upper left corner. */
function printAt(format, seed, role) {
  const { size: [w, h], window: [ww, wh], top } = format, left = (w - ww) / 2;
  if (role === "back") {
    const r = random(seed + 99), lines = 2 + Math.floor(r() * 3), tilt = (r() - 0.5) * 0.05, ink = [52, 58, 84];
    return (x, y) => {
      const base = [216 - 4 * Math.sin(x / 9), 214, 208];
      for (let k = 0; k < lines; k++) {
        const line = h * 0.3 + k * 9 + tilt * x + 1.5 * Math.sin(x * 2.1 + k * 5) * Math.sin(x * 0.7 + k * 3) + 0.6 * Math.sin(x * 5.3 + k);
        if (x > w * 0.14 && x < w * (0.86 - 0.2 * ((k * 37 + seed) % 3) / 2) && Math.abs(y - line) < 0.35 && Math.sin(x * 0.9 + k) > -0.8) return ink;
      }
      return base;
    };
  }
  const inside = scene(seed);
  return (x, y) => {
    const u = (x - left) / ww, v = (y - top) / wh;
    return u >= 0 && u < 1 && v >= 0 && v < 1 ? inside(u, v) : BORDER;
  };
}

/** How far a place lies outside a rectangle, mm. */
const outside = (x, y, w, h) => Math.hypot(Math.max(0, -x, x - w), Math.max(0, -y, y - h));

/** How dark the shadow is: the print moved to the lower right, its edge softened by an error-like curve. */
function shade(x, y, w, h) {
  const rise = (v) => 1 / (1 + Math.exp(-v / 0.9));
  return 0.34 * rise(x - 1.1) * rise(y - 1.3) * rise(w + 1.1 - x) * rise(h + 1.3 - y);
}

/** The print on white with its shadow, falling lower right. */
export function mount(format, seed, role, width, shadow = 1) {
  const [w, h] = format.size, cw = w + 18, ch = h + 18, face = printAt(format, seed, role);
  return png(width, Math.round((width * ch) / cw), (u, v) => {
    const x = u * cw - 9, y = v * ch - 9;
    if (outside(x, y, w, h) === 0) return face(x, y);
    const level = 255 * (1 - shadow * shade(x, y, w, h));
    return [level, level, level];
  });
}

/** The frame as shot: a slightly turned print on its bed, the light falling off from the upper left. */
export function frame(format, seed, role, place, width) {
  const [fw, fh] = place.size_px, s = place.px_per_mm, face = printAt(format, seed, role), [w, h] = format.size;
  const c = Math.cos(place.turned), q = Math.sin(place.turned);
  return png(width, Math.round((width * fh) / fw), (u, v) => {
    const dx = (u * fw - place.at[0]) / s, dy = (v * fh - place.at[1]) / s;
    const x = c * dx + q * dy + w / 2, y = -q * dx + c * dy + h / 2;
    const light = 1.02 - 0.1 * u - 0.07 * v;
    if (outside(x, y, w, h) === 0) { const p = face(x, y); return [p[0] * light * 0.93, p[1] * light * 0.93, p[2] * light * 0.92]; }
    const bed = 224 * light * (1 - shade(x, y, w, h));
    return [bed, bed * 0.99, bed * 0.965];
  });
}
