//! A mount made ready for the page: cut to its print and shadow, brought to the press's resolution once, in its inks, deflated.

use super::paper::{Certificate, Paper, Part};
use super::pdf::Space;
use super::press::Press;
use crate::Plate;
use crate::mount::ink;
use codec::Limits;
use geometry::{Point, Quad, point};
use libdeflater::{CompressionLvl, Compressor};
use pixels::colour::{srgb_decode, srgb_encode};
use pixels::encoding_eci::{lstar_decode, lstar_encode};
use pixels::resize::Reducer;
use pixels::{Encoding, Frame, Primaries, Samples};
use std::sync::LazyLock;

/// White kept round print and shadow, mm: a picture's own rim is bare paper.
const RIM: f64 = 0.5;
/// Over this much a shadow that runs to the mount's rim is led down to paper, mm.
const TAPER: f64 = 2.0;
/// Pixels to the inch of the page in the small pictures of dummy, deck and soft proof: a screen's.
const SMALL_PPI: f64 = 120.0;
/// And in those of the flat plan, whose pages are 150 pixels high.
const THUMB_PPI: f64 = 32.0;
/// A mount's white: all channels full, but for the rounding of a mean.
const WHITE: f32 = 1.0 - 1e-5;
/// How much darker than its tint a light tint prints: dots gain. 1.5 near white is what offset conditions with 14 to 16 % gain at
/// half tone come to (calculated); only books in RGB, whose inks nobody here sees, need the figure.
const GAIN: f64 = 1.5;

/// What the picture's numbers are.
#[derive(Debug)]
pub enum Ink {
    /// sRGB, for screens and for printers of RGB.
    Srgb,
    /// eciRGBv2, to be converted at the press.
    Eci,
    /// The inks of a press.
    Press(Box<Press>),
}

impl Ink {
    /// The same for the file.
    pub fn space(&self) -> Space {
        match self {
            Self::Press(_) => Space::Inks,
            Self::Eci => Space::Eci,
            Self::Srgb => Space::Srgb,
        }
    }

    /// Channels of a pixel.
    pub fn channels(&self) -> usize {
        if let Self::Press(_) = self { 4 } else { 3 }
    }
}

/// How pictures are made ready.
#[derive(Debug)]
pub struct How {
    /// Most pixels to the inch on the page.
    pub ppi: f64,
    /// Size on the page over true size.
    pub scale: f64,
    /// Their numbers.
    pub ink: Ink,
    /// First printable dot, a share of full ink.
    pub first_dot: f64,
    /// Ink limit, all inks together, a share of one full ink.
    pub limit: f64,
    /// Also as it will look on the paper itself.
    pub on_paper: bool,
}

/// A small sRGB picture.
#[derive(Clone, Debug)]
pub struct Small {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// The share of the whole picture's width and height that it shows: whole blocks of pixels only.
    pub shows: [f64; 2],
    /// Rows deflated, each after a predictor's byte, as PDF and PNG hold them.
    pub deflated: Vec<u8>,
}

/// A picture that is ready.
#[derive(Debug)]
pub struct Ready {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Rows of interleaved 8-bit channels, deflated.
    pub deflated: Vec<u8>,
    /// How far the picture goes beyond the print: left, top, right, foot, mm on the page.
    pub beyond: [f64; 4],
    /// Width and height of the whole picture, mm on the page.
    pub size_mm: [f64; 2],
    /// How far the shadow goes beyond the print, the same way.
    pub reach: [f64; 4],
    /// Pixels to the inch of the page that the mount itself has, and that the file has.
    pub ppi: [f64; 2],
    /// What its white was found to be.
    pub certificate: Certificate,
    /// Its shadow runs to the mount's rim.
    pub at_rim: bool,
    /// Mean difference (CIEDE2000) between the print and its inks seen again, over a sample; 0 in RGB.
    pub loss: f64,
    /// As it will look.
    pub seen: Small,
    /// The same, for the flat plan.
    pub thumb: Small,
    /// As it will look on the paper itself.
    pub on_paper: Option<Small>,
}

