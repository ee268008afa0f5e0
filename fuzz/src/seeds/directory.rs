//! Files of one directory by the rules of TIFF 6.0 section 2 and of big TIFF, in either byte order.

/// Byte order, and whether places take eight bytes.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Endian {
    Little,
    Big,
    LittleBig,
}

/// Sides of the picture, and of a tile, px.
const SIDE: u16 = 16;

/// A file being laid out.
pub struct File {
    endian: Endian,
    /// Tag, type, number of values, bytes.
    fields: Vec<(u16, u16, u64, Vec<u8>)>,
    pixels: Vec<u8>,
    tiled: bool,
}

impl File {
    pub fn new(endian: Endian) -> Self {
        Self { endian, fields: vec![], pixels: vec![], tiled: false }
    }

    fn number(&self, n: u64, size: usize) -> Vec<u8> {
        let mut bytes = n.to_le_bytes()[..size].to_vec();
        if self.endian == Endian::Big {
            bytes.reverse();
        }
        bytes
    }

    pub fn shorts(mut self, tag: u16, values: &[u16]) -> Self {
        let bytes = values.iter().flat_map(|v| self.number((*v).into(), 2)).collect();
        self.fields.push((tag, 3, values.len() as u64, bytes));
        self
    }

    /// Numbers of eight bytes after IEEE 754.
    pub fn reals(mut self, tag: u16, values: &[f64]) -> Self {
        let bytes = values.iter().flat_map(|v| self.number(v.to_bits(), 8)).collect();
        self.fields.push((tag, 12, values.len() as u64, bytes));
        self
    }

    pub fn text(mut self, tag: u16, text: &str) -> Self {
        self.fields.push((tag, 2, text.len() as u64, text.as_bytes().to_vec()));
        self
    }

    pub fn blob(mut self, tag: u16, bytes: Vec<u8>) -> Self {
        self.fields.push((tag, 7, bytes.len() as u64, bytes));
        self
    }

    /// A picture of [`SIDE`] by [`SIDE`] in one strip or tile.
    pub fn picture(
        mut self,
        photometric: u16,
        bits: u16,
        samples: u16,
        format: u16,
        tiled: bool,
        deflated: bool,
    ) -> Self {
        let n = usize::from(SIDE) * usize::from(SIDE) * usize::from(samples) * usize::from(bits) / 8;
        let plain: Vec<u8> = (0..n).map(|i| (i * 37 % 61) as u8).collect();
        self.pixels = if deflated { stored(&plain) } else { plain };
        self.tiled = tiled;
        self.shorts(254, &[0])
            .shorts(256, &[SIDE])
            .shorts(257, &[SIDE])
            .shorts(258, &vec![bits; samples.into()])
            .shorts(259, &[if deflated { 8 } else { 1 }])
            .shorts(262, &[photometric])
            .shorts(277, &[samples])
            .shorts(284, &[1])
            .shorts(339, &vec![format; samples.into()])
    }

    pub fn bytes(mut self) -> Vec<u8> {
        let big = self.endian == Endian::LittleBig;
        let (word, head) = if big { (8, 16) } else { (4, 8) };
        if !self.pixels.is_empty() {
            // Pixels lie behind the header.
            let (at, count) = (self.number(head, 4), self.number(self.pixels.len() as u64, 4));
            let (place, length) = if self.tiled { (324, 325) } else { (273, 279) };
            self.fields.extend([(place, 4, 1, at), (length, 4, 1, count)]);
            let sizes: &[u16] = if self.tiled { &[322, 323] } else { &[278] };
            for tag in sizes {
                self = self.shorts(*tag, &[SIDE]);
            }
        }
        self.fields.sort_by_key(|f| f.0);
        let directory = head + self.pixels.len() as u64;
        let entry = 4 + 2 * word as u64;
        let count = if big { 8 } else { 2 };
        let mut far = directory + count + entry * self.fields.len() as u64 + word as u64;
        let mut out = if self.endian == Endian::Big { b"MM".to_vec() } else { b"II".to_vec() };
        out.extend(self.number(if big { 43 } else { 42 }, 2));
        if big {
            out.extend([self.number(8, 2), self.number(0, 2)].concat());
        }
        out.extend(self.number(directory, word));
        out.extend(&self.pixels);
        out.extend(self.number(self.fields.len() as u64, count as usize));
        let mut values: Vec<u8> = vec![];
        for (tag, kind, n, bytes) in &self.fields {
            out.extend([self.number((*tag).into(), 2), self.number((*kind).into(), 2), self.number(*n, word)].concat());
            if bytes.len() <= word {
                out.extend(bytes.iter().copied().chain(std::iter::repeat(0)).take(word));
            } else {
                out.extend(self.number(far, word));
                far += bytes.len() as u64;
                values.extend(bytes);
            }
        }
        out.extend(self.number(0, word));
        out.extend(values);
        out
    }
}

/// As zlib writes it without packing: one stored block (RFC 1950; RFC 1951 3.2.4).
fn stored(plain: &[u8]) -> Vec<u8> {
    let n = plain.len() as u16;
    let (mut a, mut b) = (1u32, 0u32);
    for byte in plain {
        a = (a + u32::from(*byte)) % 65_521;
        b = (b + a) % 65_521;
    }
    [&[0x78, 1, 1][..], &n.to_le_bytes(), &(!n).to_le_bytes(), plain, &(b << 16 | a).to_be_bytes()].concat()
}
