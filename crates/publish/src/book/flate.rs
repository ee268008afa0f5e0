//! Deflated bytes (RFC 1950) for PDF and PNG.

use libdeflater::{CompressionLvl, Compressor};

/// Bytes as they are.
pub(super) fn packed(bytes: &[u8]) -> Vec<u8> {
    deflated(bytes, CompressionLvl::default())
}

/// Rows of a picture, each after a predictor's byte, by PNG's predictor `Up`: each value less the one above.
pub(super) fn rows(bytes: &[u8], row: usize) -> Vec<u8> {
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
    deflated(&plain, CompressionLvl::new(1).unwrap_or_default())
}

fn deflated(bytes: &[u8], level: CompressionLvl) -> Vec<u8> {
    let mut compressor = Compressor::new(level);
    let mut out = vec![0; compressor.zlib_compress_bound(bytes.len())];
    // The buffer is as large as the library asks for, so this cannot come short; an empty picture would be seen at once.
    let n = compressor.zlib_compress(bytes, &mut out).unwrap_or(0);
    out.truncate(n);
    out
}