/// Makes a plate ready.
///
/// # Errors
/// Its mount is not there, cannot be read, or is not what its report says.
pub fn ready(plate: &Plate, how: &How) -> Result<Ready, String> {
    let decoded = codec::read(&plate.mount, &Limits::default()).map_err(|e| format!("{}: {e}", plate.name))?;
    let frame = decoded.frame;
    if [frame.width, frame.height] != plate.size_px {
        return Err(format!(
            "{}: its mount is {} by {} pixels, and its report says {} by {}. Finish it again.",
            plate.name, frame.width, frame.height, plate.size_px[0], plate.size_px[1]
        ));
    }
    let cut = Cut::of(&frame, plate);
    let (size, light) = cut.reduced(&frame, plate.px_per_mm / how.scale * 25.4, how.ppi);
    drop(frame.samples);
    let print = cut.on(&plate.print_px, size);
    let ppi = plate.px_per_mm / how.scale * 25.4 * size[0] as f64 / cut.w as f64;
    let made = Made { size, light: &light, print, encoding: &frame.encoding, how, ppi, rim: cut.at_rim };
    Ok(made.finish(&cut, plate))
}

/// Where a mount is cut, in its own pixels.
struct Cut {
    x: usize,
    y: usize,
    w: usize,
    h: usize,
    /// What is not white: left, top, right, foot.
    dark: [f64; 4],
    at_rim: bool,
}

impl Cut {
    fn of(frame: &Frame, plate: &Plate) -> Self {
        let [mut left, mut top, mut right, mut foot] = ink(frame);
        let corners = plate.print_px.0;
        let low = |f: fn(&Point) -> f64| corners.iter().map(f).fold(f64::MAX, f64::min).max(0.0);
        let high = |f: fn(&Point) -> f64| corners.iter().map(f).fold(0.0, f64::max);
        left = left.min(low(|p| p.x) as usize);
        top = top.min(low(|p| p.y) as usize);
        right = right.max(high(|p| p.x).ceil() as usize).min(frame.width);
        foot = foot.max(high(|p| p.y).ceil() as usize).min(frame.height);
        let rim = (RIM * plate.px_per_mm).ceil() as usize;
        let at_rim = left == 0 || top == 0 || right == frame.width || foot == frame.height;
        let (x, y) = (left.saturating_sub(rim), top.saturating_sub(rim));
        let (w, h) = ((right + rim).min(frame.width) - x, (foot + rim).min(frame.height) - y);
        Self { x, y, w, h, dark: [left, top, right, foot].map(|v| v as f64), at_rim }
    }

    /// The cut picture in linear light at no more than `most` pixels to the inch, `own` of which the mount has.
    fn reduced(&self, frame: &Frame, own: f64, most: f64) -> ([usize; 2], Vec<f32>) {
        let k = (most / own).min(1.0);
        let to = [self.w, self.h].map(|n| ((n as f64 * k).round() as usize).clamp(1, n));
        let mut reducer = Reducer::new((self.w, self.h), (to[0], to[1]));
        let lut = frame.encoding.tone.table(frame.bits());
        let mut line = vec![0.0; 3 * self.w];
        for y in self.y..self.y + self.h {
            let at = 3 * (y * frame.width + self.x);
            match &frame.samples {
                Samples::U8(s) => line.iter_mut().zip(&s[at..]).for_each(|(l, v)| *l = lut[*v as usize]),
                Samples::U16(s) => line.iter_mut().zip(&s[at..]).for_each(|(l, v)| *l = lut[*v as usize]),
            }
            if to[0] == self.w { reducer.feed_reduced(&line) } else { reducer.feed(&line) }
        }
        (to, reducer.finish().1)
    }

    /// A quad of the mount on the reduced picture.
    fn on(&self, quad: &Quad, size: [usize; 2]) -> Quad {
        let (kx, ky) = (size[0] as f64 / self.w as f64, size[1] as f64 / self.h as f64);
        Quad(quad.0.map(|p| point((p.x - self.x as f64) * kx, (p.y - self.y as f64) * ky)))
    }
}

/// The reduced picture and how it becomes inks.
struct Made<'a> {
    size: [usize; 2],
    light: &'a [f32],
    print: Quad,
    encoding: &'a Encoding,
    how: &'a How,
    /// Pixels to the inch of the page.
    ppi: f64,
    rim: bool,
}

