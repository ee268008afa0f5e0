// A plan as the drawings need it, by the inverse square and thin lenses; only for the page's own tests.
import { FORMATS } from "./data.mjs";

const SIDES = ["right", "lower-right", "bottom", "lower-left", "left", "upper-left", "top", "upper-right"];
const mm = (text) => { const [, v, u] = /^([\d.]+)\s*(mm|cm|m)/.exec(text ?? "") ?? []; return v ? v * { mm: 1, cm: 10, m: 1000 }[u] : null; };

/** What is taken where nothing is said. */
const USUAL = { aim: "book", lens: "70", elevation: "35", ambient: "60", light_from: "left" };

export function plan(asked) {
  const words = { ...USUAL, ...asked };
  const format = FORMATS[words.format], lens = parseFloat(words.lens), given = mm(words.light_distance), distance = given ?? 900, elevation = parseFloat(words.elevation);
  const none = { heading: "", parts: [], answer: null, trouble: null, fields: [], measured: null, checked: null };
  if (!format) return { ...none, trouble: `There is no format called ${words.format}.` };
  const fields = given ? [] : [{ field: "light_distance", says: `“${words.light_distance}” is not a length; write 70mm or 2.76in.` }];
  const [w, h] = format.size, azimuth = 45 * Math.max(0, SIDES.indexOf(words.light_from)), rad = Math.PI / 180;
  const m = 24 / (w + 23), lensUp = lens * (1 + 1 / m), sensorUp = lensUp + lens * (1 + m), up = distance * Math.sin(elevation * rad), out = distance * Math.cos(elevation * rad);
  const field = [36 / m, 24 / m], [lx, ly] = [out * Math.cos(azimuth * rad), out * Math.sin(azimuth * rad)];
  const levels = [[-h, -w], [h, -w], [h, w], [-h, w]].map(([x, y]) => Math.log2(up / ((x / 2 - lx) ** 2 + (y / 2 - ly) ** 2 + up ** 2) ** 1.5));
  const fall = Math.max(...levels) - Math.min(...levels), glare = (out * lensUp) / (lensUp + up), reach = (Math.abs(Math.cos(azimuth * rad)) * h + Math.abs(Math.sin(azimuth * rad)) * w) / 2;
  const width = 3 / Math.tan(elevation * rad), soft = (3 * 70) / distance, below = 9.4 - Math.log2(parseFloat(words.ambient) / 60) - 2 * Math.log2(distance / 1200);
  const concerns = [];
  if (fall > 0.25) concerns.push({ code: "light.fall-off", breaks_a_wish: true, says: `The light falls off by ${fall.toFixed(2)} stop across the print; 0.25 stop is the most for the aim.`, do: `Move it to ${((distance * fall) / 0.25 / 1000).toFixed(1)} m.` });
  if (glare < reach) concerns.push({ code: "gloss.light", breaks_a_wish: true, says: "The print mirrors the light.", do: "Lower the light, or move it away." });
  if (below < 8) concerns.push({ code: "ambient", breaks_a_wish: false, says: `The room lies ${below.toFixed(1)} stops under the flash; 8 are asked for.`, do: "Darken it." });
  const answer = {
    schema: "fallside.plan/1", aim: words.aim, possible: concerns.length === 0, concerns, taken: [{ what: "curl", value: "3 mm" }],
    print: { format: words.format, width_mm: w, height_mm: h, curl_mm: 3, sideways: true, top_towards: "left", pixels_gained: 0.37 },
    camera: { sensor_mm: [36, 24], pixels: [6000, 4000], focal_mm: lens, focal_chosen: false, magnification: m, ppi_asked: 300, margin_mm: 12, margin_wanted_mm: 8, ppi: (6000 / field[0]) * 25.4, px_per_mm: 6000 / field[0], field_mm: field, height_mm: sensorUp, lens_height_mm: lensUp, lens_front_mm: 60 },
    focus: { f_number: 5.656854, working_f_number: 7, balanced_f_number: 6, focus_height_mm: 1.5, level_deg: 0.2, depth_mm: 10.8, depth_one_pixel_mm: 5, airy_px: 1.5, blur_mm: 0.04, holds_ppi: 600, curl_most_mm: 6, shim_mm: 1.4, board_mm: 400 },
    light: { azimuth_deg: azimuth, upright_azimuth_deg: azimuth, distance_chosen: false, elevation_deg: elevation, distance_mm: distance, height_mm: up, aside_mm: out, source_mm: [70, 50], fall_off_stops: fall, fall_off_asked_stops: 0.25, two_lights_fall_off_stops: fall / 3 },
    exposure: { iso: 100, shutter_s: 0.005, sync_s: 0.005, dose_lux_s: 12, slant_stops: 0.8, guide_wanted_m: 20, ambient_most_lux: 200, power: 0.2, ambient_below_stops: below, ambient_asked_stops: 8 },
    shadow: { azimuth_deg: (azimuth + 180) % 360, upright_azimuth_deg: (azimuth + 180) % 360, flat_width_mm: width / 3, umbra_mm: width / 2, width_mm: width, end_mm: width + soft / 2, softness_mm: soft, depth: 0.99 },
    gloss: { ceiling_mm: [0, 0], curl_most_mm: 4, slope_most_deg: 5, card_height_mm: 300, glare_mm: [glare * Math.cos(azimuth * rad), glare * Math.sin(azimuth * rad)], clear_mm: glare - reach, card_mm: [400, 360], card_to_light_mm: 180, hole_mm: 64 },
    ways: [],
  };
  const measured = { name: "IMG_1412.JPG", taken: "2026-11-21T19:12:00Z", px_per_mm: 35.2, lean_deg: 0.31, fall_off_stops: fall * 1.1 + 0.02, azimuth_deg: azimuth + 3, shadow_width_mm: width * 1.06, ambient_below_stops: 8.6 };
  const heading = `${words.format.replaceAll("-", " ").replace(/^./, (c) => c.toUpperCase())}, ${w} × ${h} mm, for a ${words.aim}`;
  const parts = [
    ...(concerns.length ? [{ label: "Falls short", says: concerns.map((c) => `${c.says} ${c.do}`) }] : []),
    { label: "Camera", says: [`${Math.round(answer.camera.ppi)} ppi on the print; the aim can use 300.`, "Lay the print sideways, its top towards the frame's left.", `With the lens of ${lens} mm the sensor is ${Math.round(sensorUp / 10)} cm above the bed, the lens ${Math.round(lensUp / 10)} cm.`] },
    { label: "Focus", says: ["f/5.6, focused 1.5 mm above the bed, half of a 3 mm curl.", "Level camera to board within 0.2°: 1.4 mm of shim under one edge of a 40 cm board."] },
    { label: "Light", says: [`One light ${Math.round(distance / 10)} cm from the print, at the frame's ${words.light_from}, ${elevation}° up.`, `Fall-off ${fall.toFixed(2)} stop across the print; the aim allows 0.25 stop.`] },
    { label: "Shadow", says: [`${width.toFixed(1)} mm wide beside an edge lifted 3 mm.`] },
  ];
  const checked = { frames: 3, px_per_mm: 35.4, lean_deg: 0.12, elevation_deg: elevation - 1, distance_mm: distance + 12 };
  return { heading, parts, answer, trouble: null, fields, measured, checked };
}
