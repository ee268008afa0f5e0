//! Checks whether the picture in a JPEG is complete: reads every scan code by code and counts its blocks.
//!
//! Decoders fill missing data with grey and continue. Here the codes of each scan (ITU-T T.81 annexes F and G) must give exactly the
//! blocks stated in the frame header, restart markers must be in order and in place, and no more than a few bytes may be left over.
//! Damage that still satisfies this, such as one bit of a value, cannot be detected by any reader.

use super::huffman::{Bits, Table};
use super::progressive::{self, Band};
use super::walk::next_marker;

/// Bytes that a few cameras leave behind the last block.
const STRAY: usize = 2;
/// So many zero bytes in a row are written by no encoder, unless zeros are its code for a flat block.
const ZEROS: usize = 32;
/// The largest mean of a block, quantised back: 8 x 128 (8-bit samples, A.3.3), and a quarter more for encoders that let flat
/// parts overshoot. Two steps of the quantiser come on top.
const MOST_DC: i32 = 1280;

/// What is wrong, in words that follow "the file is damaged".
pub(super) type Damage = &'static str;

const SHORT: Damage = "a part of its picture is missing";
const NONSENSE: Damage = "a part of its picture is not JPEG data";
const MARKER: Damage = "a marker inside its picture is missing or wrong";
const SURPLUS: Damage = "its picture holds more data than it has blocks";
const ZEROED: Damage = "a part of its picture was overwritten with zeros";
const HEADER: Damage = "its headers contradict each other";

/// A colour of the frame.
pub(super) struct Component {
    id: u8,
    across: usize,
    down: usize,
    quantiser: usize,
    /// Blocks across and down that hold picture, for scans of this component alone (A.2.2).
    pub own: (usize, usize),
    /// Blocks across with those that fill up the last unit of interleaved scans.
    pub stride: usize,
    /// Progressive: which coefficients of each block are known not to be zero.
    pub known: Vec<u64>,
    /// Bits still missing of each coefficient; none was sent where it is over 13.
    missing: [u8; 64],
}

/// What the headers have said so far.
#[derive(Default)]
pub(super) struct Said {
    pub components: Vec<Component>,
    progressive: bool,
    units: (usize, usize),
    dc: [Option<Table>; 4],
    ac: [Option<Table>; 4],
    /// Quantisers of the mean.
    quantisers: [u16; 4],
    /// Units between restart markers; 0 for none.
    restart: usize,
}

/// What a whole JPEG still has to be said of.
#[derive(Default)]
pub(super) struct Checked {
    /// Stray bytes followed a scan's last block.
    pub stray: bool,
    /// A scan ended between two restarts and another one followed: the decoder library counts on where it must begin again.
    pub ragged: bool,
}

/// Reads all scans of a sequential or progressive JPEG of 8 bits.
pub(super) fn check(data: &[u8]) -> Result<Checked, Damage> {
    let mut said = Said::default();
    let (mut at, mut ragged, mut checked) = (2, false, Checked::default());
    loop {
        let marker = next_marker(data, &mut at).map_err(|_| SHORT)?;
        match marker {
            0xD9 => break,
            0xD0..=0xD7 => return Err(MARKER),
            0xD8 | 0x01 => continue,
            _ => {}
        }
        let length = data.get(at..at + 2).map(|b| usize::from(u16::from_be_bytes([b[0], b[1]]))).ok_or(SHORT)?;
        let body = data.get(at + 2..at + length.max(2)).ok_or(SHORT)?;
        at += length.max(2);
        match marker {
            0xC0..=0xC2 => said.frame(body, marker == 0xC2).ok_or(HEADER)?,
            0xC4 => said.tables(body).ok_or(HEADER)?,
            0xDB => said.quantise(body).ok_or(HEADER)?,
            0xDD => said.restart = body.get(..2).map_or(0, |b| usize::from(u16::from_be_bytes([b[0], b[1]]))),
            0xDA => {
                let scan = Scan::of(&said, body).ok_or(HEADER)?;
                checked.stray |= said.scan(&scan, data, &mut at)?;
                checked.ragged |= ragged && !said.progressive;
                ragged = said.restart > 0 && said.units_of(&scan) % said.restart > 0;
            }
            _ => {}
        }
    }
    let whole = !said.components.is_empty() && said.components.iter().all(|c| c.missing.iter().all(|b| *b == 0));
    if whole { Ok(checked) } else { Err(SHORT) }
}