impl Made<'_> {
    fn finish(&self, cut: &Cut, plate: &Plate) -> Ready {
        let part = self.parts();
        let width = self.size[0];
        let (bytes, certificate, seen, on_paper, loss) = match &self.how.ink {
            Ink::Press(press) => {
                let inks = self.inks(press, &part);
                let c = Certificate::read(width, &inks, &part, self.how.limit);
                let small = self.shrunk(&inks, SMALL_PPI, |v| v as f32).map(|p| p.map(|v| v.round() as u8));
                let seen = small.with(&press.seen(&small.pixels, false));
                let on_paper = self.how.on_paper.then(|| small.with(&press.seen(&small.pixels, true)).packed());
                (inks.as_flattened().to_vec(), c, seen, on_paper, self.loss(&inks, press))
            }
            rgb => {
                let wide = matches!(rgb, Ink::Eci);
                let inks = self.rgb(wide, &part);
                let c = Certificate::read(width, &inks, &part, f64::MAX);
                let decode = if wide { lstar_decode } else { srgb_decode };
                let light = self.shrunk(&inks, SMALL_PPI, |v| decode(1.0 - v / 255.0) as f32);
                let from = if wide { Primaries::eci_rgb_v2() } else { Primaries::srgb() };
                let codes = Codes::new(&from, Primaries::srgb(), &SRGB);
                let seen = light.map(|p| codes.encoded(p).map(|v| (v * 255.0).round() as u8));
                (inks.iter().flatten().map(|v| 255 - v).collect(), c, seen, None, 0.0)
            }
        };
        let mm = self.how.scale / plate.px_per_mm;
        let [a, b, c, d] = plate.print_px.0;
        let sides = [a.x.min(d.x), a.y.min(b.y), b.x.max(c.x), c.y.max(d.y)];
        let outward =
            |from: [f64; 4]| std::array::from_fn(|i| if i < 2 { sides[i] - from[i] } else { from[i] - sides[i] } * mm);
        let (x, y) = (cut.x as f64, cut.y as f64);
        let own = plate.px_per_mm / self.how.scale * 25.4;
        Ready {
            width: self.size[0],
            height: self.size[1],
            deflated: deflated(&bytes, self.size[0] * self.how.ink.channels()),
            beyond: outward([x, y, x + cut.w as f64, y + cut.h as f64]),
            size_mm: [cut.w, cut.h].map(|n| n as f64 * mm),
            reach: outward(cut.dark).map(|v: f64| v.max(0.0)),
            ppi: [own, self.ppi],
            certificate,
            at_rim: self.rim,
            loss,
            thumb: seen.smaller(THUMB_PPI / SMALL_PPI).packed(),
            seen: seen.packed(),
            on_paper,
        }
    }

    /// What each pixel is.
    fn parts(&self) -> Vec<Part> {
        let [w, h] = self.size;
        let q = self.print.0;
        // Edges as lines whose left side is outside, for corners that run clockwise with y down; the antialiased rim is print.
        let edges: [(f64, f64, f64); 4] = std::array::from_fn(|i| {
            let (a, b) = (q[i], q[(i + 1) % 4]);
            let length = a.distance(b).max(1e-9);
            let (nx, ny) = ((a.y - b.y) / length, (b.x - a.x) / length);
            (nx, ny, nx * a.x + ny * a.y)
        });
        let inside = |x: f64, y: f64| edges.iter().all(|(nx, ny, at)| nx * x + ny * y - at > -1.5);
        (0..w * h)
            .map(|i| {
                let (x, y) = (i % w, i / w);
                let rim = x == 0 || y == 0 || x + 1 == w || y + 1 == h;
                if rim || self.light[3 * i..3 * i + 3].iter().all(|v| *v >= WHITE) {
                    Part::Bare
                } else if inside(x as f64 + 0.5, y as f64 + 0.5) {
                    Part::Print
                } else {
                    Part::Shadow
                }
            })
            .collect()
    }

    /// How much of a shadow that runs to the mount's rim is left at a pixel.
    fn left(&self, x: usize, y: usize) -> f32 {
        let [w, h] = self.size;
        let reach = TAPER / 25.4 * self.ppi;
        let far = x.min(y).min(w - 1 - x).min(h - 1 - y) as f64;
        let u = (far / reach).min(1.0);
        (u * u * (3.0 - 2.0 * u)) as f32
    }

    /// A row in the encoded RGB of `space`, 0 to 1.
    fn row(&self, y: usize, space: &Codes) -> Vec<[f32; 3]> {
        let w = self.size[0];
        let row = self.light[3 * w * y..][..3 * w].as_chunks::<3>().0;
        row.iter().map(|v| space.encoded(*v)).collect()
    }

    fn paper(&self, first_dot: f64) -> Paper {
        // A screen of 150 lines to the inch, the usual one for books, has one dot in so many pixels.
        Paper::new(first_dot, (self.ppi / 150.0).round() as usize)
    }

    fn inks(&self, press: &Press, part: &[Part]) -> Vec<[u8; 4]> {
        let codes = Codes::new(&self.encoding.primaries, Primaries::eci_rgb_v2(), &LSTAR);
        self.printed(part, self.paper(self.how.first_dot), |y| {
            let row: Vec<[u16; 3]> =
                self.row(y, &codes).iter().map(|p| p.map(|v| (v * 65535.0 + 0.5) as u16)).collect();
            press.inks(&row).into_iter().map(|p| p.map(|v| f32::from(v) / 65535.0)).collect()
        })
    }

    /// The complement of 8-bit RGB: what a press would have to lay down.
    fn rgb(&self, wide: bool, part: &[Part]) -> Vec<[u8; 3]> {
        let encode = if wide { lstar_encode } else { srgb_encode };
        let (primaries, table) = if wide { (Primaries::eci_rgb_v2(), &LSTAR) } else { (Primaries::srgb(), &SRGB) };
        let codes = Codes::new(&self.encoding.primaries, primaries, table);
        let first = 1.0 - encode(1.0 - (GAIN * self.how.first_dot).min(1.0));
        self.printed(part, self.paper(first), |y| self.row(y, &codes).into_iter().map(|p| p.map(|v| 1.0 - v)).collect())
    }

    /// Rows of tints as 8-bit inks.
    fn printed<const N: usize>(
        &self,
        part: &[Part],
        paper: Paper,
        tints: impl Fn(usize) -> Vec<[f32; N]>,
    ) -> Vec<[u8; N]> {
        let [w, h] = self.size;
        let mut out = Vec::with_capacity(w * h);
        for y in 0..h {
            for (x, p) in tints(y).into_iter().enumerate() {
                let kind = part[y * w + x];
                let p = if self.rim && kind == Part::Shadow { p.map(|v| v * self.left(x, y)) } else { p };
                out.push(paper.inks(kind, p, x, y));
            }
        }
        out
    }

    /// The picture at about `ppi` or a little more: means of whole blocks of what `value` makes of a code.
    fn shrunk<const N: usize>(&self, pixels: &[[u8; N]], ppi: f64, value: impl Fn(f64) -> f32) -> Block<[f32; N]> {
        let table: Vec<f32> = (0..256).map(|v| value(f64::from(v))).collect();
        let [w, h] = self.size;
        let side = ((self.ppi / ppi) as usize).clamp(1, w.min(h));
        let (width, height) = (w / side, h / side);
        let shows = [(width * side) as f64 / w as f64, (height * side) as f64 / h as f64];
        let mut means = vec![[0.0; N]; width * height];
        for (y, row) in pixels.chunks_exact(w).take(height * side).enumerate() {
            let line = &mut means[y / side * width..][..width];
            for (mean, some) in line.iter_mut().zip(row.chunks_exact(side)) {
                some.iter().for_each(|p| (0..N).for_each(|c| mean[c] += table[p[c] as usize]));
            }
        }
        let share = 1.0 / (side * side) as f32;
        Block { width, height, shows, pixels: means.into_iter().map(|p| p.map(|v| v * share)).collect() }
    }

    /// Mean difference between the print and what its inks show, over every 16th pixel both ways.
    fn loss(&self, inks: &[[u8; 4]], press: &Press) -> f64 {
        let w = self.size[0];
        let srgb = Primaries::srgb();
        let places: Vec<usize> = (0..inks.len()).filter(|i| i % w % 16 == 8 && i / w % 16 == 8).collect();
        let some: Vec<[u8; 4]> = places.iter().map(|i| inks[*i]).collect();
        let differences = places.iter().zip(press.seen(&some, false)).map(|(i, s)| {
            let is = self.encoding.primaries.xyz(std::array::from_fn(|c| f64::from(self.light[3 * i + c])));
            let shown = srgb.xyz(s.map(|v| srgb_decode(f64::from(v) / 255.0)));
            pixels::ciede2000(pixels::lab_from_xyz(is), pixels::lab_from_xyz(shown))
        });
        differences.sum::<f64>() / places.len().max(1) as f64
    }
}

