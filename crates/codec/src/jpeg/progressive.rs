//! Coefficients of progressive scans (ITU-T T.81 annex G.1.2 and G.2), read for their lengths and places.

use super::huffman::{Bits, Table};

/// The part of every block that a scan sends.
pub(super) struct Band {
    /// First and last coefficient, in zig-zag order.
    pub from: usize,
    pub to: usize,
    /// The bit sent before, 0 for a first scan.
    pub high: u8,
    /// The bit sent now.
    pub low: u8,
}

/// First bits of a band (G.1.2.2). `flat` counts the blocks still to come that hold nothing.
pub(super) fn first(table: &Table, bits: &mut Bits, band: &Band, known: &mut u64, flat: &mut u32) -> Option<()> {
    if *flat > 0 {
        *flat -= 1;
        return Some(());
    }
    let mut k = band.from;
    while k <= band.to {
        let symbol = table.next(bits)?;
        let (run, size) = (u32::from(symbol >> 4), u32::from(symbol & 15));
        match (run, size) {
            (15, 0) => k += 16,
            (_, 0) => {
                *flat = (1 << run) + bits.take(run) - 1;
                return Some(());
            }
            _ => {
                k += run as usize;
                (k <= band.to && size <= 10).then_some(())?;
                bits.skip(size);
                *known |= 1 << k;
                k += 1;
            }
        }
    }
    // A run of sixteen may end with the band, not behind it.
    (k == band.to + 1).then_some(())
}

/// One more bit of a band (G.1.2.3): a correction for every coefficient that is known, and those that are new.
pub(super) fn refine(table: &Table, bits: &mut Bits, band: &Band, known: &mut u64, flat: &mut u32) -> Option<()> {
    let mut k = band.from;
    if *flat == 0 {
        while k <= band.to {
            let symbol = table.next(bits)?;
            let (mut run, size) = (u32::from(symbol >> 4), u32::from(symbol & 15));
            match size {
                0 if run < 15 => {
                    *flat = (1 << run) + bits.take(run);
                    break;
                }
                0 => {}
                // A new coefficient's sign.
                1 => bits.skip(1),
                _ => return None,
            }
            // Passes over `run` coefficients that stay zero; those known on the way are corrected.
            while k <= band.to {
                if *known >> k & 1 == 1 {
                    bits.skip(1);
                } else if run == 0 {
                    break;
                } else {
                    run -= 1;
                }
                k += 1;
            }
            if size == 1 {
                (k <= band.to).then_some(())?;
                *known |= 1 << k;
            }
            k += 1;
        }
    }
    if *flat > 0 {
        // Nothing of the band is left where the last symbol ended it.
        if k <= band.to {
            let rest = (*known >> k) & (u64::MAX >> (63 - (band.to - k)));
            bits.skip_many(rest.count_ones());
        }
        *flat -= 1;
    }
    Some(())
}
