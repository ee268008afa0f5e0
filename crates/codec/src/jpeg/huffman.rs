//! Huffman codes and the bits of a scan (ITU-T T.81 annexes C and F.2.2), read for their lengths.

/// Bits looked up at once: nearly all codes of photographs are shorter.
const QUICK: u32 = 10;

/// One table of codes.
#[derive(Clone)]
pub(super) struct Table {
    /// For the next [`QUICK`] bits: the length of the code they begin with, 0 where it is longer, and its symbol.
    quick: Vec<(u8, u8)>,
    /// For each length from 1: the first code over all codes of it, left-aligned in 16 bits, and where its symbols begin.
    limits: [(u32, i32); 16],
    symbols: Vec<u8>,
}

impl Table {
    /// From the body of a DHT segment behind its class byte; the table and what follows it.
    pub fn read(body: &[u8]) -> Option<(Self, &[u8])> {
        let (counts, rest) = body.split_at_checked(16)?;
        let n: usize = counts.iter().map(|c| usize::from(*c)).sum();
        let (symbols, rest) = rest.split_at_checked(n)?;
        let mut quick = vec![(0, 0); 1 << QUICK];
        let mut limits = [(0, 0); 16];
        let (mut code, mut at) = (0u32, 0usize);
        for (i, count) in counts.iter().enumerate() {
            let length = i as u32 + 1;
            let first = code;
            // Where the symbol of a code lies: at + code - first.
            let base = at as i32 - first as i32;
            for symbol in &symbols[at..at + usize::from(*count)] {
                if length <= QUICK {
                    let from = (code << (QUICK - length)) as usize;
                    quick.get_mut(from..from + (1 << (QUICK - length)))?.fill((length as u8, *symbol));
                }
                code += 1;
            }
            at += usize::from(*count);
            // More codes than a length has: no table.
            (code <= 1 << length).then_some(())?;
            limits[i] = (code << (16 - length), base);
            code <<= 1;
        }
        Some((Self { quick, limits, symbols: symbols.to_vec() }, rest))
    }

    /// The next symbol; nothing where the bits begin no code.
    #[inline]
    pub fn next(&self, bits: &mut Bits) -> Option<u8> {
        let ahead = bits.ahead();
        let (length, symbol) = self.quick[(ahead >> (64 - QUICK)) as usize];
        if length > 0 {
            bits.skip(u32::from(length));
            return Some(symbol);
        }
        let sixteen = (ahead >> 48) as u32;
        let i = self.limits.iter().position(|(limit, _)| sixteen < *limit)?;
        let code = (sixteen >> (15 - i)) as i32;
        bits.skip(i as u32 + 1);
        self.symbols.get((code + self.limits[i].1) as usize).copied()
    }

    /// The symbol of the code that is all zeros.
    pub fn of_zeros(&self) -> Option<u8> {
        let (limit, base) = self.limits.iter().find(|(limit, _)| *limit > 0)?;
        (*limit > 0).then(|| self.symbols.get(*base as usize).copied())?
    }
}

/// The bits of entropy-coded data up to the next marker.
pub(super) struct Bits<'a> {
    data: &'a [u8],
    at: usize,
    /// The next bits, the first one highest.
    next: u64,
    /// How many of them there are.
    count: u32,
    /// Bits taken that were not there.
    missing: u32,
}

impl<'a> Bits<'a> {
    /// From a place in a file.
    pub fn new(data: &'a [u8], at: usize) -> Self {
        Self { data, at, next: 0, count: 0, missing: 0 }
    }

    /// At least 32 bits, left-aligned; zeros where there are none.
    #[inline]
    fn ahead(&mut self) -> u64 {
        if self.count < 32 {
            self.fill();
        }
        self.next
    }

    fn fill(&mut self) {
        // Four bytes at once where none of them is 0xFF, as nearly always.
        if let Some(four) = self.data.get(self.at..self.at + 4)
            && let [a, b, c, d] = *four
            && a != 0xFF
            && b != 0xFF
            && c != 0xFF
            && d != 0xFF
        {
            self.next |= u64::from(u32::from_be_bytes([a, b, c, d])) << (32 - self.count);
            self.count += 32;
            self.at += 4;
            return;
        }
        while self.count <= 56 {
            let Some(&byte) = self.data.get(self.at) else { return };
            if byte == 0xFF {
                // A stuffed zero belongs to the byte (B.1.1.5); anything else is a marker, or fill before one.
                if self.data.get(self.at + 1) != Some(&0) {
                    return;
                }
                self.at += 1;
            }
            self.next |= u64::from(byte) << (56 - self.count);
            self.count += 8;
            self.at += 1;
        }
    }

    /// Passes over up to 32 bits.
    #[inline]
    pub fn skip(&mut self, n: u32) {
        if self.count < n {
            self.fill();
        }
        if self.count < n {
            self.missing += n - self.count;
            (self.next, self.count) = (0, 0);
            return;
        }
        self.next <<= n;
        self.count -= n;
    }

    /// Passes over any number of bits.
    pub fn skip_many(&mut self, mut n: u32) {
        while n > 0 {
            let some = n.min(32);
            self.skip(some);
            n -= some;
        }
    }

    /// The next `n` bits, at most 16, as a number.
    #[inline]
    pub fn take(&mut self, n: u32) -> u32 {
        if n == 0 {
            return 0;
        }
        let value = (self.ahead() >> (64 - n)) as u32;
        self.skip(n);
        value
    }

    /// True where bits were asked for that are not there.
    pub fn short(&self) -> bool {
        self.missing > 0
    }

    /// Whole bytes left before the next marker, and where that marker's first 0xFF stands, also where fill bytes precede it.
    pub fn rest(mut self) -> (usize, usize) {
        let mut bytes = (self.count / 8) as usize;
        while let Some(&byte) = self.data.get(self.at) {
            if byte == 0xFF {
                match self.data.get(self.at + 1) {
                    Some(0) => self.at += 1,
                    _ => break,
                }
            }
            self.at += 1;
            bytes += 1;
        }
        (bytes, self.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counts and symbols of the usual table for differences of luminance (T.81 table K.3): codes 00, 010, 011, 100, 101, 110,
    /// 1110, 11110 and so on.
    #[test]
    fn codes_are_those_of_the_standard() {
        let mut body = vec![0, 1, 5, 1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0, 0];
        body.extend(0..12);
        let (table, rest) = Table::read(&body).unwrap();
        assert!(rest.is_empty());
        assert_eq!(table.of_zeros(), Some(0));
        // 00 010 011 1110 111111110 and padding.
        let data = [0b0001_0011, 0b1110_1111, 0b1111_0111, 0xFF, 0xD9];
        let mut bits = Bits::new(&data, 0);
        for symbol in [0, 1, 2, 6, 11] {
            assert_eq!(table.next(&mut bits), Some(symbol));
        }
        assert!(!bits.short());
        assert_eq!(bits.rest(), (0, 3));
        // Stuffing belongs to its byte, and what is missing is told.
        let mut bits = Bits::new(&[0xFF, 0, 0xA5, 0xFF, 0xD0], 0);
        assert_eq!((bits.take(12), bits.take(4), bits.short()), (0xFFA, 5, false));
        bits.skip(1);
        assert!(bits.short());
        // Nine codes of three bits.
        body[2] = 9;
        assert!(Table::read(&body).is_none());
    }
}