/// A small picture in the making.
struct Block<P> {
    width: usize,
    height: usize,
    /// The share of the whole that it shows.
    shows: [f64; 2],
    pixels: Vec<P>,
}

impl<P: Copy> Block<P> {
    fn map<Q>(&self, f: impl Fn(P) -> Q) -> Block<Q> {
        Block {
            width: self.width,
            height: self.height,
            shows: self.shows,
            pixels: self.pixels.iter().map(|p| f(*p)).collect(),
        }
    }

    fn with<Q: Copy>(&self, pixels: &[Q]) -> Block<Q> {
        Block { width: self.width, height: self.height, shows: self.shows, pixels: pixels.to_vec() }
    }
}

impl Block<[u8; 3]> {
    /// Made smaller in linear light.
    fn smaller(&self, k: f64) -> Self {
        let to = [self.width, self.height].map(|n| ((n as f64 * k).round() as usize).max(1));
        let table: Vec<f32> = (0..256).map(|v| srgb_decode(f64::from(v) / 255.0) as f32).collect();
        let mut reducer = Reducer::new((self.width, self.height), (to[0], to[1]));
        for row in self.pixels.chunks(self.width) {
            reducer.feed(&row.iter().flatten().map(|v| table[*v as usize]).collect::<Vec<f32>>());
        }
        let code = |v: &f32| (srgb_encode(f64::from(*v).min(1.0)) * 255.0).round() as u8;
        let codes: Vec<u8> = reducer.finish().1.iter().map(code).collect();
        Self { width: to[0], height: to[1], shows: self.shows, pixels: codes.as_chunks::<3>().0.to_vec() }
    }

