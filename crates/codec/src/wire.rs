//! The format of a decoding process's answer: values in sequence, in native byte order, read back without trusting any length.

#[cfg(feature = "raw")]
use crate::raw::{CameraColours, Mosaic};
use crate::{Error, Format, Header, Metadata};
use pixels::{Encoding, Primaries, Tone};
use std::path::Path;

/// A value that can be sent.
pub(crate) trait Wire: Sized {
    /// Appends it.
    fn put(&self, out: &mut Vec<u8>);
    /// Takes it from the front; nothing where the bytes end, or make none.
    fn get(from: &mut &[u8]) -> Option<Self>;
}

/// The first `n` bytes.
fn take<'a>(from: &mut &'a [u8], n: usize) -> Option<&'a [u8]> {
    let (front, rest) = from.split_at_checked(n)?;
    *from = rest;
    Some(front)
}

macro_rules! numbers {
    ($($t:ty),*) => {$(
        impl Wire for $t {
            fn put(&self, out: &mut Vec<u8>) {
                out.extend_from_slice(&self.to_ne_bytes());
            }
            fn get(from: &mut &[u8]) -> Option<Self> {
                Some(Self::from_ne_bytes(take(from, size_of::<Self>())?.try_into().ok()?))
            }
        }
    )*};
}
numbers!(u8, u16, u32, u64, f32, f64);

/// The fields of a struct, in order.
macro_rules! fields {
    ($t:ty { $($f:ident),* $(,)? }) => {
        impl Wire for $t {
            fn put(&self, out: &mut Vec<u8>) {
                $(self.$f.put(out);)*
            }
            fn get(from: &mut &[u8]) -> Option<Self> {
                Some(Self { $($f: Wire::get(from)?),* })
            }
        }
    };
}

impl Wire for bool {
    fn put(&self, out: &mut Vec<u8>) {
        u8::from(*self).put(out);
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        Some(u8::get(from)? != 0)
    }
}

impl Wire for usize {
    fn put(&self, out: &mut Vec<u8>) {
        (*self as u64).put(out);
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        u64::get(from)?.try_into().ok()
    }
}

impl<T: Wire> Wire for Vec<T> {
    fn put(&self, out: &mut Vec<u8>) {
        self.len().put(out);
        self.iter().for_each(|v| v.put(out));
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        let n = usize::get(from)?;
        // Every value takes a byte at least.
        (n <= from.len()).then_some(())?;
        (0..n).map(|_| T::get(from)).collect()
    }
}

impl<A: Wire, B: Wire> Wire for (A, B) {
    fn put(&self, out: &mut Vec<u8>) {
        self.0.put(out);
        self.1.put(out);
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        Some((A::get(from)?, B::get(from)?))
    }
}

impl Wire for String {
    fn put(&self, out: &mut Vec<u8>) {
        self.len().put(out);
        out.extend_from_slice(self.as_bytes());
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        let n = usize::get(from)?;
        String::from_utf8(take(from, n)?.to_vec()).ok()
    }
}

impl<T: Wire> Wire for Option<T> {
    fn put(&self, out: &mut Vec<u8>) {
        self.is_some().put(out);
        self.iter().for_each(|v| v.put(out));
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        if bool::get(from)? { T::get(from).map(Some) } else { Some(None) }
    }
}

impl<T: Wire + Copy + Default, const N: usize> Wire for [T; N] {
    fn put(&self, out: &mut Vec<u8>) {
        self.iter().for_each(|v| v.put(out));
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        let mut all = [T::default(); N];
        for v in &mut all {
            *v = T::get(from)?;
        }
        Some(all)
    }
}

const FORMATS: [Format; 5] = [Format::Jpeg, Format::Png, Format::Tiff, Format::Dng, Format::Raw];

impl Wire for Format {
    fn put(&self, out: &mut Vec<u8>) {
        (FORMATS.iter().position(|f| f == self).unwrap_or(0) as u8).put(out);
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        FORMATS.get(usize::from(u8::get(from)?)).copied()
    }
}

fields!(Metadata {
    make,
    model,
    lens,
    exposure_s,
    f_number,
    iso,
    focal_length_mm,
    focal_length_35_mm,
    flash_fired,
    taken,
    clock,
    artist,
    copyright,
    orientation,
    pixel_pitch_um,
    px_per_mm,
    description,
    exif,
    xmp,
});
fields!(Header { format, width, height, metadata });
#[cfg(feature = "raw")]
fields!(CameraColours { camera_from_xyz, white });
#[cfg(feature = "raw")]
fields!(Mosaic { width, height, pattern, black, white, as_shot, colours, samples, metadata });

