//! A second way into LZW tiles: the TIFF library takes a sound tile at the right or lower rim, whose padding it skips, for
//! a cut one now and then.

use super::Input;
use std::io::{Read, Seek, SeekFrom};
use tiff::decoder::DecodingResult;
use tiff::tags::{ByteOrder, Tag};
use weezl::{BitOrder, decode::Decoder};

/// Decodes tile `index` whole and cuts it to its picture; `None` where the file is not of LZW tiles of 8 or 16 bits with
/// interleaved channels, or the tile really is cut.
pub(super) fn tile(d: &mut Input, index: u32) -> Option<DecodingResult> {
    let one = |d: &mut Input, tag| d.find_tag_unsigned::<u32>(tag).ok().flatten();
    // 5: LZW. Planar configuration 2: a plane per channel. Photometric 0: white is zero, which the library inverts.
    let other = one(d, Tag::PlanarConfiguration) == Some(2) || one(d, Tag::PhotometricInterpretation) == Some(0);
    if one(d, Tag::Compression) != Some(5) || other {
        return None;
    }
    let samples = one(d, Tag::SamplesPerPixel).unwrap_or(1) as usize;
    let bytes = d.colortype().ok()?.bit_depth() as usize / 8;
    let (width, height) = (one(d, Tag::TileWidth)? as usize, one(d, Tag::TileLength)? as usize);
    let row = width.checked_mul(samples)?;
    let whole = row.checked_mul(height)?.checked_mul(bytes)?;
    let mut data = unpacked(&stored(d, index)?, whole)?;
    if bytes == 2 && d.byte_order() == ByteOrder::BigEndian {
        data.chunks_exact_mut(2).for_each(<[u8]>::reverse);
    }
    let predicted = one(d, Tag::Predictor) == Some(2);
    let (w, h) = d.chunk_data_dimensions(index);
    let (keep, rows) = (w as usize * samples, h as usize);
    match bytes {
        1 => {
            let rows = data.chunks_exact(row).take(rows);
            Some(DecodingResult::U8(rows.flat_map(|r| cut(r, predicted, samples, keep, u8::wrapping_add)).collect()))
        }
        2 => {
            let codes: Vec<u16> = data.chunks_exact(2).map(|b| u16::from_le_bytes([b[0], b[1]])).collect();
            let rows = codes.chunks_exact(row).take(rows);
            Some(DecodingResult::U16(rows.flat_map(|r| cut(r, predicted, samples, keep, u16::wrapping_add)).collect()))
        }
        _ => None,
    }
}

fn stored(d: &mut Input, index: u32) -> Option<Vec<u8>> {
    let at = |d: &mut Input, tag| d.find_tag_unsigned_vec::<u64>(tag).ok().flatten()?.get(index as usize).copied();
    let (offset, count) = (at(d, Tag::TileOffsets)?, at(d, Tag::TileByteCounts)?);
    let file = d.inner();
    file.seek(SeekFrom::Start(offset)).ok()?;
    let mut data = Vec::new();
    file.take(count).read_to_end(&mut data).ok()?;
    Some(data)
}

/// Exactly `size` bytes, or nothing.
fn unpacked(packed: &[u8], size: usize) -> Option<Vec<u8>> {
    let mut decoder = Decoder::with_tiff_size_switch(BitOrder::Msb, 8);
    let mut out = vec![0; size];
    let (mut read, mut made) = (0, 0);
    while made < size {
        let step = decoder.decode_bytes(&packed[read..], &mut out[made..]);
        read += step.consumed_in;
        made += step.consumed_out;
        if step.status.is_err() || step.consumed_in == 0 && step.consumed_out == 0 {
            return None;
        }
    }
    Some(out)
}

/// The first `keep` values of a row, differences summed up where the file stores differences (TIFF 6.0 section 14).
fn cut<T: Copy>(row: &[T], predicted: bool, samples: usize, keep: usize, add: impl Fn(T, T) -> T) -> Vec<T> {
    let mut out = row[..keep].to_vec();
    if predicted {
        (samples..keep).for_each(|i| out[i] = add(out[i], out[i - samples]));
    }
    out
}
