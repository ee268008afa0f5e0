//! Reads directories of classic and big TIFF in both byte orders, trusting no number in them.

use super::Value;
use std::io::{Read, Seek, SeekFrom};

/// More entries than this is a damaged directory: real ones hold under a hundred.
const MAX_ENTRIES: u64 = 4096;
/// Values longer than this are skipped: profiles and packets stay below, pixels are not read here.
const MAX_VALUE: u64 = 8 << 20;

/// Values of one directory together: entries that all point at the same bytes would make gigabytes of a small file.
const MAX_VALUES: u64 = 64 << 20;

/// A reader positioned nowhere in particular.
pub(crate) struct Reader<R> {
    source: R,
    little: bool,
    big_tiff: bool,
}

/// One field: its number, type and bytes, in the file's byte order.
#[derive(Clone, Debug)]
struct Field {
    tag: u16,
    kind: u16,
    count: u64,
    data: Vec<u8>,
    little: bool,
}

/// The fields of one directory that could be read.
#[derive(Clone, Debug, Default)]
pub(crate) struct Directory {
    fields: Vec<Field>,
    /// Tags whose values lie past the file's end.
    cut: Vec<u16>,
}

/// Bytes per value of each type (TIFF 6.0 page 15; 16 to 18 are big TIFF).
fn size_of(kind: u16) -> u64 {
    match kind {
        1 | 2 | 6 | 7 => 1,
        3 | 8 => 2,
        4 | 9 | 11 | 13 => 4,
        5 | 10 | 12 | 16 | 17 | 18 => 8,
        _ => 0,
    }
}

impl<R: Read + Seek> Reader<R> {
    /// Reads the header; gives the offset of the first directory.
    pub(crate) fn open(mut source: R) -> Option<(Self, u64)> {
        let mut head = [0; 4];
        source.read_exact(&mut head).ok()?;
        let little = match &head[..2] {
            b"II" => true,
            b"MM" => false,
            _ => return None,
        };
        let magic =
            if little { u16::from_le_bytes([head[2], head[3]]) } else { u16::from_be_bytes([head[2], head[3]]) };
        let mut reader = Self { source, little, big_tiff: magic == 43 };
        let first = match magic {
            42 => reader.number(4)?,
            43 => {
                reader.number(4)?;
                reader.number(8)?
            }
            _ => return None,
        };
        Some((reader, first))
    }

    /// The directory at `offset` and the offset of the next one (0 = none).
    pub(crate) fn directory(&mut self, offset: u64) -> Option<(Directory, u64)> {
        self.source.seek(SeekFrom::Start(offset)).ok()?;
        let (count_bytes, word) = if self.big_tiff { (8, 8) } else { (2, 4) };
        let count = self.number(count_bytes)?;
        if count > MAX_ENTRIES {
            return None;
        }
        let mut raw = vec![0; (count * (4 + 2 * word)) as usize];
        self.source.read_exact(&mut raw).ok()?;
        let next = self.number(word as usize).unwrap_or(0);
        let mut dir = Directory::default();
        let mut left = MAX_VALUES;
        for entry in raw.chunks_exact(4 + 2 * word as usize) {
            match self.field(entry, word as usize, left) {
                Ok(field) => {
                    left -= field.as_ref().map_or(0, |f| f.data.len() as u64);
                    dir.fields.extend(field);
                }
                Err(tag) => dir.cut.push(tag),
            }
        }
        Some((dir, next))
    }

    /// One field; nothing where its type is unknown or its value too long to want or for what is `left`, its tag where the file ends before it.
    fn field(&mut self, entry: &[u8], word: usize, left: u64) -> Result<Option<Field>, u16> {
        let at = |a: usize, n: usize| unsigned(&entry[a..a + n], self.little);
        let (tag, kind, count) = (at(0, 2) as u16, at(2, 2) as u16, at(4, word));
        let bytes = count.saturating_mul(size_of(kind));
        if bytes == 0 || bytes > MAX_VALUE.min(left) {
            return Ok(None);
        }
        let data = if bytes <= word as u64 {
            entry[4 + word..4 + word + bytes as usize].to_vec()
        } else {
            let mut data = Vec::new();
            let start = SeekFrom::Start(at(4 + word, word));
            let read = self.source.seek(start).and_then(|_| self.source.by_ref().take(bytes).read_to_end(&mut data));
            if read.is_err() || data.len() as u64 != bytes {
                return Err(tag);
            }
            data
        };
        Ok(Some(Field { tag, kind, count, data, little: self.little }))
    }

    fn number(&mut self, bytes: usize) -> Option<u64> {
        let mut b = [0; 8];
        self.source.read_exact(&mut b[..bytes]).ok()?;
        Some(unsigned(&b[..bytes], self.little))
    }
}

fn unsigned(b: &[u8], little: bool) -> u64 {
    let fold = |v: u64, &x: &u8| v << 8 | u64::from(x);
    if little { b.iter().rev().fold(0, fold) } else { b.iter().fold(0, fold) }
}

