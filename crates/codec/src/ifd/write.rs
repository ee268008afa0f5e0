//! Lays out directories in little-endian classic TIFF: fields sorted by tag, values behind them, padded to even offsets.

use std::collections::BTreeMap;

/// The value of a field.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Value {
    /// 8-bit numbers.
    Byte(Vec<u8>),
    /// Text; a closing NUL is added.
    Ascii(String),
    /// 16-bit numbers.
    Short(Vec<u16>),
    /// 32-bit numbers.
    Long(Vec<u32>),
    /// Fractions.
    Rational(Vec<(u32, u32)>),
    /// Signed fractions.
    SRational(Vec<(i32, i32)>),
    /// Bytes with a meaning of their own.
    Undefined(Vec<u8>),
    /// Any type, bytes little-endian.
    Raw { kind: u16, count: u32, bytes: Vec<u8> },
    /// A directory of its own.
    Sub(Ifd),
}

/// A directory to be written.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Ifd(BTreeMap<u16, Value>);

impl Ifd {
    /// Sets a field.
    pub(crate) fn set(&mut self, tag: u16, value: Value) -> &mut Self {
        self.0.insert(tag, value);
        self
    }
    /// Sets a field where there is a value.
    pub(crate) fn set_some(&mut self, tag: u16, value: Option<Value>) -> &mut Self {
        if let Some(v) = value {
            self.set(tag, v);
        }
        self
    }
    /// True without fields.
    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The directory with its values and sub-directories, to be placed at the even offset `base`.
    pub(crate) fn bytes(&self, base: u32) -> Vec<u8> {
        let table = 2 + 12 * self.0.len() + 4;
        let (mut head, mut tail) = (Vec::with_capacity(table), Vec::new());
        head.extend((self.0.len() as u16).to_le_bytes());
        for (tag, value) in &self.0 {
            let here = base + (table + tail.len()) as u32;
            let (kind, count, bytes) = match value {
                Value::Sub(ifd) => {
                    tail.extend(ifd.bytes(here));
                    (4, 1, here.to_le_bytes().to_vec())
                }
                other => other.plain(),
            };
            head.extend(tag.to_le_bytes());
            head.extend(kind.to_le_bytes());
            head.extend(count.to_le_bytes());
            if bytes.len() <= 4 {
                head.extend(bytes.iter().copied().chain([0; 4]).take(4));
            } else {
                head.extend(here.to_le_bytes());
                tail.extend(bytes);
            }
            if tail.len() % 2 == 1 {
                tail.push(0);
            }
        }
        head.extend([0; 4]);
        head.extend(tail);
        head
    }
}

impl Value {
    /// Type number, count and little-endian bytes.
    fn plain(&self) -> (u16, u32, Vec<u8>) {
        let flat = |it: &mut dyn Iterator<Item = u32>| it.flat_map(u32::to_le_bytes).collect::<Vec<u8>>();
        match self {
            Self::Byte(v) => (1, v.len() as u32, v.clone()),
            Self::Ascii(s) => {
                let bytes: Vec<u8> = s.bytes().filter(|&b| b != 0).chain([0]).collect();
                (2, bytes.len() as u32, bytes)
            }
            Self::Short(v) => (3, v.len() as u32, v.iter().flat_map(|n| n.to_le_bytes()).collect()),
            Self::Long(v) => (4, v.len() as u32, flat(&mut v.iter().copied())),
            Self::Rational(v) => (5, v.len() as u32, flat(&mut v.iter().flat_map(|&(n, d)| [n, d]))),
            Self::SRational(v) => (10, v.len() as u32, flat(&mut v.iter().flat_map(|&(n, d)| [n as u32, d as u32]))),
            Self::Undefined(v) => (7, v.len() as u32, v.clone()),
            Self::Raw { kind, count, bytes } => (*kind, *count, bytes.clone()),
            Self::Sub(_) => unreachable!("sub-directories are laid out by their parent"),
        }
    }
}

/// A whole little-endian block, header and one directory: what Exif keeps in JPEG and PNG.
pub(crate) fn block(ifd: &Ifd) -> Vec<u8> {
    let mut out = b"II\x2A\0\x08\0\0\0".to_vec();
    out.extend(ifd.bytes(8));
    out
}

/// The simplest fraction within a few parts in 10^9 of `x` (continued fraction), for x from 0 to 2^32.
pub(crate) fn rational(x: f64) -> (u32, u32) {
    if !(x.is_finite() && x > 0.0) {
        return (0, 1);
    }
    let ([mut p0, mut q0], [mut p1, mut q1]) = ([0.0, 1.0], [1.0, 0.0]);
    let mut rest = x;
    loop {
        let a = rest.floor();
        let (p, q): (f64, f64) = (a * p1 + p0, a * q1 + q0);
        if p > f64::from(u32::MAX) || q > f64::from(u32::MAX) {
            break;
        }
        (p0, q0, p1, q1) = (p1, q1, p, q);
        if (p / q - x).abs() <= 1e-9 * x || rest - a < 1e-12 {
            break;
        }
        rest = 1.0 / (rest - a);
    }
    if q1 == 0.0 { (u32::MAX, 1) } else { (p1 as u32, q1 as u32) }
}

#[cfg(test)]
mod tests {
    use super::super::Reader;
    use super::*;
    use std::io::Cursor;

    #[test]
    fn fractions_are_simple_and_close() {
        assert_eq!(rational(970.28), (24257, 25));
        assert_eq!(rational(300.0), (300, 1));
        assert_eq!(rational(0.005), (1, 200));
        assert_eq!(rational(f64::NAN), (0, 1));
        let (n, d) = rational(38.2071 * 25.4);
        assert!((f64::from(n) / f64::from(d) / 25.4 - 38.2071).abs() < 1e-6);
    }

    #[test]
    fn what_is_written_is_read() {
        let mut sub = Ifd::default();
        sub.set(33434, Value::Rational(vec![(1, 200)]));
        let mut ifd = Ifd::default();
        ifd.set(270, Value::Ascii("odd".into())).set(271, Value::Ascii("longer text".into()));
        ifd.set(258, Value::Short(vec![16, 16, 16])).set(34665, Value::Sub(sub));
        let (mut r, first) = Reader::open(Cursor::new(block(&ifd))).unwrap();
        let (dir, next) = r.directory(first).unwrap();
        assert_eq!(next, 0);
        assert_eq!(dir.text(270).unwrap(), "odd");
        assert_eq!(dir.text(271).unwrap(), "longer text");
        assert_eq!(dir.uints(258), [16, 16, 16]);
        let (exif, _) = r.directory(dir.uint(34665).unwrap()).unwrap();
        assert_eq!(exif.real(33434), Some(0.005));
    }
}
