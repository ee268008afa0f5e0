//! Small changes to bytes, always the same for the same seed.

/// Whole numbers by chance (xorshift*, Vigna 2016).
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// From a seed; nought is no seed.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).max(1))
    }

    /// A number below `n`, 0 where `n` is.
    pub fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 32) as usize % n.max(1)
    }
}

/// Numbers at which counts, sizes and places go wrong.
const EDGES: [u64; 12] = [0, 1, 2, 0x7F, 0x80, 0xFF, 0x7FFF, 0xFFFF, 0x7FFF_FFFF, 0xFFFF_FFFF, u64::MAX >> 1, u64::MAX];

/// One to four changes to `bytes`; `other` is another input, of which a piece may be taken over.
pub fn mutated(bytes: &[u8], other: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut out = bytes.to_vec();
    for _ in 0..1 + chance.below(4) {
        change(&mut out, other, chance);
    }
    out
}

fn change(out: &mut Vec<u8>, other: &[u8], chance: &mut Chance) {
    let n = out.len();
    let (a, b) = (chance.below(n), chance.below(n));
    let piece = a.min(b)..a.max(b);
    match chance.below(9) {
        0 if n > 0 => out[a] ^= 1 << chance.below(8),
        1 if n > 0 => out[a] = chance.below(256) as u8,
        2 => out.truncate(a),
        3 => drop(out.drain(piece)),
        4 => {
            let again = out[piece].to_vec();
            out.splice(b..b, again);
        }
        // A number of two, four or eight bytes in either order.
        5 | 6 => {
            let (edge, size) = (EDGES[chance.below(EDGES.len())], 2 << chance.below(3));
            let low = edge.to_le_bytes()[..size].to_vec();
            let number = if chance.below(2) == 0 { low } else { low.into_iter().rev().collect() };
            let end = (a + size).min(n);
            out.splice(a.min(end)..end, number);
        }
        7 => {
            let (c, d) = (chance.below(other.len()), chance.below(other.len()));
            out.splice(piece, other[c.min(d)..c.max(d)].iter().copied());
        }
        _ => out.insert(a, chance.below(256) as u8),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_are_changes_and_always_the_same() {
        let (one, two): (Vec<u8>, Vec<u8>) = ((0..99).collect(), vec![7; 50]);
        let all = |seed| {
            let mut chance = Chance::new(seed);
            (0..500).map(|_| mutated(&one, &two, &mut chance)).collect::<Vec<_>>()
        };
        assert_eq!(all(1), all(1));
        assert_ne!(all(1), all(2));
        assert!(all(1).iter().filter(|m| **m != one).count() > 450);
        // Nothing at all can be changed too.
        let mut chance = Chance::new(3);
        (0..500).for_each(|_| drop(mutated(&[], &[], &mut chance)));
    }
}