/// What a scan header says (B.2.3).
struct Scan {
    /// Components by place, with their tables for differences and for coefficients.
    parts: Vec<(usize, usize, usize)>,
    band: Band,
}

impl Scan {
    fn of(said: &Said, body: &[u8]) -> Option<Self> {
        let (&n, rest) = body.split_first()?;
        let n = usize::from(n);
        (1..=4).contains(&n).then_some(())?;
        let parts = rest.get(..2 * n)?.chunks_exact(2).map(|c| {
            let place = said.components.iter().position(|k| k.id == c[0])?;
            Some((place, usize::from(c[1] >> 4), usize::from(c[1] & 15))).filter(|p| p.1 < 4 && p.2 < 4)
        });
        let &[from, to, bits, ..] = rest.get(2 * n..)? else { return None };
        let band = if said.progressive {
            Band { from: from.into(), to: to.into(), high: bits >> 4, low: bits & 15 }
        } else {
            Band { from: 0, to: 63, high: 0, low: 0 }
        };
        let parts = parts.collect::<Option<Vec<_>>>()?;
        let alone = parts.len() == 1 || !said.progressive || band.to == 0;
        // Means and other coefficients do not share a progressive scan (G.1.1.1.1).
        let apart = !said.progressive || (band.from == 0) == (band.to == 0);
        (band.from <= band.to && band.to < 64 && band.low < 14 && alone && apart).then_some(Self { parts, band })
    }
}

impl Said {
    fn frame(&mut self, body: &[u8], progressive: bool) -> Option<()> {
        let &[8, h1, h0, w1, w0, n, ref rest @ ..] = body else { return None };
        let (width, height) = (usize::from(u16::from_be_bytes([w1, w0])), usize::from(u16::from_be_bytes([h1, h0])));
        let parts: Vec<&[u8]> = rest.chunks_exact(3).take(n.into()).collect();
        let most = |f: fn(u8) -> u8| parts.iter().map(|p| usize::from(f(p[1]))).max();
        let (across, down) = (most(|b| b >> 4)?, most(|b| b & 15)?);
        let usual = parts.len() == usize::from(n) && self.components.is_empty();
        (usual && width > 0 && height > 0 && (1..=4).contains(&across) && (1..=4).contains(&down)).then_some(())?;
        self.progressive = progressive;
        self.units = (width.div_ceil(8 * across), height.div_ceil(8 * down));
        for p in parts {
            let (a, d) = (usize::from(p[1] >> 4), usize::from(p[1] & 15));
            (a > 0 && d > 0 && p[2] < 4).then_some(())?;
            let own = ((width * a).div_ceil(across).div_ceil(8), (height * d).div_ceil(down).div_ceil(8));
            let stride = self.units.0 * a;
            let blocks = if progressive { stride * self.units.1 * d } else { 0 };
            let known = vec![0; blocks];
            let missing = [16; 64];
            self.components.push(Component {
                id: p[0],
                across: a,
                down: d,
                quantiser: p[2].into(),
                own,
                stride,
                known,
                missing,
            });
        }
        Some(())
    }

    fn tables(&mut self, mut body: &[u8]) -> Option<()> {
        while let Some((&class, rest)) = body.split_first() {
            let (table, rest) = Table::read(rest)?;
            let set = if class >> 4 == 0 { &mut self.dc } else { &mut self.ac };
            *set.get_mut(usize::from(class & 15))? = Some(table);
            body = rest;
        }
        Some(())
    }

