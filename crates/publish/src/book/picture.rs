//! Prepares a mount for the page: at the resolution of the press, in its inks, deflated.

use super::flate;
use super::paper::{Certificate, Paper, Part};
use super::pdf::Space;
use super::press::Press;
use super::reduced::{Reduced, WHITE};
use super::small::{Block, Small, Smalls};
use crate::Plate;
use geometry::Quad;
use pixels::Primaries;
use pixels::colour::{srgb_decode, srgb_encode};
use pixels::encoding_eci::{lstar_decode, lstar_encode};
use std::ops::Range;
use std::sync::LazyLock;

/// Over this much a shadow that runs to the mount's rim is led down to paper, mm.
const TAPER: f64 = 2.0;
/// How much darker than its tint a light tint prints: dots gain. 1.5 near white is what offset conditions with 14 to 16 % gain at
/// half tone come to (calculated); only books in RGB, whose inks nobody here sees, need the figure.
const GAIN: f64 = 1.5;

/// What the picture's numbers are.
#[derive(Debug)]
pub enum Ink<'a> {
    /// sRGB, for screens and for printers of RGB.
    Srgb,
    /// eciRGBv2, to be converted at the press.
    Eci,
    /// The inks of a press.
    Press(&'a Press),
}

impl Ink<'_> {
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
pub struct How<'a> {
    /// Most pixels to the inch on the page.
    pub ppi: f64,
    /// Their numbers.
    pub ink: Ink<'a>,
    /// First printable dot, a share of full ink.
    pub first_dot: f64,
    /// Ink limit, all inks together, a share of one full ink.
    pub limit: f64,
    /// Which small pictures are made of each.
    pub smalls: Smalls,
}

/// A picture that a book needs.
#[derive(Clone, Copy, Debug)]
pub struct Wanted<'a> {
    /// Which plate, counted from 0.
    pub plate: usize,
    /// Its back.
    pub back: bool,
    /// The plate, or what is its back.
    pub of: &'a Plate,
    /// Size on the page over true size.
    pub scale: f64,
    /// Only this part of the print, mm of the print itself: left, top, width, height.
    pub detail: Option<[f64; 4]>,
}

/// What is known of a picture, and kept once it is written.
#[derive(Debug)]
pub struct Kept {
    /// Name of its plate; a back's ends in `-back`.
    pub name: String,
    /// Which plate, counted from 0.
    pub plate: usize,
    /// Its back.
    pub back: bool,
    /// Size on the page over true size.
    pub scale: f64,
    /// The part of the print that it shows, mm of the print: left, top, width, height; none where it shows all of it.
    pub detail: Option<[f64; 4]>,
    /// Columns and rows.
    pub size_px: [usize; 2],
    /// Width and height of the print itself on the page, mm.
    pub print_mm: [f64; 2],
    /// Width and height of the picture on the page, mm.
    pub size_mm: [f64; 2],
    /// How far the picture goes beyond the print: left, top, right, foot, mm on the page.
    pub beyond: [f64; 4],
    /// How its shadow came about.
    pub shadow: String,
    /// How far the shadow goes beyond the print, the same way.
    pub reach: [f64; 4],
    /// Pixels to the inch of the page that the mount itself has, and that the file has.
    pub ppi: [f64; 2],
    /// What its white was found to be.
    pub certificate: Certificate,
    /// Its shadow ran to the mount's rim.
    pub at_rim: bool,
    /// Mean difference (CIEDE2000) between the print and its inks seen again, over a sample; 0 in RGB.
    pub loss: f64,
    /// As it will look, at the size that was asked for.
    pub seen: Small,
    /// The same, for the flat plan.
    pub thumb: Small,
    /// As it will look on the paper itself.
    pub on_paper: Option<Small>,
}

/// A picture that is ready to be written.
#[derive(Debug)]
pub struct Ready {
    /// What is kept of it.
    pub kept: Kept,
    /// Rows of interleaved 8-bit channels, deflated.
    pub deflated: Vec<u8>,
}

/// Makes a picture ready.
///
/// # Errors
/// Its mount is not there, cannot be read, or is not what its report says.
pub fn ready(wanted: Wanted, how: &How) -> Result<Ready, String> {
    let own = wanted.of.px_per_mm / wanted.scale * 25.4;
    let mut cut = Reduced::read(wanted.of, how.ppi / own)?;
    if let Some(part) = wanted.detail {
        cut = cut
            .detail(part)
            .ok_or_else(|| format!("{}: nothing of the print is left in this detail.", wanted.of.name))?;
    }
    let ppi = [own, 25.4 / (cut.pixel_mm[0] * wanted.scale)];
    Ok(Making { cut, how, ppi, is_detail: wanted.detail.is_some() }.finish(wanted))
}

