//! The same comparison cell by cell, as its definition reads: what the fast one must answer to the last bit.

use super::{HALF, LATTICE, PART, SIEVE, Sought, Sums};
use crate::fingerprint::SIZES;
use pixels::Plane;
use proptest::prelude::*;

struct Cells {
    side: usize,
    cells: Vec<i32>,
}

fn read(lattice: &[u8]) -> Cells {
    Cells { side: LATTICE, cells: lattice.iter().map(|v| i32::from(*v as i8)).collect() }
}

/// Means of four cells.
fn halved(own: &Cells) -> Cells {
    let cell = |x: usize, y: usize| own.cells[y * LATTICE + x];
    let mean = |i: usize| {
        let (x, y) = (2 * (i % HALF), 2 * (i / HALF));
        (cell(x, y) + cell(x + 1, y) + cell(x, y + 1) + cell(x + 1, y + 1)) / 4
    };
    Cells { side: HALF, cells: (0..HALF * HALF).map(mean).collect() }
}

/// The Pearson correlation at each size and move, of the cells that lie on one another.
fn all(own: &Cells, other: &Cells) -> Vec<(f64, [isize; 2], f64)> {
    let n = own.side as isize;
    let (middle, reach) = (n as f64 / 2.0, n / PART as isize);
    let mut all = vec![];
    for k in [1.0].into_iter().chain(SIZES) {
        let plane = Plane { data: own.cells.iter().map(|v| *v as f32).collect(), width: own.side, height: own.side };
        let at = |v: isize| middle + (v as f64 + 0.5 - middle) / k;
        let rim = (middle - middle * k.min(1.0)).ceil() as isize;
        for (dy, dx) in (-reach..=reach).flat_map(|dy| (-reach..=reach).map(move |dx| (dy, dx))) {
            let mut sums = Sums::default();
            for (y, x) in (rim..n - rim).flat_map(|y| (rim..n - rim).map(move |x| (y, x))) {
                if (0..n).contains(&(y + dy)) && (0..n).contains(&(x + dx)) {
                    let a = plane.bilinear(at(x), at(y)).round() as i8;
                    let b = other.cells[((y + dy) * n + x + dx) as usize];
                    sums.add(f64::from(a), f64::from(b));
                }
            }
            all.push((k, [dx, dy], sums.correlation()));
        }
    }
    all
}

fn alike(a: &[u8], b: &[u8]) -> f64 {
    let (a, b) = (read(a), read(b));
    let rough = all(&halved(&a), &halved(&b));
    let likely: Vec<_> = rough.iter().filter(|(.., c)| *c >= SIEVE - 0.1).collect();
    if likely.is_empty() {
        return rough.iter().fold(f64::NEG_INFINITY, |best, (.., c)| best.max(*c));
    }
    // A move by d cells is a move by half of that in the coarse form: by the next below or the next above.
    let beside = |fine: isize, coarse: isize| (fine - 2 * coarse).abs() < 2;
    let near = |k: f64, by: [isize; 2]| {
        likely.iter().any(|(size, [x, y], _)| *size == k && beside(by[0], *x) && beside(by[1], *y))
    };
    let fine = all(&a, &b).into_iter().filter(|(k, by, _)| near(*k, *by));
    fine.fold(f64::NEG_INFINITY, |best, (.., c)| best.max(c))
}

/// Busy and calm parts by a few waves, with noise on them: pictures, from unlike to nearly the same.
fn lattice(waves: &[(i8, i8, i8, i8)], noise: &[i8]) -> Vec<u8> {
    let cell = |i: usize| {
        let (x, y) = ((i % LATTICE) as f64, (i / LATTICE) as f64);
        let wave = |(u, v, phase, height): &(i8, i8, i8, i8)| {
            let turns = (f64::from(*u) * x + f64::from(*v) * y) / 900.0 + f64::from(*phase) / 256.0;
            f64::from(*height) * (std::f64::consts::TAU * turns).cos()
        };
        let sum: f64 = waves.iter().map(wave).sum::<f64>() / 2.0 + f64::from(noise[i]) / 4.0;
        sum.clamp(-127.0, 127.0) as i8 as u8
    };
    (0..LATTICE * LATTICE).map(cell).collect()
}

type Waves = Vec<(i8, i8, i8, i8)>;

fn noise() -> impl Strategy<Value = Vec<i8>> {
    prop::collection::vec(any::<i8>(), LATTICE * LATTICE)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn the_fast_sieve_answers_as_adding_up_cell_by_cell(
        waves in prop::collection::vec(any::<(i8, i8, i8, i8)>(), 0..5),
        others in prop::collection::vec(any::<(i8, i8, i8, i8)>(), 0..3),
        one in noise(),
        two in noise(),
        shared in any::<bool>(),
    ) {
        let theirs: Waves = if shared { waves.iter().chain(&others).copied().collect() } else { others };
        let (a, b) = (lattice(&waves, &one), lattice(&theirs, &two));
        let (fast, plain) = (Sought::new(&a).alike(&b), alike(&a, &b));
        prop_assert_eq!(fast.to_bits(), plain.to_bits(), "{} {}", fast, plain);
    }
}

/// Both sides of the sieve were compared above, and cells at the ends of their range do not overflow.
#[test]
fn the_sieve_is_exact_at_the_ends_too() {
    let full: Vec<u8> = (0..LATTICE * LATTICE).map(|i| if i / 7 % 2 == 0 { 127 } else { 129 }).collect();
    let dull = vec![5; LATTICE * LATTICE];
    for (a, b) in [(&full, &full), (&full, &dull), (&dull, &full), (&dull, &dull)] {
        assert_eq!(Sought::new(a).alike(b).to_bits(), alike(a, b).to_bits());
    }
    assert!(Sought::new(&full).alike(&full) > 0.99);
    assert_eq!((Sought::new(&[]).alike(&full), Sought::new(&full).alike(&[])), (0.0, 0.0));
}