    fn quantise(&mut self, mut body: &[u8]) -> Option<()> {
        while let Some((&class, rest)) = body.split_first() {
            let n = if class >> 4 == 0 { 64 } else { 128 };
            let (values, rest) = rest.split_at_checked(n)?;
            let table = self.quantisers.get_mut(usize::from(class & 15))?;
            *table = if n == 64 { values[0].into() } else { u16::from_be_bytes([values[0], values[1]]) };
            body = rest;
        }
        Some(())
    }

    /// Blocks of a scan of one component, units of one of several (A.2.2, A.2.3).
    fn units_of(&self, scan: &Scan) -> usize {
        match scan.parts[..] {
            [(place, ..)] => self.components[place].own.0 * self.components[place].own.1,
            _ => self.units.0 * self.units.1,
        }
    }

    /// Reads one scan; `at` moves to the marker behind it.
    fn scan(&mut self, scan: &Scan, data: &[u8], at: &mut usize) -> Result<bool, Damage> {
        let units = self.units_of(scan);
        let mut components = std::mem::take(&mut self.components);
        for (place, ..) in &scan.parts {
            let c = &mut components[*place];
            for missing in &mut c.missing[scan.band.from..=scan.band.to] {
                // Bits come from the highest down, each once (G.1.1.1.2).
                if scan.band.high != 0 && (*missing != scan.band.high || scan.band.low + 1 != scan.band.high) {
                    return Err(SHORT);
                }
                *missing = scan.band.low;
            }
        }
        self.zeros(scan, data, *at)?;
        let mut due = 0;
        for first in (0..units).step_by(if self.restart == 0 { units } else { self.restart }) {
            let last = if self.restart == 0 { units } else { units.min(first + self.restart) };
            if first > 0 {
                // RST0 to RST7 in turn (B.2.1), perhaps behind fill bytes.
                let found = next_marker(data, at).ok().filter(|m| *m == 0xD0 + due);
                found.ok_or(MARKER)?;
                due = (due + 1) % 8;
            }
            let mut bits = Bits::new(data, *at);
            let mut reader = Reader { scan, said: self, components: &mut components, means: [0; 4], flat: 0 };
            for unit in first..last {
                reader.unit(&mut bits, unit)?;
                if bits.short() {
                    return Err(SHORT);
                }
            }
            if reader.flat > 0 {
                return Err(NONSENSE);
            }
            let (left, marker) = bits.rest();
            *at = marker;
            if left > STRAY || left > 0 && last < units {
                return Err(SURPLUS);
            }
            if left > 0 {
                self.components = components;
                return Ok(true);
            }
        }
        self.components = components;
        Ok(false)
    }

    /// Refuses a stretch of zeros that no encoder writes.
    fn zeros(&self, scan: &Scan, data: &[u8], at: usize) -> Result<(), Damage> {
        // Refined bits are stored as they are, and may all be zero.
        let raw = scan.band.high > 0;
        let flat = |table: &Option<Table>| {
            table.as_ref().is_none_or(|t| t.of_zeros().is_none_or(|s| s & 15 == 0 && s >> 4 < 15))
        };
        let (means, others) = (scan.band.from == 0, scan.band.to > 0);
        let written =
            |&(_, dc, ac): &(usize, usize, usize)| (!means || flat(&self.dc[dc])) && (!others || flat(&self.ac[ac]));
        if raw || scan.parts.iter().all(written) {
            return Ok(());
        }
        let mut run = 0;
        let scan = &data[at.min(data.len())..];
        for (i, &byte) in scan.iter().enumerate() {
            run = if byte == 0 { run + 1 } else { 0 };
            if run >= ZEROS {
                return Err(ZEROED);
            }
            // The next marker ends the scan; a restart does not.
            if byte == 0xFF && !matches!(scan.get(i + 1), Some(0 | 0xD0..=0xD7 | 0xFF)) {
                break;
            }
        }
        Ok(())
    }
}