/// The reduced picture and how it becomes inks.
struct Making<'a> {
    cut: Reduced,
    how: &'a How<'a>,
    /// Pixels to the inch of the page: the mount's and the file's.
    ppi: [f64; 2],
    /// All of it is print: no bare paper, no shadow, no rim.
    is_detail: bool,
}

/// What was made of it.
struct Printed {
    /// Interleaved channels as the file holds them.
    bytes: Vec<u8>,
    certificate: Certificate,
    seen: Block<[u8; 3]>,
    on_paper: Option<Small>,
    loss: f64,
}

impl Making<'_> {
    fn finish(self, wanted: Wanted) -> Ready {
        let mut made = match self.how.ink {
            Ink::Press(press) => self.pressed(press),
            Ink::Eci => self.coloured(&Rgb::eci()),
            Ink::Srgb => self.coloured(&Rgb::srgb()),
        };
        if self.is_detail {
            // Its edge is the print's own ink, not paper's.
            made.certificate.rim_with_ink = 0;
        }
        let mm = self.cut.pixel_mm.map(|mm| mm * wanted.scale);
        let [left, top, right, foot] = self.cut.print_box();
        let outward =
            |[l, t, r, f]: [f64; 4]| [(left - l) * mm[0], (top - t) * mm[1], (r - right) * mm[0], (f - foot) * mm[1]];
        let size_px = self.cut.size;
        let [w, h] = size_px.map(|n| n as f64);
        let kept = Kept {
            name: wanted.of.name.clone(),
            plate: wanted.plate,
            back: wanted.back,
            scale: wanted.scale,
            detail: wanted.detail,
            size_px,
            print_mm: [(right - left) * mm[0], (foot - top) * mm[1]],
            size_mm: [w * mm[0], h * mm[1]],
            beyond: outward([0.0, 0.0, w, h]),
            shadow: wanted.of.shadow.clone(),
            reach: outward(self.cut.dark.map(|n| n as f64)).map(|v: f64| v.max(0.0)),
            ppi: self.ppi,
            certificate: made.certificate,
            at_rim: self.cut.at_rim,
            loss: made.loss,
            thumb: made.seen.thumb(self.how.smalls.ppi()).packed(),
            seen: made.seen.packed(),
            on_paper: made.on_paper,
        };
        Ready { kept, deflated: flate::rows(&made.bytes, size_px[0] * self.how.ink.channels()) }
    }

    /// In the inks of a press.
    fn pressed(&self, press: &Press) -> Printed {
        let part = self.parts();
        let codes = Codes::new(&self.cut.primaries, &Primaries::eci_rgb_v2(), &LSTAR);
        let inks = self.printed(&part, self.paper(self.how.first_dot), |light| press.inks(&codes.encoded(light)));
        let small =
            Block::means(&inks, self.cut.size, self.small_side(), |v| v as f32).map(|p| p.map(|v| v.round() as u8));
        Printed {
            certificate: Certificate::read(self.cut.size[0], &inks, &part, self.how.limit),
            seen: small.with(press.seen(&small.pixels, false)),
            on_paper: (self.how.smalls == Smalls::Paper).then(|| small.with(press.seen(&small.pixels, true)).packed()),
            loss: self.loss(&inks, press),
            bytes: inks.into_flattened(),
        }
    }

    /// In an RGB. What is made is its complement: what a press would have to lay down.
    fn coloured(&self, rgb: &Rgb) -> Printed {
        let part = self.parts();
        let codes = Codes::new(&self.cut.primaries, &rgb.primaries, rgb.codes);
        let first = 1.0 - (rgb.encode)(1.0 - (GAIN * self.how.first_dot).min(1.0));
        let inks = self.printed(&part, self.paper(first), |light| {
            let mut tints = codes.encoded(light);
            tints.as_flattened_mut().iter_mut().for_each(|v| *v = u16::MAX - *v);
            tints
        });
        let light = Block::means(&inks, self.cut.size, self.small_side(), |v| (rgb.decode)(1.0 - v / 255.0) as f32);
        let shown = Codes::new(&rgb.primaries, &Primaries::srgb(), &SRGB);
        Printed {
            certificate: Certificate::read(self.cut.size[0], &inks, &part, f64::MAX),
            seen: light.with(shown.encoded(&light.pixels)).map(|p| p.map(|v| ((u32::from(v) + 128) / 257) as u8)),
            on_paper: None,
            loss: 0.0,
            bytes: inks.into_flattened().into_iter().map(|v| 255 - v).collect(),
        }
    }

    /// Side of the block of pixels that is one of the small picture's.
    fn small_side(&self) -> usize {
        (self.ppi[1] / self.how.smalls.ppi()) as usize
    }

    /// What each pixel is.
    fn parts(&self) -> Vec<Part> {
        let [w, h] = self.cut.size;
        if self.is_detail {
            return vec![Part::Print; w * h];
        }
        let print = Across::of(&self.cut.print);
        let mut out = vec![Part::Bare; w * h];
        let rows = out.chunks_exact_mut(w).zip(self.cut.light.chunks_exact(3 * w)).enumerate();
        // The outermost pixels are bare.
        for (y, (kinds, light)) in rows.skip(1).take(h.saturating_sub(2)) {
            let print = print.row(y, w);
            for (x, (kind, light)) in
                kinds.iter_mut().zip(light.as_chunks::<3>().0).enumerate().skip(1).take(w.saturating_sub(2))
            {
                if light.iter().any(|v| *v < WHITE) {
                    *kind = if print.contains(&x) { Part::Print } else { Part::Shadow };
                }
            }
        }
        out
    }

    /// How much of a shadow that runs to the mount's rim is left at a pixel.
    fn left(&self, x: usize, y: usize) -> f32 {
        let [w, h] = self.cut.size;
        let reach = TAPER / 25.4 * self.ppi[1];
        let far = x.min(y).min(w - 1 - x).min(h - 1 - y) as f64;
        let u = (far / reach).min(1.0);
        (u * u * (3.0 - 2.0 * u)) as f32
    }

    fn paper(&self, first_dot: f64) -> Paper {
        // A screen of 150 lines to the inch, the usual one for books, has one dot in so many pixels.
        Paper::new(first_dot, (self.ppi[1] / 150.0).round() as usize)
    }

    /// The picture as 8-bit inks; `tints` makes them of light. Bare paper is not asked for.
    fn printed<const N: usize>(
        &self,
        part: &[Part],
        paper: Paper,
        tints: impl Fn(&[[f32; 3]]) -> Vec<[u16; N]>,
    ) -> Vec<[u8; N]> {
        let [w, h] = self.cut.size;
        let light = self.cut.light.as_chunks::<3>().0;
        let mut out = vec![[0; N]; w * h];
        for (y, (row, kinds)) in out.chunks_exact_mut(w).zip(part.chunks_exact(w)).enumerate() {
            let dark = |p: &Part| *p != Part::Bare;
            let Some(first) = kinds.iter().position(dark) else { continue };
            let end = kinds.iter().rposition(dark).unwrap_or(first) + 1;
            for (x, tint) in (first..end).zip(tints(&light[y * w..][first..end])) {
                let fades = self.cut.at_rim && kinds[x] == Part::Shadow;
                let tint = if fades { tint.map(|v| (f32::from(v) * self.left(x, y)) as u16) } else { tint };
                row[x] = paper.inks(kinds[x], tint, x, y);
            }
        }
        out
    }

    /// Mean difference between the print and what its inks show, over every 16th pixel both ways.
    fn loss(&self, inks: &[[u8; 4]], press: &Press) -> f64 {
        let w = self.cut.size[0];
        let srgb = Primaries::srgb();
        let places: Vec<usize> = (0..inks.len()).filter(|i| i % w % 16 == 8 && i / w % 16 == 8).collect();
        let some: Vec<[u8; 4]> = places.iter().map(|i| inks[*i]).collect();
        let differences = places.iter().zip(press.seen(&some, false)).map(|(i, s)| {
            let is = self.cut.primaries.xyz(std::array::from_fn(|c| f64::from(self.cut.light[3 * i + c])));
            let shown = srgb.xyz(s.map(|v| srgb_decode(f64::from(v) / 255.0)));
            pixels::ciede2000(pixels::lab_from_xyz(is), pixels::lab_from_xyz(shown))
        });
        differences.sum::<f64>() / places.len().max(1) as f64
    }
}