    fn packed(&self) -> Small {
        let deflated = deflated(self.pixels.as_flattened(), 3 * self.width);
        Small { width: self.width, height: self.height, shows: self.shows, deflated }
    }
}

/// Codes of 65536 steps of light, the same for every picture.
type Table = LazyLock<Vec<f32>>;
static SRGB: Table = LazyLock::new(|| table(srgb_encode));
static LSTAR: Table = LazyLock::new(|| table(lstar_encode));

fn table(encode: fn(f64) -> f64) -> Vec<f32> {
    (0..=65535).map(|v| encode(f64::from(v) / 65535.0) as f32).collect()
}

/// From the mount's light to the codes of an RGB.
struct Codes {
    /// New primaries from the mount's; none where they are the same.
    matrix: Option<[[f32; 3]; 3]>,
    codes: &'static [f32],
}

impl Codes {
    fn new(from: &Primaries, to: Primaries, codes: &'static Table) -> Self {
        // A profile holds primaries to 16 bits after the point: what differs by less is the same.
        let same = from.0.iter().flatten().zip(to.0.iter().flatten()).all(|(a, b)| (a - b).abs() < 2e-4);
        let both = to.rgb_from_xyz().map(|m| pixels::matrix::product(&m, &from.0));
        let matrix = both.filter(|_| !same).map(|m| m.map(|row| row.map(|v| v as f32)));
        Self { matrix, codes }
    }

    fn encoded(&self, v: [f32; 3]) -> [f32; 3] {
        let v = match &self.matrix {
            Some(m) => m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2]),
            None => v,
        };
        v.map(|v| self.codes[(v.clamp(0.0, 1.0) * 65535.0 + 0.5) as usize])
    }
}

/// Rows after PNG's predictor `Up` (each value less the one above), deflated (RFC 1950).
pub fn deflated(bytes: &[u8], row: usize) -> Vec<u8> {
    let mut plain = Vec::with_capacity(bytes.len() + bytes.len() / row.max(1));
    for (y, line) in bytes.chunks(row).enumerate() {
        plain.push(2);
        match y {
            0 => plain.extend_from_slice(line),
            _ => plain.extend(line.iter().zip(&bytes[(y - 1) * row..]).map(|(v, up)| v.wrapping_sub(*up))),
        }
    }
    // Level 1: a tenth less time for the whole book than level 2, for 4 % more bytes (twelve drawn prints of 24 megapixels, in the
    // inks of a press); grain and dither no level packs well.
    let mut compressor = Compressor::new(CompressionLvl::new(1).unwrap_or_default());
    let mut out = vec![0; compressor.zlib_compress_bound(plain.len())];
    // The buffer is as large as the library asks for, so this cannot come short; an empty picture would be seen at once.
    let n = compressor.zlib_compress(&plain, &mut out).unwrap_or(0);
    out.truncate(n);
    out
}