impl Field {
    fn uints(&self) -> Vec<u64> {
        match self.kind {
            1 | 3 | 4 | 6..=9 | 13 | 16..=18 => {
                self.data.chunks_exact(size_of(self.kind) as usize).map(|c| unsigned(c, self.little)).collect()
            }
            _ => Vec::new(),
        }
    }

    /// Value `i` as a real number.
    fn real(&self, i: usize) -> Option<f64> {
        let word = |i: usize| Some(unsigned(self.data.get(4 * i..4 * i + 4)?, self.little) as u32);
        let value = match self.kind {
            5 => f64::from(word(2 * i)?) / f64::from(word(2 * i + 1)?),
            10 => f64::from(word(2 * i)? as i32) / f64::from(word(2 * i + 1)? as i32),
            11 => f64::from(f32::from_bits(word(i)?)),
            12 => f64::from_bits(unsigned(self.data.get(8 * i..8 * i + 8)?, self.little)),
            _ => *self.uints().get(i)? as f64,
        };
        value.is_finite().then_some(value)
    }

    /// The value in little-endian bytes, to be written again.
    fn copied(&self) -> Value {
        let unit = match self.kind {
            5 | 10 => 4,
            k => size_of(k) as usize,
        };
        let mut bytes = self.data.clone();
        if !self.little && unit > 1 {
            bytes.chunks_exact_mut(unit).for_each(<[u8]>::reverse);
        }
        Value::Raw { kind: self.kind, count: self.count as u32, bytes }
    }
}

impl Directory {
    fn get(&self, tag: u16) -> Option<&Field> {
        self.fields.iter().find(|f| f.tag == tag)
    }
    /// True where the tag is there and readable.
    pub(crate) fn has(&self, tag: u16) -> bool {
        self.get(tag).is_some()
    }
    /// Tags whose values the file ends before.
    pub(crate) fn cut(&self) -> &[u16] {
        &self.cut
    }
    /// True where the file's numbers begin with their low byte.
    pub(crate) fn little(&self) -> bool {
        self.fields.first().is_none_or(|f| f.little)
    }
    /// The type of a field's values (TIFF 6.0 page 15: 3 is a short number).
    pub(crate) fn kind(&self, tag: u16) -> Option<u16> {
        self.get(tag).map(|f| f.kind)
    }
    /// The first value of an integer field.
    pub(crate) fn uint(&self, tag: u16) -> Option<u64> {
        self.get(tag)?.uints().first().copied()
    }
    /// All values of an integer field.
    pub(crate) fn uints(&self, tag: u16) -> Vec<u64> {
        self.get(tag).map(Field::uints).unwrap_or_default()
    }
    /// The first value of a field as a real number.
    pub(crate) fn real(&self, tag: u16) -> Option<f64> {
        self.get(tag)?.real(0)
    }
    /// All values of a field as real numbers; empty where one is none.
    pub(crate) fn reals(&self, tag: u16) -> Vec<f64> {
        let Some(f) = self.get(tag) else { return Vec::new() };
        (0..f.count as usize).map(|i| f.real(i)).collect::<Option<_>>().unwrap_or_default()
    }
    /// A text field, without padding; absent where empty.
    pub(crate) fn text(&self, tag: u16) -> Option<String> {
        let data = &self.get(tag)?.data;
        let end = data.iter().position(|&b| b == 0).unwrap_or(data.len());
        let text = String::from_utf8_lossy(&data[..end]).trim().to_string();
        (!text.is_empty()).then_some(text)
    }
    /// The bytes of a field as stored.
    pub(crate) fn bytes(&self, tag: u16) -> Option<&[u8]> {
        self.get(tag).map(|f| f.data.as_slice())
    }
    /// Fields that `keep` wants, ready to be written again.
    pub(crate) fn copied(&self, keep: impl Fn(u16) -> bool) -> Vec<(u16, Value)> {
        self.fields.iter().filter(|f| f.kind <= 12 && keep(f.tag)).map(|f| (f.tag, f.copied())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Cursor;

    /// Four thousand entries that point at the same eight megabytes.
    #[test]
    fn values_that_overlap_make_no_memory() {
        let n = 4000u16;
        let mut file = b"II\x2A\0\x08\0\0\0".to_vec();
        file.extend(n.to_le_bytes());
        for tag in 1..=n {
            file.extend([tag.to_le_bytes(), 7u16.to_le_bytes()].concat());
            file.extend([(8u32 << 20).to_le_bytes(), 0u32.to_le_bytes()].concat());
        }
        file.resize(9 << 20, 7);
        let (mut reader, first) = Reader::open(Cursor::new(file)).unwrap();
        let (directory, _) = reader.directory(first).unwrap();
        let held: usize = directory.fields.iter().map(|f| f.data.len()).sum();
        assert!(held as u64 <= MAX_VALUES && held > 0, "{held}");
    }
}