/// The print's edges as lines `[nx, ny, at]` whose left side, `nx x + ny y < at`, is outside: corners run clockwise with y down.
struct Across([[f64; 3]; 4]);

impl Across {
    fn of(print: &Quad) -> Self {
        let q = print.0;
        Self(std::array::from_fn(|i| {
            let (a, b) = (q[i], q[(i + 1) % 4]);
            let length = a.distance(b).max(1e-9);
            let (nx, ny) = ((a.y - b.y) / length, (b.x - a.x) / length);
            [nx, ny, nx * a.x + ny * a.y]
        }))
    }

    /// The pixels of row `y`, of `width`, whose middles lie in the print or on its antialiased rim, a pixel and a half.
    fn row(&self, y: usize, width: usize) -> Range<usize> {
        let (mut from, mut to) = (0.0_f64, width as f64);
        for [nx, ny, at] in self.0 {
            let left = at - 1.5 - ny * (y as f64 + 0.5);
            match left / nx {
                // A level edge: the whole row is on one side.
                _ if nx.abs() < 1e-12 => to = if left < 0.0 { to } else { 0.0 },
                x if nx > 0.0 => from = from.max((x - 0.5).floor() + 1.0),
                x => to = to.min((x - 0.5).ceil()),
            }
        }
        from as usize..to.max(0.0) as usize
    }
}