/// One interval between restarts.
struct Reader<'a> {
    scan: &'a Scan,
    said: &'a Said,
    components: &'a mut [Component],
    /// Means so far, by part of the scan.
    means: [i32; 4],
    /// Blocks still to come that hold nothing more in this scan (progressive).
    flat: u32,
}

impl Reader<'_> {
    fn unit(&mut self, bits: &mut Bits, unit: usize) -> Result<(), Damage> {
        if let [(place, ..)] = self.scan.parts[..] {
            let c = &self.components[place];
            let block = unit / c.own.0 * c.stride + unit % c.own.0;
            return self.block(bits, 0, block);
        }
        for part in 0..self.scan.parts.len() {
            let c = &self.components[self.scan.parts[part].0];
            let (across, down, stride) = (c.across, c.down, c.stride);
            let (x, y) = (unit % self.said.units.0 * across, unit / self.said.units.0 * down);
            for (j, i) in (0..down).flat_map(|j| (0..across).map(move |i| (j, i))) {
                self.block(bits, part, (y + j) * stride + x + i)?;
            }
        }
        Ok(())
    }

    fn block(&mut self, bits: &mut Bits, part: usize, block: usize) -> Result<(), Damage> {
        let (place, dc, ac) = self.scan.parts[part];
        let band = &self.scan.band;
        if band.from == 0 {
            if band.high > 0 {
                bits.skip(1);
            } else {
                let table = self.said.dc[dc].as_ref().ok_or(HEADER)?;
                let mean = &mut self.means[part];
                *mean += difference(table, bits).ok_or(NONSENSE)?;
                // Nought is no quantiser, and would let the mean grow without end.
                let q = i32::from(self.said.quantisers[self.components[place].quantiser].max(1));
                if (*mean << band.low).saturating_mul(q).abs() > MOST_DC + 2 * q {
                    return Err(NONSENSE);
                }
            }
        }
        if band.to == 0 {
            return Ok(());
        }
        let table = self.said.ac[ac].as_ref().ok_or(HEADER)?;
        if !self.said.progressive {
            return sequential(table, bits);
        }
        let known = self.components[place].known.get_mut(block).ok_or(HEADER)?;
        let read = if band.high == 0 { progressive::first } else { progressive::refine };
        read(table, bits, band, known, &mut self.flat).ok_or(NONSENSE)
    }
}

/// A difference of means (F.2.2.1); at most 11 bits for samples of 8.
#[inline]
fn difference(table: &Table, bits: &mut Bits) -> Option<i32> {
    let size = u32::from(table.next(bits).filter(|s| *s <= 11)?);
    let value = bits.take(size) as i32;
    // F.2.2.1, EXTEND: the lower half of each size is negative.
    Some(if size > 0 && value >> (size - 1) == 0 { value - (1 << size) + 1 } else { value })
}

/// The other coefficients of a block of a sequential scan (F.2.2.2), passed over.
#[inline]
fn sequential(table: &Table, bits: &mut Bits) -> Result<(), Damage> {
    let mut k = 1;
    while k < 64 {
        let symbol = table.next(bits).ok_or(NONSENSE)?;
        let (run, size) = (u32::from(symbol >> 4), u32::from(symbol & 15));
        if size == 0 {
            match run {
                0 => return Ok(()),
                15 => {}
                _ => return Err(NONSENSE),
            }
        }
        // At most 10 bits for samples of 8 (F.1.2.2.1).
        if size > 10 {
            return Err(NONSENSE);
        }
        k += run + 1;
        bits.skip(size);
    }
    // A run may end with the block, not behind it.
    if k == 64 { Ok(()) } else { Err(NONSENSE) }
}