impl Wire for Encoding {
    fn put(&self, out: &mut Vec<u8>) {
        self.tone.linear.put(out);
        self.tone.table(16).to_vec().put(out);
        self.primaries.0.put(out);
        self.display_referred.put(out);
    }
    fn get(from: &mut &[u8]) -> Option<Self> {
        let linear = bool::get(from)?;
        let mut tone = Tone::from_table(Vec::get(from)?)?;
        tone.linear = linear;
        Some(Self { tone, primaries: Primaries(Wire::get(from)?), display_referred: bool::get(from)? })
    }
}

/// An error without its file, which only the asking process knows by name.
pub(crate) fn put_error(e: &Error, out: &mut Vec<u8>) {
    let (kind, a, b): (u8, &str, &str) = match e {
        Error::Unreadable { why, .. } => (0, why, ""),
        Error::Empty { .. } => (1, "", ""),
        Error::NotAPicture { what, .. } => (2, what, ""),
        Error::Truncated { .. } => (3, "", ""),
        Error::Unsupported { what, hint, .. } => (4, what, hint),
        Error::TooLarge { what, limit, .. } => (5, what, limit),
        Error::Damaged { why, .. } => (6, why, ""),
        Error::Stopped { why, .. } => (7, why, ""),
        Error::Write { why, hint, .. } => (8, why, hint),
        Error::Spoiled { why, .. } => (9, why, ""),
    };
    kind.put(out);
    a.to_string().put(out);
    b.to_string().put(out);
}

/// The error about `path`.
pub(crate) fn get_error(from: &mut &[u8], path: &Path) -> Option<Error> {
    let (kind, a, b) = (u8::get(from)?, String::get(from)?, String::get(from)?);
    let path = path.to_path_buf();
    Some(match kind {
        0 => Error::Unreadable { path, why: a },
        1 => Error::Empty { path },
        2 => Error::NotAPicture { path, what: a },
        3 => Error::Truncated { path },
        4 => Error::Unsupported { path, what: a, hint: b },
        5 => Error::TooLarge { path, what: a, limit: b },
        6 => Error::Damaged { path, why: a },
        7 => Error::Stopped { path, why: a },
        9 => Error::Spoiled { path, why: a },
        _ => Error::Write { path, why: a, hint: b },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is said is heard; cut anywhere, it is nothing, and no length in it makes memory.
    #[test]
    fn values_come_back_and_cut_ones_do_not() {
        let metadata = Metadata {
            model: Some("Testbench é".into()),
            iso: Some(100),
            exposure_s: Some(0.005),
            flash_fired: Some(false),
            xmp: Some(vec![1, 2, 3]),
            ..Metadata::default()
        };
        let header = Header { format: Format::Dng, width: 7, height: 5, metadata };
        let mut out = vec![];
        header.put(&mut out);
        assert_eq!(Header::get(&mut &out[..]), Some(header));
        for n in 0..out.len() {
            assert_eq!(Header::get(&mut &out[..n]), None, "{n}");
        }
        assert_eq!(Vec::<u8>::get(&mut &[0xFF; 64][..]), None);
        assert_eq!(String::get(&mut &[0xFF; 64][..]), None);
        let mut out = vec![];
        let encoding = Encoding { display_referred: true, ..Encoding::eci_rgb_v2() };
        encoding.put(&mut out);
        let back = Encoding::get(&mut &out[..]).unwrap();
        for bits in [8, 16] {
            assert_eq!(back.tone.table(bits), encoding.tone.table(bits));
        }
        assert_eq!((back.primaries, back.display_referred), (encoding.primaries, true));
    }

    #[test]
    fn errors_come_back_with_their_file() {
        let path = Path::new("box/F0001.jpg");
        for e in [
            Error::damaged(path, "odd"),
            Error::truncated(path),
            Error::unsupported(path, "CMYK", "Convert it."),
            Error::Stopped { path: path.into(), why: "took over 60 s".into() },
        ] {
            let mut out = vec![];
            put_error(&e, &mut out);
            assert_eq!(get_error(&mut &out[..], path).unwrap().to_string(), e.to_string());
        }
    }
}