/// 16-bit codes of 65536 steps of light, the same for every picture.
type Table = LazyLock<Vec<u16>>;
static SRGB: Table = LazyLock::new(|| table(srgb_encode));
static LSTAR: Table = LazyLock::new(|| table(lstar_encode));

fn table(encode: fn(f64) -> f64) -> Vec<u16> {
    (0..=65535).map(|v| (encode(f64::from(v) / 65535.0) * 65535.0).round() as u16).collect()
}

/// An RGB that a book can be in.
struct Rgb {
    primaries: Primaries,
    encode: fn(f64) -> f64,
    decode: fn(f64) -> f64,
    codes: &'static Table,
}

impl Rgb {
    fn srgb() -> Self {
        Self { primaries: Primaries::srgb(), encode: srgb_encode, decode: srgb_decode, codes: &SRGB }
    }

    fn eci() -> Self {
        Self { primaries: Primaries::eci_rgb_v2(), encode: lstar_encode, decode: lstar_decode, codes: &LSTAR }
    }
}

/// From the mount's light to the codes of an RGB.
struct Codes {
    /// New primaries from the mount's; none where they are the same.
    matrix: Option<[[f32; 3]; 3]>,
    codes: &'static [u16],
}

impl Codes {
    fn new(from: &Primaries, to: &Primaries, codes: &'static Table) -> Self {
        // A profile holds primaries to 16 bits after the point: what differs by less is the same.
        let same = from.0.iter().flatten().zip(to.0.iter().flatten()).all(|(a, b)| (a - b).abs() < 2e-4);
        let both = to.rgb_from_xyz().map(|m| pixels::matrix::product(&m, &from.0));
        let matrix = both.filter(|_| !same).map(|m| m.map(|row| row.map(|v| v as f32)));
        Self { matrix, codes }
    }

    fn encoded(&self, light: &[[f32; 3]]) -> Vec<[u16; 3]> {
        let code = |v: f32| self.codes[usize::from((v.clamp(0.0, 1.0) * 65535.0 + 0.5) as u16)];
        let mut out = vec![[0; 3]; light.len()];
        match &self.matrix {
            Some(m) => out.iter_mut().zip(light).for_each(|(o, v)| {
                (0..3).for_each(|c| o[c] = code(m[c][0] * v[0] + m[c][1] * v[1] + m[c][2] * v[2]));
            }),
            None => out.as_flattened_mut().iter_mut().zip(light.as_flattened()).for_each(|(o, v)| *o = code(*v)),
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geometry::{Point, point};

    /// A row's print is what the four lines say of every pixel's middle, also for a print that lies askew.
    #[test]
    fn a_rows_print_is_what_lies_within_its_edges() {
        for turn in [0.0_f64, 0.3, 7.0, -33.0] {
            let (sin, cos) = turn.to_radians().sin_cos();
            let corner = |x: f64, y: f64| point(40.0 + cos * x - sin * y, 35.0 + sin * x + cos * y);
            let quad = Quad([corner(-21.3, -17.8), corner(22.1, -17.8), corner(22.1, 16.4), corner(-21.3, 16.4)]);
            let across = Across::of(&quad);
            let beyond = |p: Point| {
                let outside = |[nx, ny, at]: &[f64; 3]| at - nx * p.x - ny * p.y;
                across.0.iter().map(outside).fold(f64::MIN, f64::max)
            };
            let mut all = 0;
            for y in 0..70 {
                let row = across.row(y, 80);
                for x in 0..80 {
                    let far = beyond(point(x as f64 + 0.5, y as f64 + 0.5));
                    assert_eq!(row.contains(&x), far < 1.5, "{turn}: {x} {y} {far}");
                    all += usize::from(row.contains(&x));
                }
            }
            // The print with a rim of a pixel and a half round it: 46.4 by 37.2.
            assert!((all as f64 - 46.4 * 37.2).abs() < 30.0, "{turn}: {all}");
        }
    }
}
